"""The loop around it all, turn by turn, on clocks that move when told to."""

import asyncio
import os
import signal
from collections.abc import AsyncIterator, Sequence
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from drivers.fakes import tally
from drivers.fakes.clock import SteppedClock
from drivers.fakes.outlet import RememberingOutlet
from drivers.fakes.scripted import ScriptedSource, Wait
from drivers.lines import Sample
from firebox.journal import history
from firebox.journal.lock import Lock, holder
from firebox.journal.reader import JournalLink, KeeperNote
from firebox.journal.schema import open_reading
from firebox.keeper.loop import Keeper, keep
from firebox.keeper.outlets import AWAY, Told
from firebox.ports import Ailment, Clock, Kind
from firebox.records import Alarm, Move, Reading, Record, Split, Tick, Trouble
from firebox.setup import Setup

from .conftest import REDUCER, START, Station


class Kept(Station):
    """A keeper whose turns are taken by hand."""

    def __init__(self, path: Path, *, rate: float = 1.0) -> None:
        super().__init__(path)
        self.keep(rate=rate, kind=Kind.LIVE if rate == 1.0 else Kind.DEMO)
        self.source = ScriptedSource("node", self.clock)
        self.outlet = RememberingOutlet()
        self.lock = Lock.take(path)
        self.keeper = Keeper(
            self.book,
            self.clock,
            sources=[self.source],
            outlets=[self.outlet],
            lock=self.lock,
            note=KeeperNote(pit="north", kind=Kind.LIVE, rate=rate),
            stopping=asyncio.Event(),
        )

    def turns(self, seconds: float, step: float = 0.25) -> None:
        for _ in range(round(seconds / step)):
            self.machine.pass_seconds(step)
            self.keeper.turn()

    def hear(self, record: Record) -> None:
        assert isinstance(record, Reading | Split)
        self.keeper._inlet.put(record)

    def on_disk(self, kind: type[Record]) -> list[Record]:
        with closing(open_reading(self.path)) as connection:
            found = [record for _, record in history.records(connection, 0, ways="all")]
        return [record for record in found if isinstance(record, kind)]


@pytest.fixture
async def kept(tmp_path: Path) -> AsyncIterator[Kept]:
    kept = Kept(tmp_path / "pit.db")
    yield kept
    kept.lock.close()
    kept.journal.close()


async def test_a_tick_is_due_every_five_seconds(kept: Kept) -> None:
    kept.turns(60)
    kept.journal.commit()
    assert len(kept.on_disk(Tick)) == pytest.approx(60 / 5, abs=1)


async def test_a_fast_demo_ticks_twice_a_real_second_and_no_more(tmp_path: Path) -> None:
    fast = Kept(tmp_path / "pit.db", rate=60.0)
    fast.turns(30)
    fast.journal.commit()
    assert len(fast.on_disk(Tick)) == pytest.approx(30 / 0.5, abs=2)
    fast.lock.close()
    fast.journal.close()


async def test_readings_are_on_disk_within_a_second_and_a_half(kept: Kept) -> None:
    kept.turns(10)
    kept.hear(Reading(time=kept.clock.now(), probe="grate", celsius=120.0))
    kept.turns(1.5)
    assert len(kept.on_disk(Reading)) == 1


async def test_an_alarm_is_told_in_the_turn_in_which_it_was_raised(kept: Kept) -> None:
    await kept.outlet.open()
    kept.keeper._outlets[0]._open = True
    kept.hear(Reading(time=kept.clock.now(), probe="grate", celsius=250.0))
    kept.keeper.turn()
    assert sum(isinstance(record, Alarm) for record in kept.outlet.told) == 1
    assert len(kept.on_disk(Alarm)) == 1


async def test_an_entry_of_a_dashboard_is_taken_within_half_a_second(kept: Kept) -> None:
    kept.turns(5)
    JournalLink(kept.path).leave(Split(time=START, kg=1.4))
    kept.turns(0.5)
    assert len(kept.on_disk(Split)) == 1


async def test_a_source_that_is_away_is_a_trouble_until_it_is_back(kept: Kept) -> None:
    kept.turns(9)
    assert kept.book.standing("source") == set()
    kept.turns(3)
    assert kept.book.standing("source") == {"node"}
    task = asyncio.create_task(kept.keeper._sources[0].run())
    await asyncio.sleep(0)
    kept.turns(2)
    task.cancel()
    await asyncio.wait([task])
    troubles = [record for record in kept.on_disk(Trouble) if isinstance(record, Trouble) and record.name == "node"]
    assert [(record.what, record.on) for record in troubles] == [("source", True), ("source", False)]


async def test_a_source_that_was_away_before_a_restart_is_not_said_to_be_back_until_it_is(kept: Kept) -> None:
    kept.turns(12)
    assert kept.book.standing("source") == {"node"}
    kept.drop()
    kept.lock.close()
    again = Kept(kept.path)
    again.turns(15)
    assert again.book.standing("source") == {"node"}
    troubles = [
        record.on for record in again.on_disk(Trouble) if isinstance(record, Trouble) and record.name == "node"
    ]
    assert troubles == [True]
    again.lock.close()
    again.journal.close()


async def test_a_journal_that_cannot_be_written_is_a_trouble_and_the_dashboard_is_told_why(kept: Kept) -> None:
    kept.turns(2)
    kept.journal.problem = "disk is full"
    kept.journal._tries_again = kept.machine.steady + 4
    kept.turns(2)
    assert kept.book.standing("journal") == {"pit.db"}
    assert JournalLink(kept.path).status().problem == "disk is full"
    kept.turns(4)
    assert kept.book.standing("journal") == set()
    assert JournalLink(kept.path).status().problem is None
    troubles = [record for record in kept.on_disk(Trouble) if isinstance(record, Trouble)]
    assert [(record.what, record.on) for record in troubles] == [("journal", True), ("journal", False)]
    assert "disk is full" in troubles[0].text


async def test_readings_that_were_dropped_are_reported(kept: Kept) -> None:
    for number in range(5000):
        kept.hear(Reading(time=kept.clock.now(), probe="grate", celsius=number / 100))
    kept.turns(1)
    assert kept.book.standing("keeper") == {"queue"}
    kept.turns(61)
    assert kept.book.standing("keeper") == set()
    texts = [record.text for record in kept.on_disk(Trouble) if isinstance(record, Trouble)]
    assert any(text.startswith("904 readings were dropped") for text in texts)


async def test_a_clock_that_is_set_is_noticed_within_a_second(kept: Kept) -> None:
    kept.turns(5)
    kept.machine.wall += timedelta(hours=2)
    kept.turns(1.25)
    assert kept.clock.now() == kept.machine.wall


async def test_dashboards_learn_of_the_keeper_and_its_sources(kept: Kept) -> None:
    kept.turns(2)
    link = JournalLink(kept.path)
    link.news()
    status = link.status()
    assert (status.alive, status.pit, status.kind) == (True, "north", Kind.LIVE)
    assert not status.sources["node"].connected
    await kept.source.open()
    kept.turns(2)
    link.news()
    assert link.status().sources["node"].connected
    link.close()


# --- outlets -------------------------------------------------------------------------------------


class Stubborn(RememberingOutlet):
    """An outlet that is out of reach, and fails when it is told something."""

    async def open(self) -> None:
        await super().open()
        if self.openings < 3:
            raise OSError("no route")

    def tell(self, records: Sequence[Record]) -> None:
        raise ValueError("a defect")


async def test_an_outlet_is_opened_again_until_that_works_and_its_defects_end_nothing(
    caplog: pytest.LogCaptureFixture,
) -> None:
    clock = SteppedClock(START)
    outlet = Stubborn()
    told = Told(outlet, lambda: clock.slept, clock.sleep)
    told.tell([Tick(time=START)])
    task = asyncio.create_task(told.run())
    async with asyncio.timeout(30):
        while outlet.openings < 3:  # noqa: ASYNC110  the outlet is not to know of the test
            await asyncio.sleep(0)
    assert not told.is_away()
    told.tell([Tick(time=START)])
    clock.move(AWAY)
    assert told.is_away()
    assert told.problem == "ValueError: a defect"
    assert caplog.text.count("cannot be told") == 1
    task.cancel()
    await asyncio.wait([task])
    assert not outlet.connected


async def test_an_outlet_that_opens_late_is_told_the_newest_of_each() -> None:
    outlet = RememberingOutlet()
    told = Told(outlet, lambda: 0.0)
    late = [
        Reading(time=START + timedelta(seconds=n), probe=p, celsius=20.0 + n) for n in range(3) for p in ("a", "b")
    ]
    told.tell(late)
    task = asyncio.create_task(told.run())
    async with asyncio.timeout(30):
        while not outlet.connected:  # noqa: ASYNC110  the outlet is not to know of the test
            await asyncio.sleep(0)
    await asyncio.sleep(0)
    assert outlet.told == late[-2:]
    task.cancel()
    await asyncio.wait([task])


# --- whole ---------------------------------------------------------------------------------------


async def test_a_pit_is_kept_from_lock_to_orderly_end(tmp_path: Path) -> None:
    path = tmp_path / "pit.db"
    outlet = RememberingOutlet()

    def sources(clock: Clock) -> list[ScriptedSource]:
        script = [step for number in range(20) for step in (Sample("grate", 100.0 + number), Wait(1.0))]
        return [ScriptedSource("node", clock, script=script)]

    task = asyncio.create_task(
        keep(
            path,
            lambda time: Setup(time=time, pit="north"),
            REDUCER,
            sources=sources,
            outlets=lambda _clock, _hear: [outlet],
            kind=Kind.DEMO,
            rate=50.0,
        )
    )
    async with asyncio.timeout(60):
        while sum(isinstance(record, Reading) for record in outlet.told) < 20:
            await asyncio.sleep(0.01)
            assert not task.done()
    assert holder(path) is not None
    link = JournalLink(path)
    assert any(isinstance(record, Move) for record in link.news())
    assert link.status().rate == 50.0
    link.close()
    os.kill(os.getpid(), signal.SIGTERM)
    async with asyncio.timeout(60):
        await task
    assert holder(path) is None
    with closing(open_reading(path)) as connection:
        assert connection.execute("SELECT count(*) FROM snapshots").fetchone() != (0,)
        records = [record for _, record in history.records(connection, 0)]
    assert isinstance(records[0], Setup)
    state = tally.begin(records[0])
    for record in records:
        state = tally.step(state, record).state
    assert state.count == len(records)


class _Frail:
    """A machine that ails what it is told to."""

    def __init__(self) -> None:
        self.text: str | None = None

    def look(self) -> Sequence[Ailment]:
        return [Ailment(what="power", name="supply", text=self.text)]


async def test_what_ails_the_machine_is_a_trouble_until_it_is_over(kept: Kept) -> None:
    kept.keeper._machine = machine = _Frail()
    kept.turns(20)
    machine.text = "the supply voltage of this computer is too low"
    kept.turns(20)
    machine.text = None
    kept.turns(20)
    kept.journal.commit()
    told = [(t.what, t.on) for t in kept.on_disk(Trouble) if isinstance(t, Trouble) and t.what == "power"]
    assert told == [("power", True), ("power", False)]


async def test_a_disk_that_is_nearly_full_is_told_once_until_there_is_room(
    kept: Kept, monkeypatch: pytest.MonkeyPatch
) -> None:
    free = 1_000_000_000

    def usage(_path: object) -> Any:  # the named tuple of shutil
        return SimpleNamespace(total=2_000_000_000, used=0, free=free)

    monkeypatch.setattr("firebox.keeper.loop.shutil.disk_usage", usage)
    for free in (1_000_000_000, 90_000_000, 120_000_000, 90_000_000, 160_000_000):  # noqa: B007  read by `usage`
        kept.turns(10)
    kept.journal.commit()
    told = [(t.what, t.on) for t in kept.on_disk(Trouble) if isinstance(t, Trouble) and t.what == "disk"]
    assert told == [("disk", True), ("disk", False)]
