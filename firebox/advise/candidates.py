"""The moves worth thinking about, what they would become in the log, and what each would cost.

A candidate is a split at some instant, an intake opening, both or neither. Its cost weighs the forecast under it: how
far from the band, how likely over a limit, how likely to smoulder, and the walk to the pit.
"""

from datetime import datetime
from itertools import pairwise
from typing import Final

import numpy as np
from msgspec import Struct

from firebox.cooklog import Deed
from firebox.estimate.forecast import LEVELS, FireView, Forecast
from firebox.records import Damper, DamperName, Split
from firebox.setup import Setup

SPLIT_LEAD: Final = 8.0
"""A split takes about this long before it gives more than it takes. [min] Order of magnitude."""

WEIGHTS: Final = {5: 0.3, 15: 0.8, 30: 1.2, 45: 1.2, 60: 1.0}
"""What each horizon counts: the first minutes cannot be changed any more, the last are the least certain."""

FAR_BANDS: Final = 3.0
"""Beyond so many bands a deviation counts in proportion, not by its square: it is bad enough."""

OVER_COST: Final = 4.0
UNDER_COST: Final = 2.5
"""Cost of certainly being beyond the upper or lower limit, in squared bands: a runaway is worse than a cold pit."""

SPLIT_COST: Final = 0.15
DAMPER_COST: Final = 0.06
"""Of the walk, the opened door and the disturbed smoke, in squared bands. Wood counts by the medium split: half the wood
means twice the walks."""

SMOULDER_COST: Final = 1.0
BIG_ON_SMALL_COST: Final = 0.5
"""Of wood on a fire that smoulders already, and of a split heavier than the coals that should light it."""

_SHARES: Final = tuple(float(share) for share in np.diff([0.0, *((a + b) / 2 for a, b in pairwise(LEVELS)), 1.0]))
"""How much of the outcomes each kept quantile stands for."""


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


def cost(
    candidate: Candidate,
    forecast: Forecast,
    fire: FireView,
    aim: tuple[float, float],
    limits: tuple[float, float],
    *,
    medium: float,
) -> float:
    """Return what a move costs, in squared bands; the lower the better.

    Parameters
    ----------
    candidate : Candidate
    forecast : Forecast
        Made under the move.
    fire : FireView
        The fire now.
    aim : (float, float)
        Target and band. [degC], [K]
    limits : (float, float)
        Hard lower and upper limit. [degC]
    medium : float
        What a medium split weighs. [kg]
    """
    target, band = aim
    low, high = limits
    total, weight = 0.0, 0.0
    for minutes, row in zip(forecast.minutes, forecast.quantiles, strict=True):
        share = WEIGHTS.get(minutes, 1.0)
        off = sum(part * _penalty((celsius - target) / band) for part, celsius in zip(_SHARES, row, strict=True))
        over = forecast.probability_above(high, minutes)
        under = 1.0 - forecast.probability_above(low, minutes)
        total += share * (off + OVER_COST * over + UNDER_COST * under)
        weight += share
    return total / weight + _effort(candidate, fire, medium)


def _penalty(bands: float) -> float:
    size = abs(bands)
    return size * size if size <= FAR_BANDS else FAR_BANDS * (2.0 * size - FAR_BANDS)


def _effort(candidate: Candidate, fire: FireView, medium: float) -> float:
    total = 0.0
    if candidate.intake is not None:
        total += DAMPER_COST
    if candidate.split_at is not None:
        total += SPLIT_COST * medium / max(candidate.kg, 0.3 * medium) + SMOULDER_COST * (fire.smoulder_risk or 0.0)
        if fire.coal_kg is not None and candidate.kg > fire.coal_kg:
            total += BIG_ON_SMALL_COST
    return total
