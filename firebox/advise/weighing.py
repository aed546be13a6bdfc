"""Deciding on the next move: by rhythms weighed through the model where it knows the fire, by rule where it does not."""

from collections.abc import Callable
from typing import Final

from msgspec.structs import replace

from firebox.advise import rhythm
from firebox.advise.candidates import Candidate, deeds
from firebox.advise.moment import Moment
from firebox.advise.rhythm import Rhythm
from firebox.advise.rule import FAR_OUT, chokes, wants_air
from firebox.advise.standing import (
    NOW_SECONDS,
    AdviceState,
    expected_of,
    keep,
    overtaken,
    settle,
    settle_by_rule,
    standing_of,
    surprised,
)
from firebox.advise.trend import Trend
from firebox.cooklog import Deed
from firebox.estimate.forecast import Forecast
from firebox.estimate.fork import Fork, Plans
from firebox.records import Expected

Look = Callable[[Plans, tuple[float, ...]], Fork | None]
"""Where the pit goes under each of several plans, so many minutes from now."""

Foresee = Callable[[tuple[Deed, ...]], Forecast | None]

ROUND_SECONDS: Final = 60.0
CALM_ROUND_SECONDS: Final = 180.0
"""How often it is decided anew; seldom while the pit holds near its target and no wood is due soon. [s]"""

BEATEN_BY: Final = 0.85
BEATEN_SINCE: Final = 0.05
"""The standing advice falls when another costs less than this share of it, and this much less, in squared bands."""

SOON_SECONDS: Final = 900.0
"""Wood due within this keeps the rounds short. [s]"""

SAME_WALK: Final = 10.0
"""Air that is not urgent waits for the next wood, where that is due within this. [min]"""


def round_due(state: AdviceState, moment: Moment) -> bool:
    if moment.log.changes != state.changes or state.standing is None:
        return True
    due = state.standing.candidate.split_at
    assert moment.celsius is not None
    near = abs(moment.celsius - moment.target) < moment.band / 2.0
    calm = near and moment.trend is not Trend.FALLING and not surprised(state.standing, moment)
    far = due is None or due - moment.seconds > SOON_SECONDS
    return moment.seconds - state.decided >= (CALM_ROUND_SECONDS if calm and far else ROUND_SECONDS)


def decide(state: AdviceState, moment: Moment, look: Look, foresee: Foresee) -> AdviceState:
    """Return the state with what is best now standing, unless what stands is nearly as good."""
    old = state.standing
    standing = None if old is None or overtaken(old.candidate, moment) else old.candidate
    options = rhythm.rhythms(moment, standing)
    fork = look(rhythm.plans(options, moment), rhythm.minutes(moment)) if options else None
    if fork is None:
        return settle_by_rule(state, moment)
    costs = rhythm.costs(options, fork, moment)
    wanted = _candidate(rhythm.best(options, costs), moment)
    if old is not None and standing is not None and wanted.intake == standing.intake:
        ours = [cost for option, cost in zip(options, costs, strict=True) if _is_standing(option, standing, moment)]
        if ours and not _beaten(float(min(ours)), float(costs.min())):
            return keep(state, moment, _expected(standing, moment, foresee))
    return settle(state, moment, standing_of(wanted, moment, _expected(wanted, moment, foresee)))


def _beaten(ours: float, theirs: float) -> bool:
    return theirs < BEATEN_BY * ours and theirs < ours - BEATEN_SINCE


def _candidate(best: Rhythm, moment: Moment) -> Candidate:
    """Return the move that begins a rhythm; air goes with its wood where that is near, and by itself where it is not."""
    assert moment.celsius is not None
    air = wants_air(moment)
    if best.out_of_sight:
        return Candidate(intake=air)
    wood = Candidate(split_at=moment.seconds + 60.0 * best.after, kg=best.kg)
    if air is None:
        return wood
    if 60.0 * best.after < NOW_SECONDS:
        return replace(wood, intake=air)
    urgent = abs(moment.celsius - moment.target) > FAR_OUT * moment.band or chokes(moment)
    return wood if best.after <= SAME_WALK and not urgent else Candidate(intake=air)


def _is_standing(option: Rhythm, standing: Candidate, moment: Moment) -> bool:
    if standing.split_at is None:
        return False
    after = max(0.0, (standing.split_at - moment.seconds) / 60.0)
    return option.after == after and option.kg == standing.kg


def _expected(candidate: Candidate, moment: Moment, foresee: Foresee) -> Expected | None:
    if candidate.nothing:
        return None
    return expected_of(foresee(deeds(candidate, moment.seconds, moment.time, moment.setup)))
