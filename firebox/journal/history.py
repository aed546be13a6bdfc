"""What the journal holds, read in order: cooks, and the records of one of them."""

import sqlite3
from collections.abc import Callable, Iterator
from datetime import datetime
from typing import Any, Final, Literal

from msgspec import Struct

from firebox.errors import JournalError, RecordError
from firebox.journal.rows import instant, reading_of
from firebox.records import Clock, Reading, Record, Tick, decode

NO_END: Final = 2**62
"""A `seq` beyond all."""

CHUNK: Final = 1000
"""Sequence numbers read at a time: whoever reads slowly (an export into a pager) holds up no checkpoint of the keeper,
so the write-ahead log does not grow."""

Say = Callable[[str], None]
"""Takes what could not be read, one line of text at a time."""


class Cook(Struct, frozen=True, kw_only=True):
    """One cook of a journal; `end_seq` is the first `seq` that is no longer part of it."""

    id: int
    kind: str
    started: datetime
    ended: datetime | None
    first_seq: int
    end_seq: int = NO_END


def cooks(connection: sqlite3.Connection) -> list[Cook]:
    """Return the cooks of a journal, oldest first."""
    rows = connection.execute("SELECT id, kind, started, ended, first_seq FROM cooks ORDER BY id").fetchall()
    ends = [*(row[4] for row in rows[1:]), NO_END]
    return [
        Cook(
            id=number,
            kind=kind,
            started=instant(started),
            ended=None if ended is None else instant(ended),
            first_seq=first,
            end_seq=end,
        )
        for (number, kind, started, ended, first), end in zip(rows, ends, strict=False)
    ]


def pick(connection: sqlite3.Connection, number: int | None = None) -> Cook:
    """Return a cook by its number, or the newest.

    Raises
    ------
    JournalError
        There is none; the message says which there are.
    """
    known = cooks(connection)
    for cook in reversed(known):
        if number is None or cook.id == number:
            return cook
    there = f"there are {', '.join(str(cook.id) for cook in known)}" if known else "there is none yet"
    raise JournalError(f"no cook {'at all' if number is None else number} in the journal; {there}")


_IN: Final = """
SELECT seq, 0, time, probe, celsius, status FROM readings WHERE seq >= :first AND seq < :end
UNION ALL SELECT seq, 1, time, NULL, NULL, NULL FROM ticks WHERE seq >= :first AND seq < :end
UNION ALL SELECT seq, 2, time, body, NULL, NULL FROM records WHERE seq >= :first AND seq < :end AND way = 'in'
ORDER BY 1
"""
_ALL: Final = _IN.replace(" AND way = 'in'", "")
_TOLD: Final = "SELECT seq, body FROM records WHERE seq >= :first AND seq < :end ORDER BY 1"


def records(
    connection: sqlite3.Connection,
    first: int,
    end: int = NO_END,
    *,
    ways: Literal["in", "all"] = "in",
    say: Say | None = None,
) -> Iterator[tuple[int, Record]]:
    """Yield (seq, record) from `first` up to `end`, exclusive, in order; never all of them in memory.

    What cannot be decoded (a damaged body, a type of a later version) is told to `say` and passed over.
    """
    names = probe_names(connection)
    for seq, sort, time, text, celsius, status in _rows(connection, first, end, _IN if ways == "in" else _ALL):
        if sort == 0:
            yield seq, reading_of(time, names[text], celsius, status)
        elif sort == 1:
            yield seq, Tick(time=instant(time))
        else:
            yield from _decoded(seq, text, say)


def told(
    connection: sqlite3.Connection, first: int, end: int = NO_END, *, say: Say | None = None
) -> Iterator[tuple[int, Record]]:
    """Yield (seq, record) from `first` up to `end`, exclusive, of all that is neither a reading nor a tick; as `records`."""
    for seq, text in _rows(connection, first, end, _TOLD):
        yield from _decoded(seq, text, say)


def _decoded(seq: int, text: str, say: Say | None) -> Iterator[tuple[int, Record]]:
    try:
        yield seq, decode(text)
    except RecordError as error:
        if say is not None:
            say(f"record {seq} of the journal: {error}; passed over")


def _rows(connection: sqlite3.Connection, first: int, end: int, query: str) -> Iterator[tuple[Any, ...]]:
    newest = last(connection)
    end = min(end, newest[0] + 1 if newest else first)
    while first < end:
        yield from connection.execute(query, {"first": first, "end": min(first + CHUNK, end)}).fetchall()
        first += CHUNK


_LAST: Final = """
SELECT seq, time, NULL AS body FROM (SELECT seq, time FROM readings ORDER BY seq DESC LIMIT 1)
UNION ALL SELECT seq, time, NULL FROM (SELECT seq, time FROM ticks ORDER BY seq DESC LIMIT 1)
UNION ALL SELECT seq, time, body FROM
  (SELECT seq, time, CASE name WHEN 'clock' THEN body END AS body FROM records ORDER BY seq DESC LIMIT 1)
ORDER BY 1 DESC LIMIT 1
"""


def last(connection: sqlite3.Connection) -> tuple[int, datetime] | None:
    """Return the newest `seq` and the instant reached by it; None for an empty journal."""
    row = connection.execute(_LAST).fetchone()
    if row is None:
        return None
    seq, time, body = row
    if body is not None:
        record = decode(body)
        if isinstance(record, Clock):
            return seq, record.to
    return seq, instant(time)


class _Names(dict[int, str]):
    """Names of probes; one whose name was lost with a damaged page is called by its number."""

    def __missing__(self, number: int) -> str:
        return f"probe {number}"


def probe_names(connection: sqlite3.Connection) -> dict[int, str]:
    """Return the names of the probes by the number that the readings hold."""
    return _Names(connection.execute("SELECT id, name FROM probes"))


def coarse_readings(connection: sqlite3.Connection, first: int, end: int = NO_END) -> list[tuple[int, Reading]]:
    """Return (seq, reading) from `first` up to `end`, exclusive, thinned to at most one a probe every ten seconds."""
    names = probe_names(connection)
    rows = connection.execute(
        "SELECT seq, time, probe, celsius, status FROM readings INDEXED BY readings_coarse"
        " WHERE coarse = 1 AND seq >= ? AND seq < ? ORDER BY seq",
        (first, end),
    )
    return [(seq, reading_of(time, names[probe], celsius, status)) for seq, time, probe, celsius, status in rows]
