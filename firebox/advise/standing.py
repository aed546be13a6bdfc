"""The advice that stands, and when it gives way to other advice: not for a trifle, and never without saying so."""

from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from firebox.advise.candidates import Candidate
from firebox.advise.demand import PidState
from firebox.advise.moment import Moment
from firebox.advise.rule import propose
from firebox.estimate.forecast import Forecast
from firebox.records import Expected

NOW_SECONDS: Final = 60.0
"""A split due within this is due now. [s]"""

CHALLENGES: Final = 3
"""Rounds in a row in which the rule must say something else before that replaces what stands."""

URGENT_SECONDS: Final = 600.0
"""Wood that is needed within this, and sooner than what stands says, waits for no further round. [s]"""

FIRST_THOUGHT_SECONDS: Final = 120.0
"""Advice younger than this was a first thought, while candidates were still being weighed. [s]"""

EXPECTED_MINUTES: Final = 30
"""What an outcome is quoted for: the turn of a split lies about there. [min]"""


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


def by_rule(moment: Moment) -> Standing:
    candidate, reason = propose(moment)
    return Standing(
        candidate=candidate,
        since=moment.seconds,
        reason=reason,
        expected=expected_of(moment.forecast) if candidate.nothing else None,
    )


def settle_by_rule(state: AdviceState, moment: Moment) -> AdviceState:
    """Return the state with the rule's proposal standing once it has said so often enough, or it is urgent."""
    new = by_rule(moment)
    old = state.standing
    if old is None:
        return stand(state, moment, new)
    if _alike(old, new, moment.seconds):
        kept = replace(old, expected=new.expected)
        return replace(state, standing=kept, round=None, decided=moment.seconds, challenged=0)
    challenged = state.challenged + 1
    if challenged >= CHALLENGES or _urgent(old.candidate, new.candidate, moment.seconds):
        return stand(state, moment, new)
    kept = replace(old, expected=expected_of(moment.forecast) if old.candidate.nothing else old.expected)
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


def stand(state: AdviceState, moment: Moment, new: Standing) -> AdviceState:
    """Return the state with new advice standing, which says in what it differs from the old."""
    old = state.standing
    if old is not None and old.candidate == new.candidate:
        new = replace(new, since=old.since)
    elif old is not None and moment.seconds - old.since > FIRST_THOUGHT_SECONDS:
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


def expected_of(forecast: Forecast | None) -> Expected | None:
    if forecast is None:
        return None
    minutes = min(forecast.minutes, key=lambda horizon: (abs(horizon - EXPECTED_MINUTES), horizon))
    return Expected(minutes=minutes, celsius=round(forecast.at(0.5)[forecast.minutes.index(minutes)], 2))
