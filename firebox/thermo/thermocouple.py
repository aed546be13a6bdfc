"""Thermocouples by the reference functions of ITS-90, and chips that take the curve for a straight line.

The functions are those of NIST Monograph 175 (1993), adopted by IEC 60584-1 and ASTM E230; the package
`thermocouple-its90` evaluates them. Voltages add, temperatures do not: a cold junction is always added as a voltage.
"""

from enum import StrEnum
from typing import Final

import thermocouple_its90

from firebox.errors import RangeError


class Couple(StrEnum):
    """The letter of a thermocouple's two metals (IEC 60584-1)."""

    K = "K"
    J = "J"
    T = "T"
    N = "N"
    E = "E"
    R = "R"
    S = "S"


RANGES: Final = {
    Couple.K: (-200.0, 1372.0),
    Couple.J: (-210.0, 1200.0),
    Couple.T: (-200.0, 400.0),
    Couple.N: (-200.0, 1300.0),
    Couple.E: (-200.0, 1000.0),
    Couple.R: (-50.0, 1768.1),
    Couple.S: (-50.0, 1768.1),
}
"""Letter -> lowest and highest temperature that can be told from a voltage. [degC]; the ranges of the published
inverse functions (NIST SRD 60). What lies outside is no temperature of a working thermocouple."""

LINE: Final = {
    Couple.K: 0.041276,
    Couple.J: 0.057953,
    Couple.N: 0.036256,
    Couple.T: 0.05218,
    Couple.E: 0.076373,
    Couple.R: 0.010506,
    Couple.S: 0.009587,
}
"""Letter -> slope of the straight line that a MAX31855 takes for the curve. [mV/K]; its datasheet, table 1, from
memory."""


def emf(couple: Couple, celsius: float) -> float:
    """Return the voltage of a thermocouple whose other end is at 0 degC.

    Parameters
    ----------
    couple : Couple
    celsius : float            Temperature of the measuring junction. [degC]

    Returns
    -------
    float                      Voltage. [mV]

    Raises
    ------
    RangeError                 Outside the reference function.

    References
    ----------
    .. [1] Burns, Scroger, Strouse, Croarkin, Guthrie, "Temperature-Electromotive Force Reference Functions and Tables
       for the Letter-Designated Thermocouple Types Based on the ITS-90", NIST Monograph 175, 1993.

    Examples
    --------
    >>> round(emf(Couple.K, 100.0), 3), round(emf(Couple.J, 100.0), 3)
    (4.096, 5.269)
    """
    try:
        return thermocouple_its90.get(couple.value).emf(celsius)
    except thermocouple_its90.RangeError as error:
        raise RangeError(f"type {couple}: {error}") from error


def temperature(couple: Couple, millivolts: float, junction_celsius: float) -> float:
    """Return the temperature of the measuring junction from the voltage between its wires.

    Parameters
    ----------
    couple : Couple
    millivolts : float         What a voltmeter at the terminals shows. [mV]
    junction_celsius : float   Temperature of those terminals, the cold junction. [degC]

    Returns
    -------
    float                      Temperature. [degC]

    Raises
    ------
    RangeError                 No temperature within `RANGES` gives that voltage, or the cold junction is outside.

    Notes
    -----
    emf(hot) = measured + emf(cold), then inverted [1]_. Adding the temperatures instead is wrong by degrees.

    References
    ----------
    .. [1] NIST Monograph 175, as in `emf`.

    Examples
    --------
    >>> round(temperature(Couple.K, 3.960598, 25.0), 3)
    121.0
    """
    low, high = RANGES[couple]
    try:
        celsius = thermocouple_its90.get(couple.value).temperature(millivolts, junction_celsius)
    except thermocouple_its90.RangeError as error:
        raise RangeError(f"type {couple}: {error}") from error
    if not low - 1e-6 <= celsius <= high + 1e-6:
        raise RangeError(f"type {couple}: {millivolts} mV is {celsius:.1f} C; {low:g} to {high:g} C can be told")
    return celsius


def straighten(couple: Couple, shown_celsius: float, junction_celsius: float) -> float:
    """Return the temperature behind what a chip shows that takes the curve for a straight line.

    Parameters
    ----------
    couple : Couple
    shown_celsius : float      What the chip says of the measuring junction. [degC]
    junction_celsius : float   What it says of its own cold junction. [degC]

    Returns
    -------
    float                      Temperature by the reference function. [degC]

    Raises
    ------
    RangeError                 As `temperature`.

    Notes
    -----
    The chip computes shown = cold + V / s with the slope s of `LINE`; so V = s (shown - cold) is what it measured,
    and that is converted properly. Chips that follow the curve themselves (MAX31856, MCP9600) must not be put through
    this a second time.

    Examples
    --------
    A chip with its terminals at 35 degC that measures 400 degC:

    >>> shown = 35.0 + (emf(Couple.K, 400.0) - emf(Couple.K, 35.0)) / LINE[Couple.K]
    >>> round(shown, 2), round(straighten(Couple.K, shown, 35.0), 2)
    (398.16, 400.0)
    """
    return temperature(couple, LINE[couple] * (shown_celsius - junction_celsius), junction_celsius)
