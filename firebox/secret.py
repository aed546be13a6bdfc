"""A password that cannot be printed by accident."""

from typing import Final

STARS: Final = "********"


class Secret:
    """A password or key phrase; shows stars wherever it is printed, formatted or logged.

    Only `reveal` gives the text, so a search for that word finds every place that uses one. A secret is no
    `str` on purpose: what joins, encodes or journals strings refuses it.

    Examples
    --------
    >>> phrase = Secret("oak and salt")
    >>> f"{phrase} {phrase!r}", phrase.reveal()
    ("******** Secret('********')", 'oak and salt')
    """

    __slots__ = ("_text",)

    def __init__(self, text: str) -> None:
        self._text = text

    def reveal(self) -> str:
        """Return the text itself, for the library that needs it."""
        return self._text

    def __repr__(self) -> str:
        return f"Secret({STARS!r})"

    def __str__(self) -> str:
        return STARS

    def __bool__(self) -> bool:
        return bool(self._text)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Secret) and self._text == other._text

    def __hash__(self) -> int:
        return hash(self._text)

    def __reduce__(self) -> str:
        raise TypeError("a secret is not written to disk")
