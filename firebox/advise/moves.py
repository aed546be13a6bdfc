"""The next move: what, when, and why.

==============  ================================================================================================
every call      the controller and the ledger of wood are kept up; plain cases (blind, no fire, runaway) answered
once a minute,  a round begins: candidates around the rule's proposal are weighed through the forecast, a few a call
or on an entry  so that no single call is long; the best one stands, unless the standing one is nearly as good
==============  ================================================================================================

Advice stands until it is done, refused, or clearly beaten; where it changes, it says why.
"""

from collections.abc import Callable
from datetime import datetime
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from firebox.advise import demand, plain
from firebox.advise.candidates import Candidate, cost, deeds
from firebox.advise.caution import WET, intake_step, runs_away, starved
from firebox.advise.demand import PidState
from firebox.advise.moment import Moment, disturbed
from firebox.advise.rule import DAMPER_WAIT, propose, why_then
from firebox.advise.supply import learn_need, sizes, supply, usual_need
from firebox.cooklog import CookLog, Deed
from firebox.estimate.forecast import FireView, Forecast
from firebox.records import Damper, Expected, Move, NextSplit, Split
from firebox.setup import Setup, high_limit, low_limit

ROUND_SECONDS: Final = 60.0
CALM_ROUND_SECONDS: Final = 180.0
"""How often candidates are weighed anew; seldom while the pit is near its target and no wood is due soon. [s]"""

BLIND_ROUND_SECONDS: Final = 600.0
"""How often a forecast that did not answer to plans is asked again. [s]"""

ANSWERS_BY: Final = 0.5
"""A forecast that a medium split moves by less than this does not know of plans. [K] A split moves a pit by several."""

MOST_OPTIONS: Final = 6

BEATEN_BY: Final = 0.85
BEATEN_SINCE: Final = 0.05
"""The standing advice falls when another costs less than this share of it, and this much less, in squared bands."""

SHIFT: Final = 600.0
"""How much earlier and later than proposed a split is tried. [s]"""

NOW_SECONDS: Final = 60.0
"""A split due within this is due now. [s]"""

REFUSED_SECONDS: Final = 900.0
"""A split overdue by this was refused, or went in unlogged: the advice is thought over. [s]"""

FIRST_AIR_SECONDS: Final = 300.0
"""A starved fire gets so long with more air before the firebox is opened. [s]"""

EXPECTED_MINUTES: Final = 30

CALM_SECONDS: Final = 600.0
"""A pit that ran away and is still hot is watched for so long after it was last seen to. [s]"""

NEWS_SECONDS: Final = 300.0
"""For so long new advice says in what it differs from the old. [s]"""

CHALLENGES: Final = 3
"""Rounds in a row in which the rule must say something else before that replaces what stands."""

URGENT_SECONDS: Final = 600.0
"""Wood that is needed within this, and sooner than what stands says, waits for no further round. [s]"""


class Standing(Struct, frozen=True, kw_only=True):
    """The advice that stands."""

    candidate: Candidate = Candidate()
    since: float
    reason: str
    change: str = ""
    """In what it differs from what was said before."""
    expected: Expected | None = None


class Round(Struct, frozen=True, kw_only=True):
    """Candidates being weighed; `costs` has as many entries as have been."""

    options: tuple[Candidate, ...]
    costs: tuple[float, ...] = ()
    expected: tuple[Expected | None, ...] = ()


class AdviceState(Struct, frozen=True, kw_only=True):
    """All that the advice remembers."""

    pid: PidState = PidState()
    need: float | None = None
    """What the pit took while it held. [kg/h]"""
    seconds: float | None = None
    """The newest call."""
    changes: int = 0
    """The state of the cook's log at the newest call."""
    standing: Standing | None = None
    round: Round | None = None
    decided: float = -1e9
    answers: bool = True
    """Whether the forecast answers to plans, as far as is known."""
    asked: float = -1e9
    """When it was last asked. [s]"""
    challenged: int = 0
    """For how many rounds in a row the rule has said something else than what stands."""
    ran: float = -1e9
    """When the pit was last seen running away. [s]"""


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
        Gives the forecast under a plan. Dear, so it is called at most twice a call.
    """
    state, moment = _gather(state, seconds, time, setup, log, forecast, fire, lead_celsius)
    passed = seconds - (seconds if state.seconds is None else state.seconds)
    state = _after_entries(replace(state, seconds=seconds), moment)
    state, ran = _ran(state, moment)
    case = plain.answer(moment, ran)
    if case is not None:
        return replace(state, standing=None, round=None, changes=log.changes), case
    state = _drop_refused(state, moment)
    if _round_due(state, moment):
        state = _begin_round(state, moment)
    state = replace(state, changes=log.changes)
    state = _weigh(state, moment, foresee, _calls(passed))
    if state.standing is None:
        state = replace(state, standing=_by_rule(moment))
    assert state.standing is not None
    return state, _move(state.standing, moment)


def _ran(state: AdviceState, moment: Moment) -> tuple[AdviceState, float | None]:
    """Return how long ago the pit was last seen running away; None where that is over. [s]"""
    if moment.celsius is None:
        return state, None
    if runs_away(moment.celsius, moment.drift, moment.forecast, moment.aim, moment.high):
        return replace(state, ran=moment.seconds), 0.0
    ago = moment.seconds - state.ran
    hot = moment.celsius > moment.target + moment.band / 2.0
    return state, ago if hot and ago < CALM_SECONDS else None


def _calls(passed: float) -> int:
    """Return how many forecasts this call may ask for: one where calls come often, so that none is long."""
    return 1 if passed < 45.0 else 2


# --- books ---------------------------------------------------------------------------------------


def _gather(  # noqa: PLR0917  passes on what it was given
    state: AdviceState,
    seconds: float,
    time: datetime,
    setup: Setup,
    log: CookLog,
    forecast: Forecast | None,
    fire: FireView,
    celsius: float | None,
) -> tuple[AdviceState, Moment]:
    target, band = log.target(seconds, setup)
    medium = sizes(setup, log).medium
    pid = demand.follow(state.pid, seconds, celsius, target, band, disturbed=disturbed(log, seconds))
    need = usual_need(medium) if state.need is None else state.need
    passed = 0.0 if state.seconds is None else max(0.0, seconds - state.seconds)
    if celsius is not None and abs(celsius - target) <= band and len(log.splits()) > 1 and passed > 0.0:
        need = learn_need(need, supply(log, medium, seconds - passed, seconds), passed)
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
        need=need,
        share=pid.share,
    )
    return replace(state, pid=pid, need=need), moment


def _after_entries(state: AdviceState, moment: Moment) -> AdviceState:
    """Return the state with advice dropped that the cook has followed, or overtaken by a deed of the same kind."""
    standing = state.standing
    if standing is None or moment.log.changes == state.changes:
        return state
    for deed in reversed(moment.log.deeds):
        if deed.seconds < standing.since:
            break
        wood = isinstance(deed.entry, Split) and standing.candidate.split_at is not None
        air = isinstance(deed.entry, Damper) and standing.candidate.intake is not None
        if wood or air or standing.candidate.nothing:
            return replace(state, standing=None, round=None)
    return replace(state, round=None)


def _drop_refused(state: AdviceState, moment: Moment) -> AdviceState:
    standing = state.standing
    if standing is None or standing.candidate.split_at is None:
        return state
    if moment.seconds - standing.candidate.split_at <= REFUSED_SECONDS:
        return state
    return replace(state, standing=None, round=None)


# --- a round of weighing -------------------------------------------------------------------------


def _round_due(state: AdviceState, moment: Moment) -> bool:
    if state.round is not None:
        return False
    if moment.log.changes != state.changes or state.standing is None:
        return True
    due = state.standing.candidate.split_at
    assert moment.celsius is not None
    calm = abs(moment.celsius - moment.target) < moment.band / 2.0
    far = due is None or due - moment.seconds > REFUSED_SECONDS
    return moment.seconds - state.decided >= (CALM_ROUND_SECONDS if calm and far else ROUND_SECONDS)


def _begin_round(state: AdviceState, moment: Moment) -> AdviceState:
    """Return the state with candidates to weigh; none where the rule decides alone."""
    answers = state.answers or moment.seconds - state.asked >= BLIND_ROUND_SECONDS
    options = _options(state, moment) if answers and moment.forecast is not None else ()
    if not options:
        return _settle_by_rule(state, moment)
    return replace(state, round=Round(options=options))


def _options(state: AdviceState, moment: Moment) -> tuple[Candidate, ...]:
    """Return the candidates around what the rule proposes, wood first; the standing advice among them."""
    proposal, _ = propose(moment)
    options: list[Candidate] = []
    if state.standing is not None and not state.standing.candidate.nothing:
        options.append(state.standing.candidate)
    if proposal.split_at is not None:
        at, now = proposal.split_at, moment.seconds
        options.append(proposal)
        options += [Candidate(split_at=max(now, at + shift), kg=proposal.kg) for shift in (-SHIFT, SHIFT)]
        options += [Candidate(split_at=at, kg=kg) for kg in _other_sizes(moment, proposal.kg)]
    elif proposal.intake is not None:
        options.append(proposal)
    if proposal.split_at is None or proposal.split_at - moment.seconds < NOW_SECONDS:
        options += _air(moment)
    fresh: list[Candidate] = []
    for option in options:
        if option not in fresh:
            fresh.append(option)
    return tuple(fresh[:MOST_OPTIONS])


def _other_sizes(moment: Moment, kg: float) -> tuple[float, ...]:
    three = (moment.sizes.small, moment.sizes.medium, moment.sizes.large)
    return tuple(size for size in three if size != kg)


def _air(moment: Moment) -> list[Candidate]:
    """Return one mark of intake against the deviation, where it is known how the intake stands and has settled."""
    assert moment.celsius is not None
    off = moment.celsius - moment.target
    if abs(off) < moment.band / 2.0 or moment.since_damper < DAMPER_WAIT:
        return []
    intake = intake_step(-1 if off > 0.0 else 1, moment.log, moment.seconds, moment.setup)
    return [] if intake is None else [Candidate(intake=intake)]


def _weigh(
    state: AdviceState, moment: Moment, foresee: Callable[[tuple[Deed, ...]], Forecast | None], calls: int
) -> AdviceState:
    """Return the state after weighing a few more candidates, and after the decision once all are."""
    current = state.round
    if current is None or moment.forecast is None:
        return state
    while calls > 0 and len(current.costs) < len(current.options):
        calls -= 1
        option = current.options[len(current.costs)]
        under = foresee(deeds(option, moment.seconds, moment.time, moment.setup))
        if under is None:
            return _settle_by_rule(state, moment)
        if not current.costs:
            state = replace(state, answers=_answers(under, moment.forecast), asked=moment.seconds)
            if not state.answers:
                return _settle_by_rule(state, moment)
        worth = cost(option, under, moment.fire, moment.aim, (moment.low, moment.high))
        current = Round(
            options=current.options,
            costs=(*current.costs, worth),
            expected=(*current.expected, _expected(under)),
        )
    if len(current.costs) < len(current.options):
        return replace(state, round=current)
    return _decide(state, current, moment)


def _answers(under: Forecast, base: Forecast) -> bool:
    """Tell whether a forecast under a plan differs from the one without."""
    return any(abs(a - b) > ANSWERS_BY for a, b in zip(under.at(0.5), base.at(0.5), strict=True))


def _expected(forecast: Forecast | None) -> Expected | None:
    if forecast is None:
        return None
    minutes = min(forecast.minutes, key=lambda horizon: (abs(horizon - EXPECTED_MINUTES), horizon))
    return Expected(minutes=minutes, celsius=round(forecast.at(0.5)[forecast.minutes.index(minutes)], 2))


def _decide(state: AdviceState, weighed: Round, moment: Moment) -> AdviceState:
    """Return the state with the cheapest candidate standing, unless the standing one is nearly as cheap."""
    assert moment.forecast is not None
    leave = Candidate()
    worth = {leave: cost(leave, moment.forecast, moment.fire, moment.aim, (moment.low, moment.high))}
    worth.update(zip(weighed.options, weighed.costs, strict=True))
    expected = {leave: _expected(moment.forecast), **dict(zip(weighed.options, weighed.expected, strict=True))}
    best = min(worth, key=lambda option: worth[option])
    old = state.standing
    if old is not None and old.candidate in worth:
        ours, theirs = worth[old.candidate], worth[best]
        if not (theirs < BEATEN_BY * ours and theirs < ours - BEATEN_SINCE):
            kept = replace(old, expected=expected[old.candidate])
            return replace(state, standing=kept, round=None, decided=moment.seconds, challenged=0)
    new = Standing(candidate=best, since=moment.seconds, reason=_why(best, moment), expected=expected[best])
    return _stand(state, moment, new)


def _why(candidate: Candidate, moment: Moment) -> str:
    proposal, reason = propose(moment)
    if candidate == proposal:
        return reason
    if candidate.split_at is not None:
        due = max(0.0, candidate.split_at - moment.seconds) / 60.0
        return why_then(moment, due, moment.sizes.word(candidate.kg))
    if candidate.intake is not None:
        assert moment.celsius is not None
        if moment.celsius > moment.target:
            return "It is on the hot side and not coming down by itself; a mark less air is enough."
        return "It is on the cold side; a mark more air wakes the wood that is in there."
    return reason if proposal.nothing else "Nothing that could be done now would do better than leaving it alone."


# --- standing advice -----------------------------------------------------------------------------


def _by_rule(moment: Moment) -> Standing:
    candidate, reason = propose(moment)
    return Standing(
        candidate=candidate,
        since=moment.seconds,
        reason=reason,
        expected=_expected(moment.forecast) if candidate.nothing else None,
    )


def _settle_by_rule(state: AdviceState, moment: Moment) -> AdviceState:
    """Return the state with the rule's proposal standing once it has said so often enough, or it is urgent."""
    new = _by_rule(moment)
    old = state.standing
    if old is None:
        return _stand(state, moment, new)
    if _alike(old, new, moment.seconds):
        kept = replace(old, expected=new.expected)
        return replace(state, standing=kept, round=None, decided=moment.seconds, challenged=0)
    challenged = state.challenged + 1
    if challenged >= CHALLENGES or _urgent(old.candidate, new.candidate, moment.seconds):
        return _stand(state, moment, new)
    kept = replace(old, expected=_expected(moment.forecast) if old.candidate.nothing else old.expected)
    return replace(state, standing=kept, round=None, decided=moment.seconds, challenged=challenged)


def _urgent(old: Candidate, new: Candidate, seconds: float) -> bool:
    if new.split_at is None or new.split_at - seconds > URGENT_SECONDS:
        return False
    return old.split_at is None or old.split_at - new.split_at > URGENT_SECONDS / 2.0


def _alike(old: Standing, new: Standing, seconds: float) -> bool:
    """Tell whether two pieces of advice are the same for a cook: the same thing at nearly the same time.

    The further off, the less a shift matters: half of the time to go, and six minutes at least. A size is thought
    over only while there is time for it.
    """
    one, other = old.candidate, new.candidate
    if one.intake != other.intake or (one.split_at is None) != (other.split_at is None):
        return False
    if one.split_at is None or other.split_at is None:
        return old.reason == new.reason
    ahead = max(0.0, one.split_at - seconds)
    same_size = one.kg == other.kg or ahead < URGENT_SECONDS
    return same_size and abs(one.split_at - other.split_at) <= max(360.0, ahead / 2.0)


def _stand(state: AdviceState, moment: Moment, new: Standing) -> AdviceState:
    """Return the state with new advice standing, which says in what it differs from the old."""
    old = state.standing
    if old is not None and old.candidate == new.candidate:
        new = replace(new, since=old.since)
    elif old is not None:
        new = replace(new, change=_change(old.candidate, new.candidate))
    return replace(state, standing=new, round=None, decided=moment.seconds, challenged=0)


def _change(old: Candidate, new: Candidate) -> str:
    """Return how advice differs from what was said before, as the opening of the reason; empty where it only adds."""
    if old.split_at is not None and new.split_at is not None:
        if new.split_at < old.split_at - NOW_SECONDS:
            return "Sooner than said before. "
        if new.split_at > old.split_at + NOW_SECONDS:
            return "Later than said before. "
        return "Another size than said before. "
    if old.split_at is not None:
        return "No wood for now. "
    return ""


# --- the record ----------------------------------------------------------------------------------


def _move(standing: Standing, moment: Moment) -> Move:
    """Return the record of the advice that stands, through the gates of caution."""
    candidate, reason, intake = standing.candidate, standing.reason, standing.candidate.intake
    if moment.seconds - standing.since < NEWS_SECONDS:
        reason = standing.change + reason
    split = None
    if candidate.split_at is not None:
        due = candidate.split_at
        if due - moment.seconds < FIRST_AIR_SECONDS and starved(
            moment.fire, moment.log, moment.seconds, moment.setup
        ):
            due = moment.seconds + FIRST_AIR_SECONDS
            intake = intake_step(2, moment.log, moment.seconds, moment.setup)
            reason = (
                "The fire is short of air: open the intake, wait for clear flames, then crack the firebox door before"
                " opening it and add the split."
            )
        split = NextSplit(in_minutes=round(max(0.0, due - moment.seconds) / 60.0, 1), kg=round(candidate.kg, 2))
        overdue = moment.seconds - candidate.split_at
        if overdue > 2.0 * NOW_SECONDS:
            reason = f"Due for {overdue / 60.0:.0f} min. {reason}"
        if moment.setup.wood.moisture > WET:
            reason = f"{reason} The wood on hand is wet: pick the driest piece."
    hold = intake is None and (split is None or split.in_minutes * 60.0 > NOW_SECONDS)
    return Move(
        time=moment.time,
        split=split,
        intake=None if intake is None else round(intake, 4),
        stack=None,
        hold=hold,
        expected=standing.expected,
        reason=reason,
    )
