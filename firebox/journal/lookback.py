"""A cook as it is looked back on: all that was entered and answered, and the readings thinned."""

import heapq
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

from firebox.errors import JournalError
from firebox.journal import history
from firebox.journal.history import Cook, Say
from firebox.journal.schema import open_reading
from firebox.records import Record


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
    with closing(open_reading(path)) as connection:
        try:
            readings = history.coarse_readings(connection, cook.first_seq, cook.end_seq)
            others = history.told(connection, cook.first_seq, cook.end_seq, say=say)
            for _, record in heapq.merge(readings, others, key=lambda pair: pair[0]):
                yield record
        except sqlite3.DatabaseError as error:
            raise JournalError(f"{path}: {error}") from error
