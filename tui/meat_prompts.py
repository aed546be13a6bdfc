"""The questions about meat: which piece, what a hand felt, on and off, rest, weight, picture, prompts to hush, the hour.

They are part of the machine in `prompts`; each function answers a key or says how its question reads.
"""

from datetime import datetime, timedelta
from typing import Any, Final, Literal

from msgspec.structs import replace

from firebox.records import Entry, Feel, Hush, MeatOn, Picture, Serving, Spritz, Turn, Weigh
from firebox.units import celsius_from, kg_from
from tui.asking import Answer, Desk, Keys, Prompt, Question, stamp, type_on
from tui.text import clock, degrees, parse_number

ALL: Final = ""
"""The piece of an entry that is about all of them."""

FEELS: Final[dict[str, Literal["springy", "giving", "gone"]]] = {"s": "springy", "g": "giving", "x": "gone"}
RESTS: Final[dict[str, Literal["counter", "cooler"]]] = {"c": "counter", "k": "cooler"}
TURNS: Final[dict[str, Literal["turned", "moved"]]] = {"t": "turned", "v": "moved"}

LONGEST_FILE: Final = 200
LIGHTEST_KG: Final = 0.1
OVEN_RANGE: Final = (57.2, 95.0)
"""degC; below is below hot holding, above it cooks on. As `firebox plan` has it."""

WRAPS: Final = ("none", "paper", "foil")
REST_ORDER: Final = ("cooler", "oven", "counter")
MOST_PEOPLE: Final = 4


def wrap_doubt(prompt: Prompt, desk: Desk) -> str | None:
    """Return why what is to be wrapped should not be yet; None: it may be."""
    about = [prompt.piece] if prompt.piece else list(desk.pieces)
    return next((desk.wrap_doubts[name] for name in about if name in desk.wrap_doubts), None)


# --- which piece ---------------------------------------------------------------------------------

FOR_ONE: Final = frozenset({Question.FEEL, Question.WEIGH})
"""Questions that are about one piece, never about all."""

OF_PIECES: Final = frozenset(
    {Question.FEEL, Question.MEAT, Question.WRAP, Question.HUSH, Question.SPRITZ, Question.SERVING}
)
"""Questions that begin with which piece, where there are several."""


def is_asked_which(prompt: Prompt, desk: Desk) -> bool:
    """Tell whether it is still open which piece a question is about."""
    return prompt.piece is None and prompt.question in OF_PIECES and len(desk.pieces) > 1


def which(prompt: Prompt, key: str, character: str, desk: Desk) -> Answer:
    """Take the piece: by its number, the chosen one, or all."""
    named = {str(number): name for number, name in enumerate(desk.pieces[:9], start=1)}
    if character in named:
        return _of(prompt, named[character], desk)
    if key == "enter" and prompt.question in FOR_ONE:
        return prompt if desk.chosen_piece is None else _of(prompt, desk.chosen_piece, desk)
    return _of(prompt, ALL, desk) if key == "enter" else prompt


def _of(prompt: Prompt, piece: str, desk: Desk) -> Answer:
    chosen = replace(prompt, piece=piece)
    return _spritzed(chosen, desk) if prompt.question is Question.SPRITZ else chosen


def which_hint(prompt: Prompt, desk: Desk) -> tuple[str, Keys]:
    keys = tuple((str(number), name) for number, name in enumerate(desk.pieces[:9], start=1))
    if prompt.question not in FOR_ONE:
        return "Which piece", (*keys, ("enter", "all"))
    return "Which piece", (*keys, ("enter", desk.chosen_piece)) if desk.chosen_piece else keys


def _piece(prompt: Prompt, desk: Desk, *, must: bool = False) -> str | None:
    """Return the probe an entry names: the chosen one; the only one where it must be named; None for all."""
    if prompt.piece:
        return prompt.piece
    return desk.pieces[0] if must and len(desk.pieces) == 1 else None


def _about(prompt: Prompt) -> str:
    return f" {prompt.piece}" if prompt.piece else ""


# --- spritzed ------------------------------------------------------------------------------------


def spritz(prompt: Prompt, key: str, _character: str, desk: Desk) -> Answer:
    return _spritzed(prompt, desk) if key == "enter" else prompt


def _spritzed(prompt: Prompt, desk: Desk) -> Entry:
    return Spritz(time=desk.time, id=desk.id, at=stamp(prompt, desk), probe=_piece(prompt, desk))


def spritz_hint(prompt: Prompt, _desk: Desk) -> tuple[str, Keys]:
    return f"Spritzed{_about(prompt)}", (("enter", "log it"),)


# --- the hand ------------------------------------------------------------------------------------


def feel(prompt: Prompt, _key: str, character: str, desk: Desk) -> Answer:
    answer = FEELS.get(character)
    if answer is None:
        return prompt
    doubt = desk.feel_doubts.get(_piece(prompt, desk, must=True) or "")
    if doubt is not None and answer != "springy" and prompt.typed != character:
        return replace(prompt, typed=character, complaint=f"really {answer}? {doubt}; {character} again logs it")
    return Feel(
        time=desk.time, id=desk.id, at=stamp(prompt, desk), probe=_piece(prompt, desk, must=True), answer=answer
    )


def feel_hint(prompt: Prompt, _desk: Desk) -> tuple[str, Keys]:
    return f"It feels{_about(prompt)}", (
        ("s", "springy: pushes back"),
        ("g", "giving: slides in"),
        ("x", "gone: falls apart"),
    )


# --- on, off, turned -----------------------------------------------------------------------------


def meat(prompt: Prompt, key: str, character: str, desk: Desk) -> Answer:
    on = _is_on(prompt, desk)
    if key == "enter":
        return _laid(prompt, desk, on=not on)
    if character == "o":
        return _laid(prompt, desk, on=True)
    if character in RESTS:
        return replace(_laid(prompt, desk, on=False), rest=RESTS[character])
    if character in TURNS:
        return Turn(
            time=desk.time, id=desk.id, at=stamp(prompt, desk), probe=_piece(prompt, desk), how=TURNS[character]
        )
    onward = {"h": Question.OVEN, "w": Question.WEIGH, "p": Question.PICTURE}.get(character)
    if onward is None:
        return prompt
    if onward is Question.WEIGH and prompt.piece in (None, ALL) and len(desk.pieces) != 1:
        return replace(prompt, piece=None, complaint="weigh one piece at a time: choose it first")
    return replace(prompt, question=onward, typed="")


def _is_on(prompt: Prompt, desk: Desk) -> bool:
    if prompt.piece:
        return desk.on_grate.get(prompt.piece, False)
    return any(desk.on_grate.values())


def _laid(prompt: Prompt, desk: Desk, *, on: bool) -> MeatOn:
    return MeatOn(time=desk.time, id=desk.id, at=stamp(prompt, desk), probe=_piece(prompt, desk), on=on)


def meat_hint(prompt: Prompt, desk: Desk) -> tuple[str, Keys]:
    on = _is_on(prompt, desk)
    first: Keys = (("enter", "pulled"),) if on else (("enter", "on the grate"),)
    rests: Keys = (("c", "to the counter"), ("k", "to a cooler"), ("h", "to a holding oven")) if on else ()
    back: Keys = () if not on else (("o", "on again"),)
    turns: Keys = (("t", "turned"), ("v", "moved")) if on else ()
    return f"Meat{_about(prompt)}", (*first, *rests, *turns, *back, ("w", "weighed"), ("p", "picture"))


def oven(prompt: Prompt, key: str, character: str, desk: Desk) -> Answer:
    if key != "enter":
        return type_on(prompt, character, "0123456789.,")
    if not prompt.typed:
        return replace(_laid(prompt, desk, on=False), rest="oven")
    celsius = _holding(prompt.typed, desk)
    if celsius is None:
        return replace(prompt, typed="", complaint=_no_oven(desk))
    return replace(_laid(prompt, desk, on=False), rest="oven", celsius=celsius)


def _holding(typed: str, desk: Desk) -> float | None:
    value = parse_number(typed)
    celsius = None if value is None else celsius_from(value, desk.preferences.degrees)
    low, high = OVEN_RANGE
    return None if celsius is None or not low - 0.05 <= celsius <= high else round(celsius, 2)


def _no_oven(desk: Desk) -> str:
    low, high = (degrees(value, desk.preferences) for value in OVEN_RANGE)
    return f"a holding oven stands between {low} and {high}; colder is below hot holding"


def oven_hint(prompt: Prompt, desk: Desk) -> tuple[str, Keys]:
    usual = degrees(63.0, desk.preferences)
    return f"Holding oven at {prompt.typed or '_'} {desk.preferences.degrees}", (
        ("enter", f"log it; empty: {usual}"),
    )


# --- weight, picture -----------------------------------------------------------------------------


def weigh(prompt: Prompt, key: str, character: str, desk: Desk) -> Answer:
    when: Literal["in", "out"] | None = {"i": "in", "o": "out"}.get(character)  # type: ignore[assignment]
    if key == "enter":
        when = "out" if _piece(prompt, desk, must=True) in desk.weighed_in else "in"
    if when is None:
        return type_on(prompt, character, "0123456789.,")
    value = parse_number(prompt.typed)
    kg = None if value is None else kg_from(value, desk.preferences.mass)
    if kg is None or not LIGHTEST_KG <= kg <= 100.0:
        return replace(prompt, typed="", complaint=f"{prompt.typed or 'nothing'} is no weight of meat; 5.4 would be")
    probe = _piece(prompt, desk, must=True)
    return Weigh(time=desk.time, id=desk.id, at=stamp(prompt, desk), probe=probe, kg=round(kg, 3), when=when)


def weigh_hint(prompt: Prompt, desk: Desk) -> tuple[str, Keys]:
    usual = "coming out" if _piece(prompt, desk, must=True) in desk.weighed_in else "going in"
    asked = f"It weighs{_about(prompt)} {prompt.typed or '_'} {desk.preferences.mass}"
    return asked, (("i", "going in"), ("o", "coming out"), ("enter", usual))


def picture(prompt: Prompt, key: str, character: str, desk: Desk) -> Answer:
    if key != "enter":
        return type_on(prompt, character, "", LONGEST_FILE)
    name = prompt.typed.strip()
    if not name:
        return None
    return Picture(time=desk.time, id=desk.id, at=stamp(prompt, desk), probe=_piece(prompt, desk), file=name)


def picture_hint(prompt: Prompt, _desk: Desk) -> tuple[str, Keys]:
    return f"Picture{_about(prompt)}, file name {prompt.typed}_", (("enter", "keep it"),)


# --- hushing -------------------------------------------------------------------------------------


def hush(prompt: Prompt, _key: str, character: str, desk: Desk) -> Answer:
    offered = _offered(prompt, desk)
    if not character.isdigit() or not 1 <= int(character) <= len(offered):
        return prompt
    care, hushed = offered[int(character) - 1]
    return Hush(time=desk.time, id=desk.id, probe=_piece(prompt, desk), care=care, on=not hushed)


def _offered(prompt: Prompt, desk: Desk) -> list[tuple[str, bool]]:
    """Return the prompts of the piece, or of all, and whether each is hushed."""
    found: dict[str, bool] = {}
    for piece, cares in desk.cares.items():
        if prompt.piece in (None, ALL, piece):
            found.update(cares)
    return list(found.items())[:9]


def hush_hint(prompt: Prompt, desk: Desk) -> tuple[str, Keys]:
    offered = _offered(prompt, desk)
    if not offered:
        return "Hush: no prompt is given now; food safety is never hushed", (("1-9", "a prompt, once there is one"),)
    keys = tuple(
        (str(number), f"{care}{' again' if off else ''}") for number, (care, off) in enumerate(offered, start=1)
    )
    return f"Hush{_about(prompt)}", keys


# --- the hour ------------------------------------------------------------------------------------


def serving(prompt: Prompt, key: str, character: str, desk: Desk) -> Answer:
    told = prompt.serving or _wanted(prompt, desk)
    if _is_half(prompt.typed, character):
        return replace(prompt, typed=prompt.typed + character.lower())
    match character:
        case "w":
            return replace(prompt, serving=replace(told, wrap=_after(told.wrap, WRAPS)))
        case "r":
            return replace(prompt, serving=replace(told, rest=_after(told.rest, REST_ORDER), celsius=None))
        case "p":
            return replace(prompt, serving=replace(told, people=told.people % MOST_PEOPLE + 1))
    if key != "enter":
        return type_on(prompt, character, "0123456789:., ")
    return _served(prompt, told, desk)


def _wanted(prompt: Prompt, desk: Desk) -> Serving:
    """Return what is planned as long as nothing else is said: as planned before, or as the piece lies already."""
    told = desk.serving or Serving(time=desk.time, serve=desk.time)
    rest, wrap = desk.lies.get(_piece(prompt, desk, must=True) or "", ("grate", "none"))
    found: dict[str, Any] = {}  # fields of two kinds of words
    if wrap != "none":
        found["wrap"] = wrap
    if rest not in ("grate", told.rest):
        found |= {"rest": rest, "celsius": None}
    return replace(told, **found) if found else told


def _is_half(typed: str, character: str) -> bool:
    """Tell whether a letter goes on with an hour as "6pm"."""
    if character.lower() in ("a", "p"):
        return _has_half(typed)
    return character.lower() == "m" and typed[-1:] in ("a", "p")


def _has_half(typed: str) -> bool:
    """Tell whether an hour is typed that there is twice a day."""
    hour = typed.replace(".", ":").split(":")[0]
    return typed[-1:].isdigit() and hour.isdigit() and 1 <= int(hour) <= HOURS_OF_A_HALF


HOURS_OF_A_HALF: Final = 12


def _after(word: str, order: tuple[str, ...]) -> str:
    return order[(order.index(word) + 1) % len(order)]


def _served(prompt: Prompt, told: Serving, desk: Desk) -> Answer:
    words = prompt.typed.split()
    serve = told.serve if not words and desk.serving is not None else _hour(words[0] if words else "", desk)
    if serve is None or len(words) > 2:
        return replace(
            prompt, typed="", complaint='an hour reads 18:00 or 6pm; 18:00 and the holding oven, "18:00 145"'
        )
    celsius = told.celsius
    if len(words) == 2:
        celsius = _holding(words[1], desk)
        if told.rest != "oven" or celsius is None:
            complaint = _no_oven(desk) if told.rest == "oven" else "degrees are the holding oven's: choose it with r"
            return replace(prompt, typed="", complaint=complaint)
    probe = prompt.piece or None
    return replace(told, time=desk.time, id=desk.id, at=None, serve=serve, celsius=celsius, probe=probe)


def _hour(typed: str, desk: Desk) -> datetime | None:
    """Return the next time that the clock shows an hour, in the cook's zone; "1800", "18" and "6pm" are taken as well."""
    plain = typed.removesuffix("m")
    half = plain[-1:] if plain[-1:] in ("a", "p") else ""
    digits = plain.removesuffix(half).replace(":", "").replace(".", "")
    if not digits.isdigit() or len(digits) > 4:
        return None
    hour, minute = (int(digits), 0) if len(digits) <= 2 else (int(digits[:-2]), int(digits[-2:]))
    if half:
        hour = hour % HOURS_OF_A_HALF + HOURS_OF_A_HALF * (half == "p")
    if hour > 23 or minute > 59:
        return None
    now = desk.time.astimezone(desk.zone)
    found = now.replace(hour=hour, minute=minute, second=0, microsecond=0)
    return (found if found > now else found + timedelta(days=1)).astimezone(desk.time.tzinfo)


def serving_hint(prompt: Prompt, desk: Desk) -> tuple[str, Keys]:
    told = prompt.serving or _wanted(prompt, desk)
    wrap, rest, people, celsius = told.wrap, told.rest, told.people, told.celsius
    kept = "_" if desk.serving is None else clock(desk.serving.serve, desk.preferences, desk.zone)
    oven_at = f" {degrees(celsius, desk.preferences)}" if celsius is not None else ""
    return f"Serve{_about(prompt)} at {prompt.typed or kept}", (
        ("w", f"wrap: {wrap}"),
        ("r", f"rest: {rest}{oven_at}"),
        ("a or p", "am or pm") if _has_half(prompt.typed) else ("p", f"cooks: {people}"),
        ("enter", "plan it"),
    )
