"""The life cycle of an alarm against the published one.

Source
------
ANSI/ISA-18.2-2016 / IEC 62682, "Management of alarm systems for the process industries", alarm state transition
diagram. The standard itself was not at hand: names of states and the transitions marked *verified* were taken from
public documentation of implementations (OPC UA Part 9, Annex on ISA-18.2 and its state diagram); the rest is from
memory and marked so. Agreement is exact: these are names, there is no tolerance.

What departs from the source: the two latched states are not used (no alarm here latches), and an order to suppress or
shelve an alarm that is out of service changes nothing.
"""

from typing import Final

import pytest

from firebox.records import AlarmState
from firebox.warn.states import TRANSITIONS, Event, after, table

VERIFIED: Final = (
    ("normal", "condition on", "unacknowledged"),
    ("unacknowledged", "acknowledge", "acknowledged"),
    ("unacknowledged", "condition gone", "returned-unacknowledged"),
    ("acknowledged", "condition gone", "normal"),
    ("acknowledged", "re-alarm", "unacknowledged"),  # OPC UA Part 9, ReAlarmTime
    ("normal", "shelve", "shelved"),
    ("unacknowledged", "shelve", "shelved"),
    ("acknowledged", "shelve", "shelved"),
    ("returned-unacknowledged", "shelve", "shelved"),
    ("normal", "suppress", "suppressed"),
    ("unacknowledged", "suppress", "suppressed"),
    ("acknowledged", "suppress", "suppressed"),
    ("returned-unacknowledged", "suppress", "suppressed"),
    ("normal", "out of service", "out-of-service"),
    ("unacknowledged", "out of service", "out-of-service"),
    ("acknowledged", "out of service", "out-of-service"),
    ("returned-unacknowledged", "out of service", "out-of-service"),
)

FROM_MEMORY: Final = (
    ("returned-unacknowledged", "acknowledge", "normal"),
    ("returned-unacknowledged", "condition on", "unacknowledged"),
    ("shelved", "unshelve", "normal"),
    ("suppressed", "unsuppress", "normal"),
    ("out-of-service", "into service", "normal"),
    ("shelved", "out of service", "out-of-service"),
    ("suppressed", "out of service", "out-of-service"),
    ("suppressed", "shelve", "shelved"),
)

LATCHED: Final = {"latched-unacknowledged", "latched-acknowledged"}
NAMES: Final = {
    "normal", "unacknowledged", "acknowledged", "returned-unacknowledged", "shelved", "suppressed", "out-of-service",
} | LATCHED  # fmt: skip


def test_the_states_are_those_of_the_standard_without_the_latched_ones() -> None:
    assert {str(state) for state in AlarmState} == NAMES - LATCHED
    assert set(TRANSITIONS) == set(AlarmState)


@pytest.mark.parametrize(("state", "event", "then"), VERIFIED + FROM_MEMORY)
def test_a_published_transition_is_in_the_table(state: str, event: str, then: str) -> None:
    assert after(AlarmState(state), Event(event)) is AlarmState(then)


def test_the_table_has_no_transition_that_was_not_published() -> None:
    published = set(VERIFIED + FROM_MEMORY)
    ours = {
        (str(state), str(event), str(then)) for state, ways in TRANSITIONS.items() for event, then in ways.items()
    }
    assert ours == published


def test_whatever_is_not_published_changes_nothing() -> None:
    legal = {(state, event) for state, event, _ in VERIFIED + FROM_MEMORY}
    for state in AlarmState:
        for event in Event:
            if (state, event) not in legal:
                assert after(state, event) is state


def test_the_printed_table_is_the_one_that_runs() -> None:
    lines = table().splitlines()
    events = [cell.strip() for cell in lines[0].strip("|").split("|")][1:]
    assert events == list(Event)
    for line in lines[2:]:
        state, *cells = [cell.strip() for cell in line.strip("|").split("|")]
        for event, cell in zip(events, cells, strict=True):
            assert cell == TRANSITIONS[AlarmState(state)].get(Event(event), "")
