"""The next move in words: what to do, when, why, what it should bring. Pure."""

import textwrap
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from firebox.records import DamperName, Expected, Move, Outlook
from tui import view as views
from tui.glance import Condition, Glance, condition
from tui.ribbon import kilowatts
from tui.text import countdown, degrees, is_known, mark, mass, size_word

DUE_SECONDS: Final = 45.0
"""A move this near is to be done now: no shorter than the walk to the pit."""

LABEL: Final = 6
"""Columns of the words NEXT, why and then."""


class Advice(Struct, frozen=True, kw_only=True):
    """The next move in words."""

    do: str
    when: str
    why: str = ""
    expect: str = ""
    heat: str = ""
    """What the fire gives, and what the pit needs."""
    is_now: bool = False


def due(glance: Glance) -> float | None:
    """Return the logical second at which the next split is due; None where none is in sight."""
    move = views.fresh_move(glance.view)
    if move is None or move.split is None or not is_known(move.split.in_minutes):
        return None
    return glance.view.move_at + 60.0 * move.split.in_minutes


def advice(glance: Glance) -> Advice:
    """Return the next move in words: what, when, why, what is expected, and heat had against heat wanted."""
    return replace(_move(glance), heat=_heat(glance))


def _heat(glance: Glance) -> str:
    """Return supply and demand as far as known: what the fire gives against what holds the pit at its target."""
    fire = glance.view.fire
    if fire is None or fire.heat_watts is None or not is_known(fire.heat_watts) or not is_known(fire.need_watts):
        return ""
    return f"the fire gives {kilowatts(fire.heat_watts)} kW, the pit needs {kilowatts(fire.need_watts or 0.0)}"


def _move(glance: Glance) -> Advice:
    move = views.fresh_move(glance.view)
    if move is None:
        waiting = glance.view.move is None
        return Advice(
            do="NO ADVICE", when="", why="The watch has given none yet." if waiting else "The last is too old."
        )
    wood = _wood_move(glance, move)
    now = [] if move.hold else damper_moves(glance, move)
    moment = due(glance)
    left = None if moment is None else moment - glance.seconds
    when = (
        "" if moment is None or left is None else f"at {glance.clock(max(moment, glance.seconds))}, {countdown(left)}"
    )
    why, expect = _why(glance, move), expectation(glance)
    if wood and left is not None and left <= DUE_SECONDS and not move.hold:
        return Advice(
            do=" and ".join((wood, *now)), when=countdown(left).upper(), is_now=True, why=why, expect=expect
        )
    if now:
        then = f"then {wood.lower()} {when}" if wood else ""
        return Advice(do=" and ".join(now), when=f"NOW   {then}".rstrip(), is_now=True, why=why, expect=expect)
    if wood:
        until = f" {glance.drawing.dash} leave it until then" if left is not None and left > DUE_SECONDS else ""
        return Advice(do=wood, when=f"{when}{until}", why=why, expect=expect)
    if not move.hold and move.intake is None and move.stack is None:
        do = "LIGHT THE FIRE (l)" if move.light else "SEE TO THE PIT"
        return Advice(do=do, when="NOW", is_now=True, why=why, expect=expect)
    return Advice(do="LEAVE IT ALONE", when="no wood due in sight", why=why, expect=expect)


ALL_OFF: Final = "All the meat is off: x lets the fire die. Otherwise: "


def _why(glance: Glance, move: Move) -> str:
    """Return the reason of the move; where no meat needs the wood it asks for, that first."""
    meats = [meat for meat in glance.view.meats.values() if meat.where is not None]
    off = bool(meats) and all(meat.where != "grate" and meat.unsafe != "raw" for meat in meats)
    waits = {piece.probe for piece in glance.setup.meats} - set(glance.view.meats)
    asks = move.split is not None and off and not waits and glance.view.cook.out_at() is None
    return ALL_OFF + move.reason if asks else move.reason


def _wood_move(glance: Glance, move: Move) -> str:
    """Return the wood to put on, its size in capitals so that it is found at once."""
    if move.split is None:
        return ""
    size = size_word(move.split.kg, glance.wood).upper()
    half = size_word(move.split.kg / 2.0, glance.wood).upper()
    if half and not size:
        return f"TWO {half} SPLITS, {mass(move.split.kg, glance.preferences)} IN ALL"
    return f"ONE {size} SPLIT, {mass(move.split.kg, glance.preferences)}".replace("  ", " ")


def damper_moves(glance: Glance, move: Move) -> list[str]:
    """Return the damper moves that change something, on the damper's own marks."""
    marks, words = glance.setup.damper_marks, []
    for name, opening in ((DamperName.INTAKE, move.intake), (DamperName.STACK, move.stack)):
        if opening is not None and mark(opening, marks) != mark(glance.stands(name), marks):
            words.append(f"{name} to {mark(opening, marks)}".upper())
    return words


def expectation(glance: Glance) -> str:
    """Return what the move should bring, and what comes at the same time if nothing more is done."""
    move, outlook = views.fresh_move(glance.view), views.fresh_outlook(glance.view)
    expected = move.expected if move else None
    index = None if outlook is None else _horizon(outlook, expected)
    parts = []
    if move is not None and expected is not None and (_asks(glance, move) or index is None):
        at = glance.clock(glance.view.move_at + 60.0 * expected.minutes)
        doing = " if done" if _asks(glance, move) else ""
        parts.append(f"{degrees(expected.celsius, glance.preferences)} at {at}{doing}")
    if outlook is not None and index is not None:
        parts.append(_left_alone(glance, outlook, index, expected, is_beside=bool(parts)))
    return ", ".join(parts)


def _asks(glance: Glance, move: Move) -> bool:
    """Tell whether a move asks for anything at all, now or later."""
    return move.split is not None or bool(damper_moves(glance, move))


def _left_alone(glance: Glance, outlook: Outlook, index: int, expected: Expected | None, *, is_beside: bool) -> str:
    """Return where the pit goes by itself, with the range that holds eight times in ten."""
    low, high = (degrees(value, glance.preferences)[:-1] for value in (outlook.p10[index], outlook.p90[index]))
    middle = degrees(outlook.p50[index], glance.preferences)
    is_same = is_beside and expected is not None and outlook.minutes[index] == expected.minutes
    at = "" if is_same else f" at {glance.clock(glance.view.outlook_at + 60.0 * outlook.minutes[index])}"
    return f"{middle}{at} if {'not' if is_beside else 'left alone'} ({low}{glance.drawing.dash}{high})"


def _horizon(outlook: Outlook, expected: Expected | None) -> int | None:
    """Return which horizon of an outlook to tell: the move's own, else the middle one; None where it has none."""
    count = min(len(outlook.minutes), len(outlook.p10), len(outlook.p50), len(outlook.p90))
    if not count:
        return None
    if expected is not None and expected.minutes in outlook.minutes[:count]:
        return outlook.minutes.index(expected.minutes)
    return count // 2


def big_countdown(glance: Glance) -> tuple[str, str]:
    """Return (figures, caption) of the countdown for a wide screen; empty where nothing is due in sight."""
    if condition(glance) in {Condition.STALE, Condition.UNWATCHED}:
        return "", ""
    words, moment = advice(glance), due(glance)
    if words.is_now:
        return "NOW", ""
    if moment is None:
        return "", ""
    minutes = max(1, int((moment - glance.seconds) / 60.0 + 0.5))
    return (str(minutes), f"min to the split, {glance.clock(moment)}") if minutes < 1000 else ("", "")


def lay_out(words: Advice, width: int, height: int) -> tuple[tuple[str, str], ...]:
    """Return (label, text) lines that fit: what and when always, then as much of the reason as there is room for.

    Heat had and wanted come last, and only where the reason leaves a line.
    """
    room = max(10, width - LABEL)
    when = textwrap.wrap(words.when, room, max_lines=2, placeholder=" ..") or [""]
    expected = textwrap.wrap(words.expect, room)[: max(0, min(2, height - len(when) - 2))]
    left = max(1, height - 1 - len(when) - len(expected))
    why = textwrap.wrap(words.why, room)
    spare = left - len(why)
    heat = [words.heat] if spare > 0 and words.heat and len(words.heat) <= room else []
    why = textwrap.wrap(words.why, room, max_lines=left, placeholder=" ..")
    blocks = (("", when), ("why", why), ("then", expected), ("heat", heat))
    return tuple(
        ((label if index == 0 else "").ljust(LABEL), line)
        for label, lines in blocks
        for index, line in enumerate(lines)
    )
