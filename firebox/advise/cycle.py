"""What one split to the next teaches: how long wood lasts here, and where to aim.

Wood lasts as long as the pit, its weather and the air let it; a split lifts one pit by a few degrees and another by
twenty, and every cook comes late in his own way. So the time from one split to the next tells how long a kilogram
carries this pit tonight, and what the pit averaged meanwhile shifts the aim until humps lie around the target.
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

LONGEST: Final = 80.0 * 60.0
"""A cycle longer than this was slept through; it tells nothing of how long wood lasts. [s]"""

LONGEST_STEP: Final = 120.0
"""A longer pause between two looks counts as this. [s]"""

AIM_BANDS: Final = 1.5
"""A cycle that was further off than this on average went wrong; where to aim is not learned from it. [bands]"""

FAR_BANDS: Final = 3.0
"""Further off than this counts as this: one bad hour is not to teach for the whole night. [bands]"""

CARRY_LEARNING: Final = 0.4
"""Weight of the newest cycle in how long wood lasts, in logarithms: a split's weight is told to a quarter, its hump
differs as much, and the weather turns within an hour or two."""

JUMP: Final = 2.5
"""One cycle may show wood to last longer or shorter by this factor at most."""

RISEN: Final = 2.0
"""A rise beyond this from its lowest point says that the split has caught: gusts and flicker make a kelvin. [K]"""

PER_KELVIN: Final = 0.02
"""A pit that ran a kelvin hot would have made its wood last this share longer at its target: one hundredth for the
losses of a pit some hundred kelvin above the air, as much again for what its steel took up. [1/K]"""


class Cycle(Struct, frozen=True, kw_only=True):
    """The time since the last split, and what those before it taught.

    `area` is the deviation summed over `length` [K s], [s]; `trim` what the aim lies below the target [K]; `kg` what the
    last split weighed; `carry` how long a kilogram carries this pit [min/kg], None before it has shown that. `low` is the
    lowest deviation since the split [K], and `caught` tells whether the pit has risen from it.
    """

    split_at: float | None = None
    kg: float | None = None
    area: float = 0.0
    length: float = 0.0
    trim: float = 0.0
    carry: float | None = None
    low: float | None = None
    caught: bool = True


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
        What it weighed, medium where that was not told.
    off : float or None
        How far the pit is above its target; None: not known, disturbed, or coming up after lighting. [K]
    passed : float
        Time since the last look. [s]
    band : float
        [K]
    """
    if split_at != cycle.split_at:
        return _next(cycle, split_at, kg, band)
    if off is None:
        return cycle
    low = off if cycle.low is None else min(cycle.low, off)
    cycle = replace(cycle, low=low, caught=cycle.caught or off > low + RISEN)
    off = min(FAR_BANDS * band, max(-FAR_BANDS * band, off))
    passed = min(max(0.0, passed), LONGEST_STEP)
    return replace(cycle, area=cycle.area + off * passed, length=cycle.length + passed)


def _next(cycle: Cycle, split_at: float | None, kg: float | None, band: float) -> Cycle:
    trim, carry = cycle.trim, cycle.carry
    if cycle.length >= SHORTEST:
        mean = cycle.area / cycle.length
        if abs(mean) <= AIM_BANDS * band:
            trim += LEARNING * mean
        carry = _carry(cycle, split_at, mean)
    trim = min(MOST_BANDS * band, max(LEAST_BANDS * band, trim))
    return Cycle(split_at=split_at, kg=kg, trim=trim, carry=carry, caught=False)


def _carry(cycle: Cycle, split_at: float | None, mean: float) -> float | None:
    """Return how long a kilogram lasts after one more cycle. [min/kg]"""
    if split_at is None or cycle.split_at is None or not cycle.kg:
        return cycle.carry
    passed = split_at - cycle.split_at
    if not 0.0 < passed <= LONGEST:
        return cycle.carry
    seen = passed / 60.0 / cycle.kg * max(0.5, 1.0 + PER_KELVIN * mean)
    if cycle.carry is None:
        return seen
    seen = min(JUMP * cycle.carry, max(cycle.carry / JUMP, seen))
    return math.exp((1.0 - CARRY_LEARNING) * math.log(cycle.carry) + CARRY_LEARNING * math.log(seen))
