"""The pit now, in large figures, and where it is going."""

from textual.content import Content

from tui.glance import Glance, pit_aim, pit_number, pit_trend
from tui.glyphs import big
from tui.text import UNKNOWN
from tui.widgets.words import Words

LARGEST_ROWS = 5


class PitNow(Words):
    """Temperature, trend, target; the figures are as large as the panel allows."""

    def show(self, glance: Glance) -> None:
        number = pit_number(glance)
        scale = "" if number == UNKNOWN else str(glance.preferences.degrees)
        double = self.content_size.height >= LARGEST_ROWS + 2 and self.content_size.width >= 8 * len(number)
        figures = list(big(number, glance.drawing, double=double))
        figures[0] += f" {scale}"
        lines: list[str | tuple[str, str]] = [("\n".join(figures), "bold $history")]
        lines += ["\n", (pit_trend(glance), "bold"), "\n", pit_aim(glance)]
        self.say(Content.assemble(*lines))
