"""What one cook keeps for the next: a pit's parameters as learned, and how far they are still to be believed.

The wood is another, the weather is, ash has been raked or not, a gasket was changed: so what was learned is never taken
for exact, counts for less with every month, and gives way within a few splits where the pit has become another one.
"""

import math
from datetime import datetime
from typing import Final

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from firebox.estimate.model import BOUND, FIRST_PARAMETER, SIZE, At, Pit
from firebox.setup import KnownPit, Learned

Array = NDArray[np.float64]

BETWEEN: Final = 0.15
"""SD of the log of what differs from one cook to the next at the same pit: ash, meat inside, where the probe hangs. Order of
magnitude, no source."""

BETWEEN_HEAPS: Final = 0.3
"""The same of how wood burns: another heap has another moisture, another hand splits it otherwise. Moisture of 12 to 28 % alone
makes the water that a split has to lose differ by a factor of two."""

OF_WOOD: Final = frozenset(
    {
        At.DRYING_TIME,
        At.FLAMING_TIME,
        At.COAL_TIME,
        At.CHAR_YIELD,
        At.KINDLING,
        At.BURN_POWER,
        At.COAL_POWER,
        At.EMBERS,
    }
)
"""What burns rather than what it burns in."""

YEAR: Final = 0.3
"""SD of what a year changes: a grate burned through, a gasket, rust, another place in the yard. It grows with the root of
the time. Order of magnitude, no source."""

NAMES: Final = tuple(At(row).name.lower() for row in range(FIRST_PARAMETER, SIZE))
"""The parameters in their order."""


def remembered(pit: Pit, known: KnownPit | None, now: datetime) -> Pit:
    """Return a pit's prior with what earlier cooks taught in place of what its dimensions say.

    A parameter of which nothing is known keeps its prior, and none is ever less sure than that.
    """
    if known is None:
        return pit
    years = max(0.0, (now - known.learned).total_seconds()) / (365.25 * 86_400.0)
    value, spread = pit.value.copy(), pit.spread.copy()
    for place, name in enumerate(NAMES):
        learned = known.parameters.get(name)
        if learned is None:
            continue
        bound = BOUND * pit.spread[place]
        shift = float(np.clip(math.log(learned.value / pit.value[place]), -bound, bound))
        between = BETWEEN_HEAPS if At(FIRST_PARAMETER + place) in OF_WOOD else BETWEEN
        variance, doubt = float(pit.spread[place]) ** 2, learned.spread**2 + between**2 + YEAR**2 * years
        # As it ages it is worth no more than what the dimensions tell, and gives way to that.
        share = min(1.0, variance / doubt)
        value[place] *= math.exp(share * shift)
        spread[place] = math.sqrt(min(doubt, variance))
    return replace(pit, value=_still(value), spread=_still(spread))


def learned_from(value: Array, spread: Array) -> dict[str, Learned]:
    """Return parameters, as medians in SI units and SDs of their logs, by name."""
    return {
        name: Learned(value=float(median), spread=float(np.clip(doubt, 1e-3, 5.0)))
        for name, median, doubt in zip(NAMES, value, spread, strict=True)
    }


def _still(array: Array) -> Array:
    array.setflags(write=False)
    return array
