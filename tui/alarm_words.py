"""Alarms in words, and how often the bell rings for them. Pure."""

from typing import Final

from firebox.records import AlarmState, Priority
from tui import view as views
from tui.advice import DUE_SECONDS
from tui.glance import Glance
from tui.text import is_known, span
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
    """Return the alarms in a few words: how many stand, and which comes first."""
    alarms = views.standing(view)
    aside = len(views.set_aside(view))
    tail = f", {aside} set aside" if aside else ""
    if not alarms:
        return "no alarms" + tail
    first = alarms[0].alarm
    count = f"{len(alarms)} alarms, first: " if len(alarms) > 1 else "alarm: "
    return f"{count}{first.text} ({first.priority}, {STATE_WORDS[first.state]}){tail}"


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
    return "it matters now" if left <= DUE_SECONDS else f"{span(left)} until it matters"


def alarm_row(glance: Glance, told: AlarmView) -> str:
    """Return an alarm in the list: since when, priority, state, what, what to do first."""
    alarm = told.alarm
    probe = f" [{alarm.probe}]" if alarm.probe else ""
    return (
        f"{glance.clock(told.seconds)}  {alarm.priority.upper()}, {STATE_WORDS[alarm.state]}{probe}\n"
        f"   {alarm.text}\n   First: {alarm.first}"
    )


RING_SECONDS: Final = {Priority.CRITICAL: 2.0, Priority.HIGH: 4.0, Priority.MEDIUM: 10.0, Priority.LOW: 30.0}
"""Real seconds between two rings of the bell until somebody acknowledges; the project's own choice, in the order of
urgency of IEC 60601-1-8's burst intervals (from memory)."""


def ring_every(view: ViewState) -> float | None:
    """Return how often the bell has to ring; None while there is nothing to ring for."""
    return min((RING_SECONDS[told.alarm.priority] for told in views.ringing(view)), default=None)
