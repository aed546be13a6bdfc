"""Wood to have ready, and who watches when."""

import math
from datetime import datetime, timedelta
from typing import Final

from msgspec import Struct

from firebox.estimate import priors
from firebox.pit import wood
from firebox.records import Shift
from firebox.setup import Setup

BURNT: Final = 0.9
"""Share of the wood's heat that a clean fire sets free; the rest is in ash, soot and what is left at the end."""

START_KG: Final = 3.0
"""Kindling and a first bed of coals: common practice for a pit of the middle size, no source."""

MARGIN: Final = 1.3
"""Wood is damper, wind stronger and the cook longer than thought; what is left over does not spoil."""

LEAST_SHARE: Final = 0.3
"""Of the usual need; a fire is not estimated to need less, however little is known of it."""

WIND: Final = {"calm": 1.0, "breezy": 1.25, "windy": 1.6}
"""A bare steel chamber loses by convection about twice as much in 3 m/s as in still air, and by radiation the same; order of
magnitude, no source."""

SPLIT_DRAWS_HOURS: Final = 0.75
SHIFT_HOURS: Final = 4.0
"""As long as watches have been kept at sea."""


class WoodNeed(Struct, frozen=True, kw_only=True):
    """Wood to have ready: what the cook should take, with the margin in it, and how often a split is due."""

    kg: float
    splits: int
    split_kg: float
    kg_per_hour: float
    minutes_between: float
    hours: float


def wood_need(
    setup: Setup,
    hours: float,
    pit_celsius: float,
    ambient_celsius: float,
    *,
    need_watts: float | None = None,
    wind: float = 1.0,
) -> WoodNeed:
    """Return the wood that a fire needs.

    Parameters
    ----------
    setup : Setup
        Build and wood.
    hours : float
        From the match to the last meat off. [h]
    pit_celsius, ambient_celsius : float
        [degC]
    need_watts : float, optional
        Heat that holds the pit there, as estimated while a fire burns; then the coals are there already. [W]
    wind : float
        By how much wind raises the usual need. [-]
    """
    burns = need_watts is not None
    usual = priors.prior(setup.build, setup.wood).need_watts * (pit_celsius - ambient_celsius) / 100.0
    watts = wind * usual if need_watts is None else max(need_watts, LEAST_SHARE * usual)
    rate = 3600.0 * watts / (wood.LHV_DRY * BURNT) * (1.0 + setup.wood.moisture)
    # wind takes wood more often, not in bigger pieces
    calm = 3600.0 * usual / (wood.LHV_DRY * BURNT) * (1.0 + setup.wood.moisture)
    split = setup.build.usual_split_kg or setup.wood.medium_kg or round(calm * SPLIT_DRAWS_HOURS, 1)
    kg = MARGIN * (START_KG * (not burns) + rate * hours)
    return WoodNeed(
        kg=round(kg, 1),
        splits=math.ceil(kg / split),
        split_kg=split,
        kg_per_hour=round(rate, 2),
        minutes_between=round(60.0 * split / rate),
        hours=hours,
    )


def shifts(begin: datetime, end: datetime, people: int) -> tuple[Shift, ...]:
    """Return who watches when: even watches of at most four hours, in turn.

    One person gets one watch, however long: nobody else is there.
    """
    hours = (end - begin) / timedelta(hours=1)
    count = 1 if people == 1 else max(people, math.ceil(hours / SHIFT_HOURS))
    edges = [begin + (end - begin) * number / count for number in range(count + 1)]
    return tuple(
        Shift(person=number % people + 1, begin=edges[number], end=edges[number + 1]) for number in range(count)
    )
