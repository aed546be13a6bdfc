"""Where water boils: by the pressure of the air, or by the altitude where that is not known."""

import math
from typing import Final

from firebox.errors import RangeError

_N: Final = (
    0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5, -0.32325550322333e7,
    0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3,
)  # fmt: skip
"""Coefficients of IAPWS-IF97, region 4 (its table 34)."""

STANDARD_PASCAL: Final = 101_325.0
"""Pressure at sea level in the standard atmosphere. [Pa]"""

PASCAL_RANGE: Final = (50_000.0, 110_000.0)
"""Pressures that there can be where somebody cooks: from 5500 m up to a strong high at the Dead Sea. [Pa]"""

KELVIN_A_PASCAL: Final = 0.00028
"""By how much the boiling point moves with the pressure, near that of sea level. [K/Pa]; 100.160 degC at 1020 hPa and
99.042 at 980 hPa, by `celsius`."""


def celsius(pascal: float) -> float:
    """Return the temperature at which water boils.

    Parameters
    ----------
    pascal : float             Pressure of the air where the pot stands, not reduced to sea level. [Pa, 50-110 kPa]

    Returns
    -------
    float                      Boiling point. [degC]

    Raises
    ------
    RangeError                 There is no such air pressure where somebody cooks.

    Notes
    -----
    The saturation line, solved for the temperature: equation 31 of [1]_.

    References
    ----------
    .. [1] IAPWS R7-97(2012), "Revised Release on the IAPWS Industrial Formulation 1997 for the Thermodynamic Properties
       of Water and Steam", section 8.2.

    Examples
    --------
    >>> round(celsius(101_325.0), 3), round(celsius(95_000.0), 3)
    (99.974, 98.178)
    """
    low, high = PASCAL_RANGE
    if not low <= pascal <= high:
        raise RangeError(
            f"{pascal / 100:.6g} hPa is no air pressure where somebody cooks; {low / 100:g} to {high / 100:g} hPa would be"
        )
    return _saturation_kelvin(pascal) - 273.15


def _saturation_kelvin(pascal: float) -> float:
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = _N
    beta = math.pow(pascal / 1e6, 0.25)
    e = beta * beta + n3 * beta + n6
    f = n1 * beta * beta + n4 * beta + n7
    g = n2 * beta * beta + n5 * beta + n8
    d = 2.0 * g / (-f - math.sqrt(f * f - 4.0 * e * g))
    return (n10 + d - math.sqrt((n10 + d) ** 2 - 4.0 * (n9 + n10 * d))) / 2.0


def standard_pascal(metres: float) -> float:
    """Return the pressure of the standard atmosphere at an altitude.

    Parameters
    ----------
    metres : float             Above sea level. [m, -500..5500]

    Returns
    -------
    float                      [Pa]; the weather moves it by some 2000 Pa either way.

    Raises
    ------
    RangeError                 Nobody cooks there.

    References
    ----------
    .. [1] NOAA, NASA, USAF, "U.S. Standard Atmosphere, 1976", equation 33a, with its lowest layer's -6.5 K a kilometre.

    Examples
    --------
    >>> round(standard_pascal(1000.0))
    89875
    """
    if not -500.0 <= metres <= 5500.0:
        raise RangeError(f"{metres:g} m is no altitude where somebody cooks; -500 to 5500 m would be")
    return STANDARD_PASCAL * math.pow(1.0 - 0.0065 * metres / 288.15, 5.25588)


def station_pascal(sea_level_pascal: float, metres: float, air_celsius: float) -> float:
    """Return the pressure at a place from the one that a weather report reduces to sea level.

    Parameters
    ----------
    sea_level_pascal : float   As reported. [Pa]
    metres : float             Altitude of the place. [m]
    air_celsius : float        Temperature of the air there. [degC]

    Returns
    -------
    float                      [Pa]

    Notes
    -----
    The usual reduction with 6.5 K a kilometre, turned round; from memory.

    Examples
    --------
    >>> round(station_pascal(101_325.0, 1000.0, 8.5))
    89872
    """
    drop = 0.0065 * metres
    return sea_level_pascal * math.pow(1.0 - drop / (air_celsius + drop + 273.15), 5.257)
