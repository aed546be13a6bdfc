"""A cook as it is looked back on: all that was entered and answered, and the readings thinned."""

import heapq
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import Final

from msgspec import Struct

from firebox.errors import RecordError
from firebox.journal import history
from firebox.journal.history import Cook, Say
from firebox.journal.rows import instant
from firebox.journal.schema import looking_into
from firebox.records import Record, decode
from firebox.setup import Setup


class Outline(Struct, frozen=True, kw_only=True):
    """What a list tells of a cook: its newest setup, and how far its records reach; None: it cannot be read."""

    setup: Setup | None
    reaches: datetime | None


def outlines(path: Path, cooks: Sequence[Cook]) -> list[Outline]:
    """Return the outline of each of some cooks of a journal.

    Raises
    ------
    JournalError
        No such journal, or it cannot be read on.
    """
    with looking_into(path) as connection:
        return [_outline(connection, cook) for cook in cooks]


def _outline(connection: sqlite3.Connection, cook: Cook) -> Outline:
    span = {"first": cook.first_seq, "end": cook.end_seq}
    row = connection.execute(_NEWEST_SETUP, span).fetchone()
    (reaches,) = connection.execute(_REACHES, span).fetchone()
    told = None
    if row is not None:
        with suppress(RecordError):  # the list is read without it
            told = decode(row[0])
    return Outline(
        setup=told if isinstance(told, Setup) else None, reaches=None if reaches is None else instant(reaches)
    )


_NEWEST_SETUP: Final = """
SELECT body FROM records WHERE seq >= :first AND seq < :end AND way = 'in' AND type = 'setup' ORDER BY seq DESC LIMIT 1
"""
_REACHES: Final = """
SELECT max(time) FROM (
  SELECT max(time) AS time FROM records WHERE seq >= :first AND seq < :end
  UNION ALL SELECT max(time) FROM readings WHERE seq >= :first AND seq < :end
  UNION ALL SELECT max(time) FROM ticks WHERE seq >= :first AND seq < :end
)
"""


def thinned(path: Path, cook: Cook, *, say: Say | None = None) -> Iterator[Record]:
    """Yield the records of a cook in order, in and out; readings at most one a probe every ten seconds, and no ticks.

    Parameters
    ----------
    path : Path
    cook : Cook
        One of `history.cooks`.
    say : callable, optional
        Takes what could not be read.

    Raises
    ------
    JournalError
        No such journal, or it cannot be read on.
    """
    with looking_into(path) as connection:
        readings = history.coarse_readings(connection, cook.first_seq, cook.end_seq)
        others = history.told(connection, cook.first_seq, cook.end_seq, say=say)
        for _, record in heapq.merge(readings, others, key=lambda pair: pair[0]):
            yield record
