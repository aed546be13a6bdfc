"""Time in the band: how much of it, how far off, and how long it took to get there."""

from typing import Final

import numpy as np
from msgspec import Struct

from firebox.records import Lit, Out
from firebox.review.chronicle import Chronicle, Span
from firebox.review.series import GRID, Mask, place, runs

ARRIVAL: Final = 60.0
"""Seconds inside the band that count as having come to it: a probe that passes through has not."""


class Hour(Struct, frozen=True, kw_only=True):
    """One hour of the cook: minutes that are known, and those of them inside the band."""

    known_minutes: float
    inside_minutes: float


class Holding(Struct, frozen=True, kw_only=True):
    """How the pit kept to its band, from its arrival there until the fire was let out or the record ends.

    Attributes
    ----------
    arrived_seconds : float or None
        When it came to the band. [s]
    arrived_after_minutes : float or None
        Since the fire was lit, or since the record began; None: it never came to the band.
    inside, above, below : float
        Shares of the known time.
    unknown_minutes : float
        No trusted probe was heard.
    mean_off : float or None
        Mean distance from the target. [K]
    bias : float or None
        Mean difference from the target: above 0, the pit was warm. [K]
    longest_minutes : float
        The longest stretch inside the band.
    hours : tuple of Hour
        Since the arrival.
    """

    arrived_seconds: float | None
    arrived_after_minutes: float | None
    minutes: float
    inside: float
    above: float
    below: float
    unknown_minutes: float
    mean_off: float | None
    bias: float | None
    longest_minutes: float
    hours: tuple[Hour, ...]


class Slept(Struct, frozen=True, kw_only=True):
    """The cook slept; `inside` is the share of that time that the pit was in its band, None where it is not known."""

    seconds: float
    minutes: float
    inside: float | None


def slept(cook: Chronicle) -> tuple[Slept, ...]:
    """Return when the cook slept, and how the pit did meanwhile."""
    good, known = inside(cook), np.isfinite(cook.pit)
    found = []
    for span in cook.sleeps():
        part = slice(place(span.start, len(known)), place(span.end, len(known)) + 1)
        count = int(known[part].sum())
        share = float(good[part].sum() / count) if count else None
        found.append(Slept(seconds=span.start, minutes=(span.end - span.start) / 60.0, inside=share))
    return tuple(found)


def inside(cook: Chronicle) -> Mask:
    """Return where the pit was in its band; False where it is not known."""
    return np.abs(cook.pit - cook.target) <= cook.band


def held(cook: Chronicle) -> Span | None:
    """Return from when to when the pit was to be held: from its arrival in the band, until the fire was let out."""
    first = next((start for start, end in runs(inside(cook)) if (end - start) * GRID >= ARRIVAL), None)
    if first is None:
        return None
    ends = [deed.seconds for deed in cook.deeds(Out) if deed.seconds > first * GRID]
    relit = cook.log.lit_at() is not None and cook.log.out_at() is None
    return Span(start=first * GRID, end=cook.end if relit or not ends else ends[-1])


def holding(cook: Chronicle) -> Holding:
    """Return how the pit kept to its band."""
    span = held(cook)
    if span is None:
        return Holding(
            arrived_seconds=None, arrived_after_minutes=None, minutes=0.0, inside=0.0, above=0.0, below=0.0, unknown_minutes=0.0,
            mean_off=None, bias=None, longest_minutes=0.0, hours=(),
        )  # fmt: skip
    first, end = (place(seconds, len(cook.pit)) for seconds in (span.start, span.end))
    part = slice(first, end + 1)
    off = cook.pit[part] - cook.target[part]
    known = np.isfinite(off)
    good = inside(cook)[part]
    count = max(1, int(known.sum()))
    return Holding(
        arrived_seconds=span.start,
        arrived_after_minutes=(span.start - _lit(cook, span.start)) / 60.0,
        minutes=(span.end - span.start) / 60.0,
        inside=float(good.sum() / count),
        above=float((off > cook.band[part]).sum() / count),
        below=float((off < -cook.band[part]).sum() / count),
        unknown_minutes=float((~known).sum() * GRID / 60.0),
        mean_off=float(np.mean(np.abs(off[known]))),
        bias=float(np.mean(off[known])),
        longest_minutes=max(last - start for start, last in runs(good)) * GRID / 60.0,
        hours=_hours(known, good),
    )


def _lit(cook: Chronicle, before: float) -> float:
    """Return when the fire was lit that brought the pit to its band; the beginning where that was not told."""
    return max((deed.seconds for deed in cook.deeds(Lit) if deed.seconds <= before), default=0.0)


def _hours(known: Mask, good: Mask) -> tuple[Hour, ...]:
    length = round(3600.0 / GRID)
    return tuple(
        Hour(
            known_minutes=float(known[start : start + length].sum() * GRID / 60.0),
            inside_minutes=float(good[start : start + length].sum() * GRID / 60.0),
        )
        for start in range(0, len(known), length)
    )
