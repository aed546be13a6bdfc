"""Small arithmetic on evenly spaced series with gaps (NaN)."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

Series = NDArray[np.float64]
Mask = NDArray[np.bool_]

GRID: Final = 10.0
"""Seconds between two points of a series."""


def runs(mask: Mask) -> list[tuple[int, int]]:
    """Return (first, end) of each stretch in which `mask` is true; `end` is no longer part of it.

    Examples
    --------
    >>> runs(np.array([True, True, False, True]))
    [(0, 2), (3, 4)]
    """
    edges = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False])).astype(np.int8)))
    return [(int(first), int(end)) for first, end in zip(edges[::2], edges[1::2], strict=True)]


def smoothed(values: Series, seconds: float) -> Series:
    """Return the mean over a window of `seconds` around each point, of the points that are known.

    Parameters
    ----------
    values : ndarray, shape (n,)
    seconds : float
        Width of the window. [s]

    Returns
    -------
    ndarray, shape (n,)
        NaN where nothing in the window is known.
    """
    half = max(0, round(seconds / GRID / 2.0))
    known = np.isfinite(values)
    total = np.concatenate(([0.0], np.cumsum(np.where(known, values, 0.0))))
    count = np.concatenate(([0], np.cumsum(known)))
    place = np.arange(len(values))
    low, high = np.maximum(place - half, 0), np.minimum(place + half + 1, len(values))
    seen = count[high] - count[low]
    mean = np.full(len(values), np.nan)
    np.divide(total[high] - total[low], seen, out=mean, where=seen > 0)
    return mean


def despiked(values: Series) -> Series:
    """Return a series without single points that stand out: each the median of itself and its two neighbours.

    Examples
    --------
    >>> despiked(np.array([1.0, 9.0, 2.0, 3.0])).tolist()
    [1.0, 2.0, 3.0, 3.0]
    """
    if len(values) < 3:
        return values
    middle = np.median(np.stack([values[:-2], values[1:-1], values[2:]]), axis=0)
    return np.concatenate((values[:1], np.where(np.isfinite(middle), middle, values[1:-1]), values[-1:]))


def place(seconds: float, length: int) -> int:
    """Return the index of the point at `seconds`, kept inside a series of so many points."""
    return int(min(max(round(seconds / GRID), 0), length - 1))


def middle(values: Series, start: float, end: float) -> float | None:
    """Return the median of a series between two instants, both included; None where nothing is known there. [s]"""
    if end < 0.0 or not len(values):
        return None
    part = values[place(start, len(values)) : place(end, len(values)) + 1]
    part = part[np.isfinite(part)]
    return float(np.median(part)) if len(part) else None


def on_grid(seconds: Series, values: Series, length: int, gap: float) -> Series:
    """Return samples as a series, straight lines between those no further than `gap` apart, NaN elsewhere.

    Parameters
    ----------
    seconds, values : ndarray, shape (n,)
        Samples in the order of time, all of them finite.
    length : int
        Points of the series.
    gap : float
        [s]
    """
    if not len(seconds):
        return np.full(length, np.nan)
    at = GRID * np.arange(length)
    series = np.interp(at, seconds, values)
    after = np.searchsorted(seconds, at)
    before = np.maximum(after - 1, 0)
    after = np.minimum(after, len(seconds) - 1)
    width = seconds[after] - seconds[before]
    beyond = np.minimum(np.abs(at - seconds[before]), np.abs(at - seconds[after]))
    unknown = np.where((at < seconds[0]) | (at > seconds[-1]), beyond > GRID, width > gap)
    return np.where(unknown & (beyond > GRID / 2.0), np.nan, series)


def quantile(values: list[float], share: float) -> float | None:
    """Return a quantile of some values; None where there are none."""
    return float(np.quantile(values, share)) if values else None
