"""What one split to the next teaches: how long wood lasts here, where to aim, and whether the last split has caught.

Wood lasts as long as the pit, its weather and the air let it; a split lifts one pit by a few degrees and another by
twenty, and every cook comes late in his own way. So the wood of the last hour or two tells how long a kilogram carries
this pit tonight, and what the pit averaged from split to split shifts the aim until humps lie around the target.
"""

import math
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

LEARNING: Final = 0.35
"""Share of a cycle's mean deviation by which the aim is shifted: three cycles, an hour or so, bring it home."""

MOST_BANDS: Final = 1.0
LEAST_BANDS: Final = -0.75
"""The aim is lowered, or raised, by no more bands than this: coals that burn too low light nothing."""

SHORTEST: Final = 400.0
"""A cycle shorter than this teaches nothing: its split has not yet shown what it does. [s]"""

LONGEST_STEP: Final = 120.0
"""A longer pause between two looks counts as this. [s]"""

AIM_BANDS: Final = 1.5
"""A cycle that was further off than this on average went wrong; where to aim is not learned from it. [bands]"""

FAR_BANDS: Final = 3.0
"""Further off than this counts as this: one bad hour is not to teach for the whole night. [bands]"""

MEMORY: Final = 4500.0
"""How long the wood that went in counts for how long wood lasts. [s] Three or four splits, and weather changes no
faster."""

USUAL_CARRY: Final = 35.0
"""A medium split carries a pit for about this long, until it has shown better; common practice is 30-45, no source.
[min]"""

FIRM: Final = 40.0
"""Minutes of the pit's own showing that the usual is worth: about one split."""

PER_KELVIN: Final = 0.02
"""A pit that ran a kelvin hot would have made its wood last this share longer at its target: one hundredth for the
losses of a pit some hundred kelvin above the air, as much again for what its steel took up. [1/K]"""

RISEN: Final = 2.0
"""A rise beyond this from its lowest point says that the split has caught: gusts and flicker make a kelvin. [K]"""


class Cycle(Struct, frozen=True, kw_only=True):
    """The time since the last split, and what those before it taught.

    `area` is the deviation summed over `length` [K s], [s]; `trim` what the aim lies below the target [K]. `burnt`,
    `minutes` and `warm` are the wood that went in of late [kg], over how long [min], and the deviation summed meanwhile
    [K min], all fading with `MEMORY`. `low` is the lowest deviation since the split [K], and `caught` tells whether the
    pit has risen from it.
    """

    split_at: float | None = None
    area: float = 0.0
    length: float = 0.0
    trim: float = 0.0
    burnt: float = 0.0
    minutes: float = 0.0
    warm: float = 0.0
    low: float | None = None
    caught: bool = True

    def lasts(self, medium: float) -> float:
        """Return how long a kilogram of wood carries the pit at its target. [min/kg]

        Parameters
        ----------
        medium : float
            What a medium split weighs. [kg]
        """
        time = FIRM + self.minutes
        heat = max(0.5, 1.0 + PER_KELVIN * self.warm / time)
        # Wood that fades from the moment it is laid counts for less before the next split than it did on average.
        faded = self.length / MEMORY
        burnt = self.burnt * (math.expm1(faded) / faded if faded > 0.0 else 1.0)
        return heat * time / (FIRM / USUAL_CARRY * medium + burnt)


def follow(  # noqa: PLR0917  one look at the pit
    cycle: Cycle, split_at: float | None, kg: float | None, off: float | None, passed: float, band: float
) -> Cycle:
    """Return the cycle after a look.

    Parameters
    ----------
    cycle : Cycle
    split_at : float or None
        When wood last went in. [s]
    kg : float or None
        What it weighed, medium where that was not told; None: it was for coming up, and tells nothing.
    off : float or None
        How far the pit is above its target; None: not known, disturbed, or coming up after lighting. [K]
    passed : float
        Time since the last look. [s]
    band : float
        [K]
    """
    if split_at != cycle.split_at:
        cycle = _next(cycle, split_at, kg, band)
    if off is None:
        return cycle
    low = off if cycle.low is None else min(cycle.low, off)
    cycle = replace(cycle, low=low, caught=cycle.caught or off > low + RISEN)
    off = min(FAR_BANDS * band, max(-FAR_BANDS * band, off))
    passed = min(max(0.0, passed), LONGEST_STEP)
    fade = math.exp(-passed / MEMORY)
    return replace(
        cycle,
        area=cycle.area + off * passed,
        length=cycle.length + passed,
        burnt=cycle.burnt * fade,
        minutes=cycle.minutes * fade + passed / 60.0,
        warm=cycle.warm * fade + off * passed / 60.0,
    )


def _next(cycle: Cycle, split_at: float | None, kg: float | None, band: float) -> Cycle:
    """Return the cycle that begins with a split."""
    trim = cycle.trim
    if cycle.length >= SHORTEST:
        mean = cycle.area / cycle.length
        if abs(mean) <= AIM_BANDS * band:
            trim += LEARNING * mean
    trim = min(MOST_BANDS * band, max(LEAST_BANDS * band, trim))
    burnt = cycle.burnt + (kg or 0.0)
    return replace(
        cycle, split_at=split_at, area=0.0, length=0.0, trim=trim, burnt=burnt, low=None, caught=split_at is None
    )
