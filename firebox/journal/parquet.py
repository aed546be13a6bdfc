"""Cooks as a Parquet file, for whoever reckons with many: the columns of the CSV with their types, and the cook's number.

Needs pyarrow, which is an extra. Rows are written in groups, so a cook is never all in memory.
"""

from collections.abc import Iterable, Iterator
from itertools import islice
from typing import Any, BinaryIO, Final

import pyarrow as pa
import pyarrow.parquet as pq

from firebox.journal.rows import name_of, type_of
from firebox.records import Reading, Record, Tick, encode

GROUP: Final = 65_536
"""Rows of a group: an hour or two of a busy cook."""

SCHEMA: Final = pa.schema([
    ("cook", pa.int32()),
    ("time", pa.timestamp("us", tz="UTC")),
    ("type", pa.dictionary(pa.int32(), pa.string())),
    ("probe", pa.dictionary(pa.int32(), pa.string())),
    ("celsius", pa.float64()),
    ("status", pa.dictionary(pa.int32(), pa.string())),
    ("name", pa.string()),
    ("body", pa.string()),
])  # fmt: skip
"""As `export.COLUMNS`; what a record does not have is null."""


def write(sink: BinaryIO, records: Iterable[tuple[int, Record]]) -> None:
    """Write (number of the cook, record) pairs as a Parquet file.

    Parameters
    ----------
    sink : binary file
        One that can tell where it is; a pipe cannot.
    records : iterable of (int, Record)
    """
    rows = (_row(number, record) for number, record in records)
    with pq.ParquetWriter(sink, SCHEMA, compression="zstd") as writer:
        for group in _groups(rows):
            columns = [pa.array([row[place] for row in group], type=field.type) for place, field in enumerate(SCHEMA)]
            writer.write_table(pa.Table.from_arrays(columns, schema=SCHEMA))


def _groups(rows: Iterator[tuple[Any, ...]]) -> Iterator[list[tuple[Any, ...]]]:  # values of the columns' types
    while group := list(islice(rows, GROUP)):
        yield group


def _row(number: int, record: Record) -> tuple[Any, ...]:  # as above
    if isinstance(record, Reading):
        return (number, record.time, "reading", record.probe, record.celsius, record.status.value, None, None)
    body = None if isinstance(record, Tick) else encode(record).decode()
    return (number, record.time, type_of(record), None, None, None, name_of(record), body)
