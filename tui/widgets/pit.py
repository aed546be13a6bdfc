"""The pit now, in large figures, and where it is going."""

from textual.content import Content

from tui.glance import Glance, pit_aim, pit_number, pit_trend
from tui.glyphs import big
from tui.text import UNKNOWN
from tui.widgets.words import Words


class PitNow(Words):
    """Temperature, trend, target."""

    def show(self, glance: Glance) -> None:
        number = pit_number(glance)
        scale = "" if number == UNKNOWN else str(glance.preferences.degrees)
        double = self.size.height >= 8 and not glance.drawing.ascii
        figures = big(number + scale, glance.drawing, double=double)
        trend = pit_trend(glance)
        self.say(
            Content.assemble(("\n".join(figures), "bold $history"), "\n", (trend, "bold"), "\n", pit_aim(glance))
        )
