"""The log page: every entry, newest first; each can be taken back or brought back."""

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.content import Content

from firebox.records import Undo
from tui.glance import Glance
from tui.lines import log_row
from tui.widgets.rows import Rows
from tui.widgets.words import Words


class LogPage(Vertical):
    """The entries of this cook."""

    def compose(self) -> ComposeResult:
        yield Words(id="log-head")
        yield Rows(id="log-rows")

    def show(self, glance: Glance) -> None:
        lines = [line for line in reversed(glance.view.lines) if not isinstance(line.entry, Undo)]
        rows = self.query_one(Rows)
        rows.fill(tuple((line.entry.id or "", log_row(glance, line)) for line in lines))
        rows.display = bool(lines)
        head = "ENTRIES, newest first" if lines else "No entries yet"
        self.query_one("#log-head", Words).say(Content.assemble((head, "bold $accent")))

    @property
    def chosen(self) -> str | None:
        """The id of the chosen entry."""
        return self.query_one(Rows).chosen
