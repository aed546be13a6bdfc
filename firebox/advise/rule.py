"""The next move by rule of thumb: error, drift, time since the last split, and the ledger of wood.

It answers while no forecast knows what a move would do, and it says where the look-ahead should look.
"""

import math
from typing import Final

from firebox.advise.candidates import SPLIT_LEAD, Candidate, minutes_below
from firebox.advise.caution import intake_step
from firebox.advise.moment import QUICKLY, Moment
from firebox.advise.trend import Trend
from firebox.advise.why import CATCHING, FLAMING
from firebox.estimate.forecast import Forecast

DAMPER_WAIT: Final = 8.0
"""The intake acts within minutes; before this is over its last move has not been seen in full. [min]"""

ENOUGH: Final = 1.3
SHORT: Final = 0.7
"""The wood in the fire carries the pit, or does not, from these shares of the demand on."""

PINCHED: Final = 0.3
"""An intake at less than this was closed to tame the fire; it is opened again when that is done."""

HUNGRY_SHARE: Final = 1.3
"""A pit that the last split did not carry gets one this much heavier, where such a one is on hand."""

FAST_FALL: Final = -40.0
"""A pit that falls faster than this has little flame left to dry a big split. [K/h]"""

STRONG_COALS: Final = 0.75
"""Coals of this share of a medium split light a large one. The project's own choice."""

CLEAN: Final = 0.25
"""Below this opening a fire smoulders; only one that runs away is closed further."""

MILD: Final = 15.0
"""A forecast that falls slower than this keeps a hot pit hot. [K/h]"""

HINT: Final = 10.0
"""While the pit does not fall, the ledger only hints at wood that is still so far off. [min]"""

LOW_BANDS: Final = 0.75
"""One chance in four to be so many bands under the aim is too many."""

LOOK: Final = 60
"""How far the rule looks. [min]"""


def propose(moment: Moment) -> Candidate:
    """Return the move by rule.

    Parameters
    ----------
    moment : Moment
        With a known temperature.
    """
    if moment.is_above:
        return _hot(moment)
    if moment.is_below:
        return _cold(moment)
    return _within(moment)


def _hot(moment: Moment) -> Candidate:
    rises = moment.trend is Trend.RISING or (moment.trend is Trend.LEVEL and moment.coming > -MILD)
    if rises and moment.since_split >= FLAMING:
        return Candidate(intake=air(moment, -1))
    return Candidate()


def _cold(moment: Moment) -> Candidate:
    if moment.trend in (Trend.RISING, Trend.RECOVERING) or moment.since_split < FLAMING:
        return Candidate()
    more = air(moment, 2 if moment.is_weak or moment.tamed_from is not None else 1)
    air_first = moment.since_split < CATCHING and more is not None and not moment.was_small
    if moment.since_split < moment.spacing or air_first:
        return Candidate(intake=more)
    with_air = moment.is_weak or moment.was_small
    return Candidate(split_at=moment.seconds, kg=_size(moment, 0.0), intake=more if with_air else None)


def _within(moment: Moment) -> Candidate:
    assert moment.celsius is not None
    falls = moment.trend is Trend.FALLING and moment.celsius < moment.target and moment.since_split >= FLAMING
    pinched = moment.tamed_from is not None or (moment.intake is not None and moment.intake < PINCHED)
    choking = moment.since_split < CATCHING and moment.celsius < moment.target - moment.band / 2.0
    more = air(moment, 2 if pinched else 1) if falls and (pinched or choking) else None
    due = _due(moment)
    if due is None or (more is not None and moment.since_split < CATCHING):
        return Candidate(intake=more)
    return Candidate(split_at=moment.seconds + 60.0 * due, kg=_size(moment, due), intake=more if due < 1.0 else None)


def air(moment: Moment, marks: int) -> float | None:
    """Return the intake so many marks from where it stands, or one where there is no room for more.

    None: not known, just moved, or as far closed as a clean flame allows.
    """
    if moment.since_damper < DAMPER_WAIT:
        return None
    one = 1 if marks > 0 else -1
    intake = intake_step(marks, moment.log, moment.seconds, moment.setup) or intake_step(
        one, moment.log, moment.seconds, moment.setup
    )
    return None if intake is None or (marks < 0 and intake < CLEAN) else intake


def _due(moment: Moment) -> float | None:
    """Return in how many minutes wood is due; None: not within the look-ahead."""
    assert moment.celsius is not None
    forecast = moment.forecast
    left = None if forecast is None else _reaches(forecast, moment)
    if moment.since_split >= CATCHING and moment.trend is Trend.FALLING:
        line = 60.0 * (moment.celsius - moment.wood_below) / -moment.drift
        left = max(0.0, line) if left is None else min(left, max(0.0, line))
        return max(0.0, left - SPLIT_LEAD)
    if left is not None:
        if moment.given() >= ENOUGH * moment.demand and left > CATCHING:
            return None
        return max(0.0, left - SPLIT_LEAD, moment.spacing - moment.since_split)
    low = _runs_low(moment)
    hint = low is not None and low - SPLIT_LEAD >= HINT and moment.celsius < moment.target - moment.trim + moment.band
    return low - SPLIT_LEAD if low is not None and hint else None


def _reaches(forecast: Forecast, moment: Moment) -> float | None:
    """Return when the middle of the forecast leaves the target downwards, or its lower part the band. [min]"""
    middle = minutes_below(forecast, moment.wood_below, 0.5)
    lower = minutes_below(forecast, moment.wood_below - LOW_BANDS * moment.band, 0.25)
    both = [left for left in (middle, lower) if left is not None]
    return min(both) if both else None


def _runs_low(moment: Moment) -> float | None:
    """Return in how many minutes the logged wood no longer carries the pit; None: none logged, or not in sight."""
    if not moment.log.splits():
        return None
    short = SHORT * moment.demand
    before = moment.given()
    for minutes in range(5, LOOK + 1, 5):
        then = moment.given(minutes)
        if then < short:
            return minutes - 5.0 * (short - then) / max(before - then, 1e-9) if before > short else 0.0
        before = then
    return None


def _size(moment: Moment, due: float) -> float:
    """Return which size makes up best for what the hour after it will lack; medium where no wood is logged."""
    sizes = moment.sizes
    if not moment.log.splits():
        return sizes.medium
    lacking = moment.demand - moment.given(due)
    return min(fitting(moment), key=lambda kg: math.fabs(kg - lacking))


def fitting(moment: Moment) -> tuple[float, ...]:
    """Return the sizes of split that this fire can light, the likeliest first.

    A big split on a weak fire smothers it: there only small wood; a large one needs good coals and a pit in its band
    that does not fall fast. Where the last split did not carry the pit for long, the next is the bigger one.
    """
    sizes = moment.sizes
    if moment.is_weak:
        return (sizes.small,)
    all_sizes = (sizes.medium, sizes.small, sizes.large)
    coals = moment.fire.coal_kg or 0.0
    strong = not moment.is_below and moment.drift >= FAST_FALL and coals >= STRONG_COALS * sizes.medium
    most = sizes.large if strong else sizes.medium
    hungry = moment.trend is Trend.FALLING and moment.since_split < QUICKLY
    least = min(most, HUNGRY_SHARE * moment.last_kg) if hungry else 0.0
    return tuple(kg for kg in all_sizes if least <= kg <= most) or (sizes.medium,)
