"""What is known of a pit before it burns: parameters that follow from its dimensions, with honest doubt.

Where a dimension was told, its consequences get the spread that geometry and weather leave; where not, the spread of
the pits people own.
"""

from typing import Final

import numpy as np
from msgspec import Struct

from firebox.estimate.model import FIRST_PARAMETER, SIZE, At, Pit
from firebox.pit import wood
from firebox.setup import PitBuild, Wood

UNKNOWN_LITRES: Final = 450.0
UNKNOWN_WALL_MM: Final = 6.0
SLENDER: Final = 2.4
CURVE_SPREAD: Final = 0.2
BURN_POWER = 0.75
AIR_PLENTY = 2.2
AIR_DOUBT = 0.6
T_FLAME = 1250.0
D_FLAME = 0.35
T_COAL = 3500.0
P_COAL = 0.5
YIELD = 0.22
D_BURN = 0.4
HEATV = 0.95


class Temper(Struct, frozen=True):
    """One way in which fires differ more than dimensions tell: how fast wood burns, and how much air there is for it."""

    flaming: float
    coal: float
    air: float


TEMPERS: Final = (Temper(0.55, 0.8, 1.4), Temper(1.0, 1.0, 1.0), Temper(1.8, 1.25, 0.75))
"""Brisk, usual and slow: factors on burning times and on air. A log's life in a fire spans a factor of three (split size,
grate, air), and which pit this is shows within a few splits."""


def prior(build: PitBuild, fuel: Wood, temper: Temper = TEMPERS[1]) -> Pit:
    """Return the prior of a pit from what is known of its build."""
    litres = build.chamber_litres or UNKNOWN_LITRES
    size_doubt = 0.0 if build.chamber_litres else 0.5
    wall = (build.wall_mm or UNKNOWN_WALL_MM) / 1000.0
    wall_doubt = 0.0 if build.wall_mm else 0.4
    litres = float(np.clip(litres, 20.0, 20000.0))
    wall = float(np.clip(wall, 0.0008, 0.05))
    size = litres / 450.0
    diameter = (4.0 * litres / 1000.0 / (np.pi * SLENDER)) ** (1.0 / 3.0)
    area = np.pi * diameter**2 * (SLENDER + 0.5)
    box_area = 0.5 * area
    steel = wall * 7850.0 * 500.0
    insulated = {True: 0.35, False: 1.0, None: 0.75}[build.firebox_insulated]
    box_doubt = 0.45 if build.firebox_insulated is None else 0.3
    wall_loss = area * 15.0
    box_loss = box_area * 20.0 * insulated
    need = wall_loss * 80.0 + box_loss * 220.0 + 0.012 * size**0.8 * 1010.0 * 100.0
    usual = build.usual_split_kg or fuel.medium_kg
    dry = 1.0 / (1.0 + fuel.moisture)
    usual_kg = float(usual * dry if usual else need * 2000.0 / wood.LHV_DRY)
    slow = float(np.clip(usual_kg / 1.2, 0.3, 6.0)) ** 0.3
    table = {
        At.DRYING_TIME: (240.0 * slow, 0.5),
        At.FLAMING_TIME: (temper.flaming * T_FLAME * slow, D_FLAME),
        At.COAL_TIME: (temper.coal * T_COAL * slow, 0.45),
        At.CHAR_YIELD: (YIELD, 0.2),
        At.HEAT: (HEATV, 0.3),
        At.AIR: (temper.air * AIR_PLENTY * need / 3.0e6, AIR_DOUBT),
        At.RADIANT: (0.35, 0.3),
        At.FIREBOX_EXCHANGE: (box_area * 20.0, 0.4),
        At.WALL_EXCHANGE: (area * 15.0, 0.35),
        At.WALL_LOSS: (wall_loss, 0.3 + 0.4 * size_doubt),
        At.FIREBOX_LOSS: (box_loss, box_doubt),
        At.WALL_CAPACITY: (steel * area, 0.25 + 0.5 * (size_doubt + wall_doubt)),
        At.FIREBOX_CAPACITY: (1.3 * steel * box_area, 0.35 + 0.5 * (size_doubt + wall_doubt)),
        At.MASS_CAPACITY: (25e3 * size, 0.6),
        At.MASS_EXCHANGE: (0.3 * area * 12.0, 0.5),
        At.DOOR: (70.0 * size**0.67, 0.6),
        At.LAG: (50.0, 0.5),
        At.RADIATION_SEEN: (0.3, 0.4),
        At.AIR_POWER: (0.5, 0.4),
        At.KINDLING: (0.3, 0.4),
        At.BURN_POWER: (BURN_POWER, D_BURN),
        At.COAL_POWER: (P_COAL, 0.3),
    } | dict.fromkeys(range(At.CURVE_0, At.CURVE_5 + 1), (1.0, CURVE_SPREAD))
    rows = [table[At(row)] for row in range(FIRST_PARAMETER, SIZE)]
    return Pit(
        value=np.array([value for value, _ in rows]),
        spread=np.array([spread for _, spread in rows]),
        usual_kg=usual_kg,
        need_watts=float(need),
        area=float(area),
    )
