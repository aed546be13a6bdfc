"""The short questions behind a key: a pure machine from key presses to an entry.

A prompt is a value. `press` answers a key with the next prompt, with the finished entry, or with None when the cook
backs out. Every prompt shows its keys (`hint`), and every one takes the entry back in time with `b` or the up arrow.
"""

from collections.abc import Callable
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from firebox.records import Damper, DamperName, Entry, Note, Shelve, Split, Target, Wrap
from firebox.setup import Setup
from firebox.units import celsius_from, kelvin_from, kg_from
from tui.preferences import Preferences
from tui.text import UNKNOWN, degrees, difference, mark, mass, parse_number

BACK_MINUTES: Final = 5
LONGEST_BACK: Final = 120
LONGEST_NOTE: Final = 300
MOST_TYPED: Final = 12
SHELF_MINUTES: Final = {"1": 15, "2": 60, "3": 240}
MATERIALS: Final = {"p": "paper", "f": "foil", "n": "none"}


class Question(StrEnum):
    """What is being asked."""

    SPLIT = "split"
    DAMPER = "damper"
    TARGET = "target"
    WRAP = "wrap"
    NOTE = "note"
    SHELVE = "shelve"


class Prompt(Struct, frozen=True, kw_only=True):
    """A question on the screen, and what has been answered so far."""

    question: Question
    typed: str = ""
    weighing: bool = False
    damper: DamperName | None = None
    alarm: str = ""
    minutes_ago: int = 0
    complaint: str = ""


class Desk(Struct, frozen=True, kw_only=True):
    """What the answers are measured against: the pit, the cook's units, the present, a fresh id."""

    setup: Setup
    preferences: Preferences
    time: datetime
    id: str
    usual_kg: float | None = None
    target: tuple[float, float] = (121.0, 8.0)
    dampers: dict[DamperName, float | None] = {}


Answer = Prompt | Entry | None


def press(prompt: Prompt, key: str, character: str | None, desk: Desk) -> Answer:
    """Return what a key makes of a prompt.

    Parameters
    ----------
    prompt : Prompt
    key : str                 The key's name: "enter", "escape", "backspace", "up", "down", "s", ...
    character : str or None   What it types, if it types anything.
    desk : Desk

    Returns
    -------
    Prompt, Entry or None     The question goes on, is answered, or is dropped.
    """
    prompt = replace(prompt, complaint="")
    if key == "escape":
        return None
    if key == "backspace":
        return replace(prompt, typed=prompt.typed[:-1])
    if key == "up" or (key == "b" and prompt.question is not Question.NOTE):
        return replace(prompt, minutes_ago=min(LONGEST_BACK, prompt.minutes_ago + BACK_MINUTES))
    if key == "down":
        return replace(prompt, minutes_ago=max(0, prompt.minutes_ago - BACK_MINUTES))
    return _ASKED[prompt.question](prompt, key, character or "", desk)


def _stamp(prompt: Prompt, desk: Desk) -> datetime | None:
    return desk.time - timedelta(minutes=prompt.minutes_ago) if prompt.minutes_ago else None


def _type(prompt: Prompt, character: str, allowed: str, longest: int = MOST_TYPED) -> Prompt:
    if len(character) != 1 or (allowed and character not in allowed) or not character.isprintable():
        return prompt
    return replace(prompt, typed=(prompt.typed + character)[:longest])


# --- split ---------------------------------------------------------------------------------------


def sizes(setup: Setup) -> dict[str, tuple[str, float | None]]:
    """Return key -> (word, kg) of the sizes on offer; where the owner gave no medium, the pit's usual split is it."""
    wood = setup.wood
    medium = setup.build.usual_split_kg if wood.medium_kg is None else wood.medium_kg
    offered = {"1": ("small", wood.small_kg), "2": ("medium", medium), "3": ("large", wood.large_kg)}
    return {key: size for key, size in offered.items() if size[1] is not None}


def usual_kg(setup: Setup, last: float | None) -> float | None:
    """Return what the Enter key logs: the last weight logged, else the medium size; None: weight not told."""
    return last if last is not None else sizes(setup).get("2", ("", None))[1]


def _split(prompt: Prompt, key: str, character: str, desk: Desk) -> Answer:
    offered = sizes(desk.setup)
    if not prompt.weighing and character in offered:
        return _wood(prompt, offered[character][1], desk)
    if key == "enter":
        if not prompt.typed:
            return _wood(prompt, usual_kg(desk.setup, desk.usual_kg), desk)
        return _weighed(prompt, desk)
    if character == "w" and not prompt.weighing:
        return replace(prompt, weighing=True)
    typed = _type(prompt, character, "0123456789.,")
    return replace(typed, weighing=bool(typed.typed))


def _weighed(prompt: Prompt, desk: Desk) -> Answer:
    value = parse_number(prompt.typed)
    kg = None if value is None else kg_from(value, desk.preferences.mass)
    if kg is None or not 0.0 < kg <= 100.0:
        return replace(prompt, typed="", complaint=f"{prompt.typed} is no weight of a split; 1.4 would be")
    return _wood(prompt, kg, desk)


def _wood(prompt: Prompt, kg: float | None, desk: Desk) -> Split:
    wood = desk.setup.wood
    rounded = None if kg is None else round(kg, 3)
    return Split(
        time=desk.time, id=desk.id, at=_stamp(prompt, desk), kg=rounded, species=wood.species, moisture=wood.moisture
    )


# --- damper --------------------------------------------------------------------------------------


def _damper(prompt: Prompt, key: str, character: str, desk: Desk) -> Answer:
    named = {"i": DamperName.INTAKE, "t": DamperName.STACK}.get(character)
    if named is not None:
        return replace(prompt, damper=named, typed="")
    if prompt.damper is None:
        return prompt
    marks = desk.setup.damper_marks
    if key == "enter" and prompt.typed:
        return _marked(prompt, desk)
    prompt = _type(prompt, character, "0123456789")
    return _marked(prompt, desk) if prompt.typed and marks < 10 else prompt


def _marked(prompt: Prompt, desk: Desk) -> Answer:
    number, marks = int(prompt.typed), desk.setup.damper_marks
    if number > marks:
        return replace(prompt, typed="", complaint=f"the damper has marks 0 to {marks}")
    assert prompt.damper is not None
    return Damper(
        time=desk.time, id=desk.id, at=_stamp(prompt, desk), damper=prompt.damper, open=round(number / marks, 4)
    )


# --- target, wrap, note, shelf -------------------------------------------------------------------


def _target(prompt: Prompt, key: str, character: str, desk: Desk) -> Answer:
    if key != "enter":
        return _type(prompt, character, "0123456789., ")
    words = [parse_number(word) for word in prompt.typed.split()]
    if not words or len(words) > 2 or None in words:
        return replace(prompt, typed="", complaint="a target reads 250, or 250 15 with its band")
    numbers = [word for word in words if word is not None]
    celsius = celsius_from(numbers[0], desk.preferences.degrees)
    band = kelvin_from(numbers[1], desk.preferences.degrees) if len(numbers) > 1 else None
    if not 40.0 <= celsius <= 400.0 or (band is not None and not 1.0 <= band <= 100.0):
        lowest, highest = degrees(40.0, desk.preferences), degrees(400.0, desk.preferences)
        return replace(
            prompt, typed="", complaint=f"a pit holds between {lowest} and {highest}, within a band of 2 or more"
        )
    return Target(
        time=desk.time,
        id=desk.id,
        at=_stamp(prompt, desk),
        celsius=round(celsius, 2),
        band=None if band is None else round(band, 2),
    )


def _wrap(prompt: Prompt, key: str, character: str, desk: Desk) -> Answer:
    material = "paper" if key == "enter" else MATERIALS.get(character)
    match material:
        case "paper" | "foil" | "none":
            return Wrap(time=desk.time, id=desk.id, at=_stamp(prompt, desk), material=material)
        case _:
            return prompt


def _note(prompt: Prompt, key: str, character: str, desk: Desk) -> Answer:
    if key != "enter":
        return _type(prompt, character, "", LONGEST_NOTE)
    if not prompt.typed.strip():
        return None
    return Note(time=desk.time, id=desk.id, at=_stamp(prompt, desk), text=prompt.typed.strip())


def _shelve(prompt: Prompt, _key: str, character: str, desk: Desk) -> Answer:
    minutes = SHELF_MINUTES.get(character)
    if minutes is None:
        return prompt
    return Shelve(time=desk.time, id=desk.id, alarm=prompt.alarm, minutes=minutes)


_ASKED: Final[dict[Question, Callable[[Prompt, str, str, Desk], Answer]]] = {
    Question.SPLIT: _split,
    Question.DAMPER: _damper,
    Question.TARGET: _target,
    Question.WRAP: _wrap,
    Question.NOTE: _note,
    Question.SHELVE: _shelve,
}


# --- how a prompt reads --------------------------------------------------------------------------


class Hint(Struct, frozen=True):
    """The question with what was answered, the keys that act on it, and what was wrong."""

    asked: str
    keys: tuple[tuple[str, str], ...]
    complaint: str = ""


def hint(prompt: Prompt, desk: Desk) -> Hint:
    """Return how a prompt reads on the screen."""
    asked, keys = _HINTS[prompt.question](prompt, desk)
    if prompt.question is not Question.SHELVE:
        back = f"{prompt.minutes_ago} min ago" if prompt.minutes_ago else ""
        asked = f"{asked}  {back}".rstrip()
        keys = (*keys, ("up" if prompt.question is Question.NOTE else "b", f"{BACK_MINUTES} min ago"))
    return Hint(asked, (*keys, ("esc", "leave")), prompt.complaint)


Keys = tuple[tuple[str, str], ...]


def _split_hint(prompt: Prompt, desk: Desk) -> tuple[str, Keys]:
    unit = desk.preferences.mass
    if prompt.weighing:
        return f"Split of {prompt.typed or '_'} {unit}", (("enter", "log it"),)
    usual = usual_kg(desk.setup, desk.usual_kg)
    offered = tuple((key, f"{word} {mass(kg, desk.preferences)}") for key, (word, kg) in sizes(desk.setup).items())
    enter = f"the usual {mass(usual, desk.preferences)}" if usual is not None else "weight not told"
    return "Split", (*offered, ("enter", enter), ("w", "weigh it"))


def _damper_hint(prompt: Prompt, desk: Desk) -> tuple[str, Keys]:
    marks = desk.setup.damper_marks
    if prompt.damper is None:
        stands = {name: mark(desk.dampers.get(name), marks) for name in DamperName}
        return "Damper", (
            ("i", f"intake ({_stand(stands[DamperName.INTAKE])})"),
            ("t", f"stack ({_stand(stands[DamperName.STACK])})"),
        )
    enter: Keys = () if marks < 10 else (("enter", "log it"),)
    return f"{prompt.damper.capitalize()} to mark {prompt.typed or '_'}", ((f"0-{marks}", "shut to open"), *enter)


def _stand(words: str) -> str:
    return "not told" if words == UNKNOWN else words


def _target_hint(prompt: Prompt, desk: Desk) -> tuple[str, Keys]:
    celsius, band = desk.target
    now = f"now {degrees(celsius, desk.preferences)} within {difference(band, desk.preferences)}"
    return f"Target {prompt.typed or '_'} {desk.preferences.degrees} ({now})", (("enter", "set it"),)


def _wrap_hint(_prompt: Prompt, _desk: Desk) -> tuple[str, Keys]:
    return "Wrap", (("p", "paper"), ("f", "foil"), ("n", "unwrapped"), ("enter", "paper"))


def _note_hint(prompt: Prompt, _desk: Desk) -> tuple[str, Keys]:
    return f"Note {prompt.typed}_", (("enter", "keep it"),)


def _shelve_hint(prompt: Prompt, _desk: Desk) -> tuple[str, Keys]:
    keys = tuple((key, f"{minutes} min") for key, minutes in SHELF_MINUTES.items())
    return f"Shelve {prompt.alarm} for", keys


_HINTS: Final[dict[Question, Callable[[Prompt, Desk], tuple[str, Keys]]]] = {
    Question.SPLIT: _split_hint,
    Question.DAMPER: _damper_hint,
    Question.TARGET: _target_hint,
    Question.WRAP: _wrap_hint,
    Question.NOTE: _note_hint,
    Question.SHELVE: _shelve_hint,
}
