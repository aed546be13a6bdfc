"""The wood in words: its rhythm, what each split did, and what it cost."""

from collections.abc import Callable

from firebox.review import wording
from firebox.review.parts import Section, Table
from firebox.review.rhythm import Drift, Fed, Middle
from firebox.review.whole import Review
from firebox.review.wording import Look


def rhythm(review: Review, look: Look) -> Section:
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
        words.append(f"A usual one weighed {_around(beat.kg, lambda kg: wording.kg(kg, look))}.")
    if beat.rise is not None and beat.peak_minutes is not None:
        words.append(
            f"It lifted the pit by {_around(beat.rise, lambda rise: wording.kelvin(rise, look))}, at its highest after "
            f"{_around(beat.peak_minutes, wording.minutes)}."
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
                title="Every split",
            ),
        ),
        small=(
            (
                "The lift is from the pit before the split to the top of its hump. Where a door stood open meanwhile, it is "
                "shown but not counted."
            ),
        ),
    )


def _around(middle: Middle, tell: Callable[[float], str]) -> str:
    """Return a median, and between what eight of ten lie where they differ."""
    low, high = tell(middle.low), tell(middle.high)
    return tell(middle.median) if low == high else f"{tell(middle.median)} ({low} to {high})"


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


def fuel(review: Review, look: Look) -> Section | None:
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
