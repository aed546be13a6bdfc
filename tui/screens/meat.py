"""The meat page: one piece in full, the others to choose from."""

from textual.app import ComposeResult
from textual.containers import Vertical, VerticalScroll
from textual.content import Content

from tui.glance import Glance
from tui.meat_words import HEAD, detail, piece_row, pieces
from tui.widgets.rows import Rows
from tui.widgets.words import Words


class MeatPage(Vertical):
    """Pieces above where there are several, the chosen one below."""

    def __init__(self, *, id: str) -> None:  # noqa: A002 - the name that every widget uses
        super().__init__(id=id)
        self._glance: Glance | None = None

    def compose(self) -> ComposeResult:
        yield Rows(id="piece-rows")
        with VerticalScroll(id="piece-scroll", classes="-scrolls"):
            yield Words(id="piece-detail")

    def on_option_list_option_highlighted(self) -> None:
        """Show the piece that was chosen at once."""
        self.call_after_refresh(self._show_again)

    def _show_again(self) -> None:
        if self._glance is not None:
            self.show(self._glance)

    def show(self, glance: Glance) -> None:
        self._glance = glance
        names = pieces(glance)
        rows = self.query_one(Rows)
        rows.fill(tuple((name, piece_row(glance, name)) for name in names))
        rows.display = len(names) > 1
        chosen = self.chosen or (names[0] if names else None)
        if chosen is None:
            none = "NO MEAT PROBE\n", HEAD
            words = Content.assemble(
                none, "A probe that is none of grate, firebox, stack or ambient is taken for one in meat."
            )
        else:
            words = Content.assemble(*detail(glance, chosen))
        self.query_one("#piece-detail", Words).say(words)

    @property
    def chosen(self) -> str | None:
        """The name of the chosen piece."""
        return self.query_one(Rows).chosen
