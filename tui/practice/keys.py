"""The keys that only a practice round has, and its bars."""

from typing import Final

from textual.binding import Binding

from tui.keys import KEYS, Key, fitting

_ROWS: Final = (
    ("practice.pause", "space", "space", "pause", "pause", "hold the fire still, or let it burn on"),
    ("practice.faster", "full_stop,greater_than_sign", ".", "pace('up')", "faster", "the fire burns faster, up to 120 times"),
    ("practice.slower", "comma,less_than_sign", ",", "pace('down')", "slower", "the fire burns slower, down to its own pace"),
    ("practice.advice", "j", "j", "advice", "advice", "the advice is hidden, hinted, shown"),
    ("practice.questions", "J", "J", "questions", "questions", "ask me where it will be, or ask no more"),
    ("practice.finish", "x", "x", "finish", "end it", "end the round here and see the score"),
    ("practice.again", "R", "R", "again", "again", "once it is over: the same fire once more"),
    ("practice.other", "enter", "Enter", "other", "another", "once it is over: choose another round"),
    ("practice.leave", "q,ctrl+c", "q", "leave", "leave", "leave the round; the opening screen comes back"),
)  # fmt: skip

PRACTICE_KEYS: Final = tuple(
    Key(id=row[0], key=row[1], shown=row[2], action=row[3], label=row[4], help=row[5], group="practice")
    for row in _ROWS
)

ANSWERS: Final = "01234"
"""Keys that answer the open question."""

_SCORE: Final = Key(
    id="practice.score", key="x", shown="x", action="finish", label="score", help="the score", group="practice"
)
"""What the key that ended the round does once it is over."""

_BY_ID: Final = {key.id: key for key in (*KEYS, *PRACTICE_KEYS, _SCORE)}

_FIRE: Final = (
    (
        "entry.split", "entry.damper", "entry.door", "entry.fire_door", "entry.rake", "entry.lit", "practice.finish",
        "entry.note",
    ),
    (
        "practice.pause", "practice.slower", "practice.faster", "page.help", "practice.leave", "practice.advice",
        "practice.questions", "page.guide", "look.degrees", "look.theme",
    ),
)  # fmt: skip
_PAGE: Final = (("page.fire", "alarm.acknowledge", "practice.pause", "page.help", "practice.leave"),)
_OVER: Final = (
    ("practice.other", "practice.again", "practice.score", "page.fire", "page.log", "look.degrees", "practice.leave"),
)


def bindings() -> list[Binding]:
    """Return the bindings of a practice round; those of the answers have no name in a bar."""
    named = [
        Binding(key.key, key.action, key.label, id=key.id, tooltip=key.help, key_display=key.shown)
        for key in PRACTICE_KEYS
    ]
    return [*named, *(Binding(key, f"guess('{key}')", show=False) for key in ANSWERS)]


def bar(page: str, width: int, *, is_over: bool) -> tuple[tuple[Key, ...], ...]:
    """Return the keys shown at the foot, row by row: as many as fit."""
    rows = _OVER if is_over else _FIRE if page == "fire" else _PAGE
    return tuple(fitting(tuple(_BY_ID[name] for name in row), width) for row in rows)
