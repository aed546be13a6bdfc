"""The outlooks held against what came, only where nothing was done in between, since that is what they promise."""

from typing import Final

import numpy as np
from msgspec import Struct

from firebox.records import Damper, Door, DoorName, Lit, MeatOn, Out, Outlook, Rake, Split, Spritz, Turn, Wrap
from firebox.review.chronicle import Chronicle
from firebox.review.series import middle

TOUCHES: Final = (Split, Damper, Door, Lit, Out, Rake, MeatOn, Spritz, Turn, Wrap)
"""Doings that the fire or the air in the chamber feels."""

AROUND: Final = 30.0
"""Seconds around an instant of which the readings' median is what came."""


TELLING: Final = 15
"""Minutes ahead: far enough to act on, near enough that often nothing was done meanwhile."""

ENOUGH: Final = 5


class Kept(Struct, frozen=True, kw_only=True):
    """How the outlooks of one horizon did.

    Attributes
    ----------
    count : int
        Outlooks after which nothing was done for as long; `apart`: those of them that do not overlap.
    error, bias : float
        Mean distance, and mean difference (above 0: it came out hotter than foretold). [K]
    error_of_same : float
        Mean distance, had one said "it stays as it is". [K]
    coverage : float
        Share of what came inside the band that was to hold four of five.
    width : float
        Mean width of that band. [K]
    """

    minutes: int
    count: int
    apart: int
    error: float
    bias: float
    error_of_same: float
    coverage: float
    width: float


class Honesty(Struct, frozen=True, kw_only=True):
    """What is known of the outlooks of a cook; `kept` has a row for each horizon that could be judged."""

    outlooks: int
    kept: tuple[Kept, ...]

    @property
    def telling(self) -> Kept | None:
        """The horizon that says most: a quarter of an hour if it was judged often enough, else what was judged most."""
        often = [one for one in self.kept if one.minutes == TELLING and one.apart >= ENOUGH]
        return next(iter(often), max(self.kept, key=lambda one: one.apart, default=None))


class Judged(Struct, frozen=True, kw_only=True):
    """One outlook at one horizon, and what came. [s, degC]"""

    seconds: float
    minutes: int
    low: float
    median: float
    high: float
    now: float
    came: float


def honesty(cook: Chronicle) -> Honesty:
    """Return how the outlooks of a cook did, by horizon."""
    found = judged(cook)
    horizons = sorted({one.minutes for one in found})
    return Honesty(
        outlooks=len(cook.outlooks),
        kept=tuple(_kept(minutes, [one for one in found if one.minutes == minutes]) for minutes in horizons),
    )


def judged(cook: Chronicle) -> tuple[Judged, ...]:
    """Return every outlook, at every horizon, for which it can be said what came of its promise."""
    touched = np.array([deed.seconds for deed in cook.deeds(*TOUCHES)])
    doors = [*cook.doors(DoorName.COOK), *cook.doors(DoorName.FIREBOX)]
    found = []
    for at, outlook in cook.outlooks:
        if any(door.touches(at, at) for door in doors):
            continue
        after = touched[np.searchsorted(touched, at, side="right") :]
        alone = (after[0] if len(after) else cook.end) - at
        found.extend(_judge(cook, at, outlook, alone))
    return tuple(found)


def _judge(cook: Chronicle, at: float, outlook: Outlook, alone: float) -> list[Judged]:
    now = _shown(cook, outlook.probe, at)
    if now is None:
        return []
    found = []
    rows = zip(outlook.minutes, outlook.p10, outlook.p50, outlook.p90, strict=True)
    for minutes, low, median, high in rows:
        then = at + 60.0 * minutes
        if alone < 60.0 * minutes or then + AROUND > cook.end:
            break
        came = _shown(cook, outlook.probe, then)
        if came is not None:
            found.append(Judged(seconds=at, minutes=minutes, low=low, median=median, high=high, now=now, came=came))
    return found


def _shown(cook: Chronicle, probe: str, at: float) -> float | None:
    """Return what a probe showed around an instant; None while it was not trusted or not heard."""
    away = (*cook.untrusted.get(probe, ()), *cook.resumed)
    if probe not in cook.probes or any(span.touches(at - AROUND, at + AROUND) for span in away):
        return None
    return middle(cook.probes[probe], at - AROUND, at + AROUND)


def _kept(minutes: int, found: list[Judged]) -> Kept:
    off = np.array([one.came - one.median for one in found])
    apart, free = 0, -np.inf
    for one in found:
        if one.seconds >= free:
            apart, free = apart + 1, one.seconds + 60.0 * minutes
    return Kept(
        minutes=minutes,
        count=len(found),
        apart=apart,
        error=float(np.mean(np.abs(off))),
        bias=float(np.mean(off)),
        error_of_same=float(np.mean([abs(one.came - one.now) for one in found])),
        coverage=float(np.mean([one.low <= one.came <= one.high for one in found])),
        width=float(np.mean([one.high - one.low for one in found])),
    )
