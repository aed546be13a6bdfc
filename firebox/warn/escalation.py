"""Who is called when: repeated, louder, then the next person, until somebody acknowledges.

Each way of calling (a sounder, a message to somebody) has `Calls` of its own. `follow` takes in what alarms do, `due`
says what is to be told now, and `told` notes that it arrived; what did not arrive stays due. Time is seconds of any
origin that go by as the alarms' do; the time of day is needed for quiet hours only.

An alarm that is acknowledged, shelved, suppressed or gone is not called any more. A person who was called is told so;
nobody has to drive out for a fire that burns well again.
"""

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from firebox.records import Alarm, AlarmState, Occasion, Priority
from firebox.ways import QuietHours

RANK: Final[Mapping[Priority, int]] = MappingProxyType({priority: rank for rank, priority in enumerate(Priority)})

SOUND_EVERY: Final[Mapping[Priority, float]] = MappingProxyType(
    {Priority.LOW: 600.0, Priority.MEDIUM: 30.0, Priority.HIGH: 15.0, Priority.CRITICAL: 5.0}
)
"""Seconds between two calls of a sounder. The order of IEC 60601-1-8 (high 2.5-15 s, medium 2.5-30 s, low 15 s or more,
from memory); low far apart, because a sound that comes often and needs nothing is soon not heard any more."""

MESSAGE_EVERY: Final[Mapping[Priority, float]] = MappingProxyType(
    {Priority.LOW: 7200.0, Priority.MEDIUM: 1800.0, Priority.HIGH: 300.0, Priority.CRITICAL: 120.0}
)
"""Seconds between two messages to a person: no source; time to wake, read and walk out, and not a flood."""

FIRST_LOUDNESS: Final[Mapping[Priority, float]] = MappingProxyType(
    {Priority.LOW: 0.25, Priority.MEDIUM: 0.35, Priority.HIGH: 0.5, Priority.CRITICAL: 1.0}
)
"""Share of full amplitude of the first call."""

LOUDER: Final = 1.41
"""Each call nobody answers is so many times louder: 3 dB, just clearly so; from high to full in two."""


class Policy(Struct, frozen=True, kw_only=True):
    """How one way is used.

    Attributes
    ----------
    every : mapping
        Priority -> seconds between two calls. [s]
    says_over : bool
        Whether it also tells that an alarm is over; a sounder just falls silent.
    """

    from_priority: Priority = Priority.MEDIUM
    after_seconds: float = 0.0
    quiet: QuietHours | None = None
    every: Mapping[Priority, float] = SOUND_EVERY
    says_over: bool = False


class Call(Struct, frozen=True, kw_only=True):
    """One alarm that somebody has to hear of: since when it stands, how often it was told, and when last. [s]"""

    alarm: Alarm
    since: float
    times: int = 0
    last: float = 0.0


class Calls(Struct, frozen=True, kw_only=True):
    """What one way has to tell.

    Attributes
    ----------
    standing : mapping
        Alarms that stand unacknowledged.
    over : mapping
        Alarms that somebody was told of and that call no more.
    leaving : frozenset of str
        Alarms that are being told just now; whether it arrives is not known yet.
    """

    standing: Mapping[str, Call] = {}
    over: Mapping[str, Alarm] = {}
    leaving: frozenset[str] = frozenset()


class Due(Struct, frozen=True, kw_only=True):
    """What is to be told now; the most urgent first."""

    occasion: Occasion
    alarms: tuple[Alarm, ...]
    loudness: float

    @property
    def priority(self) -> Priority:
        """That of the most urgent."""
        return self.alarms[0].priority


def follow(calls: Calls, alarm: Alarm, seconds: float, age: float = 0.0) -> Calls:
    """Return the calls after an alarm changed.

    Parameters
    ----------
    calls : Calls
    alarm : Alarm
    seconds : float
        Now. [s]
    age : float
        How long ago it changed; after a restart, that is not now. [s]
    """
    old = calls.standing.get(alarm.alarm)
    standing = {name: call for name, call in calls.standing.items() if name != alarm.alarm}
    over = {name: one for name, one in calls.over.items() if name != alarm.alarm}
    if alarm.state is AlarmState.UNACKNOWLEDGED:
        standing[alarm.alarm] = _called(old, alarm, seconds - age, told_before=alarm.alarm in calls.over)
    elif (old is not None and (old.times > 0 or alarm.alarm in calls.leaving)) or alarm.alarm in calls.over:
        over[alarm.alarm] = alarm
    return replace(calls, standing=standing, over=over)


def _called(old: Call | None, alarm: Alarm, since: float, *, told_before: bool) -> Call:
    """Return the call for an alarm that stands; one that has become worse is told anew, but its age is kept."""
    if old is None:
        return Call(alarm=alarm, since=since)
    worse = RANK[alarm.priority] > RANK[old.alarm.priority]
    return replace(old, alarm=alarm, times=0 if worse or told_before else old.times)


def due(calls: Calls, policy: Policy, seconds: float, minute: int) -> Due | None:
    """Return what is to be told now; None: nothing.

    Parameters
    ----------
    calls : Calls
    policy : Policy
    seconds : float
        Now. [s]
    minute : int
        Of the local day, for quiet hours.

    Notes
    -----
    What has not been told yet goes first, all of it in one call; a flood of alarms is one notice. A repeat tells all
    that stands, not only what is due.
    """
    audible = [call for call in calls.standing.values() if _is_audible(call, policy, seconds, minute)]
    fresh = [call for call in audible if call.times == 0]
    if fresh:
        return _due(Occasion.RAISED, fresh)
    told = [call for call in audible if seconds - call.last >= policy.every[call.alarm.priority]]
    if told:
        return _due(Occasion.REPEATED, audible)
    if policy.says_over and calls.over:
        return Due(occasion=Occasion.OVER, alarms=_ordered(calls.over.values()), loudness=0.0)
    return None


def _is_audible(call: Call, policy: Policy, seconds: float, minute: int) -> bool:
    priority = call.alarm.priority
    if RANK[priority] < RANK[policy.from_priority] or seconds - call.since < policy.after_seconds:
        return False
    hushed = policy.quiet is not None and policy.quiet.hold(minute)
    return priority is Priority.CRITICAL or not hushed


def _due(occasion: Occasion, calls: Iterable[Call]) -> Due:
    calls = list(calls)
    loudness = max(min(1.0, FIRST_LOUDNESS[call.alarm.priority] * LOUDER**call.times) for call in calls)
    return Due(occasion=occasion, alarms=_ordered(call.alarm for call in calls), loudness=loudness)


def _ordered(alarms: Iterable[Alarm]) -> tuple[Alarm, ...]:
    return tuple(sorted(alarms, key=lambda alarm: (-RANK[alarm.priority], alarm.time, alarm.alarm)))


def leave(calls: Calls, what: Due) -> Calls:
    """Return the calls while something that is due is on its way."""
    return replace(calls, leaving=frozenset(alarm.alarm for alarm in what.alarms))


def told(calls: Calls, what: Due, seconds: float, *, arrived: bool = True) -> Calls:
    """Return the calls after something was on its way; what did not arrive stays due.

    What has become worse in the meantime is not counted as told.
    """
    return replace(_arrived(calls, what, seconds) if arrived else calls, leaving=frozenset())


def _arrived(calls: Calls, what: Due, seconds: float) -> Calls:
    arrived = {alarm.alarm: alarm for alarm in what.alarms}
    if what.occasion is Occasion.OVER:
        left = {name: alarm for name, alarm in calls.over.items() if arrived.get(name) is not alarm}
        return replace(calls, over=left)
    standing: dict[str, Call] = {}
    for name, call in calls.standing.items():
        heard = arrived.get(name)
        if heard is None or RANK[heard.priority] < RANK[call.alarm.priority]:
            standing[name] = call
        else:
            standing[name] = replace(call, times=call.times + 1, last=seconds)
    return replace(calls, standing=standing)


def words(what: Due, pit: str, *, real: bool = True) -> tuple[str, str]:
    """Return a title and a text for a person who is half asleep: what, how long there is, and one thing to do first.

    Parameters
    ----------
    what : Due
    pit : str
        Name of the pit.
    real : bool
        False for a fire that is not one; nobody shall run out for a game.
    """
    place = pit if real else f"{pit} (practice, no real fire)"
    first = what.alarms[0]
    more = f" and {len(what.alarms) - 1} more" if len(what.alarms) > 1 else ""
    if what.occasion is Occasion.OVER:
        title = f"{place}: no longer calling: {first.alarm.replace('-', ' ')}{more}"
        return title, "\n".join(f"{_name(alarm)} is {_became(alarm)}. {alarm.text}" for alarm in what.alarms)
    again = "still: " if what.occasion is Occasion.REPEATED else ""
    title = f"{place}: {again}{first.text}{more}"
    return title, "\n".join(_line(alarm) for alarm in what.alarms)


def _name(alarm: Alarm) -> str:
    text = alarm.alarm.replace("-", " ")
    return text[:1].upper() + text[1:]


def _became(alarm: Alarm) -> str:
    """Return how an alarm came to call no more, in a person's words."""
    gone = {AlarmState.NORMAL, AlarmState.RETURNED}
    return "over" if alarm.state in gone else str(alarm.state).replace("-", " ")


def _line(alarm: Alarm) -> str:
    minutes = alarm.minutes_until
    left = "" if minutes is None else f" About {max(0.0, minutes):.0f} min until then."
    return f"[{alarm.priority}] {alarm.text}{left} First: {alarm.first}"
