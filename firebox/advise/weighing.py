"""Weighing candidates through the forecast: a round of them, a few a call, and the decision at its end."""

from collections.abc import Callable
from typing import Final

from msgspec.structs import replace

from firebox.advise.candidates import Candidate, cost, deeds
from firebox.advise.moment import Moment
from firebox.advise.rule import air, fitting, propose
from firebox.advise.standing import (
    NOW_SECONDS,
    AdviceState,
    Round,
    expected_of,
    keep,
    overtaken,
    settle,
    settle_by_rule,
    standing_of,
    surprised,
)
from firebox.advise.trend import Trend, earned
from firebox.advise.why import CATCHING, FLAMING
from firebox.cooklog import Deed
from firebox.estimate.forecast import Forecast

ROUND_SECONDS: Final = 60.0
CALM_ROUND_SECONDS: Final = 180.0
"""How often candidates are weighed anew; seldom while the pit holds near its target and no wood is due soon. [s]"""

BLIND_ROUND_SECONDS: Final = 600.0
"""How often a forecast that did not answer to plans is asked again. [s]"""

ANSWERS_BY: Final = 0.5
"""A forecast that a medium split moves by less than this does not know of plans. [K] A split moves a pit by several."""

MOST_OPTIONS: Final = 6
"""Candidates in one round."""

BEATEN_BY: Final = 0.85
BEATEN_SINCE: Final = 0.05
"""The standing advice falls when another costs less than this share of it, and this much less, in squared bands."""

SHIFT: Final = 600.0
"""How much earlier and later than proposed a split is tried. [s]"""

PUT_OFF_SECONDS: Final = 180.0
"""Wood that the rule wants of a pit that falls with a burnt-down fire is put off by no more than this. [s]"""

SOON_SECONDS: Final = 900.0
"""Wood due within this keeps the rounds short. [s]"""


def round_due(state: AdviceState, moment: Moment) -> bool:
    if state.round is not None:
        return False
    if moment.log.changes != state.changes or state.standing is None:
        return True
    due = state.standing.candidate.split_at
    assert moment.celsius is not None
    near = abs(moment.celsius - moment.target) < moment.band / 2.0
    calm = near and moment.trend is not Trend.FALLING and not surprised(state.standing, moment)
    far = due is None or due - moment.seconds > SOON_SECONDS
    return moment.seconds - state.decided >= (CALM_ROUND_SECONDS if calm and far else ROUND_SECONDS)


def begin_round(state: AdviceState, moment: Moment) -> AdviceState:
    """Return the state with candidates to weigh; none where the rule decides alone."""
    answers = state.answers or moment.seconds - state.asked >= BLIND_ROUND_SECONDS
    options = _options(state, moment) if answers and earned(moment.forecast, moment.band) else ()
    if not options:
        return settle_by_rule(state, moment)
    return replace(state, round=Round(options=options))


def _options(state: AdviceState, moment: Moment) -> tuple[Candidate, ...]:
    """Return the candidates around what the rule proposes, wood first; the standing advice among them."""
    proposal = propose(moment)
    options: list[Candidate] = []
    standing = state.standing
    if standing is not None and not standing.candidate.nothing and not overtaken(standing.candidate, moment):
        options.append(standing.candidate)
    if proposal.split_at is not None:
        at, now = proposal.split_at, moment.seconds
        options.append(proposal)
        options += [replace(proposal, kg=kg) for kg in fitting(moment) if kg != proposal.kg]
        options += [replace(proposal, split_at=max(now, at + shift)) for shift in (-SHIFT, SHIFT)]
    elif proposal.intake is not None:
        options.append(proposal)
    if proposal.split_at is None or proposal.split_at - moment.seconds < NOW_SECONDS:
        options += _air(moment)
    fresh: list[Candidate] = []
    for option in options:
        if option not in fresh:
            fresh.append(option)
    return tuple(fresh[:MOST_OPTIONS])


def _air(moment: Moment) -> list[Candidate]:
    """Return one mark of intake against the deviation, where it is known how the intake stands and has settled."""
    assert moment.celsius is not None
    off = moment.celsius - moment.target
    if abs(off) < moment.band / 2.0:
        return []
    opens = off < 0.0
    if moment.trend is (Trend.RISING if opens else Trend.FALLING) or moment.since_split < FLAMING:
        return []
    intake = air(moment, 1 if opens else -1)
    return [] if intake is None else [Candidate(intake=intake)]


def weigh(
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
            return settle_by_rule(state, moment)
        if not current.costs:
            state = replace(state, answers=_answers(under, moment.forecast), asked=moment.seconds)
            if not state.answers:
                return settle_by_rule(state, moment)
        aim = (moment.target - moment.trim, moment.band)
        worth = cost(option, under, moment.fire, aim, (moment.low, moment.high), medium=moment.sizes.medium)
        current = Round(
            options=current.options,
            costs=(*current.costs, worth),
            expected=(*current.expected, expected_of(under)),
        )
    if len(current.costs) < len(current.options):
        return replace(state, round=current)
    return _decide(state, current, moment)


def _latest(moment: Moment) -> tuple[float, bool] | None:
    """Return until when the pit must be seen to, and whether with wood; None: there is no hurry. [s]

    A forecast trusts wood to catch that may not, and coals do not wait: what the rule asks for now, and what it asks for
    of a pit that falls with its wood burnt down, is put off by no forecast.
    """
    proposal = propose(moment)
    if proposal.nothing:
        return None
    at = max(moment.seconds, proposal.split_at or 0.0)
    burnt_down = moment.trend is Trend.FALLING and (moment.is_below or moment.since_split >= CATCHING)
    if at - moment.seconds >= NOW_SECONDS and not burnt_down:
        return None
    return at + PUT_OFF_SECONDS, proposal.split_at is not None


def _in_time(candidate: Candidate, latest: float, with_wood: bool) -> bool:  # noqa: FBT001  unpacked from a pair
    if candidate.split_at is None:
        return candidate.intake is not None and not with_wood
    return candidate.split_at <= latest


def _answers(under: Forecast, base: Forecast) -> bool:
    """Tell whether a forecast under a plan differs from the one without."""
    return any(abs(a - b) > ANSWERS_BY for a, b in zip(under.at(0.5), base.at(0.5), strict=True))


def _decide(state: AdviceState, weighed: Round, moment: Moment) -> AdviceState:
    """Return the state with the cheapest candidate standing, unless the standing one is nearly as cheap."""
    assert moment.forecast is not None
    leave, aim = Candidate(), (moment.target - moment.trim, moment.band)
    worth = {
        leave: cost(leave, moment.forecast, moment.fire, aim, (moment.low, moment.high), medium=moment.sizes.medium)
    }
    worth.update(zip(weighed.options, weighed.costs, strict=True))
    expected = {leave: expected_of(moment.forecast), **dict(zip(weighed.options, weighed.expected, strict=True))}
    latest = _latest(moment)
    if latest is not None:
        worth = {one: each for one, each in worth.items() if _in_time(one, *latest)} or worth
    best = min(worth, key=lambda option: worth[option])
    old = state.standing
    if old is not None and old.candidate in worth:
        ours, theirs = worth[old.candidate], worth[best]
        if not (theirs < BEATEN_BY * ours and theirs < ours - BEATEN_SINCE):
            return keep(state, moment, expected[old.candidate])
    return settle(state, moment, standing_of(best, moment, expected[best]))
