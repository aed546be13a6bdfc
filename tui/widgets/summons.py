"""The whole screen for an alarm that cannot wait: read by somebody who was asleep a minute ago."""

from collections.abc import Sequence
from typing import Final

from textual.content import Content

from tui import view as views
from tui.alarm_words import alarm_head, until
from tui.glance import Glance
from tui.text import block, degrees, own_degrees
from tui.view import AlarmView
from tui.widgets.words import Words


class Summons(Words):
    """What happened, how long there is and the one thing to do first, in a block that fills the page."""

    def show(self, glance: Glance, calling: Sequence[AlarmView]) -> None:
        """Show the most urgent of the alarms that call; nothing where none does."""
        if not calling:
            return
        width, height = self.size.width or 80, self.size.height or 18
        told = calling[0]
        bar = Content(glance.drawing.alarm * width).stylize("bold")
        parts = [
            [bar, _line(alarm_head(told, len(calling)).center(width), width).stylize("bold"), bar],
            _part("WHAT", own_degrees(told.alarm.text, glance.preferences), width),
            _part("HOW LONG", _how_long(told, glance), width),
            [
                line.stylize("bold")
                for line in _part("FIRST", own_degrees(told.alarm.first, glance.preferences), width)
            ],
            _part("NOW", _now(glance), width),
            *([_part("AND ALSO", _others(calling), width)] if len(calling) > 1 else []),
        ]
        keys = [
            _key("a", "enter('acknowledge')", "I am awake: stop the bell", width).stylize("bold"),
            _key("Esc", "page('fire')", "look at the fire first; the bell goes on", width),
        ]
        blank = _line("", width)
        room = height - sum(len(part) for part in parts) - len(keys)
        between = max(0, min(2, room // (len(parts) + 1)))
        rows = [row for part in parts for row in (*part, *[blank] * between)]
        rows += [blank] * max(1, height - len(rows) - len(keys))
        self.say(Content("\n").join([*rows, *keys]))


_NAMES: Final = 11


def _line(words: str, width: int) -> Content:
    return Content(words.ljust(width))


def _part(name: str, words: str, width: int) -> list[Content]:
    """Return one part of the message: its name in a column of its own, its words beside it."""
    names = [f" {name}", *[""] * 20]
    beside = block(words, width - _NAMES)
    return [_line(f"{head:<{_NAMES}}{line}", width) for head, line in zip(names, beside, strict=False)]


def _key(shown: str, action: str, does: str, width: int) -> Content:
    words = f" {shown:<{_NAMES}}{does}"
    return Content.assemble(Content.from_markup(f"[@click=app.{action}]{words}[/]"), " " * (width - len(words)))


def _how_long(told: AlarmView, glance: Glance) -> str:
    left = until(told, glance.seconds)
    since = f"since {glance.clock(told.seconds)}"
    return f"{left}; {since}" if left else since


def _now(glance: Glance) -> str:
    celsius = views.pit_celsius(glance.view)
    aim = views.target(glance.view)
    pit = "not known" if celsius is None else degrees(celsius, glance.preferences)
    return f"pit {pit}" + (f", target {degrees(aim[0], glance.preferences)}" if aim else "")


def _others(calling: Sequence[AlarmView]) -> str:
    return " ".join(told.alarm.text for told in calling[1:])
