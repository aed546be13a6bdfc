"""Forecasters that know nothing of fire: a bank of robust local-trend Kalman filters.

Every member carries a level and a slope; they differ in how long the slope lasts (`DAMPING`) and in how fast it may
change (`WANDER`). A slope that dies with time constant tau is Newton's law of cooling, whatever the final temperature
is, so the bank holds "settling" (short tau), "running on" (tau without end) and "as it is" (no slope) side by side; which
of them to believe is decided by their past errors (`firebox.estimate.ledger`).
"""

from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

Array = NDArray[np.float64]

DAMPING: Final = np.array([300.0, 900.0, 2400.0, 5400.0, 14400.0, 1e9])
"""Time constants of the slope. [s] From a probe's own settling (5 min) to a thick pit's (4 h), and without end."""

WANDER: Final = np.array([3e-5, 3e-4, 3e-3])
"""How much the slope may change in sqrt(s). [K/s per sqrt(s)] The first is a stirred beaker, the second a fed fire:
over 10 min they let the slope change by 0.4 and 4 K/min."""

_TAU: Final = np.concatenate([np.repeat(DAMPING, WANDER.size), [1.0, 1.0]])
_Q: Final = np.concatenate([np.tile(WANDER, DAMPING.size), [0.0, 0.0]])
_LEVEL_Q: Final = np.concatenate([np.full(DAMPING.size * WANDER.size, 2e-3), [0.05, 0.3]])
"""Level noise. [K per sqrt(s)] The last two members have no slope: persistence, smoothed and quick."""

DAMPED: Final = np.maximum(_TAU, 60.0)
"""Every member's time constant of the slope. [s]"""

MEMBERS: Final = _TAU.size

NU: Final = 4.0
"""Degrees of freedom of the Student-t that readings are taken to scatter with: tails that forgive a spike."""

LOST: Final = 4
"""After so many readings in a row beyond `GATE` it is the level that has moved, not the readings that are wrong."""

GATE: Final = 16.0
"""Normalised innovation squared beyond which a reading is out of character (4 SD)."""

NOISE_FLOOR: Final = 0.15
"""Least SD of a reading. [K] A probe that prints quarter degrees has 0.07 from rounding alone."""


class TrendBank(Struct, frozen=True, kw_only=True):
    """The bank after the reading at `seconds`.

    Attributes
    ----------
    mean : ndarray, shape (MEMBERS, 2)
        Level [degC] and slope [K/s].
    cov : ndarray, shape (MEMBERS, 3)
        Variances of level and slope, and their covariance.
    noise : float
        Variance of a reading about the level, tracked from second differences. [K^2]
    last : tuple of float
        The newest readings, for the second difference.
    strange : int
        Readings in a row that were out of character.
    """

    seconds: float
    mean: NDArray[np.float64]
    cov: NDArray[np.float64]
    noise: float = 0.25
    last: tuple[float, ...] = ()
    strange: int = 0

    @property
    def level(self) -> float:
        """The filtered temperature. [degC]"""
        return float(self.mean[_REFERENCE, 0])

    @property
    def slope(self) -> float:
        """Its slope. [K/s]"""
        return float(self.mean[_REFERENCE, 1])


_REFERENCE: Final = 8
"""The member that stands for the bank where one number is wanted: damped with 40 min, quick."""


def start(seconds: float, celsius: float) -> TrendBank:
    """Return a bank that has heard one reading."""
    mean = np.zeros((MEMBERS, 2))
    mean[:, 0] = celsius
    cov = np.zeros((MEMBERS, 3))
    cov[:, 0] = 4.0
    cov[:, 1] = np.where(_Q > 0.0, 0.02**2, 0.0)
    return TrendBank(seconds=seconds, mean=_still(mean), cov=_still(cov), last=(celsius,))


def hear(bank: TrendBank, seconds: float, celsius: float) -> TrendBank:
    """Return the bank after one more reading at `seconds`, which lies after the bank's own."""
    dt = max(seconds - bank.seconds, 1e-3)
    mean, cov = _predicted(bank.mean, bank.cov, dt)
    last = (*bank.last[-2:], celsius)
    noise = _noise(bank.noise, last) if dt < 60.0 else bank.noise
    innovation = celsius - mean[:, 0]
    spread = cov[:, 0] + noise
    nis = innovation**2 / spread
    strange = bank.strange + 1 if float(nis[_REFERENCE]) > GATE else 0
    if strange >= LOST:
        return replace_level(bank, seconds, celsius)
    # The quick member tells a spike from a turn; a slow one must not take its own lateness for the readings' fault.
    trust = min((NU + 1.0) / (NU + float(nis[_REFERENCE])), 1.0)
    spread = cov[:, 0] + noise / trust
    gain_level, gain_slope = cov[:, 0] / spread, cov[:, 2] / spread
    mean[:, 0] += gain_level * innovation
    mean[:, 1] += gain_slope * innovation
    new = np.empty_like(cov)
    new[:, 0] = (1.0 - gain_level) * cov[:, 0]
    new[:, 1] = np.maximum(cov[:, 1] - gain_slope * cov[:, 2], 0.0)
    new[:, 2] = (1.0 - gain_level) * cov[:, 2]
    return TrendBank(seconds=seconds, mean=_still(mean), cov=_still(new), noise=noise, last=last, strange=strange)


def replace_level(bank: TrendBank, seconds: float, celsius: float) -> TrendBank:
    """Return the bank with its level put to `celsius` and everything unsure again; half the slope is kept."""
    fresh = start(seconds, celsius)
    mean = fresh.mean.copy()
    mean[:, 1] = 0.5 * bank.mean[:, 1]
    return TrendBank(seconds=seconds, mean=_still(mean), cov=fresh.cov, noise=bank.noise, last=(celsius,))


def shifted(bank: TrendBank, kelvin: float) -> TrendBank:
    """Return the bank as of a place that is so much warmer: where another probe takes over whose distance is known."""
    mean = bank.mean.copy()
    mean[:, 0] += kelvin
    return TrendBank(
        seconds=bank.seconds,
        mean=_still(mean),
        cov=bank.cov,
        noise=bank.noise,
        last=tuple(value + kelvin for value in bank.last),
        strange=bank.strange,
    )


def ahead(bank: TrendBank, seconds: Array) -> tuple[Array, Array]:
    """Return mean and SD of every member at the instants `seconds`, each of shape (MEMBERS, n). [degC, K]"""
    dt = np.maximum(seconds - bank.seconds, 0.0)[None, :]
    fall = _reach(dt)
    mean = bank.mean[:, :1] + fall * bank.mean[:, 1:]
    variance = (
        bank.cov[:, :1]
        + 2.0 * fall * bank.cov[:, 2:]
        + fall**2 * bank.cov[:, 1:2]
        + _LEVEL_Q[:, None] ** 2 * dt
        + _Q[:, None] ** 2 * fall**2 * dt / 3.0
    )
    return mean, np.sqrt(np.maximum(variance, 1e-6))


def _reach(dt: Array) -> Array:
    """Return how many seconds' worth of the present slope are still to come within `dt`."""
    tau = _TAU[:, None]
    reach: Array = tau * -np.expm1(-dt / tau)
    return reach


def _predicted(mean: Array, cov: Array, dt: float) -> tuple[Array, Array]:
    keep = np.exp(-dt / _TAU)
    reach = -_TAU * np.expm1(-dt / _TAU)
    q = _Q**2 * dt
    out = np.empty_like(mean)
    out[:, 0] = mean[:, 0] + reach * mean[:, 1]
    out[:, 1] = keep * mean[:, 1]
    new = np.empty_like(cov)
    new[:, 0] = cov[:, 0] + 2 * reach * cov[:, 2] + reach**2 * cov[:, 1] + _LEVEL_Q**2 * dt + q * reach**2 / 3.0
    new[:, 1] = keep**2 * cov[:, 1] + q
    new[:, 2] = keep * (cov[:, 2] + reach * cov[:, 1]) + q * reach / 2.0
    # Ignorance has an end: no pit's level is unknown by more than 300 K, no slope beyond 0.5 K/s was ever seen.
    new[:, 0] = np.minimum(new[:, 0], 300.0**2)
    new[:, 1] = np.minimum(new[:, 1], 0.5**2)
    limit = np.sqrt(new[:, 0] * new[:, 1])
    new[:, 2] = np.clip(new[:, 2], -limit, limit)
    return out, new


def _noise(noise: float, last: tuple[float, ...]) -> float:
    if len(last) < 3:
        return noise
    second = abs(last[2] - 2.0 * last[1] + last[0]) / np.sqrt(6.0)
    # The second difference of white noise has six times its variance. Its median is followed, not its mean square: doors
    # and turns are no noise, and half of all readings lie within 0.6745 SD.
    step = NOISE_STEP if second > 0.6745 * np.sqrt(noise) else -NOISE_STEP
    return float(max(noise * np.exp(2.0 * step), NOISE_FLOOR**2))


NOISE_STEP: Final = 0.02
"""Step of the log SD at each reading: a factor of two is followed within some ten minutes."""


def _still(array: Array) -> Array:
    array.setflags(write=False)
    return array
