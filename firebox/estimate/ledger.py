"""What every forecaster said, held against what came: the errors that decide whom to believe and how wide a band is.

Once a minute each forecaster's medians at `HORIZONS` are written down. When their time has come they are scored, but
only where nothing was done in between: a forecast of "nothing more is done" is not wrong because a split went on. A
window cut short by a split has by then been scored at the shorter horizons, which teach the longer ones.

The books are kept apart by what the fire was doing when the forecast was made (`regime`): windows that end untouched
are mostly those that began soon after a split, and what holds for them says little of a fire that has been left.
"""

from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from firebox.estimate.forecast import HORIZONS

Array = NDArray[np.float64]

MINUTES: Final = np.array(HORIZONS, dtype=float)

EVERY: Final = 60.0
"""Seconds between two entries: the pit changes little in a minute, and neighbouring windows hardly differ."""

KEPT: Final = int(MINUTES[-1]) + 2
"""Entries kept: as many as may still be scored."""

REGIME_ENDS: Final = (8.0 * 60.0, 25.0 * 60.0)
"""Seconds after wood or a door at which a regime ends: catching (a split flames after some 5-8 min), burning, left."""

REGIMES: Final = len(REGIME_ENDS) + 1

MEMORY: Final = 3.0 * 3600.0
"""Seconds after which an old error counts for 1/e: a fire's regime lasts a few hours (start, cook, night)."""


class Ledger(Struct, frozen=True, kw_only=True):
    """Forecasts that wait for their time, and the errors of those whose time has come.

    Attributes
    ----------
    times : ndarray, shape (n,)
        When the waiting forecasts were made. [s]
    said : ndarray, shape (n, forecasters, horizons)
        What they were. [degC]
    band : ndarray, shape (n, horizons, 3)
        Median, half width (p90 - p50) and lag of the forecast that was published. [degC, K, K]
    regimes : ndarray, shape (n,)
        The regime in which they were made.
    error : ndarray, shape (regimes, forecasters, horizons)
        Discounted sums of absolute errors. [K]
    count : ndarray, shape (regimes, horizons)
        Discounted number of windows.
    width : ndarray, shape (regimes, horizons)
        Log of the factor by which the band is widened, so that it holds what it promises.
    """

    times: NDArray[np.float64]
    said: NDArray[np.float64]
    band: NDArray[np.float64]
    regimes: NDArray[np.float64]
    error: NDArray[np.float64]
    count: NDArray[np.float64]
    width: NDArray[np.float64]
    common: float = 0.0
    """Log of the factor that all bands share: it learns from every window."""
    scored: float = -1e9


def begin(forecasters: int) -> Ledger:
    """Return an empty ledger."""
    shape = (forecasters, MINUTES.size)
    return Ledger(
        times=_still(np.zeros(0)),
        said=_still(np.zeros((0, *shape))),
        band=_still(np.zeros((0, MINUTES.size, 3))),
        regimes=_still(np.zeros(0)),
        error=_still(np.zeros((REGIMES, *shape))),
        count=_still(np.zeros((REGIMES, MINUTES.size))),
        width=_still(np.zeros((REGIMES, MINUTES.size))),
    )


def regime(since: float) -> int:
    """Return the regime of a fire that was last touched `since` seconds ago."""
    return sum(since > end for end in REGIME_ENDS)


def write(ledger: Ledger, seconds: float, regime: int, said: Array, band: Array) -> Ledger:
    """Return the ledger with one more entry: forecasts of shape (forecasters, horizons), band (horizons, 3)."""
    keep = ledger.times > seconds - (MINUTES[-1] + 1.5) * 60.0
    return _with(
        ledger,
        times=np.append(ledger.times[keep], seconds)[-KEPT:],
        said=np.concatenate([ledger.said[keep], said[None]])[-KEPT:],
        band=np.concatenate([ledger.band[keep], band[None]])[-KEPT:],
        regimes=np.append(ledger.regimes[keep], float(regime))[-KEPT:],
    )


def score(ledger: Ledger, seconds: float, celsius: float, touched: float) -> Ledger:
    """Return the ledger after the forecasts for `seconds` were held against `celsius`.

    Parameters
    ----------
    seconds, celsius : float
        When, and what the pit stands at. [s, degC]
    touched : float
        When something was last done to the fire; forecasts made before that are not scored. [s]
    """
    fade = float(np.exp(-min(max(seconds - ledger.scored, 0.0), 600.0) / MEMORY)) if ledger.scored > 0.0 else 1.0
    error, count, width = ledger.error * fade, ledger.count * fade, ledger.width.copy()
    common = ledger.common
    for column, minutes in enumerate(MINUTES):
        made = seconds - minutes * 60.0
        if ledger.times.size == 0 or made < touched:
            continue
        row = int(np.argmin(np.abs(ledger.times - made)))
        if abs(float(ledger.times[row]) - made) > 0.5 * EVERY:
            continue
        book = int(ledger.regimes[row])
        error[book, :, column] += np.abs(celsius - ledger.said[row, :, column])
        count[book, column] += 1.0
        band = ledger.band[row, column]
        width[book, column] = _widened(width[book, column], celsius, band, minutes, GAMMA)
        common = _widened(common, celsius, band, minutes, GAMMA_COMMON)
    return _with(ledger, error=error, count=count, width=width, common=common, scored=seconds)


GAMMA: Final = 0.15
"""Step of the width's correction per independent window; a rate of this order follows a change of regime within some
ten windows and wanders by a tenth otherwise (Gibbs & Candes 2021, arXiv 2106.00170, on the choice of the step)."""

GAMMA_COMMON: Final = 0.1
"""The same for the factor that all bands share."""

WIDEST: Final = float(np.log(3.0))
"""Bound of each correction: a model that is wrong by more than that in its own doubts is not mended by widening."""


def _widened(width: float, celsius: float, band: Array, minutes: float, gamma: float) -> float:
    """Return the corrected log width: one in five may miss an 80 % band.

    The step is divided by the number of overlapping windows, since windows one minute apart fail together.
    """
    missed = abs(celsius - float(band[0])) > float(band[1])
    step = gamma / (1.0 + float(minutes) / 5.0)
    return float(np.clip(width + step * (0.8 if missed else -0.2), -WIDEST, WIDEST))


HANDED: Final = 0.8
"""Power with which a forecaster's luck at a shorter horizon counts for the next one: less than all of it, since the
shape that carries a quarter of an hour need not carry an hour."""


def errors(ledger: Ledger, regime: int, prior: Array, firm: Array, *, handed: bool) -> Array:
    """Return the mean absolute error that each forecaster is expected to make, shape (forecasters, horizons). [K]

    Parameters
    ----------
    regime : int
        The regime that the fire is in.
    prior : ndarray, shape (forecasters, horizons)
        What is expected of them before anything was scored. [K]
    firm : ndarray, shape (horizons,)
        How many windows the prior is worth.
    handed : bool
        Whether a forecaster's luck at a shorter horizon counts for the next one.
    """
    out = np.empty_like(prior)
    ratio = np.ones(prior.shape[0])
    for column in range(prior.shape[1]):
        lean = prior[:, column] * ratio
        own = ledger.count[regime, column]
        out[:, column] = (ledger.error[regime, :, column] + firm[column] * lean) / (own + firm[column])
        if handed:
            ratio = (out[:, column] / prior[:, column]) ** HANDED
    return out


def _with(ledger: Ledger, **changed: Array | float) -> Ledger:
    fields = {name: getattr(ledger, name) for name in ledger.__struct_fields__}
    for name, value in changed.items():
        fields[name] = _still(value) if isinstance(value, np.ndarray) else value
    return Ledger(**fields)


def _still(array: Array) -> Array:
    array.setflags(write=False)
    return array
