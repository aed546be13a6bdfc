"""Thermistors whose resistance falls with temperature, and the divider they are measured in."""

import math
from typing import Final

from msgspec import Struct

from firebox.errors import RangeError

KELVIN: Final = 273.15
"""0 degC, exact by definition. [K]"""

EDGE: Final = 0.005
"""Part of the divider's span at either end that is a broken or shorted wire and no temperature; common practice."""

LARGEST_LOG: Final = 50.0
"""Natural logarithm of a resistance that nothing has, 5e21 ohm."""


class Curve(Struct, frozen=True):
    """The curve of Steinhart and Hart: 1/T = a + b ln R + c (ln R)^3, T in kelvin, R in ohm.

    A Beta curve is the same with c = 0.

    References
    ----------
    .. [1] Steinhart, Hart, "Calibration curves for thermistors", Deep-Sea Research 15, 1968, pages 497-503.
    """

    a: float
    b: float
    c: float = 0.0

    def celsius(self, ohm: float) -> float:
        """Return the temperature at a resistance. [degC]

        Raises
        ------
        RangeError
            No temperature above absolute zero, or below 600 degC where no thermistor lives, has that resistance.

        Examples
        --------
        >>> round(Curve(1.129241e-3, 2.341077e-4, 8.775468e-8).celsius(1752.0), 2)
        69.99
        """
        if not (ohm > 0.0 and math.isfinite(ohm)):
            raise RangeError(f"thermistor: {ohm} ohm is no resistance")
        log = math.log(ohm)
        inverse = self.a + self.b * log + self.c * log**3
        if not inverse > 1.0 / (600.0 + KELVIN):
            raise RangeError(f"thermistor: {ohm:g} ohm is beyond 600 C on its curve; no thermistor lives there")
        return 1.0 / inverse - KELVIN

    def ohm(self, celsius: float) -> float:
        """Return the resistance at a temperature. [ohm]

        Raises
        ------
        RangeError
            The curve does not fall, or so slowly that no resistance there is would do.

        Notes
        -----
        The real root of the cubic in ln R, by Newton's steps: b > 0 and c >= 0, so it is the only one.

        Examples
        --------
        >>> round(by_beta(3950.0, 10_000.0, 25.0).ohm(100.0), 1)
        697.5
        """
        target = 1.0 / (celsius + KELVIN)
        log = (target - self.a) / self.b if self.b > 0.0 else math.inf
        for _ in range(100):
            if not abs(log) < LARGEST_LOG:
                break
            step = (self.a + self.b * log + self.c * log**3 - target) / (self.b + 3.0 * self.c * log**2)
            log -= step
            if abs(step) < 1e-12 * max(1.0, abs(log)):
                return math.exp(log)
        raise RangeError(f"thermistor: no resistance on this curve for {celsius} C")


def by_beta(beta: float, ohm: float, celsius: float = 25.0) -> Curve:
    """Return the curve of a thermistor known by its Beta: R = R0 exp(beta (1/T - 1/T0)).

    Parameters
    ----------
    beta : float               [K]
    ohm : float                Resistance R0 at `celsius`. [ohm]
    celsius : float            T0. [degC]

    Notes
    -----
    A Beta is good only near the two temperatures between which it was measured: at 100 degC a 10 kohm part of
    Beta 3950 is about a degree from its own full curve.

    Examples
    --------
    >>> round(by_beta(3950.0, 100_000.0).celsius(3968.4), 2)
    121.0
    """
    if not (beta > 0.0 and ohm > 0.0):
        raise RangeError(f"thermistor: beta {beta:g} K and {ohm:g} ohm; both are more than 0")
    return Curve(1.0 / (celsius + KELVIN) - math.log(ohm) / beta, 1.0 / beta)


def by_points(points: tuple[tuple[float, float], ...]) -> Curve:
    """Return the curve through three measured points.

    Parameters
    ----------
    points : tuple of (celsius, ohm)
        Three of them, of different temperatures, and colder the higher the resistance. [degC, ohm]

    Raises
    ------
    RangeError
        The points are not three, or no falling curve goes through them.

    Notes
    -----
    The linear equations for a, b and c, by divided differences in ln R. A fit over 0..70 degC is still within 0.04 K
    at 100 degC; far outside the points it is a guess.

    Examples
    --------
    >>> curve = by_points(((0.0, 7355.0), (25.0, 2252.0), (70.0, 394.5)))
    >>> round(curve.celsius(152.8), 2)
    100.03
    """
    if len(points) != 3 or any(ohm <= 0.0 or celsius <= -KELVIN for celsius, ohm in points):
        raise RangeError("thermistor: three points of temperature and resistance are needed, each above zero")
    (t1, r1), (t2, r2), (t3, r3) = sorted(points)
    if not (t1 < t2 < t3 and r1 > r2 > r3):
        raise RangeError("thermistor: the three points do not fall from cold and high to hot and low")
    l1, l2, l3 = math.log(r1), math.log(r2), math.log(r3)
    y1, y2, y3 = (1.0 / (t + KELVIN) for t in (t1, t2, t3))
    first, second = (y2 - y1) / (l2 - l1), (y3 - y1) / (l3 - l1)
    c = (second - first) / (l3 - l2) / (l1 + l2 + l3)
    b = first - c * (l1 * l1 + l1 * l2 + l2 * l2)
    if not (b > 0.0 and c >= -1e-9 and b + 3.0 * c * max(l1, l2, l3) ** 2 > 0.0):
        raise RangeError("thermistor: no falling curve goes through the three points; one of them must be wrong")
    return Curve(y1 - l1 * (b + c * l1 * l1), b, c)


def divider_ohm(part: float, series_ohm: float, *, grounded: bool = True) -> float:
    """Return a thermistor's resistance from where it pulls the middle of its divider.

    Parameters
    ----------
    part : float               Voltage at the middle over the voltage across the whole. [-, 0..1]
    series_ohm : float         The fixed resistor. [ohm]
    grounded : bool            Whether the thermistor is the lower of the two.

    Returns
    -------
    float                      Resistance; infinite where no current flows. [ohm]

    Examples
    --------
    >>> divider_ohm(0.5, 22_000.0), round(divider_ohm(0.2, 22_000.0, grounded=False))
    (22000.0, 88000)
    """
    across = part if grounded else 1.0 - part
    return math.inf if across >= 1.0 else series_ohm * max(across, 0.0) / (1.0 - across)
