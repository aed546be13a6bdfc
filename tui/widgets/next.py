"""The one thing to do next: what, when, why, and what it should bring."""

from textual.content import Content

from tui.glance import Glance, advice
from tui.widgets.words import Words


class NextMove(Words):
    """The recommendation; while it is to be done now its headline is shown reversed."""

    def show(self, glance: Glance) -> None:
        words = advice(glance)
        self.set_class(words.is_now, "-now")
        head = f" {words.do} " if words.is_now else words.do
        lines: list[str | tuple[str, str]] = [
            ("NEXT  ", "$quiet"), (head, "bold reverse" if words.is_now else "bold"),
            "\n      ", (words.when, "bold"),
            ("\nwhy   ", "$quiet"), words.why,
        ]  # fmt: skip
        if words.expect:
            lines += [("\nthen  ", "$quiet"), words.expect]
        self.say(Content.assemble(*lines))
