"""General forecasters to measure the outlook by: each knows the readings of one probe and nothing of fire.

Each sees the same minute-by-minute series of medians, so spikes and gaps hurt none of them. Bands come from a
forecaster's own earlier errors in the same cook, against what was then read; before there are any, from the noise of
its steps growing with the square root of the time.

============  =======================================================================
persistence   what is read now stays
linear        the slope of the last ten minutes goes on
damped Holt   exponential smoothing with a damped trend (statsmodels, refitted hourly)
local trend   local linear trend by Kalman filter (statsmodels, refitted hourly)
ARIMA         ARIMA(2,1,1) (statsmodels, refitted hourly)
============  =======================================================================
"""

import warnings
from collections.abc import Callable, Sequence
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray
from statsmodels.tsa.arima.model import ARIMA
from statsmodels.tsa.holtwinters import Holt
from statsmodels.tsa.statespace.structural import UnobservedComponents

from firebox.estimate.forecast import LEVELS

Series = NDArray[np.float64]

WINDOW: Final = 180
"""Minutes of the past that are fitted: more was no better and slower."""

REFIT: Final = 60
"""Minutes between two fits of the parameters; the state follows every minute."""


class Guess(Struct, frozen=True):
    """One forecast: a row of quantiles at `LEVELS` for each horizon. [degC]"""

    quantiles: tuple[tuple[float, ...], ...]

    def median(self) -> tuple[float, ...]:
        return tuple(row[LEVELS.index(0.5)] for row in self.quantiles)


class Yardstick:
    """A general forecaster at work on one cook; `forecast` must be called in the order of time."""

    def __init__(
        self, name: str, point: "Callable[[Series], Callable[[Series, Sequence[int]], list[float]]]"
    ) -> None:
        self.name = name
        self._fit = point
        self._predict: Callable[[Series, Sequence[int]], list[float]] | None = None
        self._fitted_at = -REFIT
        self._open: list[tuple[int, int, float]] = []
        self._errors: dict[int, list[float]] = {}

    def learn(self, past: Series, horizons: Sequence[int]) -> None:
        """Make the forecast of this minute only for its later error."""
        minute = len(past)
        for horizon, value in zip(horizons, self._points(past, horizons), strict=True):
            self._open.append((minute + horizon, horizon, value))

    def forecast(self, past: Series, horizons: Sequence[int]) -> Guess:
        """Return the forecast from a series of minutes, oldest first."""
        minute = len(past)
        due = [entry for entry in self._open if entry[0] <= minute]
        self._open = [entry for entry in self._open if entry[0] > minute]
        for when, horizon, value in due:
            self._errors.setdefault(horizon, []).append(float(past[when - 1]) - value)
        steps = np.diff(past[-30:])
        noise = float(np.std(steps)) if len(steps) > 3 else 1.0
        rows = []
        for horizon, value in zip(horizons, self._points(past, horizons), strict=True):
            errors = self._errors.get(horizon, [])
            if len(errors) >= 8:
                spread = np.quantile(errors, LEVELS) - float(np.median(errors))
            else:
                spread = 1.5 * noise * np.sqrt(horizon) * np.array([-2.05, -1.28, -0.67, 0.0, 0.67, 1.28, 2.05])
            rows.append(tuple(float(value + s) for s in spread))
        return Guess(tuple(rows))

    def _points(self, past: Series, horizons: Sequence[int]) -> list[float]:
        window = past[-WINDOW:]
        if self._predict is None or len(past) - self._fitted_at >= REFIT or (len(past) < 60 and len(past) % 15 == 0):
            self._predict = self._fit(window)
            self._fitted_at = len(past)
        return [float(np.clip(value, -50.0, 600.0)) for value in self._predict(window, horizons)]


def _persistence(_window: Series) -> Callable[[Series, Sequence[int]], list[float]]:
    return lambda window, horizons: [float(window[-1])] * len(horizons)


def _linear(_window: Series) -> Callable[[Series, Sequence[int]], list[float]]:
    def predict(window: Series, horizons: Sequence[int]) -> list[float]:
        recent = window[-10:]
        if len(recent) < 3:
            return [float(window[-1])] * len(horizons)
        slope, level = np.polyfit(np.arange(1.0 - len(recent), 1.0), recent, 1)
        return [float(level + slope * horizon) for horizon in horizons]

    return predict


def _holt(window: Series) -> Callable[[Series, Sequence[int]], list[float]]:
    if len(window) < 10:
        return _linear(window)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the optimiser's complaints about short series
        fit = Holt(window, damped_trend=True, initialization_method="estimated").fit()
    alpha, beta, phi = (float(fit.params[name]) for name in ("smoothing_level", "smoothing_trend", "damping_trend"))

    def predict(recent: Series, horizons: Sequence[int]) -> list[float]:
        level, trend = float(recent[0]), 0.0
        for value in recent[1:]:
            before = level
            level = alpha * float(value) + (1.0 - alpha) * (level + phi * trend)
            trend = beta * (level - before) + (1.0 - beta) * phi * trend
        return [level + trend * float(np.sum(phi ** np.arange(1.0, h + 1.0))) for h in horizons]

    return predict


def _statespace(
    build: "Callable[[Series], object]",
) -> "Callable[[Series], Callable[[Series, Sequence[int]], list[float]]]":
    def fitting(window: Series) -> Callable[[Series, Sequence[int]], list[float]]:
        if len(window) < 10:
            return _linear(window)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # convergence on short series
            fit = build(window).fit(disp=0) if build is _trend_model else build(window).fit()  # type: ignore[attr-defined]

        def predict(recent: Series, horizons: Sequence[int]) -> list[float]:
            path = fit.apply(recent).forecast(max(horizons))
            return [float(path[h - 1]) for h in horizons]

        return predict

    return fitting


def _trend_model(window: Series) -> UnobservedComponents:
    return UnobservedComponents(window, "local linear trend")


def _arima_model(window: Series) -> ARIMA:
    return ARIMA(window, order=(2, 1, 1))


def yardsticks() -> list[Yardstick]:
    """Return fresh forecasters, one of each kind."""
    return [
        Yardstick("persistence", _persistence),
        Yardstick("linear", _linear),
        Yardstick("damped Holt", _holt),
        Yardstick("local trend", _statespace(_trend_model)),
        Yardstick("ARIMA", _statespace(_arima_model)),
    ]


def by_the_minute(seconds: Sequence[float], celsius: Sequence[float], until: float) -> Series:
    """Return the medians of the minutes up to `until`; a minute without a reading repeats the one before.

    Minutes before the first reading are left out.
    """
    minutes = int(until // 60.0)
    cells: list[list[float]] = [[] for _ in range(minutes)]
    for when, value in zip(seconds, celsius, strict=True):
        if 0.0 <= when < 60.0 * minutes:
            cells[int(when // 60.0)].append(value)
    series: list[float] = []
    for cell in cells:
        if cell:
            series.append(float(np.median(cell)))
        elif series:
            series.append(series[-1])
    return np.array(series)
