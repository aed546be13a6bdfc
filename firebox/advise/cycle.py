"""Where to aim: what the pit averaged from one split to the next teaches where the next one goes in.

A split lifts one pit by a few degrees and another by twenty, and every cook comes late in his own way. Wood that goes in
at one and the same temperature therefore keeps one pit hot and another cold; the aim is shifted until humps lie around
the target.
"""

from typing import Final

from msgspec import Struct
from msgspec.structs import replace

LEARNING: Final = 0.4
"""Share of a cycle's mean deviation by which the aim is shifted. The project's own choice."""

MOST_BANDS: Final = 1.25
LEAST_BANDS: Final = -0.5
"""The aim is lowered, or raised, by no more bands than this: coals that burn too low light nothing."""

SHORTEST: Final = 900.0
"""A cycle shorter than this teaches nothing. [s]"""

LONGEST_STEP: Final = 120.0
"""A longer pause between two looks counts as this. [s]"""

FAR_BANDS: Final = 3.0
"""Further off than this the pit is coming up or out of control, which teaches nothing. [bands]"""


class Cycle(Struct, frozen=True, kw_only=True):
    """The time since the last split, and what those before it taught.

    `area` is the deviation summed over `length` [K s], [s]; `trim` what the aim lies below the target [K].
    """

    split_at: float | None = None
    area: float = 0.0
    length: float = 0.0
    trim: float = 0.0


def follow(cycle: Cycle, split_at: float | None, off: float | None, passed: float, band: float) -> Cycle:
    """Return the cycle after a look.

    Parameters
    ----------
    cycle : Cycle
    split_at : float or None
        When wood last went in. [s]
    off : float or None
        How far the pit is above its target; None: not known, or disturbed. [K]
    passed : float
        Time since the last look. [s]
    band : float
        [K]
    """
    if split_at != cycle.split_at:
        trim = cycle.trim
        if cycle.length >= SHORTEST:
            trim += LEARNING * cycle.area / cycle.length
        return Cycle(split_at=split_at, trim=min(MOST_BANDS * band, max(LEAST_BANDS * band, trim)))
    if off is None or abs(off) > FAR_BANDS * band:
        return cycle
    passed = min(max(0.0, passed), LONGEST_STEP)
    return replace(cycle, area=cycle.area + off * passed, length=cycle.length + passed)
