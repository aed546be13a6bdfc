"""What every forecaster said, held against what came: the errors that decide whom to believe and how wide a band is.

Once a minute each forecaster's medians at `HORIZONS` are written down. When their time has come they are scored, but
only where nothing was done in between: a forecast of "nothing more is done" is not wrong because a split went on. A
window cut short by a split has by then been scored at the shorter horizons, which teach the longer ones.
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

MEMORY: Final = 3.0 * 3600.0
"""Seconds after which an old error counts for 1/e: a fire's regime lasts a few hours (start, cook, night)."""

BORROWED: Final = 8.0
"""Windows' worth of belief that a horizon takes from the next shorter one until it has its own.
Eight windows of one minute are about one independent window at the shorter horizons."""


class Ledger(Struct, frozen=True, kw_only=True):
    """Forecasts that wait for their time, and the errors of those whose time has come.

    Attributes
    ----------
    times : ndarray, shape (n,)
        When the waiting forecasts were made. [s]
    said : ndarray, shape (n, forecasters, horizons)
        What they were. [degC]
    band : ndarray, shape (n, horizons, 2)
        Median and upper half width (p90 - p50) of the forecast that was published. [degC, K]
    error, square, bias : ndarray, shape (forecasters, horizons)
        Discounted sums of absolute, squared and signed error.
    count : ndarray, shape (horizons,)
        Discounted number of windows.
    width : ndarray, shape (horizons,)
        Log of the factor by which the band is widened, so that it holds what it promises.
    """

    times: NDArray[np.float64]
    said: NDArray[np.float64]
    band: NDArray[np.float64]
    error: NDArray[np.float64]
    square: NDArray[np.float64]
    bias: NDArray[np.float64]
    count: NDArray[np.float64]
    width: NDArray[np.float64]
    scored: float = -1e9


def begin(forecasters: int) -> Ledger:
    """Return an empty ledger."""
    shape = (forecasters, MINUTES.size)
    return Ledger(
        times=_still(np.zeros(0)),
        said=_still(np.zeros((0, *shape))),
        band=_still(np.zeros((0, MINUTES.size, 2))),
        error=_still(np.zeros(shape)),
        square=_still(np.zeros(shape)),
        bias=_still(np.zeros(shape)),
        count=_still(np.zeros(MINUTES.size)),
        width=_still(np.zeros(MINUTES.size)),
    )


def write(ledger: Ledger, seconds: float, said: Array, band: Array) -> Ledger:
    """Return the ledger with one more entry: forecasts of shape (forecasters, horizons), band (horizons, 2)."""
    keep = ledger.times > seconds - (MINUTES[-1] + 1.5) * 60.0
    return _with(
        ledger,
        times=np.append(ledger.times[keep], seconds)[-KEPT:],
        said=np.concatenate([ledger.said[keep], said[None]])[-KEPT:],
        band=np.concatenate([ledger.band[keep], band[None]])[-KEPT:],
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
    error, square, bias = ledger.error * fade, ledger.square * fade, ledger.bias * fade
    count, width = ledger.count * fade, ledger.width.copy()
    for column, minutes in enumerate(MINUTES):
        made = seconds - minutes * 60.0
        if ledger.times.size == 0 or made < touched:
            continue
        row = int(np.argmin(np.abs(ledger.times - made)))
        if abs(float(ledger.times[row]) - made) > 0.5 * EVERY:
            continue
        miss = celsius - ledger.said[row, :, column]
        error[:, column] += np.abs(miss)
        square[:, column] += miss**2
        bias[:, column] += miss
        count[column] += 1.0
        width[column] = _widened(width[column], celsius, ledger.band[row, column], float(minutes))
    return _with(ledger, error=error, square=square, bias=bias, count=count, width=width, scored=seconds)


GAMMA: Final = 0.15
"""Step of the width's correction per independent window; a rate of this order follows a change of regime within some
ten windows and wanders by a tenth otherwise (Gibbs & Candes 2021, arXiv 2106.00170, on the choice of the step)."""

WIDEST: Final = float(np.log(4.0))


def _widened(width: float, celsius: float, band: Array, minutes: float) -> float:
    """Return the corrected log width: one in five may miss an 80 % band.

    The step is divided by the number of overlapping windows, since windows one minute apart fail together.
    """
    missed = abs(celsius - float(band[0])) > float(band[1])
    step = GAMMA / (1.0 + minutes / 5.0)
    return float(np.clip(width + step * (0.8 if missed else -0.2), -WIDEST / 2.0, WIDEST))


def errors(ledger: Ledger, prior: Array, windows: float = 3.0) -> Array:
    """Return the mean absolute error that each forecaster is expected to make, shape (forecasters, horizons). [K]

    Parameters
    ----------
    prior : ndarray, shape (forecasters, horizons)
        What is expected of them before anything was scored. [K]
    windows : float
        How many windows the prior is worth at the first horizon.
    """
    out = np.empty_like(prior)
    lean = prior
    for column in range(prior.shape[1]):
        own = ledger.count[column]
        worth = windows if column == 0 else BORROWED
        out[:, column] = (ledger.error[:, column] + worth * lean[:, column]) / (own + worth)
        if column + 1 < prior.shape[1]:
            # How wrong a forecaster was so far, against what was expected of it, is handed on.
            lean = prior * (out[:, column] / prior[:, column])[:, None]
    return out


def _with(ledger: Ledger, **changed: Array | float) -> Ledger:
    fields = {name: getattr(ledger, name) for name in ledger.__struct_fields__}
    for name, value in changed.items():
        fields[name] = _still(value) if isinstance(value, np.ndarray) else value
    return Ledger(**fields)


def _still(array: Array) -> Array:
    array.setflags(write=False)
    return array
