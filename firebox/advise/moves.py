"""The next move: what, when, and why.

==============  ================================================================================================
every call      the controller and what splits teach are kept up; plain cases (blind, no fire, runaway) answered
once a minute,  rhythms of feeding are weighed through the model, or the rule is asked where no model knows the fire;
or on an entry  the best one stands, unless the standing one is nearly as good
==============  ================================================================================================

Advice stands until it is done, refused, or clearly beaten; where it changes, it says why.
"""

from collections.abc import Callable
from datetime import datetime
from typing import Final

from msgspec.structs import replace

from firebox.advise import cycle, demand, fuel, lighting, plain
from firebox.advise.caution import intake_step, runs_away, starved
from firebox.advise.habits import answered
from firebox.advise.moment import HOT_ALARMS, Moment, disturbed, weak
from firebox.advise.plain import NO_PROBES_SECONDS
from firebox.advise.rule import propose
from firebox.advise.standing import NOW_SECONDS, AdviceState, Standing, expected_of, overtaken, standing_of
from firebox.advise.supply import sizes
from firebox.advise.trend import earned, trend
from firebox.advise.weighing import Look, decide, round_due
from firebox.advise.why import sleeping, why
from firebox.cooklog import CookLog, Deed
from firebox.estimate.forecast import FireView, Forecast
from firebox.estimate.fork import Plans
from firebox.records import Damper, Move, NextSplit, Split
from firebox.setup import Setup, high_limit, low_limit

__all__ = ["AdviceState", "advise", "begin"]

REFUSED_SECONDS: Final = 900.0
"""A split overdue by this was refused, or went in unlogged: the advice is thought over. [s]"""

FIRST_AIR_SECONDS: Final = 300.0
"""A starved fire gets so long with more air before the firebox is opened. [s]"""

CALM_SECONDS: Final = 600.0
"""A pit that ran away and is still hot is watched for so long after it was last seen to. [s]"""

NEWS_SECONDS: Final = 300.0
"""For so long new advice says in what it differs from the old. [s]"""

WAS_WARM: Final = 3600.0
"""A pit that was in its band so shortly before it was lit is lit again, not started: its steel is warm. [s]"""

OVERDUE_SECONDS: Final = 120.0
"""Wood due for longer than this is said to be overdue. [s]"""


def begin() -> AdviceState:
    """Return the advice before anything is known."""
    return AdviceState()


def advise(  # noqa: PLR0917  the reducer calls it so
    state: AdviceState,
    seconds: float,
    time: datetime,
    setup: Setup,
    log: CookLog,
    forecast: Forecast | None,
    fire: FireView,
    lead_celsius: float | None,
    foresee: Callable[[tuple[Deed, ...]], Forecast | None],
    *,
    drift: float | None = None,
    alarms: frozenset[str] = frozenset(),
    look: Look | None = None,
) -> tuple[AdviceState, Move]:
    """Return the next move.

    Parameters
    ----------
    state : AdviceState
    seconds, time : float, datetime
        Now.
    setup, log : Setup, CookLog
        The pit, and what the cook has done.
    forecast : Forecast or None
        If nothing more is done; may be half a minute old.
    fire : FireView
    lead_celsius : float or None
        The pit; None: blind. [degC]
    foresee : callable
        Gives the forecast under a plan. Dear, so it is called at most once a call.
    drift : float or None
        The slope that the cook is shown; None: that of the forecast. [K/h]
    alarms : frozenset of str
        Those that stand before the cook's eyes; the move is then what they say to do first.
    look : callable or None
        Gives the pit's courses under many plans of laying wood at once, with the intake moved or not. Called once a call,
        and twice more where the intake may have to be moved.
    """
    if drift is None:
        drift = forecast.drift_per_hour if forecast else 0.0
    state, moment = gather(state, seconds, time, setup, log, forecast, fire, lead_celsius, drift, alarms)
    state = _after_entries(replace(state, seconds=seconds), moment)
    state, ran = _ran(state, moment)
    case = plain.answer(moment, ran, waiting=not state.seen and seconds - (state.began or 0.0) < NO_PROBES_SECONDS)
    if case is not None:
        return replace(state, standing=None, changes=log.changes, alarms=alarms), case
    state = _drop_refused(state, moment)
    if round_due(state, moment):
        state = decide(state, moment, look or _blindly, foresee)
    state = replace(state, changes=log.changes, alarms=alarms)
    if state.standing is None:
        state = replace(state, standing=standing_of(propose(moment), moment))
    assert state.standing is not None
    standing = _lightened(state.standing, moment)
    return replace(state, standing=standing), _move(standing, moment)


def _lightened(standing: Standing, moment: Moment) -> Standing:
    """Return the advice with wood no heavier than a weak fire can light."""
    candidate, small = standing.candidate, moment.sizes.small
    if candidate.split_at is None or candidate.kg <= small or not moment.is_weak:
        return standing
    return replace(
        standing,
        candidate=replace(candidate, kg=small),
        expected=None,
        since=moment.seconds,
        change="Smaller than said before, the fire has grown weak. ",
    )


def _ran(state: AdviceState, moment: Moment) -> tuple[AdviceState, float | None]:
    """Return how long ago the pit was last seen running away; None where that is over. [s]"""
    if moment.celsius is None:
        return state, None
    if moment.alarms & HOT_ALARMS or runs_away(
        moment.celsius, moment.drift, _believed(moment), moment.aim, moment.high, moment.since_split
    ):
        return replace(state, ran=moment.seconds), 0.0
    ago = moment.seconds - state.ran
    hot = moment.celsius > moment.target + moment.band / 2.0
    return state, ago if hot and ago < CALM_SECONDS else None


def _believed(moment: Moment) -> Forecast | None:
    return moment.forecast if earned(moment.forecast, moment.band) else None


def _blindly(plans: Plans, minutes: tuple[float, ...], intake: float | None) -> None:
    """Tell of no course: no model knows the fire."""
    del plans, minutes, intake


# --- books ---------------------------------------------------------------------------------------


def gather(  # noqa: PLR0917  passes on what it was given
    state: AdviceState,
    seconds: float,
    time: datetime,
    setup: Setup,
    log: CookLog,
    forecast: Forecast | None,
    fire: FireView,
    celsius: float | None,
    drift: float,
    alarms: frozenset[str],
) -> tuple[AdviceState, Moment]:
    """Return the state with its books kept up, and the moment as the advice sees it; parameters as of `advise`."""
    target, band = log.target(seconds, setup)
    medium = sizes(setup, log).medium
    pid = demand.follow(state.pid, seconds, celsius, target, band, disturbed=disturbed(log, seconds))
    passed = 0.0 if state.seconds is None else max(0.0, seconds - state.seconds)
    last = max(log.splits(), key=lambda split: split[0], default=None)
    lit = log.lit_at()
    up = seconds if celsius is not None and celsius >= target - band else state.up
    is_up = lit is None or up >= lit - WAS_WARM
    off = None if celsius is None or disturbed(log, seconds) or not is_up else celsius - target
    kg = None if last is None or not is_up else last[1].kg or medium
    turn = cycle.follow(state.cycle, last and last[0], kg, off, passed, band)
    past = 0.0 if celsius is None else (celsius + drift * lighting.COMING / 60.0 - target) / band
    half_way = lighting.is_half_way(celsius, target)
    start = lighting.follow(state.start, seconds, log, drift, fire.phase, past, is_up=is_up, half_way=half_way)
    moment = Moment(
        seconds=seconds,
        time=time,
        setup=setup,
        log=log,
        forecast=forecast,
        fire=fire,
        celsius=celsius,
        target=target,
        band=band,
        high=high_limit(setup, target),
        low=low_limit(setup, target),
        sizes=sizes(setup, log),
        share=pid.share - pid.integral,
        trim=turn.trim,
        lasts=turn.lasts(medium),
        has_caught=turn.caught,
        is_up=is_up,
        habits=state.habits,
        asleep=log.asleep_since(seconds) is not None,
        drift=drift,
        trend=trend(drift, forecast if earned(forecast, band) else None, state.trend),
        start=start,
        alarms=alarms,
    )
    moment = replace(moment, is_weak=weak(moment, before=state.weak))
    began = seconds if state.began is None else state.began
    seen = state.seen or celsius is not None
    state = replace(
        state,
        pid=pid,
        cycle=turn,
        began=began,
        seen=seen,
        trend=moment.trend,
        weak=moment.is_weak,
        up=up,
        start=start,
    )
    return state, moment


def _after_entries(state: AdviceState, moment: Moment) -> AdviceState:
    """Return the state with advice dropped that was followed, or overtaken by a deed or an alarm."""
    standing = state.standing
    if moment.alarms - state.alarms and standing is not None:
        return replace(state, standing=None)
    if standing is None or moment.log.changes == state.changes:
        return state
    for deed in reversed(moment.log.deeds):
        if deed.seconds < standing.since:
            break
        wood = isinstance(deed.entry, Split) and standing.candidate.split_at is not None
        air = isinstance(deed.entry, Damper) and standing.candidate.intake is not None
        if wood or air or standing.candidate.nothing:
            return replace(_habits(state, deed), standing=None)
    return state


def _habits(state: AdviceState, deed: Deed) -> AdviceState:
    """Return the state after wood that was asked for went on: how late, and how heavy."""
    asked = state.standing.candidate if state.standing else None
    if asked is None or asked.split_at is None or not isinstance(deed.entry, Split):
        return state
    late = (deed.seconds - asked.split_at) / 60.0
    return replace(state, habits=answered(state.habits, late, deed.entry.kg, asked.kg))


def _drop_refused(state: AdviceState, moment: Moment) -> AdviceState:
    """Return the state without advice that was refused, or that the pit has overtaken."""
    standing = state.standing
    if standing is not None and overtaken(standing.candidate, moment):
        return replace(state, standing=None)
    if standing is None or standing.candidate.split_at is None:
        return state
    if moment.seconds - standing.candidate.split_at <= REFUSED_SECONDS:
        return state
    return replace(state, standing=None)


# --- the record ----------------------------------------------------------------------------------


def _move(standing: Standing, moment: Moment) -> Move:
    """Return the record of the advice that stands, through the gates of caution."""
    candidate, intake = standing.candidate, standing.candidate.intake
    reason = why(candidate, moment)
    if moment.seconds - standing.since < NEWS_SECONDS:
        reason = standing.change + reason
    split = None
    if candidate.split_at is not None:
        due, overdue = candidate.split_at, moment.seconds - candidate.split_at
        if overdue > OVERDUE_SECONDS:
            reason = f"Due for {overdue / 60.0:.0f} min. {why(candidate, moment)}"
        if -overdue < FIRST_AIR_SECONDS and starved(moment.fire, moment.log, moment.seconds, moment.setup):
            due = moment.seconds + FIRST_AIR_SECONDS
            intake = intake_step(1, moment.log, moment.seconds, moment.setup)
            reason = (
                "The fire is short of air: open the intake, wait for clear flames, then crack the firebox door before"
                " opening it and add the split."
            )
        beware = fuel.warning(moment.setup, moment.log)
        if beware:
            reason = f"{reason} {beware}"
        split = NextSplit(in_minutes=round(max(0.0, due - moment.seconds) / 60.0, 1), kg=round(candidate.kg, 2))
    hold = intake is None and (split is None or split.in_minutes * 60.0 > NOW_SECONDS)
    if hold and moment.asleep and not moment.is_below:
        reason = sleeping(None if split is None else split.in_minutes)
    return Move(
        time=moment.time,
        split=split,
        intake=None if intake is None else round(intake, 4),
        stack=None,
        hold=hold,
        expected=expected_of(moment.forecast) if candidate.nothing else standing.expected,
        reason=reason,
    )
