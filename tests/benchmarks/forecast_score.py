"""Scores of forecasts: absolute error, coverage of the 80 % band, and CRPS from quantiles."""

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firebox.estimate.forecast import LEVELS

_FINE: Final = np.linspace(0.0, 1.0, 401)


def crps(quantiles: Sequence[float], y: float) -> float:
    """Return the continuous ranked probability score of a forecast given by its quantiles at `LEVELS`.

    The quantile function is taken as straight between the levels and flat beyond the outermost ones; the score is
    twice the pinball loss averaged over all levels (Gneiting and Raftery 2007), here on a fine grid of them.

    Examples
    --------
    >>> round(crps((118.0, 119.0, 120.0, 121.0, 122.0, 123.0, 124.0), 121.0), 2)
    0.36
    """
    middle = 0.5 * (_FINE[1:] + _FINE[:-1])
    q = np.interp(middle, LEVELS, quantiles)
    return float(2.0 * np.mean(np.where(y >= q, middle * (y - q), (1.0 - middle) * (q - y))))


def covered(quantiles: Sequence[float], y: float) -> bool:
    """Tell whether the 80 % band holds `y`."""
    return quantiles[LEVELS.index(0.1)] <= y <= quantiles[LEVELS.index(0.9)]


def missed(quantiles: Sequence[float], y: float) -> float:
    """Return the absolute error of the median."""
    return abs(quantiles[LEVELS.index(0.5)] - y)


class Table:
    """Scores of one forecaster: an array each, shape (n_origins, n_horizons); NaN where it made no forecast."""

    def __init__(self, forecasts: Sequence[Sequence[Sequence[float]] | None], truths: NDArray[np.float64]) -> None:
        shape = truths.shape
        self.error, self.crps, self.inside = (np.full(shape, np.nan) for _ in range(3))
        for row, forecast in enumerate(forecasts):
            if forecast is None:
                continue
            for column, quantiles in enumerate(forecast):
                y = float(truths[row, column])
                self.error[row, column] = missed(quantiles, y)
                self.crps[row, column] = crps(quantiles, y)
                self.inside[row, column] = covered(quantiles, y)


def mean(values: NDArray[np.float64], rows: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Return the mean down the chosen rows, NaN where a column has none."""
    chosen = values[rows]
    count = np.sum(np.isfinite(chosen), axis=0)
    total = np.nansum(chosen, axis=0)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)
