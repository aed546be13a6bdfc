"""The disk is full, or the journal is overwritten under the keeper's hands: it says so, goes on, and loses nothing."""

import os
import resource
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from firebox.journal import history
from firebox.journal.lock import holder
from firebox.journal.schema import open_reading
from firebox.records import Note, Reading, Record, Trouble, encode

SCRIPT = Path(__file__).with_name("fed_keeper.py")
ROOT = Path(__file__).parents[2]
START = datetime(2026, 5, 2, tzinfo=UTC)
DEADLINE = 30.0

pytestmark = pytest.mark.e2e


class Keeper:
    """A keeper process that is fed through a pipe; what it acknowledges goes to a file."""

    def __init__(self, folder: Path) -> None:
        self.journal = folder / "pit.db"
        self.heard = folder / "heard"
        with self.heard.open("wb") as sink:
            self.process = subprocess.Popen(
                [sys.executable, str(SCRIPT), str(self.journal), "tally"],
                stdin=subprocess.PIPE, stdout=sink, env={**os.environ, "PYTHONPATH": str(ROOT)},
            )  # fmt: skip
        self.count = 0
        self.until(lambda: "ready" in self.heard.read_text())

    def say(self, records: int) -> None:
        """Feed so many readings and an entry, and wait until the entry is told to the outside."""
        assert self.process.stdin is not None
        for _ in range(records):
            self.count += 1
            reading = Reading(time=START, probe="grate", celsius=self.count / 100)
            self.process.stdin.write(encode(reading) + b"\n")
        note = Note(time=START, text="here", id=f"note-{self.count}")
        self.process.stdin.write(encode(note) + b"\n")
        self.process.stdin.flush()
        self.until(lambda: f"entry note-{self.count}\n" in self.heard.read_text())

    def until(self, fact: Callable[[], bool]) -> None:
        deadline = time.monotonic() + DEADLINE
        while not fact():
            assert self.process.poll() is None
            assert time.monotonic() < deadline, "it did not come true in time"
            time.sleep(0.02)

    def problem(self) -> str | None:
        found = holder(self.journal)
        return found.problem if found else None

    def end(self) -> int:
        self.process.send_signal(signal.SIGTERM)
        status = self.process.wait(DEADLINE)
        assert self.process.stdin is not None
        self.process.stdin.close()
        return status

    def on_disk(self) -> list[Record]:
        with closing(open_reading(self.journal)) as connection:
            return [record for _, record in history.records(connection, 0)]


@pytest.fixture
def keeper(tmp_path: Path) -> Iterator[Keeper]:
    keeper = Keeper(tmp_path)
    yield keeper
    if keeper.process.poll() is None:
        keeper.process.kill()
        keeper.process.wait()
        assert keeper.process.stdin is not None
        keeper.process.stdin.close()


def check_that_nothing_is_lost(keeper: Keeper) -> None:
    records = keeper.on_disk()
    values = [record.celsius for record in records if isinstance(record, Reading)]
    assert values == [number / 100 for number in range(1, keeper.count + 1)]
    notes = [record.id for record in records if isinstance(record, Note)]
    assert notes == [line.removeprefix("entry ") for line in keeper.heard.read_text().splitlines() if "note-" in line]


def test_a_full_disk_is_a_trouble_and_the_watch_goes_on_in_memory(keeper: Keeper) -> None:
    keeper.say(100)
    resource.prlimit(keeper.process.pid, resource.RLIMIT_FSIZE, (64_000, resource.RLIM_INFINITY))
    for _ in range(10):
        keeper.say(500)
    keeper.until(lambda: keeper.problem() is not None)
    keeper.say(100)
    resource.prlimit(keeper.process.pid, resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    keeper.until(lambda: keeper.problem() is None)
    keeper.say(10)
    assert keeper.end() == 0
    check_that_nothing_is_lost(keeper)
    troubles = [record for record in keeper.on_disk() if isinstance(record, Trouble)]
    assert [(record.what, record.on) for record in troubles] == [("journal", True), ("journal", False)]
    assert str(keeper.journal) in troubles[0].text


def test_a_journal_that_is_overwritten_is_kept_aside_and_written_anew(keeper: Keeper) -> None:
    keeper.say(3000)
    with closing(sqlite3.connect(keeper.journal)) as other:
        other.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    with keeper.journal.open("r+b") as file:
        file.write(b"overwritten " * 341)
    keeper.say(100)
    keeper.until(lambda: any(".corrupt-" in name.name for name in keeper.journal.parent.iterdir()))
    keeper.until(lambda: keeper.problem() is None)
    keeper.say(100)
    assert keeper.end() == 0
    check_that_nothing_is_lost(keeper)
    troubles = [record for record in keeper.on_disk() if isinstance(record, Trouble) and record.on]
    assert "damaged" in {record.name for record in troubles}
