"""What is known of a pit before it burns: parameters that follow from its dimensions, with honest doubt.

Where a dimension was told, its consequences get the spread that geometry and weather leave; where not, the spread of
the pits people own. What no dimension tells (how fast wood burns, how much air gets to it) spans what fires do.
"""

from typing import Final

import numpy as np
from msgspec import Struct

from firebox.estimate.model import CP_AIR, FIRST_PARAMETER, SIZE, At, Pit
from firebox.pit import shell, wood
from firebox.setup import PitBuild, Wood

UNKNOWN_LITRES: Final = 450.0
"""Chamber of a usual pit (120 US gallons), where none was told; between 60 and 500 gallons, so within a factor of 3."""

UNKNOWN_WALL_MM: Final = 6.0
"""Wall of a usual pit; from thin sheet (2-3 mm) to pipe (10 mm)."""

TARGET_RISE: Final = 100.0
"""What a pit is usually held at above the air. [K]"""

INSULATED: Final = {True: 0.35, False: 1.0, None: 0.75}
"""Loss of an insulated firebox over that of a bare one: 25 mm of mineral wool (0.04 W/mK hot: 0.08) pass some 3 W/m2K
where bare steel at 250 degC loses 20; doors and seams stay bare. From memory."""


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
    litres = float(np.clip(build.chamber_litres or UNKNOWN_LITRES, 20.0, 20000.0))
    wall_mm = float(np.clip(build.wall_mm or UNKNOWN_WALL_MM, 0.8, 50.0))
    size_doubt = 0.0 if build.chamber_litres else 0.5
    steel_doubt = size_doubt + (0.0 if build.wall_mm else 0.4)
    size = litres / UNKNOWN_LITRES
    area = shell.area(litres)
    box_area = 0.5 * area  # a firebox of a third of the volume has about half the surface
    # 13 W/m2K in still air, 20 at 4 m/s (loss table): a light wind is usual.
    wall_loss = area * 15.0
    box_loss = box_area * 20.0 * INSULATED[build.firebox_insulated]
    flue = 0.012 * size**0.8 * CP_AIR * TARGET_RISE  # 1.5 kg/h of wood at some five times its air: 12 g/s
    need = wall_loss * 0.8 * TARGET_RISE + box_loss * 2.2 * TARGET_RISE + flue
    usual = build.usual_split_kg or fuel.medium_kg
    # Where no split was weighed: one burns for a bit over half an hour.
    usual_kg = float(wood.dry_mass(usual, fuel.moisture) if usual else need * 2000.0 / wood.LHV_DRY)
    slow = float(np.clip(usual_kg / 1.2, 0.3, 6.0)) ** 0.3  # thicker wood takes longer, by its surface to volume
    steel, box_steel = shell.heat_capacity(area, wall_mm), shell.heat_capacity(box_area, wall_mm)
    table = {
        At.DRYING_TIME: (380.0 * slow, 0.5),  # a split flames after some 5 to 8 min (common practice)
        # A split flames for some 20 min and glows for an hour (common practice); how long, the pit shows.
        At.FLAMING_TIME: (1250.0 * temper.flaming * slow, 0.35),
        At.COAL_TIME: (3500.0 * temper.coal * slow, 0.45),
        At.CHAR_YIELD: (0.22, 0.2),  # 15-25 % of the dry mass (references: how wood burns, verified)
        At.HEAT: (0.95, 0.3),  # a clean fire gives nearly all of its heat; weights are told by eye
        # Half open, a pit draws some four times the air that holds the target takes to burn: the flue's flow, above.
        At.AIR: (6.6 * temper.air * need / (wood.LHV_DRY / wood.STOICHIOMETRIC_AIR), 0.6),
        At.RADIANT: (0.35, 0.3),  # a third of a flame's and most of a coal bed's heat is radiation: from memory
        At.FIREBOX_EXCHANGE: (box_area * 20.0, 0.4),
        At.WALL_EXCHANGE: (area * 7.5, 0.45),  # convection: slow gas over steel, 5 to 12 W/m2K; it hardly radiates
        At.WALL_LOSS: (wall_loss, 0.3 + 0.4 * size_doubt),
        At.FIREBOX_LOSS: (box_loss, 0.45 if build.firebox_insulated is None else 0.3),
        At.WALL_CAPACITY: (steel, 0.25 + 0.5 * steel_doubt),
        At.FIREBOX_CAPACITY: (1.3 * box_steel, 0.35 + 0.5 * steel_doubt),  # grate, door and ash with it
        At.MASS_CAPACITY: (25e3 * size, 0.6),  # 5 kg of meat and 10 kg of steel inside for 450 l
        At.MASS_EXCHANGE: (0.65 * area * 12.0, 0.5),
        At.DOOR: (40.0 * size**0.67, 0.6),
        At.LAG: (50.0, 0.5),  # 3 to 6 mm sheaths in slow air: 20 to 180 s (references: estimation, from memory)
        At.RADIATION_SEEN: (0.3, 0.4),
        At.AIR_POWER: (0.5, 0.4),  # surface burning goes with the root of the flow over it: laminar mass transfer
        # Wood catches by the radiation of what burns beside it, which goes with the heat given, less by the walls'.
        At.KINDLING: (0.6, 0.4),
        At.BURN_POWER: (0.75, 0.4),
        # A bed's rate follows its temperature, and that the heat around it: between carried air (0) and kinetics (2).
        At.EMBERS: (0.4, 0.5),
        At.COAL_POWER: (0.5, 0.3),  # a shrinking particle's d^2 law gives 1/3, a heap of them fading one by one 1
    } | dict.fromkeys((At(row) for row in range(At.CURVE_0, At.CURVE_5 + 1)), (1.0, 0.2))
    rows = [table[At(row)] for row in range(FIRST_PARAMETER, SIZE)]
    value, spread = (np.array([row[column] for row in rows]) for column in (0, 1))
    return Pit(
        value=value,
        spread=spread,
        plain=value,
        wide=spread,
        usual_kg=usual_kg,
        need_watts=float(need),
        area=float(area),
    )
