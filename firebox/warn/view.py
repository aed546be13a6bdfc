"""What the conditions look at, and what they find."""

from collections.abc import Callable

from msgspec import Struct

from firebox.records import Priority
from firebox.warn.remembered import Course, Situation
from firebox.warn.said import Said

Standing = Callable[[str], bool]


class Finding(Struct, frozen=True, kw_only=True):
    """A condition that holds, in words.

    Attributes
    ----------
    text : str
        What happened.
    priority : Priority or None
        Where it differs from the catalogue's.
    minutes_until : float or None
        How long until it matters. [min]
    lasting : float or None
        How long it must hold before it counts, where that differs from the catalogue. [s]
    """

    text: str
    probe: str | None = None
    priority: Priority | None = None
    minutes_until: float | None = None
    lasting: float | None = None
    first: str | None = None


class View(Struct, frozen=True, kw_only=True):
    """A situation, what came before it, and which conditions hold already (for the deadbands)."""

    now: Situation
    course: Course
    said: Said
    level: float | None
    """The pit; see `Situation.level`. [degC]"""
    standing: Standing
    live: Standing
    """Whether an alarm is before the cook's eyes: live, not put aside."""

    @property
    def since_split(self) -> float:
        """Return how long ago wood went in, as far as logged. [s]"""
        return float("inf") if self.said.split_at is None else self.now.seconds - self.said.split_at
