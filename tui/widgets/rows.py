"""A list of rows with one chosen, that keeps the choice while rows come and go."""

from typing import Final

from textual.widgets import OptionList
from textual.widgets.option_list import Option

CHOSEN: Final = "> "
OTHER: Final = "  "


class Rows(OptionList):
    """Rows by name; touched only where something changed. The chosen row has a mark before it, not only a colour."""

    def __init__(self, *, id: str) -> None:  # noqa: A002 - the name that every widget uses
        super().__init__(id=id, markup=False)
        self._rows: tuple[tuple[str, str], ...] = ()

    @property
    def chosen(self) -> str | None:
        """The name of the chosen row."""
        return self._rows[self.highlighted][0] if self.highlighted is not None and self._rows else None

    def fill(self, rows: tuple[tuple[str, str], ...]) -> None:
        """Show (name, text) rows."""
        if rows == self._rows:
            return
        chosen, before = self.chosen, self._rows
        self._rows = rows
        if [name for name, _ in rows] == [name for name, _ in before]:
            for index, (old, new) in enumerate(zip(before, rows, strict=True)):
                if old != new:
                    self._mark(index)
            return
        self.clear_options()
        self.add_options(Option(OTHER + text) for _, text in rows)
        names = [name for name, _ in rows]
        if names:
            self.highlighted = names.index(chosen) if chosen in names else 0

    def _mark(self, index: int | None) -> None:
        if index is not None and index < self.option_count:
            mark = CHOSEN if index == self.highlighted else OTHER
            self.replace_option_prompt_at_index(index, mark + self._rows[index][1])

    def watch_highlighted(self, highlighted: int | None) -> None:
        """Move the mark along with the choice."""
        super().watch_highlighted(highlighted)
        for index in range(self.option_count):
            has_mark = str(self.get_option_at_index(index).prompt).startswith(CHOSEN)
            if has_mark != (index == highlighted):
                self._mark(index)
