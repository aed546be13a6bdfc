"""The chart and the heat ribbon on their common time axis."""

from itertools import groupby
from typing import ClassVar

from rich.segment import Segment
from textual.strip import Strip
from textual.widget import Widget

from tui.glance import Glance
from tui.plot import Picture, draw
from tui.scene import cache_key, scene


class FirePicture(Widget):
    """Draws the picture of the fire; every part has a component class, so the theme alone knows its colour."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        "plain", "label", "aim", "axis", "band", "fan", "middle",
        "promise", "history", "now", "mark", "due", "gap",
        "drying", "drying-next", "flaming", "flaming-next", "coals", "coals-next", "other", "needed", "short",
    }  # fmt: skip

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002 - the name that every widget uses
        super().__init__(id=id)
        self._glance: Glance | None = None
        self._key: tuple[object, ...] = ()
        self._picture: Picture = ()

    def show(self, glance: Glance) -> None:
        self._glance = glance
        key = (*cache_key(glance, self.size.width), self.size)
        if key != self._key:
            self._key = key
            self._picture = draw(scene(glance), self.size.width, self.size.height, glance.drawing)
            self.refresh()

    def on_resize(self) -> None:
        if self._glance is not None:
            self.show(self._glance)

    def render_line(self, y: int) -> Strip:
        if y >= len(self._picture):
            return Strip.blank(self.size.width, self.rich_style)
        segments = [
            Segment("".join(character for character, _ in cells), self.get_component_rich_style(part))
            for part, cells in groupby(self._picture[y], key=lambda cell: cell[1])
        ]
        return Strip(segments, self.size.width)
