"""What is told of probes, alarms and the people called: what somebody is to look to."""

from enum import StrEnum
from typing import Annotated

from msgspec import Meta, Struct

from firebox.records.record import Fraction, Name, Record


class Health(StrEnum):
    """What the program thinks of a probe."""

    WAITING = "waiting"
    GOOD = "good"
    OPEN = "open"
    SHORTED = "shorted"
    FAILED = "failed"
    SILENT = "silent"
    STUCK = "stuck"
    IMPLAUSIBLE = "implausible"
    DISAGREEING = "disagreeing"
    CHECKED = "checked"
    """Somebody is checking or moving it: what it reads is no temperature of the pit, and no fault."""


class Signal(StrEnum):
    """The status of a probe as a device: the signals of NAMUR NE 107."""

    GOOD = "good"
    FAILURE = "failure"
    FUNCTION_CHECK = "function-check"
    OUT_OF_SPECIFICATION = "out-of-specification"
    MAINTENANCE_REQUIRED = "maintenance-required"


class ProbeHealth(Record, frozen=True, kw_only=True, tag="probe"):
    """A probe's health has changed."""

    probe: str
    health: Health
    role: str
    text: str
    signal: Signal | None = None
    """None: written before there were signals."""


class AlarmState(StrEnum):
    """ANSI/ISA-18.2-2016, IEC 62682: the states of an alarm."""

    NORMAL = "normal"
    UNACKNOWLEDGED = "unacknowledged"
    ACKNOWLEDGED = "acknowledged"
    RETURNED = "returned-unacknowledged"
    SHELVED = "shelved"
    SUPPRESSED = "suppressed"
    OUT_OF_SERVICE = "out-of-service"


class Priority(StrEnum):
    LOW = "low"
    MEDIUM = "medium"
    HIGH = "high"
    CRITICAL = "critical"


class Alarm(Record, frozen=True, kw_only=True, tag="alarm"):
    """An alarm has changed state: what happened (`text`), what to do first, and how long until it matters."""

    alarm: str
    state: AlarmState
    priority: Priority
    probe: str | None = None
    text: str
    first: str
    minutes_until: float | None = None


class Occasion(StrEnum):
    """Why somebody is told something."""

    RAISED = "raised"
    REPEATED = "repeated"
    OVER = "over"
    TEST = "test"


class Notice(Record, frozen=True, kw_only=True, tag="notice"):
    """Somebody was to be told of alarms: in which way, what, and whether it arrived."""

    way: Name
    occasion: Occasion
    priority: Priority
    alarms: tuple[str, ...] = ()
    title: str
    text: str
    loudness: Fraction = 1.0
    """For ways that sound: the share of what they can."""
    attempts: Annotated[int, Meta(ge=0)] = 0
    problem: str | None = None
    """Why the last attempt failed; None after an attempt: it arrived."""


class Problem(Struct, frozen=True, kw_only=True):
    """Outside data that could not be used: where it came from, which line, and why."""

    source: str
    line: int
    text: str
