"""Platinum resistance thermometers by IEC 60751 (Callendar and Van Dusen)."""

import math
from typing import Final

from firebox.errors import RangeError

A: Final = 3.9083e-3
"""[1/K]; IEC 60751:2008 and :2022."""
B: Final = -5.775e-7
"""[1/K2]; the same."""
C: Final = -4.183e-12
"""[1/K4]; the same, below 0 degC only."""

RANGE: Final = (-200.0, 850.0)
"""Lowest and highest temperature of the standard. [degC]"""


def ohm(celsius: float, *, ohm_at_zero: float = 100.0) -> float:
    """Return the resistance of a platinum sensor.

    Parameters
    ----------
    celsius : float            Temperature. [degC, -200..850]
    ohm_at_zero : float        Resistance at 0 degC: 100 for a Pt100, 1000 for a Pt1000. [ohm]

    Returns
    -------
    float                      Resistance. [ohm]

    Raises
    ------
    RangeError                 Outside the standard.

    Notes
    -----
    R = R0 (1 + A t + B t^2 + C (t - 100) t^3), the last term below 0 degC only [1]_.

    References
    ----------
    .. [1] IEC 60751:2022, "Industrial platinum resistance thermometers and platinum temperature sensors".

    Examples
    --------
    >>> round(ohm(100.0), 4), round(ohm(-100.0), 4)
    (138.5055, 60.2558)
    """
    low, high = RANGE
    if not low <= celsius <= high:
        raise RangeError(f"platinum: {celsius} C; the standard goes from {low:g} to {high:g} C")
    cold = C * (celsius - 100.0) * celsius**3 if celsius < 0 else 0.0
    return ohm_at_zero * (1.0 + A * celsius + B * celsius**2 + cold)


def temperature(resistance: float, *, ohm_at_zero: float = 100.0) -> float:
    """Return the temperature of a platinum sensor from its resistance.

    Parameters
    ----------
    resistance : float         Without that of the leads. [ohm]
    ohm_at_zero : float        As in `ohm`. [ohm]

    Returns
    -------
    float                      Temperature. [degC]

    Raises
    ------
    RangeError                 No temperature of the standard has that resistance.

    Notes
    -----
    The quadratic solved above 0 degC; below, Newton's steps from its root, which are done when they are smaller than a
    microkelvin.

    Examples
    --------
    >>> round(temperature(138.5055), 3), round(temperature(602.558, ohm_at_zero=1000.0), 3)
    (100.0, -100.0)
    """
    ratio = resistance / ohm_at_zero
    low, high = ohm(RANGE[0]) / 100.0, ohm(RANGE[1]) / 100.0
    if not low <= ratio <= high:
        raise RangeError(
            f"platinum: {resistance:g} ohm; {low * ohm_at_zero:g} to {high * ohm_at_zero:g} ohm would be "
            f"{RANGE[0]:g} to {RANGE[1]:g} C"
        )
    celsius = (-A + math.sqrt(A * A - 4.0 * B * (1.0 - ratio))) / (2.0 * B)
    if ratio >= 1.0:
        return celsius
    while True:
        slope = A + 2.0 * B * celsius + C * (4.0 * celsius**3 - 300.0 * celsius**2)
        step = (1.0 + A * celsius + B * celsius**2 + C * (celsius - 100.0) * celsius**3 - ratio) / slope
        celsius -= step
        if abs(step) < 1e-6:
            return celsius
