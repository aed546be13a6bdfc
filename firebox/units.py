"""Conversions between the cook's units and the program's.

Inside the program every quantity is in the units below, and its name says so.

=====================  =========================================================================
name ends in           unit
=====================  =========================================================================
``celsius``            degrees Celsius (a temperature); ``band``, ``drift`` and lags: differences in kelvin
``kg``, ``litres``     kilograms, litres
``seconds``            seconds since the first record of a watch (logical time)
``minutes``, ``hours`` where a person reads it
``watts``              watts
``open``, ``moisture`` fractions 0..1; moisture on the oven-dry basis
=====================  =========================================================================
"""

from enum import StrEnum
from typing import Final

KG_PER_POUND: Final = 0.45359237
"""Exact by definition: international yard and pound agreement, 1959."""

ABSOLUTE_ZERO_CELSIUS: Final = -273.15
"""Exact by definition of the degree Celsius (SI Brochure, 9th edition, 2019, section 2.3.1)."""


class Degrees(StrEnum):
    """The cook's temperature scale."""

    C = "C"
    F = "F"


class Mass(StrEnum):
    """The cook's unit of mass."""

    KG = "kg"
    LB = "lb"


def celsius_from(value: float, degrees: Degrees) -> float:
    """Return a temperature in degrees Celsius, given in the cook's scale.

    Examples
    --------
    >>> celsius_from(212.0, Degrees.F)
    100.0
    """
    return (value - 32.0) / 1.8 if degrees is Degrees.F else value


def celsius_to(celsius: float, degrees: Degrees) -> float:
    """Return a temperature in the cook's scale, given in degrees Celsius.

    Examples
    --------
    >>> celsius_to(100.0, Degrees.F)
    212.0
    """
    return celsius * 1.8 + 32.0 if degrees is Degrees.F else celsius


def kelvin_from(difference: float, degrees: Degrees) -> float:
    """Return a temperature difference in kelvin, given in the cook's degrees."""
    return difference / 1.8 if degrees is Degrees.F else difference


def kelvin_to(difference: float, degrees: Degrees) -> float:
    """Return a temperature difference in the cook's degrees, given in kelvin."""
    return difference * 1.8 if degrees is Degrees.F else difference


def kg_from(value: float, mass: Mass) -> float:
    """Return a mass in kilograms, given in the cook's unit."""
    return value * KG_PER_POUND if mass is Mass.LB else value


def kg_to(kg: float, mass: Mass) -> float:
    """Return a mass in the cook's unit, given in kilograms."""
    return kg / KG_PER_POUND if mass is Mass.LB else kg
