"""What comes in by itself: samples of probes, and the ticks that ask for an answer."""

from enum import StrEnum

from firebox.records.record import Celsius, Name, Record


class Status(StrEnum):
    """What a probe source says of its own reading."""

    GOOD = "good"
    OPEN = "open"
    SHORTED = "shorted"
    FAILED = "failed"


class Reading(Record, frozen=True, kw_only=True, tag="reading"):
    """One sample of one probe; `celsius` is None unless `status` is good."""

    probe: Name
    celsius: Celsius | None = None
    status: Status = Status.GOOD


class Tick(Record, frozen=True, kw_only=True, tag="tick"):
    """In: answer now. Out: the answer to the tick of this time is complete."""
