"""A machine whose clocks do as they are told, and a watch to keep on it."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from drivers.fakes import tally
from drivers.fakes.tally import Tally
from firebox.journal.resume import Reducer, newest_instant
from firebox.journal.writer import Journal
from firebox.keeper.clock import SteadyClock
from firebox.keeper.watchbook import Watchbook
from firebox.ports import Kind
from firebox.setup import Setup

START = datetime(2026, 5, 2, 4, 10, 5, 123457, tzinfo=UTC)

REDUCER: Reducer[Tally] = Reducer(
    begin=tally.begin, step=tally.step, freeze=tally.freeze, thaw=tally.thaw, version=tally.VERSION
)


class Machine:
    """A wall clock that can be set, a steady clock that cannot, and a mark of the last boot."""

    def __init__(self) -> None:
        self.wall = START
        self.steady = 5000.0
        self.boot = "first boot"

    def pass_seconds(self, seconds: float) -> None:
        self.steady += seconds
        self.wall += timedelta(seconds=seconds)

    def reboot(self, wall: datetime) -> None:
        self.wall, self.steady, self.boot = wall, 20.0, self.boot + "+"

    def clock(self, *, rate: float = 1.0, not_before: datetime | None = None) -> SteadyClock:
        return SteadyClock(rate=rate, not_before=not_before, wall=lambda: self.wall, steady=lambda: self.steady)


class Station:
    """A watch that can be kept, dropped as by a kill, and kept again."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.machine = Machine()

    def keep(self, *, setup: Setup | None = None, kind: Kind = Kind.LIVE, rate: float = 1.0) -> Watchbook[Tally]:
        self.clock = self.machine.clock(rate=rate, not_before=newest_instant(self.path))
        self.journal = Journal(self.path, lambda: self.machine.steady)
        self.book = Watchbook(
            self.journal, REDUCER, self.clock, setup or Setup(time=START), kind=kind, boot=self.machine.boot
        )
        self.book.start()
        return self.book

    def drop(self) -> None:
        """End as a kill does: what is not on disk is gone."""
        self.journal._rows.clear()
        self.journal._disconnect()


@pytest.fixture
def machine() -> Machine:
    return Machine()


@pytest.fixture
def station(tmp_path: Path) -> Iterator[Station]:
    station = Station(tmp_path / "pit.db")
    yield station
    station.journal.close()
