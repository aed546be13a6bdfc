"""Each time that the pit left its band: when, for how long, how far, and why it probably did."""

from typing import Final

import numpy as np
from msgspec import Struct

from firebox.review.blame import Case, Reason, reasons
from firebox.review.chronicle import Chronicle, Span
from firebox.review.holding import held
from firebox.review.rhythm import Rhythm
from firebox.review.series import GRID, Mask, Series, place, runs, smoothed

SHORTEST: Final = 180.0
"""Seconds outside the band that are worth a line; a probe's noise at its edge is not."""

SAME: Final = 240.0
"""Seconds inside the band between two excursions to one side that still make them one."""

SMOOTH: Final = 30.0


class Excursion(Struct, frozen=True, kw_only=True):
    """The pit outside its band.

    Attributes
    ----------
    seconds : float
        Into the cook.
    high : bool
        Above the band; else below.
    celsius : float
        At its worst; `off` is the distance from the target then. [degC, K]
    causes : tuple of Reason
        The likeliest first; a second one where it is nearly as likely.
    """

    seconds: float
    minutes: float
    high: bool
    celsius: float
    off: float
    causes: tuple[Reason, ...]


def excursions(cook: Chronicle, rhythm: Rhythm) -> tuple[Excursion, ...]:
    """Return each time that the pit left its band while it was to be held, in the order of time."""
    span = held(cook)
    if span is None:
        return ()
    smooth = smoothed(cook.pit, SMOOTH)
    off = smooth - cook.target
    at = GRID * np.arange(len(off))
    counted = (at >= span.start) & (at <= span.end)
    found = [
        _excursion(cook, rhythm, off, run, high=high)
        for high, mask in ((True, off > cook.band), (False, off < -cook.band))
        for run in _stretches(mask & counted)
    ]
    return tuple(sorted(found, key=lambda one: one.seconds))


def _stretches(mask: Mask) -> list[tuple[int, int]]:
    joined: list[tuple[int, int]] = []
    for first, end in runs(mask):
        if joined and (first - joined[-1][1]) * GRID < SAME:
            joined[-1] = (joined[-1][0], end)
        else:
            joined.append((first, end))
    return [(first, end) for first, end in joined if (end - first) * GRID >= SHORTEST]


def _excursion(cook: Chronicle, rhythm: Rhythm, off: Series, run: tuple[int, int], *, high: bool) -> Excursion:
    first, end = run
    part = off[first:end]
    worst = first + int(np.nanargmax(part) if high else np.nanargmin(part))
    span = Span(start=first * GRID, end=end * GRID)
    return Excursion(
        seconds=span.start,
        minutes=(span.end - span.start) / 60.0,
        high=high,
        celsius=float(off[worst] + cook.target[place(worst * GRID, len(off))]),
        off=float(off[worst]),
        causes=reasons(Case(cook=cook, rhythm=rhythm, span=span, worst=worst * GRID, high=high)),
    )
