"""A run of styled words that is laid out anew only when it changes."""

from textual.content import Content
from textual.widgets import Static


class Words(Static):
    """Text of one panel; `say` does nothing when the words are the same."""

    def __init__(self, *, id: str | None = None, classes: str | None = None) -> None:  # noqa: A002 - the name that every widget uses
        super().__init__("", id=id, classes=classes, markup=False)
        self._said: Content | None = None

    @property
    def said(self) -> str:
        """What stands there now, without styles."""
        return self._said.plain if self._said else ""

    def say(self, content: Content) -> None:
        """Show these words."""
        before = self._said
        if before is not None and before.plain == content.plain and before.spans == content.spans:
            return
        self._said = content
        self.update(
            content, layout=before is None or before.plain.count("\n") != content.plain.count("\n") or _grows(self)
        )


def _grows(words: Words) -> bool:
    """Tell whether the panel's height hangs on its words."""
    return words.styles.height is not None and words.styles.height.is_auto
