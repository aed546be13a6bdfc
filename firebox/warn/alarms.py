"""The alarms: conditions in, life cycle and records out.

Whether a condition holds and what the cook has been told are two things. A condition has to hold, or be gone, for its
delay; the life cycle in `firebox.warn.states` then decides what that means, and every step of it becomes a record.
"""

from datetime import datetime
from typing import Any, Final

from msgspec import Struct
from msgspec.structs import replace

from firebox.records import Acknowledge, Alarm, AlarmState, Priority, Service, Shelve
from firebox.warn.catalogue import RANK, Hush, Kind, kind_of
from firebox.warn.conditions import hushes, survey
from firebox.warn.course import follow
from firebox.warn.remembered import Course, Situation
from firebox.warn.states import LIVE, Event, after
from firebox.warn.view import Finding, View

__all__ = ["Situation", "WarnState", "begin", "evaluate", "order", "standing"]

MOST_CREDIT: Final = 60.0
"""A pause between two looks counts at most so much towards a delay: nobody saw what was in it. [s]"""

_URGENCY: Final = {Priority.CRITICAL: 0, Priority.HIGH: 1, Priority.MEDIUM: 2, Priority.LOW: 3}


class Memory(Struct, frozen=True, kw_only=True):
    """One alarm's present.

    Attributes
    ----------
    on : bool
        The condition counts: it held for its delay and has not been gone for its other delay since.
    held, gone : float
        How long the condition has held without counting, or been gone while it still counts; None: it does not. [s]
    changed : float
        When the state last changed. [s]
    told : datetime
        The instant of that change.
    shelved_until : float or None
    """

    state: AlarmState = AlarmState.NORMAL
    on: bool = False
    held: float | None = None
    gone: float | None = None
    changed: float = 0.0
    told: datetime | None = None
    shelved_until: float | None = None
    priority: Priority
    text: str
    first: str
    probe: str | None = None
    minutes_until: float | None = None
    aside: str | None = None
    """Why it is suppressed, or folded."""
    said: str = ""
    """The words of the newest record, where they are not those of the condition."""


class WarnState(Struct, frozen=True, kw_only=True):
    """All that the alarms know: one memory an alarm that is not at rest, and the course of the cook."""

    memories: dict[str, Memory] = {}
    course: Course = Course()


def begin() -> WarnState:
    """Return a state in which every alarm is at rest."""
    return WarnState()


def evaluate(state: WarnState, situation: Situation) -> tuple[WarnState, tuple[Alarm, ...]]:
    """Return the state after a look at the situation, and a record of every alarm that changed.

    Parameters
    ----------
    state : WarnState
    situation : Situation
        To be looked at every second or so; delays count the time between looks, not what a gap hides.

    Notes
    -----
    Causes are looked at before consequences, in the order of the catalogue, so that a consequence finds its cause
    already live and is folded under it.
    """
    seen = state.course.evaluated
    passed = 0.0 if seen is None else min(MOST_CREDIT, max(0.0, situation.seconds - seen))
    course = follow(state.course, situation)
    memories = state.memories
    view = _view(situation, course, memories)
    findings = survey(view)
    if not findings and not memories:
        return replace(state, course=course), ()
    reasons = hushes(view)
    now: dict[str, Memory] = dict(memories)
    out: list[Alarm] = []
    for alarm in sorted({*findings, *memories}, key=_place):
        kind, finding = kind_of(alarm), findings.get(alarm)
        assert kind is not None
        old = now.get(alarm) or _rest(kind)
        if kind.needs_pit and situation.lead is None:
            new = _unshelve(old, situation.seconds)
        else:
            aside = _aside(kind, old, reasons, now)
            new = _live_on(_count(old, kind, finding, passed, aside), kind, situation.seconds, old.priority)
        new, said = _told(old, new, alarm, kind, situation)
        out.extend(said)
        now[alarm] = new
    kept = {alarm: memory for alarm, memory in now.items() if not _at_rest(memory)}
    return WarnState(memories=kept, course=course), tuple(out)


def order(
    state: WarnState, entry: Acknowledge | Shelve | Service, situation: Situation
) -> tuple[WarnState, tuple[Alarm, ...]]:
    """Return the state after an order of the cook, and a record of what changed.

    An order that is illegal in the alarm's state, or names no alarm, changes nothing. A shelf life longer than the
    catalogue allows is cut to what it allows.
    """
    kind = kind_of(entry.alarm)
    if kind is None:
        return state, ()
    old = state.memories.get(entry.alarm) or _rest(kind)
    until = None
    match entry:
        case Acknowledge():
            event = Event.ACKNOWLEDGE
        case Service():
            event = Event.OUT_OF_SERVICE if entry.out else Event.INTO_SERVICE
        case Shelve():
            event = Event.SHELVE if entry.minutes > 0.0 else Event.UNSHELVE
            until = situation.seconds + 60.0 * min(entry.minutes, kind.shelve_minutes)
    changed = after(old.state, event)
    if changed is old.state:
        return state, ()
    new = replace(old, state=changed, shelved_until=until if changed is AlarmState.SHELVED else None)
    new, said = _told(old, new, entry.alarm, kind, situation)
    memories = {**state.memories, entry.alarm: new}
    if _at_rest(new):
        del memories[entry.alarm]
    return replace(state, memories=memories), said


def standing(state: WarnState) -> tuple[Alarm, ...]:
    """Return every alarm that is not normal: live ones first, by priority; then the returned, then those put aside."""
    shown = [
        (_SHOWN.index(memory.state), _URGENCY[memory.priority], _place(alarm), alarm, memory)
        for alarm, memory in state.memories.items()
        if memory.state is not AlarmState.NORMAL
    ]
    return tuple(_record(alarm, memory) for *_, alarm, memory in sorted(shown, key=lambda row: row[:4]))


_SHOWN: Final = (
    AlarmState.UNACKNOWLEDGED,
    AlarmState.ACKNOWLEDGED,
    AlarmState.RETURNED,
    AlarmState.SHELVED,
    AlarmState.SUPPRESSED,
    AlarmState.OUT_OF_SERVICE,
)


# --- one alarm -----------------------------------------------------------------------------------


def _view(situation: Situation, course: Course, memories: dict[str, Memory]) -> View:
    assert course.said is not None
    return View(
        now=situation,
        course=course,
        said=course.said,
        level=situation.level,
        standing=lambda alarm: alarm in memories and memories[alarm].on,
        live=lambda alarm: alarm in memories and memories[alarm].state in LIVE,
    )


def _place(alarm: str) -> tuple[int, str]:
    kind = kind_of(alarm)
    assert kind is not None
    return RANK[kind.id], alarm


def _rest(kind: Kind) -> Memory:
    cause = kind.cause[0].upper() + kind.cause[1:] + "."
    return Memory(priority=kind.priority, text=cause, first=kind.first)


def _at_rest(memory: Memory) -> bool:
    return memory.state is AlarmState.NORMAL and not memory.on and memory.held is None


def _aside(kind: Kind, memory: Memory, reasons: frozenset[Hush], memories: dict[str, Memory]) -> str | None:
    """Return why an alarm is not to be told now, in words; None: it is."""
    for reason in kind.hushed_by:
        if reason in reasons:
            return str(reason)
    live = memory.state in LIVE
    for cause in kind.under if live else (*kind.under, *kind.beside):
        if cause in memories and memories[cause].state in LIVE:
            return f"folded under {cause}"
    return None


def _count(memory: Memory, kind: Kind, finding: Finding | None, passed: float, aside: str | None) -> Memory:
    """Return the memory with its condition counted on or off, and its words brought up to date."""
    if aside is not None:
        return replace(memory, on=False, held=None, gone=None, aside=aside, **_words(memory, kind, finding))
    if finding is None:
        gone = None if not memory.on else 0.0 if memory.gone is None else memory.gone + passed
        on = gone is not None and gone < kind.off_seconds
        return replace(memory, on=on, held=None, gone=gone if on else None, aside=None)
    held = 0.0 if memory.held is None else memory.held + passed
    delay = kind.on_seconds if finding.lasting is None else finding.lasting
    on = memory.on or held >= delay
    return replace(memory, on=on, held=held, gone=None, aside=None, **_words(memory, kind, finding))


def _words(memory: Memory, kind: Kind, finding: Finding | None) -> dict[str, Any]:  # fields of several types
    """Return the fields that a finding fills; the priority of an alarm that is on only rises."""
    if finding is None:
        return {}
    priority = finding.priority or kind.priority
    if memory.on and _URGENCY[memory.priority] < _URGENCY[priority]:
        priority = memory.priority
    return {
        "priority": priority,
        "text": finding.text,
        "first": finding.first or kind.first,
        "probe": finding.probe,
        "minutes_until": finding.minutes_until,
    }


def _live_on(memory: Memory, kind: Kind, seconds: float, told_priority: Priority) -> Memory:
    """Return the memory with every event that is due gone through its life cycle."""
    memory = _unshelve(memory, seconds)
    state = memory.state
    if memory.aside is not None:
        return replace(memory, state=after(state, Event.SUPPRESS) if state in LIVE else state)
    if state is AlarmState.SUPPRESSED:
        state = after(state, Event.UNSUPPRESS)
    state = after(state, Event.CONDITION_ON if memory.on else Event.CONDITION_GONE)
    if memory.state is AlarmState.ACKNOWLEDGED and state is AlarmState.ACKNOWLEDGED:
        worse = _URGENCY[memory.priority] < _URGENCY[told_priority]
        limit = kind.realarm_minutes
        if worse or (limit is not None and seconds - memory.changed >= 60.0 * limit):
            state = after(state, Event.RE_ALARM)
    return replace(memory, state=state)


def _unshelve(memory: Memory, seconds: float) -> Memory:
    """Return the memory taken from the shelf where its time is up."""
    if memory.shelved_until is None or seconds < memory.shelved_until:
        return memory
    return replace(memory, state=after(memory.state, Event.UNSHELVE), shelved_until=None)


# --- words ---------------------------------------------------------------------------------------


def _told(old: Memory, new: Memory, alarm: str, kind: Kind, situation: Situation) -> tuple[Memory, tuple[Alarm, ...]]:
    """Return the memory with the instant of its change, and the record of it; nothing where nothing changed.

    What is to be done first is told anew where it is another by now, so that nobody does it twice.
    """
    worse = new.state in LIVE and _URGENCY[new.priority] < _URGENCY[old.priority]
    if new.state is old.state and not worse:
        reworded = new.state in LIVE and new.first != old.first
        return new, (_record(alarm, new),) if reworded else ()
    new = replace(new, changed=situation.seconds, told=situation.time, said=_said(new, kind, situation.seconds))
    return new, (_record(alarm, new),)


def _said(memory: Memory, kind: Kind, seconds: float) -> str:
    match memory.state:
        case AlarmState.NORMAL | AlarmState.RETURNED:
            return memory.text if memory.on else kind.over
        case AlarmState.SHELVED:
            minutes = (memory.shelved_until or seconds) - seconds
            return f"Put aside for {minutes / 60.0:.0f} min. {memory.text}"
        case AlarmState.SUPPRESSED:
            return f"Suppressed, {memory.aside}. {memory.text}"
        case AlarmState.OUT_OF_SERVICE:
            return f"Out of service. {memory.text}"
    return memory.text


def _record(alarm: str, memory: Memory) -> Alarm:
    """Return the record of an alarm's present; a live one with its newest words."""
    live = memory.state in LIVE
    assert memory.told is not None
    return Alarm(
        time=memory.told,
        alarm=alarm,
        state=memory.state,
        priority=memory.priority,
        probe=memory.probe,
        text=memory.text if live else memory.said,
        first=memory.first if live else _QUIET_FIRST.get(memory.state, memory.first),
        minutes_until=None if memory.minutes_until is None or not live else round(memory.minutes_until, 1),
    )


_QUIET_FIRST: Final = {
    AlarmState.NORMAL: "Nothing needs doing.",
    AlarmState.RETURNED: "Look whether all is well, then acknowledge.",
}
"""What to do first once the condition is gone."""
