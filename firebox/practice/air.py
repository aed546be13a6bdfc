"""Air and flue gas: draft of the stack, flow through openings."""

import math
from typing import Final

PRESSURE: Final = 101_325.0
"""Pa; standard atmosphere, by definition."""

DRAFT: Final = 0.034163
"""K/m; g M / R of air = 9.80665 * 0.0289647 / 8.314463 (computed from the defining constants)."""

ORIFICE: Final = 0.65
"""Discharge coefficient of a sharp opening; the lower end of the usual 0.65-0.70 of chimney practice."""

SPECIFIC_HEAT: Final = 1050.0
"""J/(kg K) of air and flue gas, one figure for the whole fire; air has 1006 at 20 degC and 1045 at 300 degC."""

OXYGEN: Final = 0.2314
"""kg oxygen in a kg of dry air."""


def density(kelvin: float) -> float:
    """Return the density of air at standard pressure. [kg/m3]

    Examples
    --------
    >>> round(density(293.15), 3)
    1.204
    """
    return 353.05 / kelvin  # p M / R of dry air; 1.2046 at 20 degC


def draft(height: float, inside_kelvin: float, outside_kelvin: float) -> float:
    """Return the pressure by which a column of hot gas draws. [Pa]

    Parameters
    ----------
    height : float
        Of the column. [m]
    inside_kelvin, outside_kelvin : float
        Mean temperatures of the gas and of the air outside. [K]

    Notes
    -----
    dp = 0.0342 p H (1/To - 1/Ti): the stack-effect equation of chimney practice in SI units.

    Examples
    --------
    >>> round(draft(1.2, 423.15, 293.15), 2)
    4.35
    """
    return DRAFT * PRESSURE * height * (1.0 / outside_kelvin - 1.0 / inside_kelvin)


def flow(area: float, pressure: float, kelvin: float) -> float:
    """Return the mass flow through an opening under a pressure difference. [kg/s]

    Parameters
    ----------
    area : float
        Effective area, discharge coefficient included. [m2]
    pressure : float
        [Pa]; negative: the flow turns round and the result is negative.
    kelvin : float
        Temperature of the gas that flows. [K]
    """
    return math.copysign(area * math.sqrt(2.0 * density(kelvin) * abs(pressure)), pressure)


def exchange(area: float, height: float, inside_kelvin: float, outside_kelvin: float) -> float:
    """Return the mass flow that hot gas and cold air swap through an open door. [kg/s]

    Parameters
    ----------
    area, height : float
        Of the opening. [m2], [m]
    inside_kelvin, outside_kelvin : float
        [K]

    Notes
    -----
    Two-way flow of a doorway, one third of the orifice flow under half the height's buoyancy: the textbook form of
    natural ventilation through one opening (from memory).
    """
    if inside_kelvin <= outside_kelvin:
        return 0.0
    buoyancy = 9.80665 * height * (inside_kelvin - outside_kelvin) / inside_kelvin
    return density(outside_kelvin) * area * ORIFICE / 3.0 * math.sqrt(buoyancy)
