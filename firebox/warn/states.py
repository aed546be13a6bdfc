"""The life cycle of an alarm, as a table that runs and that the documentation prints.

States and their names are those of ANSI/ISA-18.2-2016 and IEC 62682. The two latched states of the standard are left
out: no alarm here outlives its cause and its acknowledgement.
"""

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from firebox.records import AlarmState


class Event(StrEnum):
    """What can happen to an alarm."""

    CONDITION_ON = "condition on"
    CONDITION_GONE = "condition gone"
    ACKNOWLEDGE = "acknowledge"
    RE_ALARM = "re-alarm"
    SHELVE = "shelve"
    UNSHELVE = "unshelve"
    SUPPRESS = "suppress"
    UNSUPPRESS = "unsuppress"
    OUT_OF_SERVICE = "out of service"
    INTO_SERVICE = "into service"


_ASIDE: Final = {
    Event.SHELVE: AlarmState.SHELVED,
    Event.SUPPRESS: AlarmState.SUPPRESSED,
    Event.OUT_OF_SERVICE: AlarmState.OUT_OF_SERVICE,
}

TRANSITIONS: Final[Mapping[AlarmState, Mapping[Event, AlarmState]]] = MappingProxyType(
    {
        AlarmState.NORMAL: {Event.CONDITION_ON: AlarmState.UNACKNOWLEDGED, **_ASIDE},
        AlarmState.UNACKNOWLEDGED: {
            Event.ACKNOWLEDGE: AlarmState.ACKNOWLEDGED,
            Event.CONDITION_GONE: AlarmState.RETURNED,
            **_ASIDE,
        },
        AlarmState.ACKNOWLEDGED: {
            Event.CONDITION_GONE: AlarmState.NORMAL,
            Event.RE_ALARM: AlarmState.UNACKNOWLEDGED,
            **_ASIDE,
        },
        AlarmState.RETURNED: {
            Event.ACKNOWLEDGE: AlarmState.NORMAL,
            Event.CONDITION_ON: AlarmState.UNACKNOWLEDGED,
            **_ASIDE,
        },
        AlarmState.SHELVED: {
            Event.UNSHELVE: AlarmState.NORMAL,
            Event.OUT_OF_SERVICE: AlarmState.OUT_OF_SERVICE,
        },
        AlarmState.SUPPRESSED: {
            Event.UNSUPPRESS: AlarmState.NORMAL,
            Event.SHELVE: AlarmState.SHELVED,
            Event.OUT_OF_SERVICE: AlarmState.OUT_OF_SERVICE,
        },
        AlarmState.OUT_OF_SERVICE: {Event.INTO_SERVICE: AlarmState.NORMAL},
    }
)
"""State -> event -> state. What is not here is illegal and changes nothing. An alarm that comes back from the shelf,
from suppression or into service is normal for an instant; where its condition holds, `condition on` follows at once."""

LIVE: Final = frozenset({AlarmState.UNACKNOWLEDGED, AlarmState.ACKNOWLEDGED})
"""States in which the condition holds and the cook is told."""


def after(state: AlarmState, event: Event) -> AlarmState:
    """Return the state that an event leads to; the same one where the event is illegal in it.

    Examples
    --------
    >>> after(AlarmState.UNACKNOWLEDGED, Event.CONDITION_GONE)
    <AlarmState.RETURNED: 'returned-unacknowledged'>
    >>> after(AlarmState.SHELVED, Event.ACKNOWLEDGE)
    <AlarmState.SHELVED: 'shelved'>
    """
    return TRANSITIONS[state].get(event, state)


def table() -> str:
    """Return the life cycle as a Markdown table: a row a state, a column an event."""
    lines = [
        "| state | " + " | ".join(Event) + " |",
        "|---" * (len(Event) + 1) + "|",
    ]
    for state, ways in TRANSITIONS.items():
        lines.append(f"| {state} | " + " | ".join(ways.get(event, "") for event in Event) + " |")
    return "\n".join(lines) + "\n"
