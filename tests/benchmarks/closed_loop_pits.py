"""The pits of the closed loop: practice pits, strange ones, and layered ones, each of a seed, with the weather over it."""

from typing import Final

import numpy as np

from firebox.practice.build import draw
from firebox.practice.fire import Fire
from firebox.practice.weather import SKIES, Sky, Weather
from tests.benchmarks.layered_pits import LayeredPit
from tests.benchmarks.strange_pits import StrangePit

FAMILIES: Final = ("practice", "strange", "layered")

SIZES: Final = (950.0, 420.0, 1400.0, 700.0)
"""Litres of a chamber, by turns."""

START_HOUR: Final = 20.0

GAS_HEAT: Final = 16.0e6
"""J/kg of the gases that wood gives off, for comparing what leaves unburnt with the flame; order of magnitude."""

PREHEATED: Final = 363.0
FIREBOX_PREHEATED: Final = 408.0
"""What the steel of a layered pit is brought to before it is lit: many of them draw too little while they are cold for any
kindling to take. [K]"""


class WarmPit(LayeredPit):
    """A layered pit with warm steel; whoever looks into its firebox sees that coals are fuel as well."""

    def __init__(self, seed: int, sky: Sky, *, litres: float) -> None:
        super().__init__(seed, sky, litres=litres, start_hour=START_HOUR)
        for part in ("w1", "w2", "m1", "m2", "tst"):
            self._a[part] = np.full_like(self._a[part], PREHEATED)
        self._a["fbw"] = np.full_like(self._a["fbw"], FIREBOX_PREHEATED)

    def wood_left(self) -> float:
        """Return what a look into the firebox would guess, coals and all. [kg]"""
        return super().wood_left() + float(self._a["bed"].sum())


Burner = Fire | StrangePit | WarmPit
"""Whatever is kept in the closed loop."""


def pit(family: str, seed: int) -> tuple[Burner, float, str]:
    """Return the cold pit of a seed, its usual split [kg], and the name of its weather."""
    sky = list(SKIES)[seed % len(SKIES)]
    size = SIZES[seed % len(SIZES)]
    if family == "practice":
        build = draw(seed, size)
        return Fire(build, Weather(SKIES[sky], seed, START_HOUR)), build.usual_split_kg, sky
    if family == "layered":
        layered = WarmPit(seed, SKIES[sky], litres=size)
        return layered, layered.usual_split_kg, sky
    strange = StrangePit(seed, SKIES[sky], start_hour=START_HOUR)
    return strange, strange.usual_split_kg, sky


def litres(fire: Burner) -> float:
    """Return how large the chamber is said to be."""
    return 600.0 * fire.usual_split_kg if isinstance(fire, StrangePit) else fire.build.litres


def smoulders(fire: Burner) -> bool:
    """Tell whether more of the wood's gas leaves unburnt than burns; a strange pit has no smoke."""
    if isinstance(fire, LayeredPit):
        return fire.smoulders()
    return isinstance(fire, Fire) and GAS_HEAT * fire.hearth.smoke_rate > fire.hearth.flame_watts + 50.0
