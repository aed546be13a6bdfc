"""The alarms of a cook: each one that was raised, what was done about it, and whether it was worth the waking."""

from enum import StrEnum
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from firebox.records import Acknowledge, Alarm, AlarmState, Damper, Door, Lit, Occasion, Priority, Rake, Split
from firebox.review.chronicle import Chronicle

ACTS: Final = (Split, Damper, Door, Lit, Rake)
"""What a cook does at the fire because of an alarm."""

PARTS: Final = (
    "probe-", "source-", "readings-", "blind", "journal-", "link-", "notice-", "part-", "watch-",
)  # fmt: skip
"""How alarms begin that are about the watch's own parts: these are put right, the fire is not fed for them."""

ANSWERED: Final = 20.0 * 60.0
"""Seconds after an alarm in which what the cook does at the fire is taken for an answer; most give 15 min to respond."""

FLEETING: Final = 5.0 * 60.0
"""Seconds within which an alarm about the fire that ends by itself, with nothing done, was in vain."""

FLICKER: Final = 90.0
"""The same for an alarm about a part, most of which linger for a minute."""

_UP: Final = (AlarmState.UNACKNOWLEDGED, AlarmState.ACKNOWLEDGED)


class Worth(StrEnum):
    """What an alarm was good for."""

    ACTED = "acted on"
    STOOD = "true, not acted on"
    VAIN = "in vain"


class Raised(Struct, frozen=True, kw_only=True):
    """One alarm that was raised.

    Attributes
    ----------
    seconds : float
        Into the cook.
    minutes : float or None
        Until its cause had gone; None: it was still there when the record ends.
    seen_minutes : float or None
        Until somebody acknowledged it.
    """

    seconds: float
    alarm: str
    priority: Priority
    text: str
    minutes: float | None
    seen_minutes: float | None
    worth: Worth


class Called(Struct, frozen=True, kw_only=True):
    """How often people were called in one way: calls that arrived, and attempts that did not."""

    way: str
    arrived: int
    failed: int


def called(cook: Chronicle) -> tuple[Called, ...]:
    """Return how often people were called for alarms, by the name of the way; tests do not count."""
    calls = [one for _, one in cook.notices if one.occasion in {Occasion.RAISED, Occasion.REPEATED} and one.attempts]
    return tuple(
        Called(
            way=way,
            arrived=sum(one.way == way and one.problem is None for one in calls),
            failed=sum(one.way == way and one.problem is not None for one in calls),
        )
        for way in sorted({one.way for one in calls})
    )


def raised(cook: Chronicle) -> tuple[Raised, ...]:
    """Return every alarm that was raised, in the order of time."""
    by_name: dict[str, list[tuple[float, Alarm]]] = {}
    for at, alarm in cook.alarms:
        by_name.setdefault(alarm.alarm, []).append((at, alarm))
    found = [one for name in sorted(by_name) for one in _occasions(cook, by_name[name])]
    return tuple(sorted(found, key=lambda one: one.seconds))


def _occasions(cook: Chronicle, changes: list[tuple[float, Alarm]]) -> list[Raised]:
    found, was_up = [], False
    for number, (at, alarm) in enumerate(changes):
        is_up = alarm.state in _UP
        if is_up and not was_up:
            gone = next((when for when, later in changes[number + 1 :] if later.state not in _UP), None)
            until = cook.end if gone is None else gone
            highest = max(
                (later.priority for when, later in changes[number:] if when <= until and later.state in _UP),
                key=list(Priority).index,
            )
            found.append(_raised(cook, at, replace(alarm, priority=highest), gone))
        was_up = is_up
    return found


def _raised(cook: Chronicle, at: float, alarm: Alarm, gone: float | None) -> Raised:
    seen = next(
        (
            when
            for when, entry in cook.told
            if when >= at and isinstance(entry, Acknowledge) and entry.alarm == alarm.alarm
        ),
        None,
    )
    is_part = alarm.alarm.startswith(PARTS)
    until = min(at + ANSWERED, cook.end if gone is None else gone)
    fleeting = gone is not None and gone - at < (FLICKER if is_part else FLEETING)
    put_right = is_part and gone is not None and not fleeting
    acted = put_right or (not is_part and any(at < deed.seconds <= until for deed in cook.deeds(*ACTS)))
    return Raised(
        seconds=at,
        alarm=alarm.alarm,
        priority=alarm.priority,
        text=alarm.text,
        minutes=None if gone is None else (gone - at) / 60.0,
        seen_minutes=None if seen is None else (seen - at) / 60.0,
        worth=Worth.ACTED if acted else Worth.VAIN if fleeting else Worth.STOOD,
    )
