"""What somebody sees who stands before a practice fire: flames, smoke, coals."""

import math
from typing import Final

from firebox.lessons import Coals, Flame, Sight, Smoke
from firebox.practice.fire import Fire

LOW_FLAME: Final = 0.12
HIGH_FLAME: Final = 1.1
"""Heat of the flames over the heat that holds 121 degC in still air, a low flame and a high one; no source."""

NO_FLAME: Final = 250.0
"""W; less is a flicker."""

HAZE: Final = 0.5
THICK: Final = 12.0
"""g of unburnt volatiles in a kg of gas, where a thin haze and where a thick plume begins; no source."""

STEAM: Final = 40.0
"""g of steam in a kg of gas that shows as a white plume; no source."""

DIRTY_SHARE: Final = 0.25
DIRTY: Final = 2.0
"""Share of the volatiles that leaves unburnt, and how much of that a kg of gas carries, where a fire smoulders. A fire
that is well kept lets 5-14 % go unburnt."""

CHOKED: Final = 1.5
"""Ash over what halves the air through the grate."""

_DULL, _GLOWING, _BRIGHT = (
    750.0,
    880.0,
    1080.0,
)  # K; dark red 480, cherry 600, orange 800 degC of the usual colour charts


def see(fire: Fire) -> Sight:
    """Return what a fire looks like now."""
    return Sight(
        flame=_flame(fire),
        smoke=_smoke(fire),
        coals=_coals(fire),
        ash=fire.hearth.ash > CHOKED * fire.build.ash_room,
        ajar=fire.ajar > 0.0 and not fire.cook_door,
        grease=fire.chamber.flaring,
        wind=round(fire.air.wind, 1),
        rain=fire.air.rain > 0.0,
    )


def usual_heat(fire: Fire) -> float:
    """Return about what heat holds the pit at 121 degC on a breezy evening, from its size alone. [W]

    A fit to the mean heat of well kept practice fires of 235 to 1800 litres: within a tenth.

    Examples
    --------
    >>> from firebox.practice.build import sized
    >>> from firebox.practice.weather import SKIES, Weather
    >>> round(usual_heat(Fire(sized("pit", 950.0, 6.35), Weather(SKIES["calm"], 1))), -2)
    16400.0
    """
    insulated = 0.75 if fire.build.insulation is not None else 1.0
    return 4000.0 * insulated * math.pow(fire.build.shell_area, 0.8)


def _flame(fire: Fire) -> Flame:
    watts, usual = fire.flame_watts(), usual_heat(fire)
    if watts < NO_FLAME:
        return Flame.NONE
    if watts < LOW_FLAME * usual:
        return Flame.LOW
    return Flame.STEADY if watts < HIGH_FLAME * usual else Flame.HIGH


def _smoke(fire: Fire) -> Smoke:
    hearth, gas = fire.hearth, max(1e-5, fire.inflow + fire.leak)  # a fire that was not stepped yet breathes nothing
    unburnt = 1e3 * hearth.smoke_rate / gas
    share = hearth.smoke_rate / hearth.volatile_rate if hearth.volatile_rate > 0.0 else 0.0
    if unburnt > DIRTY and share > DIRTY_SHARE:
        return Smoke.DIRTY
    if unburnt > THICK or 1e3 * hearth.steam_rate / gas > STEAM:
        return Smoke.THICK
    return Smoke.THIN if unburnt > HAZE else Smoke.CLEAR


def _coals(fire: Fire) -> Coals:
    hearth = fire.hearth
    if hearth.coals < 0.02 or hearth.bed < _DULL:
        return Coals.DEAD
    if hearth.bed < _GLOWING:
        return Coals.DULL
    return Coals.GLOWING if hearth.bed < _BRIGHT else Coals.BRIGHT
