"""The one thing to do next: what, when, why, and what it should bring."""

from textual.content import Content

from tui.advice import LABEL, advice, big_countdown, lay_out
from tui.glance import Condition, Glance, condition
from tui.glyphs import big
from tui.widgets.words import Words


class NextMove(Words):
    """The recommendation; while it is to be done now its headline is shown reversed."""

    def show(self, glance: Glance) -> None:
        words = advice(glance)
        is_old = condition(glance) in {Condition.STALE, Condition.UNWATCHED}
        parts: list[str | tuple[str, str]] = [
            ("OLD   " if is_old else "NEXT  ".ljust(LABEL), "bold reverse" if is_old else "$quiet"),
            (f" {words.do} ", "bold reverse") if words.is_now and not is_old else (words.do, "bold $accent"),
        ]
        for index, (label, line) in enumerate(lay_out(words, self.size.width or 50, self.size.height or 6)):
            parts += [(f"\n{label}", "$quiet"), (line, "bold") if index == 0 else line]
        self.say(Content.assemble(*parts))


class Countdown(Words):
    """Minutes to the next split in large figures; shown where there is room."""

    def show(self, glance: Glance) -> None:
        figures, caption = big_countdown(glance)
        rows = big(figures, glance.drawing, double=self.content_size.height >= 6)
        self.say(Content.assemble(("\n".join(rows), "bold $accent"), "\n", (caption, "bold")))
