"""A cook as JSON lines or CSV, record by record, from a journal that may be in use or on a read-only disk.

The JSON lines are those of the stream: fed to `firebox stream`, what came in gives the same answers again. The CSV
has one row a record, for a spreadsheet; what a reading has stands in columns, the rest of a record as JSON. Parquet has
the same columns (`firebox.journal.parquet`).
"""

import csv
import io
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

from firebox.journal import history
from firebox.journal.history import Cook, Say
from firebox.journal.rows import name_of, type_of
from firebox.journal.schema import looking_into
from firebox.records import Reading, Record, encode

COLUMNS: Final = ("time", "type", "probe", "celsius", "status", "name", "body")
"""`name` is the entry's word, the alarm or the probe; `body` is the record as JSON, empty for readings and ticks."""


def list_cooks(path: Path) -> list[Cook]:
    """Return the cooks of a journal, oldest first.

    Raises
    ------
    JournalError
        There is no journal, or it cannot be read.
    """
    with looking_into(path) as connection:
        return history.cooks(connection)


def json_lines(
    path: Path, cook: int | None = None, *, answers: bool = False, say: Say | None = None
) -> Iterator[bytes]:
    """Yield the records of one cook as lines of JSON, line end included.

    Parameters
    ----------
    path : Path
    cook : int, optional
        Its number; None: the newest.
    answers : bool
        Whether to include what came out as well.
    say : callable, optional
        Takes what could not be read.

    Raises
    ------
    JournalError
        No such journal or cook, or it cannot be read on.
    """
    for record in _records(path, cook, answers=answers, say=say):
        yield encode(record) + b"\n"


def csv_lines(path: Path, cook: int | None = None, *, answers: bool = False, say: Say | None = None) -> Iterator[str]:
    """Yield the records of one cook as lines of CSV (RFC 4180), first the names of the columns; as `json_lines`."""
    yield _csv(COLUMNS)
    for record in _records(path, cook, answers=answers, say=say):
        yield _csv(_cells(record))


def numbered_records(
    path: Path, cooks: Sequence[int], *, answers: bool = False, say: Say | None = None
) -> Iterator[tuple[int, Record]]:
    """Yield (number of the cook, record) of several cooks, one after the other; as `json_lines`."""
    for cook in cooks:
        for record in _records(path, cook, answers=answers, say=say):
            yield cook, record


def _records(path: Path, cook: int | None, *, answers: bool, say: Say | None) -> Iterator[Record]:
    with looking_into(path) as connection:
        chosen = history.pick(connection, cook)
        ways: Final = "all" if answers else "in"
        for _, record in history.records(connection, chosen.first_seq, chosen.end_seq, ways=ways, say=say):
            yield record


def _cells(record: Record) -> tuple[str, ...]:
    time = _time(record)
    if isinstance(record, Reading):
        celsius = "" if record.celsius is None else repr(record.celsius)
        return (time, "reading", record.probe, celsius, record.status.value, "", "")
    word = type_of(record)
    return (time, word, "", "", "", name_of(record) or "", "" if word == "tick" else encode(record).decode())


def _time(record: Record) -> str:
    """Return the instant of a record as it stands in JSON."""
    return record.time.isoformat().replace("+00:00", "Z")


def _csv(cells: tuple[str, ...]) -> str:
    line = io.StringIO()
    csv.writer(line).writerow(cells)
    return line.getvalue()
