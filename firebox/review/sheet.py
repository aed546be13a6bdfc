"""A review as sections of words and tables, for whatever shows it: a terminal, a page."""

from collections.abc import Callable

from msgspec import Struct

from firebox.review import wording
from firebox.review.counsel import Followed, What
from firebox.review.holding import Holding
from firebox.review.lessons import lessons
from firebox.review.meats import Piece
from firebox.review.rhythm import Drift, Fed
from firebox.review.warnings import Worth
from firebox.review.whole import Review
from firebox.review.wording import Look
from firebox.warn.rates import figures


class Table(Struct, frozen=True, kw_only=True):
    """Rows under heads; `left` tells which columns are words and stand at the left, `wide` which of them may break."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    left: tuple[int, ...] = (0,)
    wide: tuple[int, ...] = ()
    full: bool = False
    """Only for whoever asks for all of it, or has room for it."""


class Tile(Struct, frozen=True, kw_only=True):
    """One figure that stands for a whole section."""

    label: str
    value: str
    note: str = ""


class Section(Struct, frozen=True, kw_only=True):
    """One part of a review; `key` says where a picture belongs."""

    key: str
    title: str
    words: tuple[str, ...] = ()
    tables: tuple[Table, ...] = ()
    small: tuple[str, ...] = ()
    """What one should know before one believes it."""


class Try(Struct, frozen=True, kw_only=True):
    """Something to try next time, and why."""

    what: str
    why: str


class Sheet(Struct, frozen=True, kw_only=True):
    """A whole review in words."""

    title: str
    subtitle: str
    banner: str
    """What sort of fire it was where it was no real one; else empty."""
    tiles: tuple[Tile, ...]
    sections: tuple[Section, ...]
    tries: tuple[Try, ...]


NO_REAL_FIRE = {
    "demo": "DEMO: an invented fire",
    "practice": "PRACTICE: a simulated fire",
    "replay": "REPLAY: a recording, played again",
}


def sheet(review: Review, look: Look) -> Sheet:
    """Return a review in words."""
    makers = (_holding, _excursions, _rhythm, _fuel, _honesty, _advice, _alarms, _meats, _notes)
    sections = [section for maker in makers if (section := maker(review, look)) is not None]
    return Sheet(
        title=f"Cook {review.number} of {review.pit}",
        subtitle=f"{wording.period(review, look)}; {wording.minutes(60.0 * review.hours)}, target {wording.celsius(review.target, look)} ± "
        f"{wording.kelvin(review.band, look)}",
        banner=NO_REAL_FIRE.get(review.kind, ""),
        tiles=_tiles(review, look),
        sections=tuple(sections),
        tries=tuple(Try(what=one.try_this, why=one.because) for one in lessons(review, look)),
    )


def _tiles(review: Review, look: Look) -> tuple[Tile, ...]:
    held, beat, burnt = review.holding, review.rhythm, review.fuel
    reached = held.arrived_after_minutes is not None
    told = review.honesty.telling
    woken = len(review.alarms)
    return (
        Tile(
            label="in the band",
            value=wording.share(held.inside) if reached else wording.UNKNOWN,
            note=f"of {wording.minutes(held.minutes)} that it was to be held" if reached else "it never stayed there",
        ),
        Tile(
            label="splits",
            value=str(burnt.splits),
            note="" if beat.interval_minutes is None else f"every {wording.minutes(beat.interval_minutes.median)}",
        ),
        Tile(
            label="wood an hour",
            value=wording.kg(burnt.held_kg_per_hour or burnt.kg_per_hour, look),
            note=f"{wording.kg(burnt.kg, look)} in all"
            + ("" if burnt.cost is None else f", {wording.money(burnt.cost, look)}"),
        ),
        Tile(
            label="forecast off by",
            value=wording.kelvin(None if told is None else told.error, look, digits=1),
            note="too little was left alone to tell" if told is None else f"{told.minutes} min ahead, on average",
        ),
        Tile(
            label="alarms",
            value=str(woken),
            note=_in_vain(review) if woken else "a quiet night",
        ),
    )


def _in_vain(review: Review) -> str:
    vain = sum(one.worth is Worth.VAIN for one in review.alarms)
    return f"{vain or 'none'} of them in vain"


# --- the pit -------------------------------------------------------------------------------------


def _holding(review: Review, look: Look) -> Section:
    held = review.holding
    if held.arrived_after_minutes is None:
        words = ["The pit never stayed in its band for a minute, so there is no time in the band to tell."]
        return Section(key="pit", title="The pit", words=tuple(words))
    words = [
        (
            f"{_time_in_band(held)}; above it {wording.share(held.above)}, below it {wording.share(held.below)}. The "
            f"longest stretch inside was {wording.minutes(held.longest_minutes)}."
        ),
        (
            f"On average it was {wording.kelvin(held.mean_off, look, digits=1)} off the target, and "
            f"{_warm(held.bias, look)}."
        ),
    ]
    if review.outside is not None:
        words.append(
            f"Outside it was {wording.celsius(review.outside.mean, look)}, between {wording.celsius(review.outside.low, look)} and "
            f"{wording.celsius(review.outside.high, look)}."
        )
    small = []
    if held.unknown_minutes >= 1.0:
        small.append(f"For {wording.minutes(held.unknown_minutes)} no trusted probe at the grate was heard.")
    if review.gap_minutes >= 1.0:
        small.append(f"For {wording.minutes(review.gap_minutes)} nobody watched.")
    return Section(key="pit", title="The pit", words=tuple(words), tables=_by_hour(review, look), small=tuple(small))


def _time_in_band(held: Holding) -> str:
    inside, whole, after = wording.share(held.inside), wording.minutes(held.minutes), held.arrived_after_minutes
    if after is None or after < 1.0:
        return f"It was in its band for {inside} of the {whole} that it was to be held"
    return f"It came to the band after {wording.minutes(after)} and was in it for {inside} of the {whole} after that"


def _warm(bias: float | None, look: Look) -> str:
    if bias is None or abs(bias) < 0.5:
        return "neither warmer nor colder than wanted"
    return f"{wording.kelvin(abs(bias), look, digits=1)} {'warmer' if bias > 0.0 else 'colder'} than wanted"


def _by_hour(review: Review, look: Look) -> tuple[Table, ...]:
    arrived = review.holding.arrived_seconds
    hours = [(number, one) for number, one in enumerate(review.holding.hours) if one.known_minutes >= 10.0]
    if arrived is None or len(hours) < 2:
        return ()
    rows = tuple(
        (
            wording.hour(review, arrived + 3600.0 * number, look),
            wording.share(one.inside_minutes / one.known_minutes),
            _bar(one.inside_minutes / one.known_minutes),
        )
        for number, one in hours
    )
    return (Table(heads=("hour from", "in the band", ""), rows=rows, left=(0, 2)),)


def _bar(part: float) -> str:
    return "█" * round(20.0 * part) or "·"


def _excursions(review: Review, look: Look) -> Section:
    rows = tuple(
        (
            wording.hour(review, one.seconds, look),
            wording.minutes(one.minutes),
            f"{'▲' if one.high else '▼'} {wording.kelvin(one.off, look, signed=True)}",
            wording.reasons(one.causes, review, look),
        )
        for one in review.excursions
    )
    if not rows:
        return Section(
            key="excursions", title="Out of the band", words=("It never left its band for three minutes.",)
        )
    above = sum(one.minutes for one in review.excursions if one.high)
    below = sum(one.minutes for one in review.excursions if not one.high)
    words = (
        f"{wording.capital(wording.count(len(rows), 'time'))}: {wording.minutes(above)} above it, {wording.minutes(below)} below.",
    )
    return Section(
        key="excursions",
        title="Out of the band",
        words=words,
        tables=(Table(heads=("at", "for", "furthest", "likely cause"), rows=rows, left=(0, 3), wide=(3,)),),
        small=("Causes are told from the log and the estimates: likely, not proven.",),
    )


# --- wood ----------------------------------------------------------------------------------------


def _rhythm(review: Review, look: Look) -> Section:
    beat = review.rhythm
    if not beat.fed:
        return Section(key="rhythm", title="The rhythm", words=("No split was logged.",))
    words = []
    if beat.interval_minutes is not None:
        middle = beat.interval_minutes
        words.append(
            f"A split every {wording.minutes(middle.median)}, eight of ten within {wording.minutes(middle.low)} to "
            f"{wording.minutes(middle.high)}{_changed(beat.interval_drift, wording.minutes, 'longer', 'shorter')}."
        )
    if beat.kg is not None:
        words.append(
            f"A usual one weighed {wording.kg(beat.kg.median, look)} ({wording.kg(beat.kg.low, look)} to "
            f"{wording.kg(beat.kg.high, look)})."
        )
    if beat.rise is not None and beat.peak_minutes is not None:
        words.append(
            f"It lifted the pit by {wording.kelvin(beat.rise.median, look)} ({wording.kelvin(beat.rise.low, look)} to "
            f"{wording.kelvin(beat.rise.high, look)}), at its highest after {wording.minutes(beat.peak_minutes.median)} "
            f"({wording.minutes(beat.peak_minutes.low)} to {wording.minutes(beat.peak_minutes.high)})."
        )
    words.append(_drifts(review, look))
    return Section(
        key="rhythm",
        title="The rhythm",
        words=tuple(words),
        tables=(
            Table(
                heads=("laid", "wood", "since the last", "pit before", "lift", "top after", ""),
                rows=tuple(_fed(one, review, look) for one in beat.fed),
                left=(0, 6),
                full=True,
            ),
        ),
        small=(
            (
                "The lift is from the pit before the split to the top of its hump. Where a door stood open meanwhile, it is "
                "shown but not counted."
            ),
        ),
    )


def _changed(drift: Drift | None, tell: Callable[[float], str], more: str, less: str) -> str:
    if drift is None or not drift.is_sure:
        return ""
    return f"; {tell(abs(drift.per_hour))} {more if drift.per_hour > 0.0 else less} with every hour"


def _drifts(review: Review, look: Look) -> str:
    """Return how the response changed through the night."""
    drift = review.rhythm.rise_drift
    if drift is None:
        return "Too few splits were left to themselves to say how the response changed through the night."
    if not drift.is_sure:
        return (
            "Through the night the lift of a split did not clearly change: "
            f"{wording.kelvin(drift.per_hour, look, signed=True, digits=1)} an hour, but anything from "
            f"{wording.kelvin(drift.low, look, signed=True, digits=1)} to {wording.kelvin(drift.high, look, signed=True, digits=1)} "
            "would fit."
        )
    way = "more" if drift.per_hour > 0.0 else "less"
    return (
        f"Through the night the same fire lifted {way} and {way}: {wording.kelvin(drift.per_hour, look, signed=True, digits=1)} "
        f"with every hour ({wording.kelvin(drift.low, look, signed=True, digits=1)} to "
        f"{wording.kelvin(drift.high, look, signed=True, digits=1)})."
    )


def _fed(one: Fed, review: Review, look: Look) -> tuple[str, ...]:
    weight = wording.kg(one.kg, look) if one.weighed else f"~{wording.kg(one.kg, look)}"
    remarks = [f"{one.pieces} together"] if one.pieces > 1 else []
    remarks += ["door open"] if one.disturbed else []
    remarks += ["no hump"] if one.rise is not None and one.rise <= 0.0 else []
    return (
        wording.hour(review, one.seconds, look),
        weight,
        wording.minutes(one.interval_minutes),
        wording.celsius(one.from_celsius, look),
        wording.kelvin(one.rise, look, signed=True),
        wording.minutes(one.peak_minutes),
        ", ".join(remarks),
    )


def _fuel(review: Review, look: Look) -> Section | None:
    burnt = review.fuel
    if burnt.kg_per_hour is None:
        return None
    words = [
        f"{wording.kg(burnt.kg, look)} of wood in {wording.minutes(60.0 * burnt.hours)}, "
        f"{wording.kg(burnt.kg_per_hour, look)} an hour"
        + (
            "."
            if burnt.held_kg_per_hour is None
            else f"; {wording.kg(burnt.held_kg_per_hour, look)} an hour while it was held."
        )
    ]
    if burnt.cost is not None:
        words.append(
            f"It cost {wording.money(burnt.cost, look)}, {wording.money(burnt.cost_per_hour, look)} an hour."
        )
    small: tuple[str, ...] = ()
    if burnt.unweighed:
        small = (
            f"{burnt.unweighed} of {wording.count(burnt.splits, 'split')} had no weight in the log and count as usual ones.",
        )
    return Section(key="fuel", title="Wood", words=tuple(words), small=small)


# --- what the watch said -------------------------------------------------------------------------


def _honesty(review: Review, look: Look) -> Section:
    kept = review.honesty.kept
    best = review.honesty.telling
    if best is None:
        text = "There was no stretch in which nothing was done for five minutes after an outlook, so none could be judged."
        return Section(key="honesty", title="Were the forecasts honest?", words=(text,))
    rows = tuple(
        (
            f"{one.minutes} min",
            wording.kelvin(one.error, look, digits=1),
            wording.kelvin(one.bias, look, signed=True, digits=1),
            wording.kelvin(one.error_of_same, look, digits=1),
            wording.share(one.coverage),
            wording.kelvin(one.width, look),
            f"{one.count} / {one.apart}",
        )
        for one in kept
    )
    words = (
        (
            f"{best.minutes} minutes ahead they were {wording.kelvin(best.error, look, digits=1)} off on average; to say that it stays as "
            f"it is would have been {wording.kelvin(best.error_of_same, look, digits=1)} off. The band that should hold four of "
            f"five held {wording.share(best.coverage)}."
        ),
    )
    heads = ("ahead", "off by", "came hotter", "unchanged", "held", "band width", "seen / apart")
    return Section(
        key="honesty",
        title="Were the forecasts honest?",
        words=words,
        tables=(Table(heads=heads, rows=rows),),
        small=(
            (
                "Judged only where nothing was done in between, since that is what an outlook promises; what was done and not "
                'logged counts as nothing. "Apart" are those that do not overlap: where they are few, the row tells little.'
            ),
        ),
    )


FOLLOWED = {
    Followed.YES: "followed",
    Followed.PARTLY: "in part: another size or opening",
    Followed.NO: "not followed",
    Followed.UNASKED: "done, though not asked for",
}


def _advice(review: Review, look: Look) -> Section | None:
    told = review.advice
    if not told.given:
        return None
    asked = [one for one in told.given if one.followed is not Followed.UNASKED]
    done = sum(one.followed in {Followed.YES, Followed.PARTLY} for one in asked)
    words = [f"Of {wording.count(len(asked), 'piece')} of advice, {done} {'was' if done == 1 else 'were'} followed."]
    if told.waited_minutes is not None:
        words.append(
            f"A split that was due was laid after {wording.minutes(told.waited_minutes)}, half of the time sooner."
        )
    if told.expected_error is not None:
        words.append(
            f"{wording.capital(wording.count(told.expected_count, 'time'))} a move was made at once and nothing after it: half an hour "
            f"later the pit was {wording.kelvin(told.expected_error, look, digits=1)} from what had been foretold."
        )
    refused = [one for one in told.given if one.followed is Followed.NO and one.what is What.SPLIT]
    if refused:
        hours = ", ".join(wording.hour(review, one.seconds, look) for one in refused[:6])
        words.append(f"Not laid when due: {hours}{' and more' if len(refused) > 6 else ''}.")
    rows = tuple(
        (FOLLOWED[score.followed], str(score.count), wording.share(score.inside), wording.kelvin(score.worst, look))
        for score in told.scores
    )
    return Section(
        key="advice",
        title="Advice, and what came of it",
        words=tuple(words),
        tables=(
            Table(heads=("advice", "times", "in band", "furthest off"), rows=rows, wide=(0,)),
            _each_advice(review, look),
        ),
        small=(
            (
                "In band and furthest off are of the half hour after it. Advice is followed or not for reasons, so this compares; it "
                "does not prove."
            ),
        ),
    )


def _each_advice(review: Review, look: Look) -> Table:
    rows = tuple(
        (
            wording.hour(review, one.seconds, look),
            one.what.value,
            _amount(one.what, one.advised, look),
            _amount(one.what, one.done, look),
            wording.minutes(one.waited_minutes),
            wording.share(one.inside),
            wording.kelvin(one.worst, look, signed=True),
            one.followed.value,
        )
        for one in review.advice.given
    )
    heads = ("at", "what", "advised", "done", "after", "in band", "furthest", "")
    return Table(heads=heads, rows=rows, left=(0, 1, 7), full=True)


def _amount(what: What, value: float | None, look: Look) -> str:
    if what is What.SPLIT or value is None:
        return wording.kg(value, look)
    return f"{100.0 * value:.0f}{wording.CLOSE}%"


def _alarms(review: Review, look: Look) -> Section:
    counted = Table(
        heads=("figure", "this cook", "should be", ""),
        rows=tuple(
            (one.name, one.value, f"{one.limit} ({one.source})", "ok" if one.good else "too many")
            for one in figures(review.rates)
        ),
        left=(0, 2, 3),
        wide=(0, 1, 2),
    )
    small = ("The published figures are averages over a month, for somebody who does nothing but watch.",)
    if not review.alarms:
        return Section(key="alarms", title="Alarms", words=("There was none.",))
    rows = tuple(
        (
            wording.hour(review, one.seconds, look),
            one.priority.value,
            one.text,
            "still on" if one.minutes is None else wording.minutes(one.minutes),
            wording.minutes(one.seen_minutes),
            one.worth.value,
        )
        for one in review.alarms
    )
    worth = {kind: sum(one.worth is kind for one in review.alarms) for kind in Worth}
    told = ", ".join(f"{number} {kind.value}" for kind, number in worth.items() if number)
    useful = (worth[Worth.ACTED] + worth[Worth.STOOD]) / len(rows)
    words = (
        f"{wording.capital(wording.count(len(rows), 'alarm'))}: {told}."
        + (f" Of use were {wording.share(useful)} of them." if len(rows) > 1 else ""),
    )
    each = Table(
        heads=("at", "priority", "what", "for", "seen after", "worth"), rows=rows, left=(0, 1, 2, 5), wide=(2,)
    )
    return Section(key="alarms", title="Alarms", words=words, tables=(each, counted), small=small)


# --- the meat, and the cook's own words ----------------------------------------------------------


def _meats(review: Review, look: Look) -> Section | None:
    if not review.meats:
        return None
    words = [_piece(one, review, look) for one in review.meats]
    rows = tuple(
        (
            one.cut or one.probe,
            wording.hour(review, stand.seconds, look),
            stand.stage,
            wording.celsius(stand.celsius, look),
        )
        for one in review.meats
        for stand in one.stages
    )
    tables = (Table(heads=("meat", "from", "stage", "at the probe"), rows=rows, left=(0, 1, 2)),) if rows else ()
    small = tuple(dict.fromkeys(text for one in review.meats for text in one.urgent))
    return Section(key="meat", title="The meat", words=tuple(words), tables=tables, small=small)


def _piece(one: Piece, review: Review, look: Look) -> str:
    name = f"{wording.capital(one.cut)} (probe {one.probe})" if one.cut else wording.capital(one.probe)
    parts = []
    if one.on is not None:
        parts.append(f"on at {wording.hour(review, one.on, look)}")
    if one.bark_set is not None:
        parts.append(f"bark set by {wording.hour(review, one.bark_set, look)}")
    if one.wrapped is not None:
        parts.append(f"wrapped in {one.material} at {wording.hour(review, one.wrapped, look)}")
    parts += [f"felt {answer} at {wording.hour(review, at, look)}" for at, answer in one.felt]
    last = f"{wording.celsius(one.last_celsius, look)} inside"
    if one.off is not None:
        parts.append(f"off at {wording.hour(review, one.off, look)} with {last}")
    else:
        parts.append(f"{last} at the end")
    text = f"{name}: {', '.join(parts)}."
    if one.kg is not None and one.cooked_kg is not None:
        how = "weighed" if one.weighed else "as estimated"
        text += f" {wording.kg(one.kg, look)} raw became {wording.kg(one.cooked_kg, look)}, {wording.share(one.kept)} of it ({how})."
    return text


def _notes(review: Review, look: Look) -> Section | None:
    if not review.notes:
        return None
    rows = tuple((wording.hour(review, at, look), text) for at, text in review.notes)
    return Section(
        key="notes", title="Your notes", tables=(Table(heads=("at", "note"), rows=rows, left=(0, 1), wide=(1,)),)
    )
