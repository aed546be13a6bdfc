"""Recorded cooks, line by line, without a file: JSON lines and CSV to records."""

import csv
from collections.abc import Iterable, Iterator
from typing import Any, Final

from msgspec import Struct

from drivers.lines import excerpt
from firebox.errors import RecordError, UnknownRecordError
from firebox.records import Record, Status, from_plain, parse

LINE_LIMIT: Final = 65_536
"""Bytes in one line of a recording at most; the longest record, a note, has a few thousand."""

STATES: Final = frozenset({Status.OPEN, Status.SHORTED, Status.FAILED})

CONCLUSIONS: Final = frozenset(
    {"setup", "tick", "outlook", "move", "fire", "meat", "plan", "alarm", "probe", "question"}
)
"""Types of records that a recorded watch was told once, or concluded; they are no input of a replay."""

OWN_ENTRIES: Final = frozenset({"resumed", "trouble"})
"""Entries that the recording keeper made about itself."""


class Found(Struct, frozen=True):
    """What stands on one line of a recording: records, or why there are none."""

    line: int
    records: tuple[Record, ...] = ()
    problem: str | None = None


def read_json_lines(lines: Iterable[bytes]) -> Iterator[Found]:
    """Yield the readings and entries on each line of a JSON-lines recording, and what cannot be used.

    Entries and records of a kind that this version does not know are reported once for each kind.
    """
    unknown: set[str] = set()
    for number, line in enumerate(lines, 1):
        if not line.strip():
            continue
        try:
            plain = _parse_line(line)
            if _is_input(plain):
                yield Found(number, (from_plain(plain),))
        except UnknownRecordError as error:
            if str(error) not in unknown:
                unknown.add(str(error))
                yield Found(number, problem=f"{error}; lines of that kind are passed over")
        except RecordError as error:
            yield Found(number, problem=f"{excerpt(line.strip())}: {error}")


def _is_input(plain: Any) -> bool:  # any JSON value; one that is no record is refused later, with its reason
    if not isinstance(plain, dict):
        return True
    kind, entry = plain.get("type"), plain.get("entry")
    return not (isinstance(kind, str) and kind in CONCLUSIONS) and not (
        isinstance(entry, str) and entry in OWN_ENTRIES
    )


def _parse_line(line: bytes) -> Any:  # any JSON value
    if len(line) > LINE_LIMIT:
        raise RecordError(f"longer than {LINE_LIMIT} bytes")
    return parse(line)


def read_csv(lines: Iterable[bytes]) -> Iterator[Found]:
    """Yield the readings and entries on each row of a CSV recording (RFC 4180), and what cannot be used.

    The first row names the columns. With a `probe` and a `celsius` column each row is one record: a reading
    (`status` may follow), or what stands in `body` as JSON. Without, every column but `time` is a probe, in degC,
    and an empty cell is no reading.
    """
    rows = csv.reader(line.decode(errors="replace").replace("\0", "") for line in lines)
    header: list[str] | None = None
    while True:
        try:
            row = next(rows)
        except StopIteration:
            return
        except csv.Error as error:
            yield Found(rows.line_num, problem=str(error))
            continue
        if not any(row):
            continue
        if header is None:
            header = [name.strip().removeprefix("\ufeff") for name in row]
            if "time" not in header:
                yield Found(rows.line_num, problem=f"the first row has no column time, only {excerpt(header)}")
                return
            continue
        yield _read_row(rows.line_num, header, row)


def _read_row(number: int, header: list[str], row: list[str]) -> Found:
    if len(row) != len(header):
        return Found(number, problem=f"{len(row)} columns instead of {len(header)}")
    cells = {name: cell.strip() for name, cell in zip(header, row, strict=True)}
    try:
        return Found(number, tuple(from_plain(plain) for plain in _readings(cells)))
    except RecordError as error:
        return Found(number, problem=f"{excerpt(','.join(row))}: {error}")


def _readings(cells: dict[str, str]) -> Iterator[Any]:  # decoded JSON values
    if not {"probe", "celsius"} <= cells.keys():
        yield from _wide(cells)
    elif cells.get("body"):
        plain = parse(cells["body"])
        if _is_input(plain):
            yield plain
    elif cells.get("type", "reading") == "reading":
        yield _reading(cells["time"], cells["probe"], cells["celsius"], cells.get("status") or "good")


def _wide(cells: dict[str, str]) -> Iterator[dict[str, Any]]:
    for probe, cell in cells.items():
        if probe == "time" or not cell:
            continue
        word = cell.lower()
        yield (
            _reading(cells["time"], probe, "", word)
            if word in STATES
            else _reading(cells["time"], probe, cell, "good")
        )


def _reading(time: str, probe: str, celsius: str, status: str) -> dict[str, Any]:
    try:
        number = float(celsius) if celsius else None
    except ValueError:
        raise RecordError(f"celsius {excerpt(celsius)} is no number") from None
    return {"type": "reading", "time": time, "probe": probe, "celsius": number, "status": status}
