"""Entries on their way to the keeper, and what may be taken back: pure functions over the view and what is underway."""

from datetime import datetime, timedelta
from enum import StrEnum
from typing import TypeVar

from msgspec import Struct
from msgspec.structs import replace

from firebox.records import Acknowledge, Answer, Awake, Door, DoorName, Entry, MeatOn, Question, Sleep, Undo
from tui import view as views
from tui.view import UNDOABLE, AlarmView, ViewState

Kind = TypeVar("Kind", bound=Entry)


class Sent(StrEnum):
    """How far an entry has got."""

    GOING = "going"
    TAKEN = "taken"
    REFUSED = "refused"


class Pending(Struct, frozen=True, kw_only=True):
    """An entry that the keeper has not echoed yet."""

    entry: Entry
    sent: Sent = Sent.GOING
    problem: str = ""


class Outgoing(Struct, frozen=True, kw_only=True):
    """What the cook entered last and how far it got."""

    pending: tuple[Pending, ...] = ()
    said: str = ""
    """The dashboard's answer to the last key."""
    logged: bool = False
    """Whether that answer is about an entry which the keeper has echoed."""

    @property
    def refused(self) -> Pending | None:
        """The newest entry that was refused."""
        return next((pending for pending in reversed(self.pending) if pending.sent is Sent.REFUSED), None)

    @property
    def progress(self) -> str:
        """How far the newest entry got, in a word; empty where the answer is about none."""
        if self.logged:
            return "logged"
        return str(self.pending[-1].sent) if self.pending else ""


def leave(outgoing: Outgoing, entry: Entry, said: str) -> Outgoing:
    """Return the state after an entry was handed on."""
    return Outgoing(pending=(*_unrefused(outgoing), Pending(entry=entry)), said=said)


def say(outgoing: Outgoing, words: str) -> Outgoing:
    """Return the state after an answer that is about no entry; earlier entries stay underway."""
    return Outgoing(pending=_unrefused(outgoing), said=words)


def _unrefused(outgoing: Outgoing) -> tuple[Pending, ...]:
    return tuple(pending for pending in outgoing.pending if pending.sent is not Sent.REFUSED)


def deliver(outgoing: Outgoing, entry: Entry, problem: str) -> Outgoing:
    """Return the state after the link took an entry, or refused it with a reason."""
    sent = Sent.REFUSED if problem else Sent.TAKEN
    pending = tuple(
        replace(one, sent=sent, problem=problem) if one.entry.id == entry.id else one for one in outgoing.pending
    )
    return replace(outgoing, pending=pending)


def echo(outgoing: Outgoing, view: ViewState) -> Outgoing:
    """Return the state without the entries that have come back from the keeper."""
    if not outgoing.pending:
        return outgoing
    echoed = {line.entry.id for line in view.lines[-200:]}
    left = tuple(pending for pending in outgoing.pending if pending.entry.id not in echoed)
    return replace(outgoing, pending=left, logged=outgoing.logged or (not left and len(outgoing.pending) > 0))


# --- what stands, seen with what is underway -----------------------------------------------------


def underway(outgoing: Outgoing, kind: type[Kind]) -> tuple[Kind, ...]:
    """Return the entries of a kind that are underway, oldest first, without those being taken back."""
    gone = {one.entry.of for one in outgoing.pending if isinstance(one.entry, Undo)}
    return tuple(
        one.entry for one in _unrefused(outgoing) if isinstance(one.entry, kind) and one.entry.id not in gone
    )


def newest_of(view: ViewState, outgoing: Outgoing, kind: type[Kind]) -> Kind | None:
    """Return the newest entry of a kind that stands, those underway included."""
    going = underway(outgoing, kind)
    if going:
        return going[-1]
    gone = {undo.of for undo in underway(outgoing, Undo)}
    lines = [line for line in view.cook.deeds if isinstance(line.entry, kind) and line.entry.id not in gone]
    found = lines[-1].entry if lines else None
    return found if isinstance(found, kind) else None


def newest(view: ViewState, outgoing: Outgoing) -> tuple[Entry, datetime] | None:
    """Return the newest entry that can be taken back, and when it happened."""
    for entry in reversed(underway(outgoing, Entry)):
        if isinstance(entry, UNDOABLE):
            return entry, entry.at or entry.time
    gone = {undo.of for undo in underway(outgoing, Undo)}
    for line in reversed(views.undoable(view)):
        if line.entry.id not in gone:
            return line.entry, views.instant(view, line.seconds)
    return None


def is_door_open(view: ViewState, outgoing: Outgoing, door: DoorName) -> bool:
    """Tell whether a door stands open as far as entered."""
    going = [entry for entry in underway(outgoing, Door) if entry.door is door]
    return going[-1].open if going else view.cook.door_open(door, view.seconds)


def open_question(view: ViewState, outgoing: Outgoing) -> Question | None:
    """Return the newest question that is open and was not answered; None: there is none.

    The watch takes some seconds to close one that was.
    """
    if not view.questions:
        return None
    told = [line.entry for line in view.lines if not views.is_undone(view, line.entry)]
    told += underway(outgoing, Entry)
    answered = {entry.question for entry in told if isinstance(entry, Answer)}
    entered = {entry.at for entry in told if entry.at is not None}
    for question in reversed(view.questions.values()):
        if question.question not in answered and question.suggests.at not in entered:
            return question
    return None


def is_asleep(view: ViewState, outgoing: Outgoing) -> bool:
    """Tell whether the cook sleeps as far as entered."""
    going = [*underway(outgoing, Sleep), *underway(outgoing, Awake)]
    newest = max(going, key=lambda entry: entry.time, default=None)
    return view.cook.asleep_since(view.seconds) is not None if newest is None else isinstance(newest, Sleep)


def is_meat_on(view: ViewState, outgoing: Outgoing) -> bool:
    """Tell whether the meat is on as far as entered."""
    entry = newest_of(view, outgoing, MeatOn)
    return entry is not None and entry.on


def to_acknowledge(view: ViewState, outgoing: Outgoing, chosen: str | None) -> AlarmView | None:
    """Return the alarm that an acknowledgement is meant for: the chosen one if it rings, else the most urgent."""
    underway_names = {entry.alarm for entry in underway(outgoing, Acknowledge)}
    ringing = [told for told in views.ringing(view) if told.alarm.alarm not in underway_names]
    return next((told for told in ringing if told.alarm.alarm == chosen), ringing[0] if ringing else None)


def moved_back(entry: Entry, happened: datetime, minutes: float, time: datetime, new_id: str) -> Entry:
    """Return an entry again, as having happened so many minutes earlier, entered now under a new id."""
    return replace(entry, id=new_id, time=time, at=happened - timedelta(minutes=minutes))
