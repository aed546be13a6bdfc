"""The plan page: when what comes, how sure that is, wood, watches, and what to do if it comes early or late."""

from typing import Final

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content

from tui.glance import Glance
from tui.plan_words import page
from tui.widgets.words import Words

WIDEST: Final = 120
"""Columns; wider lines are hard to follow."""


class PlanPage(VerticalScroll):
    """The timetable as the watch last made it."""

    def compose(self) -> ComposeResult:
        yield Words(id="plan-words")

    def show(self, glance: Glance) -> None:
        self.query_one("#plan-words", Words).say(
            Content.assemble(*page(glance, min(max(40, self.size.width - 3), WIDEST)))
        )
