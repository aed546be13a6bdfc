"""What can still be read of a damaged journal, carried over into a new one; the damaged file is kept beside it.

Tables are read in the order of their row numbers. Where a page is unreadable the reading goes on behind it, found by
trying ever wider steps. When the first page itself is damaged (no SQLite file at all, as it seems) it is replaced, in
a copy, by that of an empty journal: tables are always made in the same order and so lie at the same pages.
"""

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from firebox.errors import JournalError, RecordError
from firebox.journal.schema import TABLES, damage, open_writing
from firebox.records import decode

CHECKED_BYTES: Final = 64 << 20
"""Files up to this size are checked page by page when they are opened, which takes a few tenths of a second; in a
larger one damage is found when it is met."""

_PAGE: Final = 4096
_WIDEST_STEP: Final = 1 << 24
_CARRIED: Final = tuple(table for table in TABLES if table not in {"latest", "meta", "snapshots"})
"""The rest is made anew while the watch runs; a snapshot from a damaged file is not to be trusted."""

_INSTANT: Final = "typeof({0}) = 'integer' AND {0} BETWEEN 0 AND 7258118400000000"
"""Microseconds from 1970 to 2200: what a computer's clock may say."""

_SOUND: Final = {
    "readings": f"{_INSTANT.format('time')} AND typeof(probe) = 'integer' AND status BETWEEN 0 AND 3"
    " AND (typeof(celsius) = 'real' AND status = 0 OR celsius IS NULL AND status > 0)",
    "ticks": _INSTANT.format("time"),
    "records": f"{_INSTANT.format('time')} AND way IN ('in', 'out') AND typeof(body) = 'text'",
    "cooks": f"{_INSTANT.format('started')} AND typeof(first_seq) = 'integer'",
}
"""What a row has to be to be believed; damage also shows as values that no journal holds."""


class DamagedError(JournalError):
    """A journal turned out to be damaged while it was read."""


def is_damage(error: sqlite3.Error) -> bool:
    """Tell whether an error means that the file is damaged (and not that the disk is full, locked or read-only).

    A schema format that no SQLite writes is told as a plain error, with these words alone to know it by.
    """
    code: int = getattr(error, "sqlite_errorcode", 0)
    return code & 0xFF in {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB} or "unsupported file format" in str(error)


def check(connection: sqlite3.Connection, path: Path) -> None:
    """Look a journal over, unless it is large.

    Raises
    ------
    sqlite3.DatabaseError
        It is damaged; `is_damage` is true of the error.
    """
    if path.stat().st_size > CHECKED_BYTES:
        return
    try:
        (verdict,) = connection.execute("PRAGMA quick_check(1)").fetchone()
    except UnicodeDecodeError as error:
        raise damage("database disk image is malformed, down to its names") from error
    if verdict != "ok":
        raise damage(f"database disk image is malformed: {verdict}")


def renew(path: Path) -> str:
    """Put a new journal with all that is readable of the damaged one in its place; return what was done, in words.

    The damaged file is moved to `<name>.corrupt-<time>` when the new one is complete; whatever fails before leaves
    it where it is.

    Raises
    ------
    sqlite3.Error, OSError
        The new journal could not be made.
    """
    fresh = path.with_name(path.name + ".salvage")
    source = path.with_name(path.name + ".salvage-source")
    aside = _aside(path)
    try:
        _remove(fresh)
        counts = _carry_over(path, source, fresh)
        for end in ("", "-wal", "-shm"):
            with suppress(FileNotFoundError):
                path.with_name(path.name + end).rename(aside.with_name(aside.name + end))
        fresh.rename(path)
    finally:
        _remove(fresh)
        _remove(source)
    told = ", ".join(f"{count} {table}" for table, count in counts.items() if count)
    return (
        f"{path} was damaged; it is kept as {aside.name}, and what could be read is in a new one: {told or 'nothing'}"
    )


def _aside(path: Path) -> Path:
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%SZ")
    aside = path.with_name(f"{path.name}.corrupt-{stamp}")
    number = 1
    while aside.exists():
        number += 1
        aside = path.with_name(f"{path.name}.corrupt-{stamp}-{number}")
    return aside


def _remove(path: Path) -> None:
    for end in ("", "-wal", "-shm"):
        path.with_name(path.name + end).unlink(missing_ok=True)


def _carry_over(damaged: Path, source: Path, fresh: Path) -> dict[str, int]:
    with closing(open_writing(fresh)) as new:
        new.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        _copy(damaged, source)
        if not _opens(source):
            _mend_first_page(source, fresh)
        counts = dict.fromkeys(_CARRIED, 0)
        if not _opens(source):
            return counts
        with closing(sqlite3.connect(source, isolation_level=None)) as old:
            new.execute("BEGIN")
            for table in _CARRIED:
                counts[table] = _carry_table(old, new, table)
            new.execute("COMMIT")
        new.execute("PRAGMA journal_mode = DELETE")
    return counts


def _copy(damaged: Path, source: Path) -> None:
    for end in ("", "-wal"):
        part = damaged.with_name(damaged.name + end)
        if part.exists():
            shutil.copyfile(part, source.with_name(source.name + end))


def _opens(path: Path) -> bool:
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        try:
            names = {row[0] for row in connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")}
        except (sqlite3.DatabaseError, UnicodeDecodeError):
            return False
    return set(_CARRIED) <= names


def _mend_first_page(source: Path, fresh: Path) -> None:
    with fresh.open("rb") as file:
        page = bytearray(file.read(_PAGE))
    page[28:32] = (source.stat().st_size // _PAGE).to_bytes(4, "big")  # size in pages
    page[32:40] = bytes(8)  # no free pages
    with source.open("r+b") as file:
        file.write(page)


def _carry_table(old: sqlite3.Connection, new: sqlite3.Connection, table: str) -> int:
    columns = [row[1] for row in new.execute(f"PRAGMA table_info({table})")]
    marks = ", ".join("?" * len(columns))
    insert = f"INSERT OR IGNORE INTO {table} ({', '.join(columns)}) VALUES ({marks})"  # noqa: S608  own names
    count = 0
    for row in _readable(old, table, columns):
        if table in {"records", "inbox"} and not _decodes(row[-1]):
            continue
        count += new.execute(insert, row).rowcount
    return count


def _readable(old: sqlite3.Connection, table: str, columns: list[str]) -> Iterator[tuple[Any, ...]]:
    """Yield what can be read of a table, in the order of its row numbers."""
    query = (
        f"SELECT rowid, {', '.join(columns)} FROM {table}"  # noqa: S608  own names
        f" WHERE rowid > ? AND {_SOUND.get(table, 'TRUE')} ORDER BY rowid"
    )
    old.execute("PRAGMA cell_size_check = ON")
    place: int | None = -1
    while place is not None:
        try:
            for rowid, *row in old.execute(query, (place,)):
                place = rowid
                yield tuple(row)
        except sqlite3.DatabaseError:
            place = _behind_damage(old, query, place)
        else:
            return


def _behind_damage(old: sqlite3.Connection, query: str, place: int) -> int | None:
    """Return the least place behind the damage after `place` from which something can be read; None: there is none."""

    def readable(from_place: int) -> bool:
        try:
            old.execute(f"{query} LIMIT 1", (from_place,)).fetchone()
        except sqlite3.DatabaseError:
            return False
        return True

    step = 1
    while not readable(place + step):
        step *= 2
        if step > _WIDEST_STEP:
            return None
    low, high = place + step // 2, place + step
    while high - low > 1:
        middle = (low + high) // 2
        if readable(middle):
            high = middle
        else:
            low = middle
    return high


def _decodes(body: Any) -> bool:  # whatever the damaged file held
    try:
        decode(body)
    except (RecordError, TypeError):
        return False
    return True
