"""What the watch said, in words: forecasts, advice, alarms, and whether they were worth it."""

from typing import Final

from firebox.review import wording
from firebox.review.counsel import Followed, What
from firebox.review.parts import Section, Table
from firebox.review.warnings import Called, Worth
from firebox.review.whole import Review
from firebox.review.wording import Look
from firebox.warn.rates import figures


def honesty(review: Review, look: Look) -> Section:
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


FOLLOWED: Final = {
    Followed.YES: "followed",
    Followed.PARTLY: "in part: another size or opening",
    Followed.NO: "not followed",
    Followed.UNASKED: "done, though not asked for",
}


def advice(review: Review, look: Look) -> Section | None:
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
    return Table(heads=heads, rows=rows, left=(0, 1, 7), full=True, title="Every piece of advice")


def _amount(what: What, value: float | None, look: Look) -> str:
    if what is What.SPLIT or value is None:
        return wording.kg(value, look)
    return f"{100.0 * value:.0f}{wording.CLOSE}%"


def alarms(review: Review, look: Look) -> Section:
    counted = Table(
        heads=("figure", "this cook", "should be", ""),
        rows=tuple(
            (one.name, one.value, f"{one.limit} ({one.source})", "ok" if one.good else "too many")
            for one in figures(review.rates)
        ),
        left=(0, 2, 3),
        wide=(0, 2),
    )
    practised = review.kind == "practice"  # an hour or two in haste says nothing of a month of watching
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
        f"{wording.capital(wording.count(len(rows), 'alarm'))}: {told}." + _of_use(useful, len(rows)),
        *(_called(one) for one in review.called),
    )
    each = Table(
        heads=("at", "priority", "what", "for", "seen after", "worth"), rows=rows, left=(0, 1, 2, 5), wide=(2,)
    )
    return Section(
        key="alarms",
        title="Alarms",
        words=words,
        tables=(each,) if practised else (each, counted),
        small=() if practised else small,
    )


def _of_use(share: float, count: int) -> str:
    if count == 1:
        return ""
    return " All of them were of use." if share == 1.0 else f" Of use were {wording.share(share)} of them."


def _called(one: Called) -> str:
    failed = "" if not one.failed else f"; {wording.count(one.failed, 'attempt')} failed"
    return f"Called by {one.way}: {wording.count(one.arrived, 'time')}{failed}."
