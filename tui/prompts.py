"""The short questions behind a key: a pure machine from key presses to an entry.

A prompt is a value. `press` answers a key with the next prompt, with the finished entry, or with None when the cook
backs out. Every prompt shows its keys (`hint`), and every one takes the entry back in time with `b` or the up arrow.
"""

from collections.abc import Callable
from typing import Final

from msgspec.structs import replace

from firebox.records import Damper, DamperName, Note, Shelve, Split, Target, Wrap
from firebox.setup import Setup
from firebox.units import celsius_from, kelvin_from, kg_from
from tui import meat_prompts
from tui.asking import TEXTS, Answer, Desk, Hint, Keys, Prompt, Question, stamp, type_on
from tui.text import UNKNOWN, degrees, difference, mark, mass, parse_number

BACK_MINUTES: Final = 5
LONGEST_BACK: Final = 120
LONGEST_NOTE: Final = 300
SHELF_MINUTES: Final = {"1": 15, "2": 60, "3": 240}
MATERIALS: Final = {"p": "paper", "f": "foil", "n": "none"}


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
    if desk.dates_back and (key == "up" or (key == "b" and prompt.question not in TEXTS)):
        return replace(prompt, minutes_ago=min(LONGEST_BACK, prompt.minutes_ago + BACK_MINUTES))
    if key == "down":
        return replace(prompt, minutes_ago=max(0, prompt.minutes_ago - BACK_MINUTES))
    ask = meat_prompts.which if meat_prompts.is_asked_which(prompt, desk) else _ASKED[prompt.question]
    answered = ask(prompt, key, character or "", desk)
    if answered == prompt and character is not None and character.isprintable():
        return replace(prompt, complaint=f"{character.strip() or key} is no answer here")
    return answered


def turns_away(prompt: Prompt, key: str, character: str | None) -> bool:
    """Tell whether a key means another question or another page, and so leaves this one unanswered.

    Only such keys, and only while nothing has been typed: a key that would enter something never acts by accident.
    """
    plain = prompt.question in _PLAIN and not prompt.typed and not prompt.weighing and prompt.damper is None
    return plain and (character in _ELSEWHERE or key == "question_mark")


_PLAIN: Final = frozenset({Question.SPLIT, Question.DAMPER, Question.WRAP, Question.SHELVE})
_ELSEWHERE: Final = frozenset("sdeAG?")
"""Keys of other questions and of pages, of which none answers one of those questions."""


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
    typed = type_on(prompt, character, "0123456789.,")
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
        time=desk.time, id=desk.id, at=stamp(prompt, desk), kg=rounded, species=wood.species, moisture=wood.moisture
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
    prompt = type_on(prompt, character, "0123456789")
    return _marked(prompt, desk) if prompt.typed and marks < 10 else prompt


def _marked(prompt: Prompt, desk: Desk) -> Answer:
    number, marks = int(prompt.typed), desk.setup.damper_marks
    if number > marks:
        return replace(prompt, typed="", complaint=f"the damper has marks 0 to {marks}")
    assert prompt.damper is not None
    return Damper(
        time=desk.time, id=desk.id, at=stamp(prompt, desk), damper=prompt.damper, open=round(number / marks, 4)
    )


# --- target, wrap, note, shelf -------------------------------------------------------------------


def _target(prompt: Prompt, key: str, character: str, desk: Desk) -> Answer:
    if key != "enter":
        return type_on(prompt, character, "0123456789., ")
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
        at=stamp(prompt, desk),
        celsius=round(celsius, 2),
        band=None if band is None else round(band, 2),
    )


def _wrap(prompt: Prompt, key: str, character: str, desk: Desk) -> Answer:
    material = "paper" if key == "enter" else MATERIALS.get(character)
    match material:
        case "paper" | "foil" | "none":
            probe = prompt.piece or None
            doubt = meat_prompts.wrap_doubt(prompt, desk)
            if doubt is not None and material not in ("none", prompt.typed):
                return replace(prompt, typed=material, complaint=f"so early? {doubt}; the same key again logs it")
            return Wrap(time=desk.time, id=desk.id, at=stamp(prompt, desk), probe=probe, material=material)
        case _:
            return prompt


def _note(prompt: Prompt, key: str, character: str, desk: Desk) -> Answer:
    if key != "enter":
        return type_on(prompt, character, "", LONGEST_NOTE)
    if not prompt.typed.strip():
        return None
    return Note(time=desk.time, id=desk.id, at=stamp(prompt, desk), text=prompt.typed.strip())


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
    Question.SPRITZ: meat_prompts.spritz,
    Question.FEEL: meat_prompts.feel,
    Question.MEAT: meat_prompts.meat,
    Question.OVEN: meat_prompts.oven,
    Question.WEIGH: meat_prompts.weigh,
    Question.PICTURE: meat_prompts.picture,
    Question.HUSH: meat_prompts.hush,
    Question.SERVING: meat_prompts.serving,
}


# --- how a prompt reads --------------------------------------------------------------------------

UNDATED: Final = frozenset({Question.SHELVE, Question.HUSH, Question.SERVING})
"""Questions about now, or about what is to come."""


def hint(prompt: Prompt, desk: Desk) -> Hint:
    """Return how a prompt reads on the screen."""
    which = meat_prompts.is_asked_which(prompt, desk)
    asked, keys = (meat_prompts.which_hint if which else _HINTS[prompt.question])(prompt, desk)
    if prompt.question not in UNDATED and desk.dates_back:
        back = f"{prompt.minutes_ago} min ago" if prompt.minutes_ago else ""
        asked = f"{asked}  {back}".rstrip()
        keys = (*keys, ("up" if prompt.question in TEXTS else "b", f"{BACK_MINUTES} min ago"))
    return Hint(asked, (*keys, ("esc", "leave")), prompt.complaint)


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


def _wrap_hint(prompt: Prompt, _desk: Desk) -> tuple[str, Keys]:
    about = f" {prompt.piece}" if prompt.piece else ""
    return f"Wrap{about}", (("p", "paper"), ("f", "foil"), ("n", "unwrapped"), ("enter", "paper"))


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
    Question.SPRITZ: meat_prompts.spritz_hint,
    Question.FEEL: meat_prompts.feel_hint,
    Question.MEAT: meat_prompts.meat_hint,
    Question.OVEN: meat_prompts.oven_hint,
    Question.WEIGH: meat_prompts.weigh_hint,
    Question.PICTURE: meat_prompts.picture_hint,
    Question.HUSH: meat_prompts.hush_hint,
    Question.SERVING: meat_prompts.serving_hint,
}
