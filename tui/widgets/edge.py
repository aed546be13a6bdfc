"""The side borders of a fire that is not real: its word, over and over, so that no part of the screen can mislead."""

from typing import Final

from textual.content import Content

from firebox.ports import Kind
from tui.glance import Glance
from tui.widgets.words import Words

WORDS: Final = {Kind.LIVE: "", Kind.DEMO: "DEMO", Kind.PRACTICE: "PRACTICE", Kind.REPLAY: "REPLAY"}


class Edge(Words):
    """One column of letters and strokes, as high as the screen."""

    def show(self, glance: Glance) -> None:
        kind = glance.status.kind if glance.status else Kind.LIVE
        word = WORDS[kind]
        self.set_class(not word, "-hidden")
        if word:
            pattern = word + glance.drawing.demo * 2
            height = max(1, self.size.height or 24)
            self.say(Content("\n".join(pattern[row % len(pattern)] for row in range(height))))
