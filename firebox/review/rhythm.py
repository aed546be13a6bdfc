"""The rhythm of a fire: when splits went in, how large, what each did to the pit, and how that drifted."""

from typing import Final

import numpy as np
from msgspec import Struct

from firebox.records import DoorName, Lit, Split, Target
from firebox.review.chronicle import Chronicle, Span
from firebox.review.holding import held
from firebox.review.series import GRID, Series, middle, place, quantile, smoothed

BEFORE: Final = 180.0
"""Seconds before a split of which the pit's temperature is the one that it is measured against."""

HUMP: Final = 45.0 * 60.0
"""Seconds after a split in which its top is looked for. The hump of a usual split is over by then."""

CATCHES: Final = 6.0 * 60.0
"""Seconds that wood takes before it is felt: so far into the next split the top still belongs to the one before."""

SHORTEST: Final = 8.0 * 60.0
"""Seconds that have to be seen of a hump."""

SMOOTH: Final = 60.0
"""Seconds over which the pit is averaged, so that a spike is no top."""

TOGETHER: Final = 180.0
"""Splits closer than this went in together and have one response. [s]"""

FEWEST: Final = 6
"""Responses from which a drift can be told."""

SURE: Final = 1.6449
"""Standard normal quantile of 95 %: the middle 90 % of what a slope may be."""


class Fed(Struct, frozen=True, kw_only=True):
    """Splits that went in together, and what came of it.

    Attributes
    ----------
    seconds : float
        Into the cook.
    kg : float
        `weighed`: as logged; else taken for the usual ones.
    interval_minutes : float or None
        Since the fire was last fed; None: it is the first wood of the cook.
    from_celsius : float or None
        The pit before.
    rise : float or None
        From there to the top of the hump; not above 0: the pit went on falling. [K]
    peak_minutes : float or None
        From the split to the top; None where there was no hump, or its top was not seen.
    disturbed : bool
        A door stood open or the target moved meanwhile, so the response is not that of the wood alone.
    """

    seconds: float
    kg: float
    weighed: bool
    pieces: int
    interval_minutes: float | None
    from_celsius: float | None
    rise: float | None
    peak_minutes: float | None
    disturbed: bool


class Drift(Struct, frozen=True, kw_only=True):
    """How a figure changed by the hour: the median of all pairs, and between what nine of ten such slopes lie [1]_.

    References
    ----------
    .. [1] P. K. Sen, "Estimates of the regression coefficient based on Kendall's tau", J. Am. Stat. Assoc. 63, 1968.
    """

    per_hour: float
    low: float
    high: float

    @property
    def is_sure(self) -> bool:
        """Whether the sign of it is not in doubt."""
        return self.low > 0.0 or self.high < 0.0


class Middle(Struct, frozen=True, kw_only=True):
    """The middle of some values, and between what eight of ten of them lie."""

    median: float
    low: float
    high: float


class Rhythm(Struct, frozen=True, kw_only=True):
    """The splits of a cook and what is common to them; None where there is too little to tell."""

    fed: tuple[Fed, ...]
    interval_minutes: Middle | None
    kg: Middle | None
    rise: Middle | None
    peak_minutes: Middle | None
    rise_drift: Drift | None
    peak_drift: Drift | None
    interval_drift: Drift | None


def rhythm(cook: Chronicle) -> Rhythm:
    """Return the splits of a cook and what is common to those of them that were to hold the pit."""
    fed = _responses(cook)
    span = held(cook)
    counted = [one for one in fed if span is not None and span.touches(one.seconds, one.seconds)]
    clean = [one for one in counted if one.rise is not None and not one.disturbed]
    tops = [one for one in clean if one.peak_minutes is not None]
    steps = [one for one in counted[1:] if one.interval_minutes is not None]
    return Rhythm(
        fed=fed,
        interval_minutes=_middle([one.interval_minutes for one in steps]),
        kg=_middle([one.kg for one in counted if one.weighed]),
        rise=_middle([one.rise for one in clean]),
        peak_minutes=_middle([one.peak_minutes for one in tops]),
        rise_drift=_drift(clean, [one.rise for one in clean]),
        peak_drift=_drift(tops, [one.peak_minutes for one in tops]),
        interval_drift=_drift(steps, [one.interval_minutes for one in steps]),
    )


def usual_kg(cook: Chronicle) -> float:
    """Return what a split of this cook usually weighs: by the log, else as the owner says, else a middling one. [kg]"""
    weighed = [deed.entry.kg for deed in cook.deeds(Split) if isinstance(deed.entry, Split) and deed.entry.kg]
    setup = cook.setup
    known = setup.build.usual_split_kg or setup.wood.medium_kg
    return float(np.median(weighed)) if weighed else (known or MIDDLING_KG)


MIDDLING_KG: Final = 1.4
"""Of a split about as long as a forearm; common practice, no source."""


# --- each split ----------------------------------------------------------------------------------


def _responses(cook: Chronicle) -> tuple[Fed, ...]:
    groups: list[list[tuple[float, Split]]] = []
    for seconds, split in cook.log.splits():
        if split.kg == 0.0:
            continue  # wood that was not laid
        if groups and seconds - groups[-1][0][0] < TOGETHER:
            groups[-1].append((seconds, split))
        else:
            groups.append([(seconds, split)])
    usual, smooth = usual_kg(cook), smoothed(cook.pit, SMOOTH)
    lit = [deed.seconds for deed in cook.deeds(Lit)]
    found = []
    for number, group in enumerate(groups):
        at = group[0][0]
        earlier = [*(one for one in lit if one < at), *([groups[number - 1][0][0]] if number else [])]
        until = groups[number + 1][0][0] + CATCHES if number + 1 < len(groups) else cook.end
        found.append(
            _response(
                cook, smooth, group, before=max(earlier, default=None), until=min(until, at + HUMP), usual=usual
            )
        )
    return tuple(found)


def _response(
    cook: Chronicle,
    smooth: Series,
    group: list[tuple[float, Split]],
    *,
    before: float | None,
    until: float,
    usual: float,
) -> Fed:
    at = group[0][0]
    start = middle(cook.pit, at - BEFORE, at)
    rise = peak = None
    first, end = place(at, len(smooth)), place(until, len(smooth))
    part = smooth[first : end + 1]
    if start is not None and until - at >= SHORTEST and np.isfinite(part).mean() > 0.8:
        top = int(np.nanargmax(part[round(BEFORE / GRID) :])) + round(BEFORE / GRID)
        rise = float(part[top] - start)
        seen = top < len(part) - 1 - round(SMOOTH / GRID / 2.0)
        peak = (first + top) * GRID - at if rise > 0.0 and seen else None
    shaken = any(
        span.touches(at + 30.0, until) for span in (*cook.doors(DoorName.COOK), *_long_open(cook))
    ) or any(at <= deed.seconds <= until for deed in cook.deeds(Target))  # fmt: skip
    return Fed(
        seconds=at,
        kg=sum(usual if split.kg is None else split.kg for _, split in group),
        weighed=all(split.kg is not None for _, split in group),
        pieces=len(group),
        interval_minutes=None if before is None else (at - before) / 60.0,
        from_celsius=start,
        rise=rise,
        peak_minutes=None if peak is None else peak / 60.0,
        disturbed=shaken,
    )


def _long_open(cook: Chronicle) -> list[Span]:
    """Return when the firebox door stood open for longer than it takes to lay a split."""
    return [span for span in cook.doors(DoorName.FIREBOX) if span.end - span.start > LAYING]


LAYING: Final = 90.0
"""Seconds that the firebox door may stand open for a split."""


# --- what is common to them ----------------------------------------------------------------------


def _middle(values: list[float | None]) -> Middle | None:
    known = [value for value in values if value is not None]
    low, median, high = (quantile(known, share) for share in (0.1, 0.5, 0.9))
    if low is None or median is None or high is None:
        return None
    return Middle(median=median, low=low, high=high)


def _drift(fed: list[Fed], values: list[float | None]) -> Drift | None:
    known = [value for value in values if value is not None]
    if len(known) < FEWEST or len(known) != len(fed):
        return None
    return drift(np.array([one.seconds / 3600.0 for one in fed]), np.array(known))


def drift(hours: Series, values: Series) -> Drift:
    """Return Sen's slope of some values over the hours, with its 90 % interval by Kendall's statistic.

    Parameters
    ----------
    hours, values : ndarray, shape (n,)
        Two or more; no two at the same hour.
    """
    first, second = np.triu_indices(len(hours), 1)
    slopes = np.sort((values[second] - values[first]) / (hours[second] - hours[first]))
    count, pairs = len(hours), len(slopes)
    spread = SURE * np.sqrt(count * (count - 1) * (2 * count + 5) / 18.0)
    low = max(round(float(pairs - spread) / 2.0) - 1, 0)
    high = min(round(float(pairs + spread) / 2.0), pairs - 1)
    return Drift(per_hour=float(np.median(slopes)), low=float(slopes[low]), high=float(slopes[high]))
