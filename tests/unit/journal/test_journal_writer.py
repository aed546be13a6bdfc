"""What comes in and what is answered is on disk, in one order, when it has to be."""

import sqlite3
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from firebox.errors import JournalError
from firebox.journal import history
from firebox.journal.schema import VERSION, open_reading
from firebox.journal.writer import MEMORY_ROWS, Journal
from firebox.ports import Kind
from firebox.records import Alarm, Note, Reading, Record, Split, Status, Tick
from firebox.setup import Setup

from .conftest import START, Writer, cook

BUDGET_BYTES_PER_HOUR = 25e6 / 16
"""A 16 h, 8-probe cook within 25 MB."""


def on_disk(path: Path, ways: Any = "in") -> list[Record]:
    with closing(open_reading(path)) as connection:
        return [record for _, record in history.records(connection, 0, ways=ways)]


def query(path: Path, sql: str) -> list[tuple[Any, ...]]:
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute(sql).fetchall()


def reading(second: float, celsius: float | None = 121.4, status: Status = Status.GOOD) -> Reading:
    return Reading(time=START + timedelta(seconds=second), probe="grate", celsius=celsius, status=status)


def test_records_come_back_as_they_were_and_in_their_order(writer: Writer) -> None:
    writer.begin()
    records = [
        reading(1.000001),
        Tick(time=START + timedelta(seconds=1.5)),
        reading(2, None, Status.OPEN),
        Split(time=START + timedelta(seconds=2), kg=1.4, id="a", at=START),
        reading(3, -12.25),
        Note(time=START + timedelta(seconds=3), text="Wind dreht auf — südwest"),
    ]
    writer.take(*records)
    assert writer.journal.commit()
    assert on_disk(writer.path) == [writer.setup, *records]


def test_an_entry_is_on_disk_at_once_and_takes_the_readings_before_it_along(writer: Writer) -> None:
    writer.begin()
    writer.journal.flush()
    writer.take(reading(1), reading(2))
    writer.journal.flush()
    assert on_disk(writer.path) == [writer.setup]
    entry = Split(time=START + timedelta(seconds=3))
    writer.take(entry)
    writer.journal.flush()
    assert on_disk(writer.path) == [writer.setup, reading(1), reading(2), entry]


def test_an_alarm_is_on_disk_at_once(writer: Writer) -> None:
    writer.begin()
    writer.journal.flush()
    writer.take(reading(1, 250.0))
    writer.journal.flush()
    assert isinstance(on_disk(writer.path, "all")[-1], Alarm)


def test_readings_wait_for_a_second_and_no_longer(writer: Writer) -> None:
    writer.begin()
    writer.journal.flush()
    writer.take(reading(1))
    writer.seconds.now += 0.9
    writer.journal.flush()
    assert writer.journal.waiting
    writer.seconds.now += 0.1
    writer.journal.flush()
    assert not writer.journal.waiting
    assert on_disk(writer.path) == [writer.setup, reading(1)]


def test_a_commit_survives_without_an_orderly_end(writer: Writer) -> None:
    writer.begin()
    writer.take(*cook(30))
    writer.journal.commit()
    again = Journal(writer.path)
    try:
        assert len(on_disk(writer.path)) == 1 + 30 * 4 + 6
    finally:
        again.close()


def test_sequence_numbers_are_shared_and_never_used_twice(writer: Writer) -> None:
    writer.begin()
    writer.take(*cook(700))
    writer.journal.commit()
    writer.reopen()
    writer.take(*cook(100, first=700))
    writer.journal.commit()
    numbers = query(
        writer.path, "SELECT seq FROM readings UNION ALL SELECT seq FROM ticks UNION ALL SELECT seq FROM records"
    )
    assert len(numbers) == len(set(numbers))


def test_of_the_answers_one_set_a_minute_is_kept_and_the_newest_in_any_case(writer: Writer) -> None:
    writer.begin()
    writer.take(*cook(590))
    writer.journal.commit()
    sets = query(writer.path, "SELECT count(*) FROM records WHERE type = 'move'")[0][0]
    assert sets == pytest.approx(10, abs=1)
    newest = query(writer.path, "SELECT max(time) FROM ticks")
    assert query(writer.path, "SELECT DISTINCT time FROM latest") == newest


def test_after_an_entry_the_answers_are_kept_though_the_minute_is_not_over(writer: Writer) -> None:
    writer.begin()
    writer.take(*cook(10))
    writer.journal.commit()
    before = query(writer.path, "SELECT count(*) FROM records WHERE type = 'move'")[0][0]
    writer.take(Split(time=START + timedelta(seconds=11)), *cook(10, first=11))
    writer.journal.commit()
    assert query(writer.path, "SELECT count(*) FROM records WHERE type = 'move'")[0][0] == before + 1


def test_an_hour_of_eight_probes_is_within_the_budget(writer: Writer) -> None:
    writer.begin()
    for number, record in enumerate(cook(3600, probes=8)):
        writer.take(record)
        if number % 500 == 0:
            writer.journal.commit()
    writer.journal.close()
    assert writer.path.stat().st_size < BUDGET_BYTES_PER_HOUR


def test_a_cook_that_begins_ends_the_one_before(writer: Writer) -> None:
    writer.begin()
    writer.take(*cook(10))
    later = Setup(time=START + timedelta(days=1), pit="north")
    writer.journal.begin_cook(later, Kind.LIVE)
    writer.journal.commit()
    with closing(open_reading(writer.path)) as connection:
        first, second = history.cooks(connection)
        assert first.ended == later.time
        assert second.ended is None
        assert [record for _, record in history.records(connection, second.first_seq)] == [later]
        assert len(list(history.records(connection, first.first_seq, first.end_seq))) == 1 + 40 + 2


def test_the_views_can_be_read_by_a_person(writer: Writer) -> None:
    writer.begin()
    writer.take(reading(0.5), Split(time=START + timedelta(seconds=1), kg=1.4))
    writer.journal.commit()
    assert query(writer.path, "SELECT time, probe, celsius, status FROM reading_list") == [
        ("2026-05-02T04:10:05.623Z", "grate", 121.4, "good")
    ]
    assert query(writer.path, "SELECT way, type, name FROM record_list ORDER BY seq") == [
        ("in", "setup", None),
        ("in", "entry", "split"),
    ]
    assert query(writer.path, "SELECT kind, started, ended FROM cook_list") == [
        ("live", "2026-05-02T04:10:05.123Z", None)
    ]


def test_the_schema_says_its_version(writer: Writer) -> None:
    writer.begin()
    writer.journal.commit()
    assert query(writer.path, "PRAGMA user_version") == [(VERSION,)]
    assert query(writer.path, "PRAGMA journal_mode") == [("wal",)]


def test_a_journal_of_a_later_version_is_left_alone(writer: Writer) -> None:
    writer.journal.close()
    with closing(sqlite3.connect(writer.path)) as connection:
        connection.execute(f"PRAGMA user_version = {VERSION + 1}")
    with pytest.raises(JournalError, match="a later firebox wrote it"):
        Journal(writer.path)


def test_an_entry_in_the_inbox_becomes_a_record_exactly_once(writer: Writer) -> None:
    writer.begin()
    writer.journal.commit()
    with closing(sqlite3.connect(writer.path)) as other:
        other.execute(
            """INSERT INTO inbox (body) VALUES ('{"type":"entry","entry":"rake","time":"2026-05-02T05:00:00Z"}')"""
        )
        other.execute("INSERT INTO inbox (body) VALUES ('no record at all')")
        other.commit()
    ((number, entry),) = writer.journal.inbox()
    writer.journal.take_from_inbox(number)
    writer.take(entry)
    assert writer.journal.inbox() == []
    assert "thrown out" in str(writer.journal.notice)
    writer.journal.flush()
    assert writer.journal.inbox() == []
    assert query(writer.path, "SELECT * FROM inbox") == []
    assert on_disk(writer.path) == [writer.setup, entry]


def test_two_snapshots_are_kept(writer: Writer) -> None:
    writer.begin()
    for minute in range(4):
        writer.take(*cook(60, first=60 * minute))
        assert writer.snapshot()
    seqs = [row[0] for row in query(writer.path, "SELECT seq FROM snapshots ORDER BY id")]
    assert len(seqs) == 2
    assert seqs[-1] >= query(writer.path, "SELECT max(seq) FROM readings")[0][0]


def test_memory_is_bounded_but_entries_and_alarms_are_never_dropped(writer: Writer) -> None:
    writer.begin()
    writer.journal.problem = "disk is full"
    split = Split(time=START + timedelta(seconds=1), id="first")
    writer.take(split)
    writer.take(*(reading(second) for second in range(2, MEMORY_ROWS + 10)))
    assert writer.journal.lost_readings > 0
    assert writer.journal.commit()
    there = on_disk(writer.path)
    assert there[:2] == [writer.setup, split]
    assert there[-1] == reading(MEMORY_ROWS + 9)
    assert len(there) < MEMORY_ROWS
