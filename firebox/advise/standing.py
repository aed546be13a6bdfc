"""The advice that stands, and when it gives way to other advice: not for a trifle, and never without saying so.

=================  =============================================================================================
something is new   an entry, an alarm, or a pit 5 K from where it was foretold to be: what is best now stands
nothing is new     what stands keeps for five minutes; then it moves by three minutes at least, and by one size
wood is near       within ten minutes of a split its size stands
=================  =============================================================================================
"""

from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from firebox.advise.candidates import SPLIT_LEAD, Candidate
from firebox.advise.cycle import Cycle
from firebox.advise.demand import PidState
from firebox.advise.habits import Habits
from firebox.advise.lighting import Start
from firebox.advise.moment import Moment
from firebox.advise.rule import propose
from firebox.advise.supply import Sizes
from firebox.advise.trend import Trend
from firebox.estimate.forecast import Forecast
from firebox.records import Expected

NOW_SECONDS: Final = 60.0
"""A split due within this is due now. [s]"""

CHALLENGES: Final = 3
"""Rounds in a row in which the rule must say something else before that replaces what stands."""

URGENT_SECONDS: Final = 600.0
"""Wood that is needed within this, and sooner than what stands says, waits for no further round. [s]"""

DWELL_SECONDS: Final = 300.0
"""What was said stands so long where nothing is new. [s]"""

STEP_SECONDS: Final = 180.0
"""The time of a split moves by this at least. [s]"""

FIXED_SECONDS: Final = 600.0
"""The size of a split stands from so long before it is due. [s]"""

CARRIED: Final = 0.25
"""A pit that holds so many bands above where wood is to catch is still carried by what burns."""

SURPRISE: Final = 5.0
"""So far from what was foretold when the advice was given, the pit is somewhere else than it was thought to be. [K]"""

NOTED: Final = 1.5
"""So far from what was foretold, a change of mind says so. [K]"""

EXPECTED_MINUTES: Final = 30
"""What an outcome is quoted for: the turn of a split lies about there. [min]"""


class Standing(Struct, frozen=True, kw_only=True):
    """The advice that stands."""

    candidate: Candidate = Candidate()
    since: float
    change: str = ""
    """In what it differs from what was said before, and why."""
    expected: Expected | None = None
    minutes: tuple[float, ...] = ()
    foretold: tuple[float, ...] = ()
    """Where the pit was thought to go when this was said, if nothing more was done. [degC]"""
    doubt: tuple[float, ...] = ()
    """How far off that might be: half of its 80 % band. [K]"""


class AdviceState(Struct, frozen=True, kw_only=True):
    """All that the advice remembers."""

    pid: PidState = PidState()
    seconds: float | None = None
    """The newest call."""
    began: float | None = None
    """The first call. [s]"""
    seen: bool = False
    """Whether the pit's temperature was ever known."""
    changes: int = 0
    """The state of the cook's log at the newest call."""
    alarms: frozenset[str] = frozenset()
    """Those that stood at the newest call."""
    standing: Standing | None = None
    decided: float = -1e9
    challenged: int = 0
    """For how many rounds in a row the rule has said something else than what stands."""
    cycle: Cycle = Cycle()
    habits: Habits = Habits()
    start: Start = Start()
    """How the fire that was lit last has come along."""
    trend: Trend = Trend.LEVEL
    """Which way the pit went at the newest call."""
    weak: bool = False
    """Whether the fire was too weak for more than small wood."""
    up: float = -1e9
    """When the pit was last seen in its band, or above. [s]"""
    ran: float = -1e9
    """When the pit was last seen running away. [s]"""


def standing_of(candidate: Candidate, moment: Moment, expected: Expected | None = None) -> Standing:
    """Return advice given now."""
    forecast = moment.forecast
    return Standing(
        candidate=candidate,
        since=moment.seconds,
        expected=expected_of(forecast) if candidate.nothing else expected,
        minutes=(0.0, *map(float, forecast.minutes)) if forecast else (),
        foretold=(forecast.celsius, *forecast.at(0.5)) if forecast else (),
        doubt=(0.0, *((high - low) / 2.0 for low, high in zip(forecast.at(0.1), forecast.at(0.9), strict=True)))
        if forecast
        else (),
    )


def settle_by_rule(state: AdviceState, moment: Moment) -> AdviceState:
    """Return the state with the rule's proposal standing once it has said so often enough, or it is urgent."""
    new = standing_of(propose(moment), moment)
    old = state.standing
    if old is None:
        return settle(state, moment, new)
    if _alike(old.candidate, new.candidate, moment.seconds):
        return keep(state, moment, new.expected)
    challenged = state.challenged + 1
    if challenged >= CHALLENGES or _urgent(old.candidate, new.candidate, moment.seconds) or surprised(old, moment):
        return settle(state, moment, new)
    return replace(keep(state, moment, old.expected), challenged=challenged)


def keep(state: AdviceState, moment: Moment, expected: Expected | None) -> AdviceState:
    """Return the state with what stands still standing after a decision."""
    assert state.standing is not None
    kept = replace(state.standing, expected=expected)
    return replace(state, standing=kept, decided=moment.seconds, challenged=0)


def settle(state: AdviceState, moment: Moment, new: Standing) -> AdviceState:
    """Return the state with new advice standing, as far from the old as it may be, and saying in what it differs."""
    old = state.standing
    if old is None:
        return replace(state, standing=new, decided=moment.seconds, challenged=0)
    age = moment.seconds - old.since
    free = surprised(old, moment)
    wanted = _still_due(old.candidate, new.candidate, moment.seconds)
    candidate = _sized(old.candidate, wanted, moment) if free else _tamed(old.candidate, wanted, moment)
    if candidate == old.candidate:
        return keep(state, moment, old.expected)
    if not free and age < DWELL_SECONDS and not _urgent(old.candidate, candidate, moment.seconds):
        return keep(state, moment, old.expected)
    change = _change(old, candidate, moment)
    expected = new.expected if candidate == wanted else None
    stood = replace(new, candidate=candidate, change=change, expected=expected)
    return replace(state, standing=stood, decided=moment.seconds, challenged=0)


def surprised(old: Standing, moment: Moment) -> bool:
    """Tell whether the pit is far from where it was foretold to be when the advice was given, further than was doubted."""
    passed = (moment.seconds - old.since) / 60.0
    doubted = float(np.interp(passed, old.minutes, old.doubt)) if old.doubt else 0.0
    return abs(_beyond(old, moment)) > max(SURPRISE, doubted)


def _beyond(old: Standing, moment: Moment) -> float:
    """Return how far the pit is above what was foretold. [K]"""
    if not old.foretold or moment.celsius is None:
        return 0.0
    passed = (moment.seconds - old.since) / 60.0
    return moment.celsius - float(np.interp(passed, old.minutes, old.foretold))


def _urgent(old: Candidate, new: Candidate, seconds: float) -> bool:
    """Tell whether wood is needed soon, and well before what stands says."""
    if new.split_at is None or new.split_at - seconds > URGENT_SECONDS:
        return False
    return old.split_at is None or old.split_at - new.split_at > URGENT_SECONDS / 2.0


def _alike(one: Candidate, other: Candidate, seconds: float) -> bool:
    """Tell whether two pieces of advice are the same for a cook: the same thing at nearly the same time.

    The further off, the less a shift matters: half of the time to go, and six minutes at least.
    """
    if one.intake != other.intake or (one.split_at is None) != (other.split_at is None):
        return False
    if one.split_at is None or other.split_at is None:
        return True
    ahead = max(0.0, one.split_at - seconds)
    same_size = one.kg == other.kg or ahead < FIXED_SECONDS
    return same_size and abs(one.split_at - other.split_at) <= max(360.0, ahead / 2.0)


def overtaken(candidate: Candidate, moment: Moment) -> bool:
    """Tell whether the pit has turned so that the advice would make things worse."""
    up = moment.trend in (Trend.RISING, Trend.CRESTING)
    down = moment.trend in (Trend.FALLING, Trend.RECOVERING)
    if candidate.split_at is not None:
        if candidate.split_at - moment.seconds >= NOW_SECONDS or moment.celsius is None:
            return False
        if moment.is_above:
            return moment.celsius + moment.drift * SPLIT_LEAD / 60.0 > moment.target + moment.band / 2.0
        carried = moment.trend is not Trend.FALLING and moment.celsius > moment.wood_below + CARRIED * moment.band
        return carried or moment.comes_back
    if candidate.intake is None or moment.intake is None or moment.celsius is None:
        return False
    if candidate.intake > moment.intake:
        return moment.trend is Trend.RISING or (up and moment.celsius > moment.target)
    return moment.trend is Trend.FALLING or (down and moment.celsius < moment.target)


def _still_due(old: Candidate, new: Candidate, seconds: float) -> Candidate:
    """Return new advice whose wood has been due since the old said so, where both want it now."""
    if old.split_at is None or new.split_at is None or max(old.split_at, new.split_at) - seconds >= NOW_SECONDS:
        return new
    return replace(new, split_at=old.split_at)


def _tamed(old: Candidate, new: Candidate, moment: Moment) -> Candidate:
    """Return new advice that differs no more from the old than it has to."""
    if old.split_at is None or new.split_at is None:
        return new
    at = new.split_at if abs(new.split_at - old.split_at) >= STEP_SECONDS else old.split_at
    return replace(_sized(old, new, moment), split_at=at)


def _sized(old: Candidate, new: Candidate, moment: Moment) -> Candidate:
    """Return new advice with a size that stands where its wood is near: what is colder than foretold is fed sooner."""
    if old.split_at is None or new.split_at is None:
        return new
    near = old.split_at - moment.seconds < FIXED_SECONDS
    kg = old.kg if near else _step(old.kg, new.kg, moment.sizes)
    return replace(new, kg=min(kg, moment.sizes.small) if moment.is_weak else kg)


def _step(old: float, new: float, sizes: Sizes) -> float:
    """Return a size at most one step from the old one."""
    ladder = (sizes.small, sizes.medium, sizes.large)
    rungs = [ladder.index(min(ladder, key=lambda size: abs(size - kg))) for kg in (old, new)]
    return new if abs(rungs[0] - rungs[1]) < 2 else sizes.medium


def _change(old: Standing, new: Candidate, moment: Moment) -> str:
    """Return how advice differs from what was said before, and why, as the opening of the reason."""
    off = _beyond(old, moment)
    colder = "it is colder than foretold" if off < -NOTED else "thought over"
    hotter = "it is hotter than foretold" if off > NOTED else "thought over"
    before = old.candidate
    if before.split_at is not None and new.split_at is not None:
        if new.split_at <= before.split_at - STEP_SECONDS:
            return f"Sooner than said before, {colder}. "
        if new.split_at >= before.split_at + STEP_SECONDS:
            return f"Later than said before, {hotter}. "
        if new.kg != before.kg:
            return (
                f"Smaller than said before, {hotter}. "
                if new.kg < before.kg
                else f"Larger than said before, {colder}. "
            )
        return ""
    if before.split_at is not None:
        return f"No wood for now, {hotter}. "
    if before.intake is not None and new.intake is None:
        return "The intake can stay, thought over. "
    return ""


def expected_of(forecast: Forecast | None) -> Expected | None:
    """Return what a forecast says of half an hour ahead."""
    if forecast is None:
        return None
    minutes = min(forecast.minutes, key=lambda horizon: (abs(horizon - EXPECTED_MINUTES), horizon))
    return Expected(minutes=minutes, celsius=round(forecast.at(0.5)[forecast.minutes.index(minutes)], 2))
