"""The pit in words: how it was held, and each time that it left its band."""

from firebox.review import wording
from firebox.review.holding import Holding, Slept
from firebox.review.parts import Section, Table
from firebox.review.whole import Review
from firebox.review.wording import Look


def holding(review: Review, look: Look) -> Section:
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
    words += [_slept(one, review, look) for one in review.slept]
    small = []
    if held.unknown_minutes >= 1.0:
        small.append(f"For {wording.minutes(held.unknown_minutes)} no trusted probe at the grate was heard.")
    if review.gap_minutes >= 1.0:
        small.append(f"For {wording.minutes(review.gap_minutes)} nobody watched.")
    return Section(key="pit", title="The pit", words=tuple(words), tables=_by_hour(review, look), small=tuple(small))


def _slept(one: Slept, review: Review, look: Look) -> str:
    text = f"You slept from {wording.hour(review, one.seconds, look)} for {wording.minutes(one.minutes)}"
    return (
        f"{text}."
        if one.inside is None
        else f"{text}; the pit was in its band for {wording.share(one.inside)} of it."
    )


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


def excursions(review: Review, look: Look) -> Section:
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
