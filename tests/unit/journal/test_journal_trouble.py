"""A disk that refuses, a damaged file: nothing that was recorded is lost, and the watch goes on."""

import resource
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from datetime import timedelta
from pathlib import Path

import pytest

from firebox.errors import JournalError
from firebox.journal import export, history
from firebox.journal.resume import resume
from firebox.journal.schema import open_reading
from firebox.journal.writer import RETRY_SECONDS, Journal
from firebox.records import Alarm, Reading, Record, Split

from .conftest import START, Seconds, Writer, cook, not_root


def on_disk(path: Path) -> list[Record]:
    with closing(open_reading(path)) as connection:
        return [record for _, record in history.records(connection, 0)]


@contextmanager
def files_limited_to(size: int) -> Iterator[None]:
    """Let no file of this process grow beyond `size` bytes: what a full disk is to SQLite, without one."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def test_when_the_disk_is_full_memory_takes_its_place_and_later_the_disk_gets_it_all(writer: Writer) -> None:
    writer.begin()
    writer.journal.commit()
    records = list(cook(900))
    with files_limited_to(writer.path.stat().st_size + 20_000):
        for place in range(0, len(records), 200):
            writer.take(*records[place : place + 200])
            writer.journal.commit()
        assert writer.journal.problem is not None
        assert str(writer.path) in writer.journal.problem
        alarm = Reading(time=records[-1].time, probe="grate0", celsius=300.0)
        writer.take(alarm)
        assert not writer.journal.commit()
    assert writer.journal.problem is not None
    writer.seconds.now += RETRY_SECONDS
    assert writer.journal.commit()
    assert writer.journal.problem is None
    assert on_disk(writer.path) == [writer.setup, *records, alarm]


def test_a_full_disk_is_not_asked_again_all_the_time(writer: Writer) -> None:
    writer.begin()
    writer.journal.commit()
    with files_limited_to(writer.path.stat().st_size):
        writer.take(*cook(600))
        assert not writer.journal.commit()
    writer.journal.flush()
    assert writer.journal.problem is not None
    writer.seconds.now += RETRY_SECONDS
    writer.journal.flush()
    assert writer.journal.problem is None


def test_a_journal_that_cannot_be_written_is_read_and_kept_in_memory(open_folder: Path) -> None:
    path = open_folder / "pit.db"
    before = Writer(path)
    before.begin()
    before.take(*cook(60))
    before.journal.close()
    path.chmod(0o444)
    open_folder.chmod(0o555)
    with not_root():
        assert len(list(export.json_lines(path))) == 1 + 240 + 12
        found = resume(path, before.reducer, START + timedelta(minutes=5))
        assert found is not None
        assert found.state == before.state
        journal = Journal(path, seconds := Seconds())
        journal.continue_cook(found.cook, found.setup)
        split = Split(time=START + timedelta(minutes=5), kg=1.0)
        journal.take(split)
        assert not journal.commit()
        assert journal.problem is not None
        assert "readonly" in journal.problem
    path.chmod(0o666)
    open_folder.chmod(0o777)
    seconds.now += RETRY_SECONDS
    assert journal.commit()
    journal.close()
    assert on_disk(path)[-1] == split


def test_without_any_place_for_it_the_watch_begins_in_memory(tmp_path: Path) -> None:
    blocked = tmp_path / "here"
    blocked.write_text("a file where a folder should be")
    writer = Writer(blocked / "pit.db")
    assert writer.journal.problem is not None
    writer.begin()
    writer.take(*cook(60))
    assert not writer.journal.commit()
    blocked.unlink()
    writer.seconds.now += RETRY_SECONDS
    assert writer.journal.commit()
    assert on_disk(writer.path) == [writer.setup, *cook(60)]
    writer.journal.close()


def test_a_journal_that_was_removed_under_way_goes_on_in_a_new_file(writer: Writer) -> None:
    writer.begin()
    writer.take(*cook(60))
    writer.journal.commit()
    for end in ("", "-wal", "-shm"):
        writer.path.with_name(writer.path.name + end).unlink()
    writer.take(*cook(10, first=60))
    assert writer.journal.commit()
    assert writer.journal.renewed
    assert on_disk(writer.path) == [writer.setup, *cook(10, first=60)]
    with closing(open_reading(writer.path)) as connection:
        assert [cook.started for cook in history.cooks(connection)] == [START]


def damage_middle(path: Path) -> None:
    with path.open("r+b") as file:
        file.seek(path.stat().st_size // 2)
        file.write(b"\xa5" * 12_000)


def damage_header(path: Path) -> None:
    with path.open("r+b") as file:
        file.write(b"no database " * 8)


def damage_first_page(path: Path) -> None:
    with path.open("r+b") as file:
        file.write(b"\x00" * 4096)


def cut_short(path: Path) -> None:
    with path.open("r+b") as file:
        file.truncate(path.stat().st_size // 2 + 100)


def replace_by_text(path: Path) -> None:
    path.write_text("this was a journal once\n" * 1000)


@pytest.mark.parametrize(
    ("damage", "at_least"),
    [(damage_middle, 0.9), (damage_header, 1.0), (damage_first_page, 1.0), (cut_short, 0.1), (replace_by_text, 0.0)],
)
def test_a_damaged_journal_is_kept_aside_and_what_is_readable_goes_into_a_new_one(
    writer: Writer, damage: Callable[[Path], None], at_least: float
) -> None:
    writer.begin()
    records = list(cook(3600))
    writer.take(*records)
    writer.snapshot()
    writer.journal.close()
    damage(writer.path)
    damaged = writer.path.read_bytes()

    writer.reopen()

    assert writer.journal.problem is None
    assert "damaged" in str(writer.journal.damage)
    (aside,) = [path for path in writer.path.parent.iterdir() if ".corrupt-" in path.name]
    assert aside.read_bytes() == damaged
    there = on_disk(writer.path)
    known = {*map(repr, records), repr(writer.setup)}
    assert all(repr(record) in known for record in there)
    assert len(there) >= at_least * len(known)
    assert [record.time for record in there] == sorted(record.time for record in there)
    writer.take(*cook(10, first=3600))
    assert writer.journal.commit()


def test_damage_met_while_running_interrupts_nothing(writer: Writer) -> None:
    writer.begin()
    records = list(cook(3600))
    writer.take(*records)
    writer.journal.commit()
    with closing(sqlite3.connect(writer.path)) as other:
        other.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    damage_first_page(writer.path)
    more = list(cook(60, first=3600))
    seen = []
    for record in more:
        writer.take(record)
        writer.seconds.now += 1.0
        writer.journal.flush()
        seen.append(writer.journal.problem)
    assert seen[-1] is None
    assert writer.journal.renewed
    assert on_disk(writer.path) == [writer.setup, *records, *more]


def test_a_flipped_value_that_the_file_does_not_show_is_no_reading(writer: Writer) -> None:
    writer.begin()
    writer.take(*cook(60))
    writer.journal.commit()
    with closing(sqlite3.connect(writer.path)) as other:
        other.execute("UPDATE records SET body = 'garbage' WHERE type = 'setup'")
        other.commit()
    said: list[str] = []
    with closing(open_reading(writer.path)) as connection:
        assert len(list(history.records(connection, 0, say=said.append))) == 252
    assert "passed over" in said[0]


def test_what_is_no_journal_is_said_to_be_none(tmp_path: Path) -> None:
    with pytest.raises(JournalError, match="there is no journal here"):
        list(export.json_lines(tmp_path / "none.db"))
    text = tmp_path / "text.db"
    text.write_text("some text " * 1000)
    with pytest.raises(JournalError, match="file is not a database"):
        list(export.json_lines(text))


def test_an_alarm_is_kept_while_the_disk_refuses(writer: Writer) -> None:
    writer.begin()
    writer.journal.commit()
    with files_limited_to(4096):
        writer.take(Reading(time=START + timedelta(seconds=1), probe="grate0", celsius=300.0))
        writer.journal.flush()
        assert writer.journal.urgent
    writer.seconds.now += RETRY_SECONDS
    writer.journal.flush()
    assert not writer.journal.urgent
    with closing(open_reading(writer.path)) as connection:
        alarms = [r for _, r in history.records(connection, 0, ways="all") if isinstance(r, Alarm)]
    assert len(alarms) == 1
