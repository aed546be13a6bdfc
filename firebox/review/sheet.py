"""A review as one sheet: the figures that matter most, its sections, and what to try next time."""

from typing import Final

from msgspec import Struct

from firebox.review import told_known, told_meat, told_pit, told_watch, told_wood, wording
from firebox.review.lessons import lessons
from firebox.review.parts import Section, Tile, Try
from firebox.review.warnings import Worth
from firebox.review.whole import Review
from firebox.review.wording import Look


class Sheet(Struct, frozen=True, kw_only=True):
    """A whole review in words."""

    title: str
    sections: tuple[Section, ...]
    subtitle: str = ""
    banner: str = ""
    """What sort of fire it was where it was no real one; else empty."""
    tiles: tuple[Tile, ...] = ()
    tries: tuple[Try, ...] = ()


NO_REAL_FIRE: Final = {
    "demo": "DEMO: an invented fire",
    "practice": "PRACTICE: a simulated fire",
    "replay": "REPLAY: a recording, played again",
}


def sheet(review: Review, look: Look) -> Sheet:
    """Return a review in words."""
    makers = (
        told_pit.holding, told_pit.excursions, told_wood.rhythm, told_wood.fuel, told_watch.honesty, told_watch.advice,
        told_watch.alarms, told_known.known, told_meat.meats, told_meat.notes,
    )  # fmt: skip
    sections = [section for maker in makers if (section := maker(review, look)) is not None]
    return Sheet(
        title=f"Cook {review.number} of {review.pit}" + ("" if review.round is None else f": {review.round.title}"),
        subtitle=f"{wording.period(review, look)}{' and still going on' if review.going_on else ''}; "
        f"{wording.minutes(60.0 * review.hours)}, target {wording.celsius(review.target, look)} ± "
        f"{wording.kelvin(review.band, look)}"
        + ("" if review.round is None else f". Goal: {review.round.goal}; {wording.score(review.round)}"),
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
