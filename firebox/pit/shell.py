"""The steel shell: its surface and heat from the pit's dimensions, its loss to still air and wind."""

import math
from typing import Final

import numpy as np

DENSITY: Final = 7850.0
"""Of carbon steel. [kg/m3] From memory."""

SPECIFIC_HEAT: Final = 490.0
"""Of carbon steel at 20 degC; 520-560 by 200-300 degC. [J/(kg K)] From memory."""

EMISSIVITY: Final = 0.9
"""Of oxidised steel, 0.8 to 0.9. [-] From memory."""

STEFAN_BOLTZMANN: Final = 5.670374419e-8
"""[W/(m2 K4)] CODATA, exact since 2019."""

SLENDER: Final = 2.4
"""Length over diameter of a usual cooking chamber: 0.5 m by 1.2 m. Common practice, no source."""

_WIND: Final = (0.0, 1.0, 3.0, 5.0, 10.0)
_FORCED: Final = (5.42, 5.42, 10.6, 15.0, 24.7)
"""Convection from a horizontal cylinder of 0.5 m at 90 degC in air of 20 degC. [W/(m2 K)] At rest Churchill-Chu, in wind
Churchill-Bernstein, by the PyPI package `ht` with CoolProp air (verified by library); the larger of the two below 1 m/s."""


def diameter(litres: float) -> float:
    """Return the diameter of a cylindrical chamber of `litres`. [m]

    Examples
    --------
    >>> round(diameter(235.6), 3)
    0.5
    """
    return math.cbrt(4.0 * litres / 1000.0 / (math.pi * SLENDER))


def area(litres: float) -> float:
    """Return the surface of a cylindrical chamber of `litres`, both ends with it. [m2]

    Examples
    --------
    >>> round(area(235.6), 2)
    2.28
    """
    d = diameter(litres)
    return math.pi * d * d * (SLENDER + 0.5)


def heat_capacity(square_metres: float, wall_mm: float) -> float:
    """Return the heat that a steel wall takes up. [J/K]

    Examples
    --------
    >>> round(heat_capacity(2.28, 6.35) / 1000.0, 1)
    55.7
    """
    return square_metres * wall_mm / 1000.0 * DENSITY * SPECIFIC_HEAT


def convection(wind: float) -> float:
    """Return the convective coefficient of a warm chamber in wind. [W/(m2 K)]; `wind` in m/s, 0 to 10.

    Examples
    --------
    >>> convection(5.0)
    15.0
    """
    return float(np.interp(wind, _WIND, _FORCED))


def radiation(wall_celsius: float, air_celsius: float) -> float:
    """Return the radiative coefficient of a wall to surroundings at the air's temperature. [W/(m2 K)]

    Examples
    --------
    >>> round(radiation(90.0, 20.0), 1)
    7.3
    """
    wall, air = wall_celsius + 273.15, air_celsius + 273.15
    return EMISSIVITY * STEFAN_BOLTZMANN * (wall + air) * (wall * wall + air * air)


def loss(wall_celsius: float, air_celsius: float, wind: float) -> float:
    """Return what a warm chamber loses for each square metre. [W/m2]

    Examples
    --------
    >>> round(loss(90.0, 20.0, 0.0))
    890
    """
    return (convection(wind) + radiation(wall_celsius, air_celsius)) * (wall_celsius - air_celsius)
