"""What a review is told in: sections of words and tables, for whatever shows it."""

from msgspec import Struct


class Table(Struct, frozen=True, kw_only=True):
    """Rows under heads; `left` tells which columns are words and stand at the left, `wide` which of them may break."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    left: tuple[int, ...] = (0,)
    wide: tuple[int, ...] = ()
    full: bool = False
    """Only for whoever asks for all of it."""
    title: str = ""
    """What to ask for, where it is `full`."""


class Tile(Struct, frozen=True, kw_only=True):
    """One figure that stands for a whole section."""

    label: str
    value: str
    note: str = ""


class Section(Struct, frozen=True, kw_only=True):
    """One part of a review; `key` says where a picture belongs."""

    key: str
    title: str
    words: tuple[str, ...] = ()
    tables: tuple[Table, ...] = ()
    small: tuple[str, ...] = ()
    """What one should know before one believes it."""


class Try(Struct, frozen=True, kw_only=True):
    """Something to try next time, and why."""

    what: str
    why: str
