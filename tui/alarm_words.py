"""Alarms in words, and how often the bell rings for them. Pure."""

from typing import Final

from firebox.records import AlarmState, Priority
from tui import view as views
from tui.advice import DUE_SECONDS
from tui.glance import Glance
from tui.text import is_known, own_degrees, span
from tui.view import AlarmView, ViewState

STATE_WORDS: Final = {
    AlarmState.NORMAL: "normal",
    AlarmState.UNACKNOWLEDGED: "unacknowledged",
    AlarmState.ACKNOWLEDGED: "acknowledged",
    AlarmState.RETURNED: "over, unacknowledged",
    AlarmState.SHELVED: "shelved",
    AlarmState.SUPPRESSED: "suppressed",
    AlarmState.OUT_OF_SERVICE: "out of service",
}


def alarms_in_brief(view: ViewState) -> str:
    """Return the alarms in a few words: how many stand, and how the first of them does."""
    alarms = views.standing(view)
    aside = len(views.set_aside(view))
    tail = f", {aside} set aside" if aside else ""
    if not alarms:
        return "no alarms" + tail
    count = f"{len(alarms)} alarms" if len(alarms) > 1 else "1 alarm"
    return f"{count} ({alarms[0].alarm.priority}, {STATE_WORDS[alarms[0].alarm.state]}){tail}"


def strip(view: ViewState) -> str:
    """Return the most urgent alarm with what to do first; empty where none stands."""
    alarms = views.standing(view)
    if not alarms:
        return ""
    first = alarms[0].alarm
    more = f" (and {len(alarms) - 1} more)" if len(alarms) > 1 else ""
    return f"{first.priority.upper()} ALARM, {STATE_WORDS[first.state]}{more}: {first.text} First: {first.first}"


def alarm_head(alarm: AlarmView, count: int) -> str:
    """Return the banner's first line for the most urgent unacknowledged alarm."""
    priority = alarm.alarm.priority.upper()
    over = "ALARM, NOW OVER" if alarm.alarm.state is AlarmState.RETURNED else "ALARM"
    return f"{priority} {over}" + (f", 1 of {count}" if count > 1 else "")


def until(alarm: AlarmView, seconds: float) -> str:
    """Return how long until an alarm matters; empty where it is not told."""
    if not is_known(alarm.alarm.minutes_until) or alarm.alarm.minutes_until is None:
        return ""
    left = alarm.seconds + 60.0 * alarm.alarm.minutes_until - seconds
    return "time is up" if left <= DUE_SECONDS else f"{span(left)} left"


def alarm_row(glance: Glance, told: AlarmView) -> str:
    """Return an alarm in the list: since when, priority, state, what, what to do first."""
    alarm = told.alarm
    probe = f" [{alarm.probe}]" if alarm.probe else ""
    left = until(told, glance.seconds)
    text, first = (own_degrees(words, glance.preferences) for words in (alarm.text, alarm.first))
    return (
        f"{glance.clock(told.seconds)}  {alarm.priority.upper()}, {STATE_WORDS[alarm.state]}{probe}"
        f"{', ' + left if left else ''}\n"
        f"{' ' * 7}{text}\n{' ' * 7}First: {first}"
    )


RING_SECONDS: Final = {Priority.CRITICAL: 2.0, Priority.HIGH: 4.0, Priority.MEDIUM: 10.0, Priority.LOW: 30.0}
"""Real seconds between two rings of the bell until somebody acknowledges; the project's own choice, in the order of
urgency of IEC 60601-1-8's burst intervals (from memory)."""


def ring_every(view: ViewState) -> float | None:
    """Return how often the bell has to ring; None while there is nothing to ring for."""
    return min((RING_SECONDS[told.alarm.priority] for told in views.ringing(view)), default=None)
