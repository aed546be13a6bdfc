"""Deciding on the next move: by rhythms weighed through the model where its outlook is narrow, by rule where it is not."""

from collections.abc import Callable
from typing import Final

from msgspec.structs import replace

from firebox.advise import rhythm
from firebox.advise.candidates import Candidate, deeds
from firebox.advise.moment import Moment
from firebox.advise.rhythm import Array, Rhythm
from firebox.advise.rule import FAR_OUT, air, chokes, wants_air
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
from firebox.advise.trend import Trend, earned
from firebox.cooklog import Deed
from firebox.estimate.forecast import Forecast
from firebox.estimate.fork import Fork, Plans
from firebox.records import Expected

Look = Callable[[Plans, tuple[float, ...], float | None], Fork | None]
"""Where the pit goes under each of several plans, so many minutes from now, with the intake set to a place now or not."""

Foresee = Callable[[tuple[Deed, ...]], Forecast | None]

ROUND_SECONDS: Final = 60.0
CALM_ROUND_SECONDS: Final = 180.0
"""How often it is decided anew; seldom while the pit holds near its target and no wood is due soon. [s]"""

BEATEN_BY: Final = 0.85
BEATEN_SINCE: Final = 0.05
"""The standing advice falls when another costs less than this share of it, and this much less, in squared bands."""

DAMPER_COST: Final = 0.06
"""Of moving the intake, in squared bands: a fire that is let be burns steadier."""

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
    if not moment.asleep and not earned(moment.forecast, rhythm.NARROW_BANDS * moment.band):
        return settle_by_rule(state, moment)
    old = state.standing
    standing = None if old is None or overtaken(old.candidate, moment) else old.candidate
    options = rhythm.rhythms(moment, standing)
    weighed = _weighed(options, moment, look) if options else None
    if weighed is None:
        return settle_by_rule(state, moment)
    costs, intake = weighed
    wanted = _candidate(rhythm.best(options, costs), intake, moment)
    if old is not None and standing is not None and wanted.intake == standing.intake:
        ours = [cost for option, cost in zip(options, costs, strict=True) if _is_standing(option, standing, moment)]
        if ours and not _beaten(float(min(ours)), float(costs.min())):
            return keep(state, moment, _expected(standing, moment, foresee))
    return settle(state, moment, standing_of(wanted, moment, _expected(wanted, moment, foresee)))


def _weighed(options: tuple[Rhythm, ...], moment: Moment, look: Look) -> tuple[Array, float | None] | None:
    """Return what each rhythm costs with the intake where it is best, and where that is (None: as it stands).

    Whether the intake may move, and which way, the rule says; the model says whether it helps, and by how many marks.
    """
    plans, minutes = rhythm.plans(options, moment), rhythm.minutes(moment)
    fork = look(plans, minutes, None)
    if fork is None:
        return None
    found: tuple[Array, float | None] = rhythm.costs(options, fork, moment), None
    one = wants_air(moment)
    if one is None or moment.intake is None:
        return found
    two = air(moment, 2 if one > moment.intake else -2) if _is_far_out(moment) else None
    for intake in dict.fromkeys((one, two)):
        gentle = intake is not None and 0.5 <= intake / max(moment.intake, 0.125) <= 2.0
        moved = look(plans, minutes, intake) if gentle else None
        if moved is not None:
            costs = rhythm.costs(options, moved, moment)
            if costs.min() + DAMPER_COST < found[0].min():
                found = costs, intake
    return found


def _beaten(ours: float, theirs: float) -> bool:
    return theirs < BEATEN_BY * ours and theirs < ours - BEATEN_SINCE


def _candidate(best: Rhythm, intake: float | None, moment: Moment) -> Candidate:
    """Return the move that begins a rhythm; air goes with its wood where that is near, and by itself where it is not."""
    if best.out_of_sight:
        return Candidate(intake=intake)
    wood = Candidate(split_at=moment.seconds + 60.0 * best.after, kg=best.kg)
    if intake is None:
        return wood
    if 60.0 * best.after < NOW_SECONDS:
        return replace(wood, intake=intake)
    urgent = _is_far_out(moment) or chokes(moment)
    return wood if best.after <= SAME_WALK and not urgent else Candidate(intake=intake)


def _is_far_out(moment: Moment) -> bool:
    return moment.celsius is not None and abs(moment.celsius - moment.target) > FAR_OUT * moment.band


def _is_standing(option: Rhythm, standing: Candidate, moment: Moment) -> bool:
    if standing.split_at is None:
        return False
    after = max(0.0, (standing.split_at - moment.seconds) / 60.0)
    return option.after == after and option.kg == standing.kg


def _expected(candidate: Candidate, moment: Moment, foresee: Foresee) -> Expected | None:
    if candidate.nothing:
        return None
    return expected_of(foresee(deeds(candidate, moment.seconds, moment.time, moment.setup)))
