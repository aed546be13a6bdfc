"""Records as rows of the journal, and back."""

from datetime import UTC, datetime, timedelta
from typing import Final

from firebox.journal.schema import damage
from firebox.records import (
    Alarm,
    Entry,
    Fire,
    Meat,
    Move,
    Outlook,
    ProbeHealth,
    Reading,
    Record,
    Status,
    word_of,
)

EPOCH: Final = datetime(1970, 1, 1, tzinfo=UTC)
MICROSECOND: Final = timedelta(microseconds=1)

STATUSES: Final = (Status.GOOD, Status.OPEN, Status.SHORTED, Status.FAILED)
"""By the number that `readings.status` holds; never reordered, only added to."""

NUMBERS: Final = {status: number for number, status in enumerate(STATUSES)}

ANSWERS: Final = (Outlook, Move, Fire, Meat)
"""What is answered anew at every tick; the journal keeps the newest of each and a thinned history."""

ANSWER_WORDS: Final = ("outlook", "move", "fire", "meat")


def micros(time: datetime) -> int:
    """Return an instant as whole microseconds since 1970, exactly.

    Examples
    --------
    >>> micros(datetime(2026, 5, 2, 4, 10, 5, 123456, tzinfo=UTC))
    1777695005123456
    """
    return (time - EPOCH) // MICROSECOND


def instant(microseconds: int) -> datetime:
    """Return the instant of so many microseconds since 1970, in UTC.

    Examples
    --------
    >>> instant(1777695005123456).isoformat()
    '2026-05-02T04:10:05.123456+00:00'

    Raises
    ------
    sqlite3.DatabaseError
        There is no such instant: the row is damaged, though SQLite could read it.
    """
    try:
        return EPOCH + timedelta(microseconds=microseconds)
    except (OverflowError, TypeError) as error:
        raise damage(f"{microseconds!r} is no instant; the row is damaged") from error


def reading_of(microseconds: int, probe: str, celsius: float | None, status: int) -> Reading:
    """Return a reading from the values of its row."""
    return Reading(time=instant(microseconds), probe=probe, celsius=celsius, status=STATUSES[status])


def type_of(record: Record) -> str:
    """Return the word of a record's `type` field."""
    return record.type if isinstance(record, Entry) else str(record.__struct_config__.tag)


def name_of(record: Record) -> str | None:
    """Return what a record is about within its type: the entry's word, the probe, the alarm."""
    match record:
        case Entry():
            return word_of(record)
        case Outlook():
            return f"{record.probe} {record.assumes}"
        case Meat() | ProbeHealth() | Reading():
            return record.probe
        case Alarm():
            return record.alarm
        case _:
            return None
