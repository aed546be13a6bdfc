"""Draft: what a warm stack pulls, and what passes two dampers in series."""

import math
from typing import Final

from firebox.errors import RangeError

STACK_CONSTANT: Final = 0.0342
"""g M / R. [K/m] 9.80665 * 0.0289647 / 8.314463 = 0.034163; in print as 0.0342 (verified)."""

PRESSURE: Final = 101325.0
"""Standard atmosphere. [Pa]"""

GRAVITY: Final = 9.80665
"""Standard gravity. [m/s2] Exact."""


def pressure(height: float, outside_celsius: float, stack_celsius: float) -> float:
    """Return the draft of a stack. [Pa]; negative where the stack is colder than the air.

    Notes
    -----
    dp = 0.0342 p H (1/To - 1/Ti); form verified.

    Examples
    --------
    >>> round(pressure(1.0, 20.0, 120.0), 2)
    3.01
    """
    outside, inside = outside_celsius + 273.15, stack_celsius + 273.15
    return STACK_CONSTANT * PRESSURE * height * (1.0 / outside - 1.0 / inside)


def volume_flow(
    area: float, height: float, outside_celsius: float, stack_celsius: float, discharge: float = 0.65
) -> float:
    """Return the outside air that a stack draws through an opening of `area`. [m3/s]; 0 without draft.

    Notes
    -----
    Q = C A sqrt(2 g H (Ti - To)/Ti), C 0.65 to 0.70; form verified.

    Examples
    --------
    >>> round(volume_flow(0.017671, 1.0, 20.0, 120.0), 4)
    0.0257
    """
    inside = stack_celsius + 273.15
    rise = max(stack_celsius - outside_celsius, 0.0)
    return discharge * area * math.sqrt(2.0 * GRAVITY * height * rise / inside)


def relative_draft(outside_celsius: float, stack_celsius: float) -> float:
    """Return the flow that a stack draws, over that at 120 degC in air of 20 degC: sqrt(1 - To/Ti), normalised.

    Examples
    --------
    >>> round(relative_draft(20.0, 120.0), 3)
    1.0
    """
    outside, inside = outside_celsius + 273.15, stack_celsius + 273.15
    usual = 1.0 - 293.15 / 393.15
    return math.sqrt(max(1.0 - outside / inside, 0.0) / usual)


def in_series(inlet: float, outlet: float) -> float:
    """Return the flow through two orifices in series, over that with both fully open. [-]

    Parameters
    ----------
    inlet, outlet : float
        Open fractions of equal orifices; above 1 for a door. [-]

    Raises
    ------
    RangeError
        One of them is not positive: no damper is tight.

    Notes
    -----
    The pressures over both add up, each as the square of flow over area: 1/A^2 = 1/A1^2 + 1/A2^2.

    Examples
    --------
    >>> in_series(1.0, 1.0), round(in_series(0.5, 1.0), 3)
    (1.0, 0.632)
    """
    if inlet <= 0.0 or outlet <= 0.0:
        raise RangeError(f"openings {inlet} and {outlet}: more than 0 would be right")
    return math.sqrt(2.0 / (1.0 / inlet**2 + 1.0 / outlet**2))
