"""What the instructor says, in the cook's units and clock. Pure."""

import textwrap
from collections.abc import Callable
from datetime import datetime, timedelta
from enum import StrEnum
from itertools import pairwise
from typing import Final

from firebox.lessons import (
    Coaching,
    Coals,
    Figure,
    Flame,
    Lesson,
    LessonKind,
    Measure,
    Quiz,
    Sight,
    Tally,
    Verdict,
)
from firebox.records import Move
from tui import view as views
from tui.advice import DUE_SECONDS, damper_moves, due
from tui.glance import Glance
from tui.text import clock, degrees, difference, mass, whole

SOON_SECONDS: Final = 600.0

Run = tuple[str, str]
"""(text, style)."""


class Level(StrEnum):
    """How much of the advice is to be seen."""

    HIDDEN = "hidden"
    HINTED = "hinted"
    SHOWN = "shown"


LEVEL_WORDS: Final = {
    Level.HIDDEN: "advice hidden: you judge alone, and the score tells how it went",
    Level.HINTED: "advice hinted: where to look, not what to do",
    Level.SHOWN: "advice shown, as on a real pit",
}

HEADS: Final = {
    LessonKind.EFFECT: "WHAT IT DOES",
    LessonKind.ANSWER: "THE ANSWER",
    LessonKind.MISTAKE: "A THOUGHT",
    LessonKind.PRAISE: "WELL DONE",
    LessonKind.HAPPENED: "LOOK",
}


def next_level(level: Level) -> Level:
    """Return the level after this one.

    Examples
    --------
    >>> next_level(Level.SHOWN)
    <Level.HIDDEN: 'hidden'>
    """
    levels = list(Level)
    return levels[(levels.index(level) + 1) % len(levels)]


def figure(told: Figure, glance: Glance, begun: datetime | None) -> str:
    """Return one figure in the cook's units."""
    preferences = glance.preferences
    match told.measure:
        case Measure.CELSIUS:
            return degrees(told.value, preferences)
        case Measure.KELVIN:
            return f"{difference(abs(told.value), preferences)}{preferences.degrees}"
        case Measure.KG:
            return mass(told.value, preferences)
        case Measure.CLOCK:
            return _clock(told.value, glance, begun)


def _clock(seconds: float, glance: Glance, begun: datetime | None) -> str:
    if begun is None:
        return f"minute {seconds / 60.0:.0f}"
    return clock(begun + timedelta(seconds=seconds), glance.preferences, glance.zone)


def lesson_words(lesson: Lesson, glance: Glance, begun: datetime | None) -> str:
    """Return a lesson with its figures."""
    return lesson.text.format(*(figure(one, glance, begun) for one in lesson.figures))


def choices(quiz: Quiz, glance: Glance) -> tuple[str, ...]:
    """Return the answers to choose from, from cold to hot."""
    edges = [degrees(edge, glance.preferences) for edge in quiz.edges]
    between = [f"{low[:-1]}{glance.drawing.dash}{high}" for low, high in pairwise(edges)]
    return (f"under {edges[0]}", *between, f"over {edges[-1]}")


def question(quiz: Quiz, glance: Glance) -> str:
    """Return the question."""
    here = degrees(quiz.celsius, glance.preferences)
    return f"It is {here}. Where will it be in {quiz.minutes:.0f} minutes, if you leave it alone?"


def standing(coaching: Coaching, glance: Glance) -> str:
    """Return how the round stands, in one line."""
    tally, between = coaching.tally, f" {glance.drawing.dot} "
    parts = [
        f"minute {coaching.seconds / 60.0:.0f} of {coaching.lasts / 60.0:.0f}",
        f"in band {tally.in_band:.0f}",
        f"dirty smoke {tally.smoulder:.0f}",
        f"wood {mass(tally.wood_kg, glance.preferences)}",
        f"walks {tally.trips}",
    ]
    return between.join(parts)


def hinted(glance: Glance, sight: Sight) -> str:
    """Return where to look, without what to do."""
    if is_cold(sight):
        return "Look into the firebox: nothing burns in there."
    move = views.fresh_move(glance.view)
    if move is None:
        return "Nothing to say yet."
    return " ".join(_looks(glance, move)) or "Hands off: it comes by itself."


def is_cold(sight: Sight) -> bool:
    """Tell whether no flame and no coals are to be seen."""
    return sight.flame is Flame.NONE and sight.coals is Coals.DEAD


def _looks(glance: Glance, move: Move) -> list[str]:
    moment = due(glance)
    left = None if moment is None else moment - glance.seconds
    found = []
    if not move.hold and damper_moves(glance, move):
        found.append("Look at the air.")
    if left is not None and left <= DUE_SECONDS:
        found.append("Look at the wood, now.")
    elif left is not None and left <= SOON_SECONDS:
        found.append("Wood will be wanted before long.")
    if not found and not move.hold and move.split is None and move.intake is None and move.stack is None:
        found.append("Look at the whole pit.")
    return found


# --- the score -----------------------------------------------------------------------------------


def score_rows(verdict: Verdict, glance: Glance) -> tuple[tuple[str, str, str], ...]:
    """Return (what, the cook's, the twin's) rows."""
    told: tuple[tuple[str, Callable[[Tally], str]], ...] = (
        ("minutes in the band", lambda tally: f"{whole(tally.in_band)} of {whole(tally.minutes)}"),
        ("steady after", lambda tally: "never" if tally.steady_at is None else f"{whole(tally.steady_at)} min"),
        ("worst over the target", lambda tally: _worst(tally, tally.over, glance)),
        ("worst under the target", lambda tally: _worst(tally, tally.under, glance)),
        ("wood", lambda tally: mass(tally.wood_kg, glance.preferences)),
        ("minutes of dirty smoke", lambda tally: whole(tally.smoulder)),
        ("walks to the pit", lambda tally: str(tally.trips)),
        ("alarms", lambda tally: str(tally.alarms)),
    )
    twin = verdict.twin
    waits = "?" if verdict.twin_problem else "..."
    return tuple((what, of(verdict.mine), waits if twin is None else of(twin)) for what, of in told)


def _worst(tally: Tally, kelvin: float, glance: Glance) -> str:
    """Return a distance from the target; of a pit that never came there, that it did not."""
    never = tally.in_band <= 0.0 and tally.over <= 0.0 and tally.under <= 0.0
    return "not there" if never else difference(kelvin, glance.preferences)


def score(coaching: Coaching, verdict: Verdict, glance: Glance, width: int) -> tuple[tuple[Run, ...], ...]:
    """Return the lines of the score page."""
    bold, head, quiet = "bold", "bold $accent", "$quiet"
    dash = glance.drawing.dash
    reached = "REACHED" if verdict.reached else "not reached this time"
    lines: list[tuple[Run, ...]] = [
        ((f"{coaching.title}: {reached}", head),),
        ((f"The goal: {coaching.goal}.", ""),),
        ((_beside(verdict, dash), quiet),),
    ]
    for remark in verdict.remarks:
        lines += _wrapped(f"{glance.drawing.dot} ", remark, width)
    lines += [
        (),
        ((f"{'':<24}{'you':>12}{'the advice':>14}", bold),),
    ]
    lines += [
        ((f"{what:<24}", ""), (f"{mine:>12}", bold), (f"{twin:>14}", ""))
        for what, mine, twin in score_rows(verdict, glance)
    ]
    lines.append(())
    right, answered = verdict.guesses
    if answered:
        lines.append(((f"Questions: {right} of {answered} foreseen.", ""),))
    if verdict.mistakes:
        lines += _wrapped("To think about: ", ", ".join(verdict.mistakes) + ".", width)
    lines += [(), (("The whole round, split by split: ", quiet), ("firebox review --practice", "bold"))]
    return tuple(lines)


def _beside(verdict: Verdict, dash: str) -> str:
    """Return in a line how whoever follows the advice did on the same fire."""
    if verdict.twin is None:
        if verdict.twin_problem:
            return f"The advice could not be played beside you: {verdict.twin_problem}."
        return f"Whoever follows the advice: playing the same fire {dash} wait a few seconds."
    said = (
        "reached the goal" if verdict.twin_reached else "missed the goal too" if not verdict.reached else "missed it"
    )
    return f"Following the advice on the same fire {said}."


def _wrapped(head: str, text: str, width: int) -> list[tuple[Run, ...]]:
    rows = textwrap.wrap(head + text, max(20, width), subsequent_indent=" " * min(2, len(head)))
    return [((row, ""),) for row in rows]
