"""A cook to write down, and a journal to write it in."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from drivers.fakes import tally
from drivers.fakes.tally import Tally
from firebox.journal.resume import Reducer
from firebox.journal.writer import Journal
from firebox.ports import Kind
from firebox.records import Reading, Record, Split, Tick
from firebox.setup import Setup

START = datetime(2026, 5, 2, 4, 10, 5, 123457, tzinfo=UTC)


class Seconds:
    """Real seconds that pass when told to."""

    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


class Writer:
    """A journal, its clock, and a reducer that runs along."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.seconds = Seconds()
        self.reducer: Reducer[Tally] = Reducer(
            begin=tally.begin, step=tally.step, freeze=tally.freeze, thaw=tally.thaw, version=tally.VERSION
        )
        self.journal = Journal(path, self.seconds)
        self.setup = Setup(time=START)
        self.state = tally.begin(self.setup)

    def begin(self) -> None:
        self.journal.begin_cook(self.setup, Kind.LIVE)
        self.advance(self.setup)

    def advance(self, record: Record) -> None:
        step = tally.step(self.state, record)
        self.state = step.state
        self.journal.tell(step.out)

    def take(self, *records: Record) -> None:
        for record in records:
            self.journal.take(record)
            self.advance(record)

    def reopen(self) -> None:
        self.journal.close()
        self.journal = Journal(self.path, self.seconds)

    def snapshot(self) -> bool:
        return self.journal.snapshot(tally.VERSION, tally.freeze(self.state))


@pytest.fixture
def writer(tmp_path: Path) -> Iterator[Writer]:
    writer = Writer(tmp_path / "pit.db")
    yield writer
    writer.journal.close()


def cook(seconds: int, first: int = 0, probes: int = 4) -> Iterator[Record]:
    """Yield an invented cook: every probe each second, a tick every five, a split every ten minutes."""
    for second in range(first, first + seconds):
        time = START + timedelta(seconds=second + 1)
        for number in range(probes):
            yield Reading(time=time, probe=f"grate{number}", celsius=100 + second / 7 % 60 + number)
        if second % 600 == 599:
            yield Split(time=time, kg=1.25, species="oak", id=f"split-{second}")
        if second % 5 == 4:
            yield Tick(time=time)


@contextmanager
def not_root() -> Iterator[None]:
    """Be somebody whom file permissions concern."""
    uid = os.geteuid()
    if uid == 0:
        os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(uid)


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that anybody may enter: those that pytest makes are the owner's alone."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o777)
        yield folder
