"""Whether a fire that is lit belongs to the cook that is running: a pure fold over the entries of a person."""

from datetime import datetime, timedelta
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from firebox.records import Clock, Entry, Lit, Out, Resumed, Split, Trouble, Undo

CURRENT: Final = timedelta(hours=8)
"""A cook whose last record is older has ended: no unattended wood fire outlasts it, so nothing that the watch knew of
fire and meat still holds. A power cut in the night, or a keeper stopped for a change, lies well within."""

FORGOTTEN: Final = timedelta(hours=24)
"""A fire lit so long after anything was last entered is a new one, though nobody said that the old one went out."""


class Doings(Struct, frozen=True, kw_only=True):
    """When something was last entered, and when the fire was let out, by the present reckoning of time."""

    entered: datetime | None = None
    out: datetime | None = None
    """None: it was not, or something was lit since."""
    out_id: str | None = None


def follow(doings: Doings, entry: Entry) -> Doings:
    """Return the doings after one more entry."""
    match entry:
        case Clock():
            shift = entry.to - entry.time
            return replace(
                doings,
                entered=None if doings.entered is None else doings.entered + shift,
                out=None if doings.out is None else doings.out + shift,
            )
        case Resumed() | Trouble():
            return doings
        case Out():
            return Doings(entered=entry.time, out=entry.time, out_id=entry.id)
        case Lit() | Split():
            return Doings(entered=entry.time)
        case Undo() if doings.out_id is not None and entry.of == doings.out_id:
            return Doings(entered=entry.time)
        case _:
            return replace(doings, entered=entry.time)


def is_new_fire(doings: Doings, entry: Entry, now: datetime) -> bool:
    """Tell whether an entry made now is about another fire than that of the running cook."""
    if not isinstance(entry, Lit | Split):
        return False
    long_out = doings.out is not None and now - doings.out >= CURRENT
    return long_out or (doings.entered is not None and now - doings.entered >= FORGOTTEN)
