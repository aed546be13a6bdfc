"""The guide page: how to keep a fire in an offset."""

from collections.abc import Iterable, Iterator
from importlib import resources

from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.widget import Widget

from tui.glyphs import Glyphs
from tui.widgets.words import Words

Run = tuple[str, str]


def paragraphs(page: str) -> tuple[str, ...]:
    r"""Return the headings, paragraphs and points of a page, each on one line.

    Examples
    --------
    >>> paragraphs("# Fire\n\nA small\none.\n\n- wood,\n  dry\n- air\n")
    ('# Fire', 'A small one.', '- wood, dry', '- air')
    """
    found: list[str] = []
    fresh = True
    for line in page.splitlines():
        text = line.strip()
        if not text:
            fresh = True
        elif fresh or text.startswith(("- ", "#")):
            found.append(text)
            fresh = text.startswith("#")
        else:
            found[-1] += f" {text}"
    return tuple(found)


def runs(line: str) -> Iterator[Run]:
    """Yield a line's parts, those between double stars bold and those between back quotes as typed.

    Examples
    --------
    >>> list(runs("**Burns.** Press `s`."))
    [('Burns.', 'bold'), (' Press ', ''), ('s', 'bold $accent'), ('.', '')]
    """
    for number, part in enumerate(line.split("**")):
        for typed, piece in enumerate(part.split("`")):
            style = "bold" if number % 2 else "bold $accent" if typed % 2 else ""
            if piece:
                yield piece, style


class GuidePage(VerticalScroll):
    """The guide, a paragraph each, no wider than is good to read."""

    def __init__(self, drawing: Glyphs, *, id: str | None = None, classes: str | None = None) -> None:  # noqa: A002 - as every widget
        super().__init__(id=id, classes=classes)
        self._drawing = drawing

    def on_show(self) -> None:
        """Lay the guide out the first time that it is looked at."""
        if self.children:
            return
        page = resources.files("firebox").joinpath("guide.md").read_text(encoding="utf-8")
        lines = paragraphs(page.replace("°", "") if self._drawing.ascii else page)
        self.mount_all(_laid_out(line, self._drawing) for line in lines)


def _laid_out(line: str, drawing: Glyphs) -> Widget:
    if line.startswith("- "):
        dot = "-" if drawing.ascii else drawing.dot
        return Horizontal(_said([(dot, "$quiet")], "-dot"), _said(runs(line[2:])), classes="-point")
    if line.startswith("#"):
        return _said([(line.lstrip("# ").upper(), "bold $accent")], "-head")
    return _said(runs(line))


def _said(parts: Iterable[Run], classes: str | None = None) -> Words:
    words = Words(classes=classes)
    words.say(Content.assemble(*parts))
    return words
