"""What the readings speak for and nobody logged, as questions that the cook can settle with one key."""

from typing import Final

from msgspec import Struct

from firebox.cooklog import CookLog, Deed
from firebox.estimate import silent
from firebox.estimate.course import Course
from firebox.estimate.deeds import controls_at
from firebox.estimate.unlogged import believed
from firebox.records import Damper, Door, Split
from firebox.setup import Setup

ASKED: Final = {Split: 3600.0, Damper: 2700.0, Door: 900.0}
"""How long after its time something is asked about. [s] By then wood is coal, the fire has settled to its air, and a door
has been found open or shut."""


class Question(Struct, frozen=True, kw_only=True):
    """Something that the readings speak for and the cook can settle with one key.

    Attributes
    ----------
    name : str
        The same as long as the question is.
    text : str
        What to ask; `seconds` is when it would have happened.
    kg : float
        The weight that was assumed; 0 where it is not about wood.
    entry : Split or Damper or Door
        What a yes stands for.
    """

    name: str
    text: str
    seconds: float
    kg: float
    entry: Split | Damper | Door


def questions(course: Course, seconds: float, log: CookLog, setup: Setup) -> tuple[Question, ...]:
    """Return what the cook should be asked at `seconds`, newest first."""
    open_now = silent.asking(course.vigil)
    found = sorted((*course.guessed, *([] if open_now is None else [open_now])), key=lambda deed: -deed.seconds)
    return tuple(
        _question(deed, course, seconds, log, setup)
        for deed in found
        if seconds - deed.seconds < ASKED[type(deed.entry)] and _lasts(deed, course.guessed)
    )


def _lasts(deed: Deed, guessed: tuple[Deed, ...]) -> bool:
    """Tell whether a guess is about something that still counts: a door that was shut again does not."""
    door = deed.entry
    if not isinstance(door, Door):
        return True
    shut = [
        other.seconds
        for other in guessed
        if isinstance(other.entry, Door) and other.entry.door is door.door and not other.entry.open
    ]
    return door.open and all(at < deed.seconds for at in shut)


def _question(deed: Deed, course: Course, seconds: float, log: CookLog, setup: Setup) -> Question:
    entry = deed.entry
    ago = f"about {max(1, round((seconds - deed.seconds) / 60.0))} min"
    at = round(deed.seconds)
    if isinstance(entry, Damper):
        others = tuple(other for other in course.guessed if other is not deed)
        before = controls_at(believed(log, others), deed.seconds, setup).intake
        text = f"Was the {entry.damper} {_turned(before, entry.open, setup)} {ago} ago? The pit behaves so."
        return Question(name=f"{entry.damper}-{at}", text=text, seconds=deed.seconds, kg=0.0, entry=entry)
    if isinstance(entry, Door):
        text = f"Has the {entry.door} door stood open for {ago}? The pit behaves so."
        return Question(name=f"door-{entry.door}-{at}", text=text, seconds=deed.seconds, kg=0.0, entry=entry)
    assert isinstance(entry, Split)
    text = f"Did a split go on {ago} ago? The pit behaves so."
    return Question(name=f"split-{at}", text=text, seconds=deed.seconds, kg=course.box.pit.usual_kg, entry=entry)


def _turned(before: float, now: float, setup: Setup) -> str:
    if now <= 0.0:
        return "shut"
    marks = max(1, round(abs(now - before) * setup.damper_marks))
    return f"turned {'up' if now > before else 'down'} by {marks} {'mark' if marks == 1 else 'marks'}"
