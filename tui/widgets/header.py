"""The top line: the pit's name, what sort of fire this is, the clock."""

from textual.content import Content

from firebox.ports import Kind
from tui.glance import Glance, kind_words, title
from tui.text import cut
from tui.widgets.words import Words


class Header(Words):
    """One line that no page hides. A fire that is not real says so in words and between bars of a pattern."""

    def show(self, glance: Glance) -> None:
        width = self.size.width or 80
        clock = glance.clock(glance.seconds, with_seconds=True) if glance.view.epoch else "--:--:--"
        kind = kind_words(glance)
        room = width - len(clock) - 2
        name = cut(title(glance), max(4, room - len(kind) - 3) if kind else room)
        left = room - len(name)
        if not kind:
            self.say(Content.assemble((name, "bold"), " " * left, " ", (clock, "bold")))
            return
        is_live = glance.status is not None and glance.status.kind is Kind.LIVE
        fill = " " if is_live else glance.drawing.demo
        shown = cut(kind, max(0, left - 2))
        before = max(1, (left - len(shown) - 2) // 2)
        after = max(1, left - len(shown) - 2 - before)
        self.say(
            Content.assemble(
                (name, "bold"), " ", fill * (before - 1), " ", (shown, "bold reverse"), " ", fill * (after - 1), " ",
                (clock, "bold"),
            )
        )  # fmt: skip
