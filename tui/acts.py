"""What a key enters: pure functions from the stage (what is seen, what is underway, what is chosen) to entries.

Each returns (entry, answer) pairs to hand on, or the words that say why there is nothing to enter.
"""

from collections.abc import Callable
from datetime import datetime
from typing import Final, Literal

from msgspec import Struct
from msgspec.structs import replace

from firebox.records import (
    Acknowledge,
    AlarmState,
    Answer,
    Awake,
    Damper,
    Door,
    DoorName,
    Entry,
    Hush,
    Lit,
    MeatOn,
    Out,
    Rake,
    Serving,
    Shelve,
    Sleep,
    Split,
    Spritz,
    Undo,
)
from tui import outgoing
from tui import view as views
from tui.glance import Glance, is_played
from tui.lines import words_of
from tui.prompts import BACK_MINUTES
from tui.text import clock

AT_THE_PIT: Final = (Split, Damper, Door, Lit, Rake, MeatOn)

BURNT: Final = "On a simulated fire the keys are your hands: what burns cannot be taken back. Set a damper or a door anew instead."

NOT_ASKED: Final = "The watch asks nothing just now."

ABOUT: Final[dict[type[Split | Damper | Door], Literal["split", "damper", "door"]]] = {
    Split: "split",
    Damper: "damper",
    Door: "door",
}
"""What a question is about, by the entry that it suggests."""

Entered = tuple[tuple[Entry, str], ...]


class Stage(Struct, frozen=True, kw_only=True):
    """What an act is about: the glance, the present, fresh ids, and the row that is chosen on a list."""

    glance: Glance
    time: datetime
    fresh_id: Callable[[], str]
    chosen: str | None = None


Act = Callable[[Stage], Entered | str]


def answer_to(stage: Stage, entry: Entry) -> str:
    """Return the words that answer an entry: what, and when it happened."""
    return f"{words_of(stage.glance, entry)} at {_clock(stage, entry.at or entry.time)}"


def _clock(stage: Stage, instant: datetime) -> str:
    return clock(instant, stage.glance.preferences, stage.glance.zone)


def _one(stage: Stage, entry: Entry) -> Entered:
    return ((entry, answer_to(stage, entry)),)


def rake(stage: Stage) -> Entered:
    return _one(stage, Rake(time=stage.time, id=stage.fresh_id()))


def lit(stage: Stage) -> Entered:
    return _one(stage, Lit(time=stage.time, id=stage.fresh_id()))


def sleep(stage: Stage) -> Entered:
    """Enter that the cook lies down, or is up again where he slept."""
    asleep = outgoing.is_asleep(stage.glance.view, stage.glance.outgoing)
    kind = Awake if asleep else Sleep
    return _one(stage, kind(time=stage.time, id=stage.fresh_id()))


def out(stage: Stage) -> Entered:
    return _one(stage, Out(time=stage.time, id=stage.fresh_id()))


def spritz(stage: Stage) -> Entered:
    return _one(stage, Spritz(time=stage.time, id=stage.fresh_id()))


def meat(stage: Stage) -> Entered:
    """Enter that the meat went on, or came off where it is on."""
    on = not outgoing.is_meat_on(stage.glance.view, stage.glance.outgoing)
    return _one(stage, MeatOn(time=stage.time, id=stage.fresh_id(), on=on))


def cook_door(stage: Stage) -> Entered:
    return _door(stage, DoorName.COOK)


def fire_door(stage: Stage) -> Entered:
    return _door(stage, DoorName.FIREBOX)


def _door(stage: Stage, door: DoorName) -> Entered:
    """Enter that a door was opened, or closed where it is open."""
    is_open = outgoing.is_door_open(stage.glance.view, stage.glance.outgoing, door)
    return _one(stage, Door(time=stage.time, id=stage.fresh_id(), door=door, open=not is_open))


def undo(stage: Stage) -> Entered | str:
    """Take back the newest entry; where a row of the log is chosen, that one, or bring it back."""
    if stage.chosen is not None:
        return _undo_chosen(stage, stage.chosen)
    found = outgoing.newest(stage.glance.view, stage.glance.outgoing)
    if found is None:
        return "There is nothing to take back."
    return BURNT if _has_burnt(stage, found[0]) else _take_back(stage, *found)


def _has_burnt(stage: Stage, entry: Entry) -> bool:
    """Tell whether an entry happened to a simulated fire: there the keys are the hands, and wood does not come back."""
    return is_played(stage.glance) and isinstance(entry, AT_THE_PIT)


def _take_back(stage: Stage, entry: Entry, happened: datetime) -> Entered:
    words = f"TAKEN BACK: {words_of(stage.glance, entry)} at {_clock(stage, happened)}"
    return ((Undo(time=stage.time, id=stage.fresh_id(), of=entry.id or ""), words),)


def _undo_chosen(stage: Stage, chosen: str) -> Entered | str:
    view = stage.glance.view
    line = next((line for line in view.lines if line.entry.id == chosen), None)
    if line is None or not isinstance(line.entry, views.UNDOABLE):
        return "Only what was done at the pit can be taken back: choose another with the arrow keys."
    if _has_burnt(stage, line.entry):
        return BURNT
    taken_back_by = views.undo_of(view, chosen)
    if taken_back_by is None:
        return _take_back(stage, line.entry, views.instant(view, line.seconds))
    words = f"BROUGHT BACK: {words_of(stage.glance, line.entry)} at {stage.glance.clock(line.seconds)}"
    return ((Undo(time=stage.time, id=stage.fresh_id(), of=taken_back_by), words),)


def earlier(stage: Stage) -> Entered | str:
    """Move the newest entry back by five minutes: it is taken back and entered again."""
    found = outgoing.newest(stage.glance.view, stage.glance.outgoing)
    if found is None:
        return "There is no entry to move back."
    entry, happened = found
    if isinstance(entry, Hush | Serving):
        return "What was entered last has no hour to move: it is about now, or about what is to come."
    if is_played(stage.glance):
        return "On a simulated fire things happen when the key is pressed, not earlier."
    again = outgoing.moved_back(entry, happened, BACK_MINUTES, stage.time, stage.fresh_id())
    return (*_take_back(stage, entry, happened), (again, answer_to(stage, again)))


def yes(stage: Stage) -> Entered | str:
    """Enter what the open question suggests, when it would have happened."""
    question = outgoing.open_question(stage.glance.view, stage.glance.outgoing)
    if question is None:
        return NOT_ASKED
    return _one(stage, replace(question.suggests, time=stage.time, id=stage.fresh_id()))


def no(stage: Stage) -> Entered | str:
    """Enter that what the open question suggests did not happen."""
    question = outgoing.open_question(stage.glance.view, stage.glance.outgoing)
    if question is None:
        return NOT_ASKED
    about = ABOUT[type(question.suggests)]
    told = Answer(
        time=stage.time,
        id=stage.fresh_id(),
        at=question.suggests.at,
        question=question.question,
        about=about,
        yes=False,
    )
    return _one(stage, told)


def acknowledge(stage: Stage) -> Entered | str:
    """Acknowledge the chosen alarm, else the most urgent one."""
    told = outgoing.to_acknowledge(stage.glance.view, stage.glance.outgoing, stage.chosen)
    if told is None:
        return "No alarm is waiting to be acknowledged."
    entry = Acknowledge(time=stage.time, id=stage.fresh_id(), alarm=told.alarm.alarm)
    return ((entry, f"acknowledged: {told.alarm.text}"),)


def alarm_to_shelve(stage: Stage) -> tuple[str, bool] | None:
    """Return the alarm that a shelving is meant for, and whether it lies on the shelf already."""
    alarms = stage.glance.view.alarms
    standing = views.standing(stage.glance.view)
    told = alarms.get(stage.chosen or "") or (standing[0] if standing else None)
    return None if told is None else (told.alarm.alarm, told.alarm.state is AlarmState.SHELVED)


def unshelve(stage: Stage, alarm: str) -> Entered:
    return _one(stage, Shelve(time=stage.time, id=stage.fresh_id(), alarm=alarm, minutes=0))


ACTS: Final[dict[str, Act]] = {
    "rake": rake,
    "lit": lit,
    "sleep": sleep,
    "out": out,
    "spritz": spritz,
    "meat": meat,
    "cook-door": cook_door,
    "fire-door": fire_door,
    "undo": undo,
    "earlier": earlier,
    "acknowledge": acknowledge,
    "yes": yes,
    "no": no,
}
"""Word in a key's action -> what it enters."""
