"""A probe's temperature behind the lag of its sensor: a small Kalman filter in plain floats.

State: the temperature around the sensor, its slope, and the temperature of the sensing element, which follows the
first as dm/dt = (T - m) / lag. The reading is of the element. The first two are what a cook wants to know.
"""

import math
from typing import Final

from msgspec import Struct

Cov = tuple[float, float, float, float, float, float]
"""Upper triangle of the covariance: value-value, value-slope, value-element, slope-slope, slope-element,
element-element."""

SMALLEST_LAG: Final = 0.5
"""A bare bead in moving air is not quicker. [s] Keeps the exponentials in range; no source."""


STEP_SETTLES: Final = 120.0
"""After a step a temperature may run on by as much again within this. [s] A chamber's air takes minutes; no source."""


class Wander(Struct, frozen=True):
    """How restless what a probe measures is."""

    level: float
    """Density of the random walk of the temperature itself: the flutter of air. [K^2/s]"""
    slope: float
    """Density of the random walk of its slope. [K^2/s^3]"""


class Belief(Struct, frozen=True):
    """What is believed of one probe at `seconds`.

    Attributes
    ----------
    value, slope, element : float
        Temperature around the sensor [degC], its slope [K/s], temperature of the element [degC].
    cov : tuple of float
        See `Cov`.
    """

    seconds: float
    value: float
    slope: float
    element: float
    cov: Cov


def start(seconds: float, celsius: float, variance: float, wander: Wander, lag: float) -> Belief:
    """Return the belief after a first reading: the sensor is taken to be at rest, the slope unknown.

    The slope may be what it wanders to in ten minutes, and the temperature around the sensor is off by as much as
    that slope makes the sensor lag.
    """
    slope = wander.slope * 600.0
    off = slope * lag * lag
    return Belief(seconds, celsius, 0.0, celsius, (variance + off, 0.0, variance, slope, 0.0, variance))


def predict(belief: Belief, seconds: float, wander: Wander, lag: float) -> Belief:
    """Return the belief moved on to `seconds`; the same one where no time has passed.

    Notes
    -----
    Exact for a temperature that moves along a straight line between the two instants:
    m' = a m + (1 - a) T + (d - lag (1 - a)) s with a = exp(-d / lag). What the temperature wanders in between reaches
    the element in the share g = 1 - lag (1 - a) / d, as it would along a ramp.
    """
    d = seconds - belief.seconds
    if d <= 0.0:
        return belief
    tau = max(lag, SMALLEST_LAG)
    a = math.exp(-d / tau)
    b = 1.0 - a
    c = d - tau * b
    p00, p01, p02, p11, p12, p22 = belief.cov
    # F = [[1, d, 0], [0, 1, 0], [b, c, a]]; FP row by row, then (FP)F'
    f00, f01, f02 = p00 + d * p01, p01 + d * p11, p02 + d * p12
    f20 = b * p00 + c * p01 + a * p02
    f21 = b * p01 + c * p11 + a * p12
    f22 = b * p02 + c * p12 + a * p22
    g = c / d
    q00 = wander.level * d + wander.slope * d * d * d / 3.0
    q01 = wander.slope * d * d / 2.0
    cov = (
        f00 + d * f01 + q00,
        f01 + q01,
        b * f00 + c * f01 + a * f02 + g * q00,
        p11 + wander.slope * d,
        b * p01 + c * p11 + a * p12 + g * q01,
        b * f20 + c * f21 + a * f22 + g * g * q00,
    )
    value, slope, element = belief.value, belief.slope, belief.element
    return Belief(seconds, value + d * slope, slope, b * value + c * slope + a * element, cov)


def surprise(belief: Belief, celsius: float, variance: float) -> float:
    """Return the squared innovation over its variance: chi-square with one degree of freedom for an honest reading."""
    return (celsius - belief.element) ** 2 / (belief.cov[5] + variance)


def correct(belief: Belief, celsius: float, variance: float) -> Belief:
    """Return the belief after a reading of `celsius` with `variance`, both at the belief's own instant."""
    p00, p01, p02, p11, p12, p22 = belief.cov
    s = p22 + variance
    k0, k1, k2 = p02 / s, p12 / s, p22 / s
    off = celsius - belief.element
    cov = (p00 - k0 * p02, p01 - k0 * p12, p02 - k0 * p22, p11 - k1 * p12, p12 - k1 * p22, p22 - k2 * p22)
    return Belief(belief.seconds, belief.value + k0 * off, belief.slope + k1 * off, belief.element + k2 * off, cov)


def loosen(belief: Belief, jump: float, over_seconds: float, lag: float) -> Belief:
    """Return the belief made ready for a genuine step: its temperature and slope are up for grabs.

    Parameters
    ----------
    belief : Belief
        As it stood before the step.
    jump : float
        How far the element has moved so far [K]; the temperature around it has moved further by its lag.
    over_seconds, lag : float
        In what time, behind which lag. [s]

    Notes
    -----
    The element keeps what it is known to be: it can only follow, and the readings tell how far it has to go.
    """
    p00, p01, p02, p11, p12, p22 = belief.cov
    whole = jump / (1.0 - math.exp(-max(over_seconds, 1.0) / max(lag, SMALLEST_LAG)))
    slope = (whole / STEP_SETTLES) ** 2
    cov = (p00 + whole * whole, p01, p02, p11 + slope, p12, p22)
    return Belief(belief.seconds, belief.value, belief.slope, belief.element, cov)
