"""How a practice fire was kept: a ledger while it burns, a tally of it, and a verdict beside the twin's."""

from collections.abc import Sequence
from typing import Final

from msgspec import Struct

from firebox.lessons import Smoke, Tally

EVERY: Final = 10.0
"""s between two samples."""

STEADY: Final = 900.0
STEADY_SHARE: Final = 0.9
"""A pit is steady once it has been inside the band for so long, nine tenths of that time."""

ONE_TRIP: Final = 90.0
"""s within which everything done at the pit is one walk there."""


class Sample(Struct, frozen=True):
    """The pit at a moment of the round: the true temperature at the middle of the grate, and the smoke."""

    seconds: float
    celsius: float
    smoke: Smoke


class Ledger:
    """What is written down of a fire while it burns."""

    def __init__(self, target: float, band: float, *, warm: bool) -> None:
        self.target, self.band, self.warm = target, band, warm
        self.samples: list[Sample] = []
        self.wood: list[tuple[float, float]] = []
        self.visits: list[float] = []
        self.alarms: list[float] = []

    def lay(self, seconds: float, kg: float) -> None:
        """Note wood that went on the fire."""
        self.wood.append((seconds, kg))

    def visit(self, seconds: float) -> None:
        """Note that something was done at the pit."""
        self.visits.append(seconds)

    def tally(self, until: float) -> Tally:
        """Return how the fire was kept up to a moment of the round."""
        samples = [one for one in self.samples if one.seconds <= until]
        if not samples:
            return Tally()
        off = [one.celsius - self.target for one in samples]
        inside = [abs(one) <= self.band for one in off]
        counted = off if self.warm else off[_first(inside) :]
        minutes = EVERY / 60.0
        return Tally(
            minutes=round(len(samples) * minutes, 2),
            in_band=round(sum(inside) * minutes, 2),
            over=round(max([0.0, *counted]), 1),
            under=round(max([0.0, *(-one for one in counted)]), 1),
            wood_kg=round(sum(kg for when, kg in self.wood if when <= until), 2),
            smoulder=round(sum(one.smoke is Smoke.DIRTY for one in samples) * minutes, 2),
            trips=_trips([when for when in self.visits if when <= until]),
            alarms=sum(when <= until for when in self.alarms),
            steady_at=_steady(inside),
        )


def _first(inside: Sequence[bool]) -> int:
    return next((number for number, is_in in enumerate(inside) if is_in), len(inside))


def _trips(visits: Sequence[float]) -> int:
    trips, last = 0, float("-inf")
    for when in sorted(visits):
        if when - last > ONE_TRIP:
            trips += 1
        last = when
    return trips


def _steady(inside: Sequence[bool]) -> float | None:
    """Return the minute at which the band had been held for a quarter of an hour."""
    span = round(STEADY / EVERY)
    for end in range(span, len(inside) + 1):
        window = inside[end - span : end]
        if window[0] and sum(window) >= STEADY_SHARE * span:
            return round(end * EVERY / 60.0, 1)
    return None
