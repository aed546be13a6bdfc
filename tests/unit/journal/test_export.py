"""A cook as lines for others to read."""

import csv
import io
import sqlite3
import tracemalloc
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest

from drivers.recordings import read_csv, read_json_lines
from firebox.errors import JournalError
from firebox.journal import export
from firebox.records import Alarm, Reading, Status, Tick, decode
from firebox.setup import Setup

from .conftest import START, Writer, cook, not_root


def test_json_lines_hold_what_came_in_and_on_request_what_came_out(writer: Writer) -> None:
    writer.begin()
    hot = Reading(time=START + timedelta(seconds=20), probe="grate0", celsius=250.0)
    writer.take(*cook(12), hot)
    writer.journal.commit()
    lines = list(export.json_lines(writer.path))
    assert [decode(line) for line in lines] == [writer.setup, *cook(12), hot]
    assert all(line.endswith(b"\n") for line in lines)
    everything = [decode(line) for line in export.json_lines(writer.path, answers=True)]
    assert isinstance(everything[-1], Alarm)
    assert len(everything) > len(lines)


def test_a_cook_is_chosen_by_its_number(writer: Writer) -> None:
    writer.begin()
    writer.take(*cook(3))
    writer.setup = Setup(time=START + timedelta(hours=20), pit="second")
    writer.begin()
    writer.journal.commit()
    assert len(list(export.json_lines(writer.path, 1))) == 1 + 12
    assert [decode(line) for line in export.json_lines(writer.path)] == [writer.setup]
    assert [(c.id, c.started) for c in export.list_cooks(writer.path)] == [(1, START), (2, writer.setup.time)]
    with pytest.raises(JournalError, match="no cook 3 in the journal; there are 1, 2"):
        list(export.json_lines(writer.path, 3))


def test_csv_has_readings_in_columns_and_the_rest_as_json(writer: Writer) -> None:
    writer.begin()
    writer.take(*cook(600), Reading(time=START + timedelta(seconds=601), probe='odd, "probe"', status=Status.OPEN))
    writer.journal.commit()
    rows = list(csv.DictReader(io.StringIO("".join(export.csv_lines(writer.path)))))
    assert rows[0]["type"] == "setup"
    assert rows[1] == {
        "time": "2026-05-02T04:10:06.123457Z", "type": "reading", "probe": "grate0", "celsius": "100.0",
        "status": "good", "name": "", "body": "",
    }  # fmt: skip
    assert (rows[-1]["probe"], rows[-1]["celsius"], rows[-1]["status"]) == ('odd, "probe"', "", "open")
    split = next(row for row in rows if row["name"] == "split")
    assert decode(split["body"]).time == START + timedelta(seconds=600)


def test_what_is_exported_can_be_replayed(writer: Writer) -> None:
    writer.begin()
    writer.take(*cook(60))
    writer.journal.commit()
    readings = [record for record in cook(60) if isinstance(record, Reading)]
    from_json = [r for found in read_json_lines(export.json_lines(writer.path)) for r in found.records]
    from_csv = [
        r for found in read_csv(line.encode() for line in export.csv_lines(writer.path)) for r in found.records
    ]
    assert from_json == readings
    assert from_csv == readings


def test_a_running_watch_can_be_exported(writer: Writer) -> None:
    writer.begin()
    writer.take(*cook(10))
    writer.journal.commit()
    lines = export.json_lines(writer.path)
    assert decode(next(lines)) == writer.setup
    writer.take(*cook(10, first=10))
    assert writer.journal.commit()
    with closing(sqlite3.connect(writer.path)) as other:
        busy, _, _ = other.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
        assert not busy, "an export that is read slowly holds up the keeper"
    assert sum(1 for _ in lines) == 40 + 2


def test_a_read_only_copy_with_its_write_ahead_log_can_be_exported(writer: Writer, open_folder: Path) -> None:
    writer.begin()
    writer.take(*cook(10))
    writer.journal.commit()
    for end in ("", "-wal"):
        source = writer.path.with_name(writer.path.name + end)
        (open_folder / source.name).write_bytes(source.read_bytes())
        (open_folder / source.name).chmod(0o444)
    open_folder.chmod(0o555)
    with not_root():
        assert len(list(export.json_lines(open_folder / "pit.db"))) == 1 + 40 + 2
    open_folder.chmod(0o777)


def test_an_export_does_not_hold_the_cook_in_memory(writer: Writer) -> None:
    writer.begin()
    writer.take(*cook(7200))
    writer.journal.commit()
    tracemalloc.start()
    try:
        size = sum(len(line) for line in export.json_lines(writer.path))
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert size > 2_500_000
    assert peak < 600_000


def test_ticks_keep_their_microseconds(writer: Writer) -> None:
    writer.begin()
    tick = Tick(time=START + timedelta(microseconds=1))
    writer.take(tick)
    writer.journal.commit()
    assert decode(list(export.json_lines(writer.path))[-1]) == tick
