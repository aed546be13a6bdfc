"""A plan as an iCalendar file (RFC 5545), by the library icalendar: an event a line of the timetable."""

from datetime import UTC, datetime, timedelta
from typing import Final

from icalendar import Alarm, Calendar, Event

from firebox.records import PlanRow, Timetable

MOMENT: Final = timedelta(minutes=15)
"""What an event lasts that the cook sets."""

AHEAD: Final = timedelta(minutes=10)


def calendar(plan: Timetable, pit: str) -> bytes:
    """Return a plan as the bytes of an iCalendar file.

    Windows run from their 10 % to their 90 % point, with the likely hour in the text. The same plan gives the same bytes.

    Parameters
    ----------
    plan : Timetable
    pit : str
        Name of the pit, for the title.
    """
    book = Calendar()
    book.add("prodid", "-//firebox//plan//EN")
    book.add("version", "2.0")
    book.add("x-wr-calname", f"{pit}: {plan.serve:%Y-%m-%d %H:%M}")
    for number, row in enumerate(row for row in plan.rows if not row.done):
        book.add_component(_event(row, f"{number}-{plan.serve.astimezone(UTC):%Y%m%dT%H%M%SZ}@firebox", plan.serve))
    for shift in plan.watches:
        event = Event()
        event.add("uid", f"watch-{shift.begin.astimezone(UTC):%Y%m%dT%H%M%SZ}@firebox")
        event.add("dtstamp", plan.serve.astimezone(UTC))
        event.add("summary", f"watch the fire: cook {shift.person}")
        event.add("dtstart", _utc(shift.begin))
        event.add("dtend", _utc(shift.end))
        book.add_component(event)
    return bytes(book.to_ical())


def _utc(when: datetime) -> datetime:
    return when.astimezone(UTC).replace(microsecond=0)


def _event(row: PlanRow, uid: str, stamp: datetime) -> Event:
    title = row.what if row.cut is None else f"{row.cut}: {row.what}"
    text = [row.note] if row.note else []
    if not row.is_set:
        text.insert(0, f"likely about {row.likely:%H:%M}")
    event = Event()
    event.add("uid", uid)
    event.add("dtstamp", _utc(stamp))
    event.add("summary", title)
    event.add("dtstart", _utc(row.early))
    event.add("dtend", _utc(row.late + (MOMENT if row.is_set else timedelta())))
    if text:
        event.add("description", "; ".join(text))
    bell = Alarm()
    bell.add("action", "DISPLAY")
    bell.add("description", title)
    bell.add("trigger", -AHEAD)
    event.add_component(bell)
    return event
