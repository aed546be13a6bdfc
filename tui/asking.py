"""What a question on the screen is made of: the prompt, the desk it is answered at, and how it reads. Values."""

from datetime import datetime, timedelta, tzinfo
from enum import StrEnum
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from firebox.records import DamperName, Entry, Serving
from firebox.setup import Setup
from tui.preferences import Preferences

MOST_TYPED: Final = 12


class Question(StrEnum):
    """What is being asked."""

    SPLIT = "split"
    DAMPER = "damper"
    TARGET = "target"
    WRAP = "wrap"
    NOTE = "note"
    SHELVE = "shelve"
    SPRITZ = "spritz"
    FEEL = "feel"
    MEAT = "meat"
    OVEN = "oven"
    WEIGH = "weigh"
    PICTURE = "picture"
    HUSH = "hush"
    SERVING = "serving"


TEXTS: Final = frozenset({Question.NOTE, Question.PICTURE})
"""Questions that are answered in words, so that no letter is a key."""


class Prompt(Struct, frozen=True, kw_only=True):
    """A question on the screen, and what has been answered so far."""

    question: Question
    typed: str = ""
    weighing: bool = False
    damper: DamperName | None = None
    alarm: str = ""
    minutes_ago: int = 0
    complaint: str = ""
    piece: str | None = None
    """The piece of meat it is about; empty for all, None: not asked yet."""
    serving: Serving | None = None


class Desk(Struct, frozen=True, kw_only=True):
    """What the answers are measured against: the pit, the cook's units, the present, a fresh id, and the meat.

    `pieces` are the names of the meat probes, `chosen_piece` the one that the meat page shows; `cares` holds, by piece, the prompts
    that are given or hushed; `feel_doubts` and `wrap_doubts` why a piece can hardly give yet, or should not be wrapped yet; `lies`
    where each rests, and in what.
    """

    setup: Setup
    preferences: Preferences
    time: datetime
    id: str
    usual_kg: float | None = None
    target: tuple[float, float] = (121.0, 8.0)
    dampers: dict[DamperName, float | None] = {}
    dates_back: bool = True
    """Whether an entry may be dated back; what is done to a simulated fire may not."""
    zone: tzinfo | None = None
    pieces: tuple[str, ...] = ()
    chosen_piece: str | None = None
    on_grate: dict[str, bool] = {}
    weighed_in: frozenset[str] = frozenset()
    cares: dict[str, dict[str, bool]] = {}
    serving: Serving | None = None
    feel_doubts: dict[str, str] = {}
    wrap_doubts: dict[str, str] = {}
    lies: dict[str, tuple[str, str]] = {}


Answer = Prompt | Entry | None

Keys = tuple[tuple[str, str], ...]


class Hint(Struct, frozen=True):
    """The question with what was answered, the keys that act on it, and what was wrong."""

    asked: str
    keys: Keys
    complaint: str = ""


def stamp(prompt: Prompt, desk: Desk) -> datetime | None:
    """Return when what is entered happened, where that was earlier."""
    return desk.time - timedelta(minutes=prompt.minutes_ago) if prompt.minutes_ago else None


def type_on(prompt: Prompt, character: str, allowed: str, longest: int = MOST_TYPED) -> Prompt:
    """Return the prompt with one more character, where it is one of those allowed (empty: any)."""
    if len(character) != 1 or (allowed and character not in allowed) or not character.isprintable():
        return prompt
    return replace(prompt, typed=(prompt.typed + character)[:longest])
