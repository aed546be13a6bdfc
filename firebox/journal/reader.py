"""The dashboard's view of a running watch: what is new in the journal, how the keeper is, and the inbox."""

import sqlite3
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path
from typing import Final

import msgspec
from msgspec import Struct

from firebox.errors import JournalError, RecordError
from firebox.journal import history, lock
from firebox.journal.rows import ANSWER_WORDS, instant, reading_of
from firebox.journal.schema import open_reading, open_writing
from firebox.ports import KeeperStatus, Kind, SourceHealth
from firebox.records import Entry, Record, Tick, decode, encode

_TOLD: Final = f"type NOT IN ({', '.join(repr(word) for word in ANSWER_WORDS)})"
"""Answers are taken from `latest`."""

_TOLD_AND_FIRES: Final = f"({_TOLD} OR type = 'fire')"
"""Of the answers of the past only the fire's, one a logical minute, are shown: each split's heat over the hours."""


class KeeperNote(Struct, frozen=True, kw_only=True):
    """What the keeper lets be known, in `meta`."""

    pit: str
    kind: Kind
    rate: float
    sources: dict[str, SourceHealth] = {}
    boot: str | None = None
    """Which start of the machine the keeper ran under."""


def read_note(connection: sqlite3.Connection) -> KeeperNote | None:
    """Return what the keeper last let be known; None where there is nothing, or nothing that this version reads."""
    row = connection.execute("SELECT value FROM meta WHERE key = 'keeper'").fetchone()
    try:
        return msgspec.json.decode(row[0], type=KeeperNote) if row else None
    except msgspec.DecodeError:
        return None


class JournalLink:
    """A `firebox.ports.WatchLink` on a journal; for one thread at a time.

    Parameters
    ----------
    path : Path
        The journal; it need not be there yet.
    pit : str
        Name shown as long as no keeper has written its own.
    """

    def __init__(self, path: Path, pit: str = "pit") -> None:
        self._path = path
        self._pit = pit
        self._connection: sqlite3.Connection | None = None
        self._file: tuple[int, int] | None = None
        self._seen: int | None = None
        self._version: int | None = None
        self._note: KeeperNote | None = None

    def news(self) -> Sequence[Record]:
        """Return the records since the last call; see `firebox.ports.WatchLink`.

        A journal that is not there yet, or cannot be read just now, has no news; `status` says why.
        """
        try:
            connection = self._connect()
            if connection is None:
                return ()
            (version,) = connection.execute("PRAGMA data_version").fetchone()
            if version == self._version:
                return ()
            connection.execute("BEGIN")
            try:
                found = self._history(connection) if self._seen is None else self._since(connection, self._seen)
                self._note = read_note(connection) or self._note
            finally:
                connection.execute("COMMIT")
        except (sqlite3.DatabaseError, JournalError):
            self._disconnect()
            return ()
        self._version = version
        return found

    def status(self) -> KeeperStatus:
        """Return how the keeper is; whether it lives is told by its lock."""
        holder = lock.holder(self._path)
        note = self._note or KeeperNote(pit=self._pit, kind=Kind.LIVE, rate=1.0)
        return KeeperStatus(
            alive=holder is not None,
            pit=note.pit,
            kind=note.kind,
            rate=note.rate,
            pid=holder.pid if holder else None,
            problem=holder.problem if holder else None,
            sources=note.sources,
        )

    def leave(self, entry: Entry) -> None:
        """Leave an entry for the keeper; on disk when this returns.

        Raises
        ------
        JournalError
            It could not be left.
        """
        try:
            with closing(open_writing(self._path)) as connection:
                connection.execute("INSERT INTO inbox (body) VALUES (?)", (encode(entry).decode(),))
        except sqlite3.Error as error:
            raise JournalError(f"the entry could not be left in {self._path}: {error}") from error

    def close(self) -> None:
        """Let go of the journal; may be called twice."""
        self._disconnect()

    # --- the file --------------------------------------------------------------------------------

    def _connect(self) -> sqlite3.Connection | None:
        try:
            found = self._path.stat()
        except OSError:
            self._disconnect()
            return None
        if self._connection is not None and self._file == (found.st_dev, found.st_ino):
            return self._connection
        self._disconnect()
        self._connection = open_reading(self._path)
        self._file = (found.st_dev, found.st_ino)
        newest = history.last(self._connection)
        if self._seen is not None and (newest is None or newest[0] < self._seen):
            self._seen = None  # another journal lies here now
        return self._connection

    def _disconnect(self) -> None:
        if self._connection is not None:
            self._connection.close()
        self._connection, self._version = None, None

    # --- records ---------------------------------------------------------------------------------

    def _history(self, connection: sqlite3.Connection) -> list[Record]:
        known = history.cooks(connection)
        if not known:
            return []
        first = known[-1].first_seq
        found: list[tuple[int, Record]] = [*history.coarse_readings(connection, first)]
        found += _ticks(connection, first)[-1:]
        return self._in_order(
            found + _records(connection, first, _TOLD_AND_FIRES) + _latest(connection, first), first
        )

    def _since(self, connection: sqlite3.Connection, seen: int) -> list[Record]:
        first = seen + 1
        names = history.probe_names(connection)
        readings: list[tuple[int, Record]] = [
            (seq, reading_of(time, names[probe], celsius, status))
            for seq, time, probe, celsius, status in connection.execute(
                "SELECT seq, time, probe, celsius, status FROM readings WHERE seq >= ?", (first,)
            )
        ]
        found = readings + _ticks(connection, first) + _records(connection, first, _TOLD) + _latest(connection, first)
        return self._in_order(found, first)

    def _in_order(self, found: list[tuple[int, Record]], first: int) -> list[Record]:
        found.sort(key=lambda pair: pair[0])
        self._seen = max(self._seen or 0, found[-1][0] if found else first - 1)
        return [record for _, record in found]


def _ticks(connection: sqlite3.Connection, first: int) -> list[tuple[int, Record]]:
    rows = connection.execute("SELECT seq, time FROM ticks WHERE seq >= ? ORDER BY seq", (first,))
    return [(seq, Tick(time=instant(time))) for seq, time in rows]


def _records(connection: sqlite3.Connection, first: int, which: str) -> list[tuple[int, Record]]:
    query = f"SELECT seq, body FROM records WHERE seq >= ? AND {which} ORDER BY seq"  # noqa: S608  own words
    return _decoded(connection.execute(query, (first,)))


def _latest(connection: sqlite3.Connection, first: int) -> list[tuple[int, Record]]:
    return _decoded(connection.execute("SELECT seq, body FROM latest WHERE seq >= ? ORDER BY rowid", (first,)))


def _decoded(rows: sqlite3.Cursor) -> list[tuple[int, Record]]:
    found: list[tuple[int, Record]] = []
    for seq, body in rows:
        try:
            found.append((seq, decode(body)))
        except RecordError:
            # Of a later version, or damaged: nothing that a dashboard could show. Resume and export report it.
            continue
    return found
