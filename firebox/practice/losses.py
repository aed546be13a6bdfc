"""Heat that leaves the outside of a pit: free and forced convection and radiation."""

import math
from typing import Final

STEFAN_BOLTZMANN: Final = 5.670374e-8
"""W/(m2 K4); exact by the 2019 SI to the digits given (CODATA 2018)."""

GRAVITY: Final = 9.80665
"""m/s2; standard gravity, exact by definition (CGPM 1901)."""

_PRANDTL: Final = 0.70  # of air between 0 and 300 degC; textbook figure, from memory


def _conductivity(kelvin: float) -> float:
    # 0.02624 W/(m K) at 300 K, growing as T^0.82: a fit to textbook air tables, from memory
    return 0.02624 * math.pow(kelvin / 300.0, 0.82)


def _viscosity(kelvin: float) -> float:
    # kinematic, 1.589e-5 m2/s at 300 K, growing as T^1.70 at constant pressure: fit to textbook tables, from memory
    return 1.589e-5 * math.pow(kelvin / 300.0, 1.70)


def natural(wall_kelvin: float, air_kelvin: float, diameter: float) -> float:
    """Return the coefficient of free convection from a horizontal cylinder.

    Parameters
    ----------
    wall_kelvin, air_kelvin : float
        Temperatures of the wall and of the air. [K]
    diameter : float
        [m]

    Returns
    -------
    float
        [W/(m2 K)]

    Notes
    -----
    Churchill and Chu (1975), as in Incropera & DeWitt, "Fundamentals of Heat and Mass Transfer", free convection from
    a long horizontal cylinder; the equation from memory, its results checked in the reference tests.

    Examples
    --------
    >>> round(natural(363.15, 293.15, 0.5), 1)
    5.4
    """
    film = 0.5 * (wall_kelvin + air_kelvin)
    k, nu = _conductivity(film), _viscosity(film)
    rayleigh = GRAVITY * abs(wall_kelvin - air_kelvin) / film * diameter**3 / (nu * nu) * _PRANDTL
    shape = (1.0 + (0.559 / _PRANDTL) ** (9.0 / 16.0)) ** (8.0 / 27.0)
    nusselt = (0.60 + 0.387 * rayleigh ** (1.0 / 6.0) / shape) ** 2
    return float(nusselt * k / diameter)


def forced(wall_kelvin: float, air_kelvin: float, diameter: float, wind: float) -> float:
    """Return the coefficient of forced convection from a cylinder across the wind. [W/(m2 K)]

    Parameters
    ----------
    wall_kelvin, air_kelvin : float
        [K]
    diameter : float
        [m]
    wind : float
        Speed of the air that passes the cylinder. [m/s]

    Notes
    -----
    Churchill and Bernstein (1977), source as for `natural`; the equation from memory.

    Examples
    --------
    >>> round(forced(363.15, 293.15, 0.5, 3.0), 1)
    10.5
    """
    if wind <= 0.0:
        return 0.0
    film = 0.5 * (wall_kelvin + air_kelvin)
    k, nu = _conductivity(film), _viscosity(film)
    reynolds = wind * diameter / nu
    shape = (1.0 + (0.4 / _PRANDTL) ** (2.0 / 3.0)) ** 0.25
    nusselt = (
        0.3
        + 0.62
        * math.sqrt(reynolds)
        * _PRANDTL ** (1.0 / 3.0)
        / shape
        * (1.0 + (reynolds / 282_000.0) ** 0.625) ** 0.8
    )
    return float(nusselt * k / diameter)


def radiative(wall_kelvin: float, air_kelvin: float, emissivity: float) -> float:
    """Return the radiation coefficient towards surroundings at air temperature. [W/(m2 K)]

    Examples
    --------
    >>> round(radiative(363.15, 293.15, 0.9), 1)
    7.3
    """
    return (
        emissivity
        * STEFAN_BOLTZMANN
        * (wall_kelvin + air_kelvin)
        * (wall_kelvin * wall_kelvin + air_kelvin * air_kelvin)
    )


def outside(wall_kelvin: float, air_kelvin: float, diameter: float, wind: float, emissivity: float) -> float:
    """Return the whole coefficient of heat loss from a bare outer wall. [W/(m2 K)]

    Free and forced convection are joined by the third powers, the usual rule for mixed convection (from memory).
    """
    free = natural(wall_kelvin, air_kelvin, diameter)
    driven = forced(wall_kelvin, air_kelvin, diameter, wind)
    return float((free**3 + driven**3) ** (1.0 / 3.0)) + radiative(wall_kelvin, air_kelvin, emissivity)
