"""A move worth thinking about, and what it would become in the log: a split at some instant, an intake, both or neither."""

from datetime import datetime
from typing import Final

from msgspec import Struct

from firebox.cooklog import Deed
from firebox.records import Damper, DamperName, Split
from firebox.setup import Setup

SPLIT_LEAD: Final = 8.0
"""A split takes about this long before it gives more than it takes. [min] Order of magnitude."""


class Candidate(Struct, frozen=True, kw_only=True):
    """A move that could be made.

    Attributes
    ----------
    split_at : float or None
        When a split would go in, logical time. [s]
    kg : float
        What it would weigh.
    intake : float or None
        Where the intake would be set now; None: left alone.
    """

    split_at: float | None = None
    kg: float = 0.0
    intake: float | None = None

    @property
    def nothing(self) -> bool:
        """Tell whether this is to leave everything alone."""
        return self.split_at is None and self.intake is None


def deeds(candidate: Candidate, seconds: float, time: datetime, setup: Setup) -> tuple[Deed, ...]:
    """Return what making the move would add to the log."""
    plan: list[Deed] = []
    if candidate.intake is not None:
        damper = Damper(time=time, damper=DamperName.INTAKE, open=candidate.intake)
        plan.append(Deed(seconds=seconds, entry=damper))
    if candidate.split_at is not None:
        wood = Split(time=time, kg=candidate.kg, species=setup.wood.species, moisture=setup.wood.moisture)
        plan.append(Deed(seconds=max(seconds, candidate.split_at), entry=wood))
    return tuple(plan)
