"""Whatever a source does, it is read again; how long it was away is known; readings may be dropped, entries never."""

import asyncio
import logging
from collections.abc import AsyncIterator, Callable

import pytest

from drivers.fakes.clock import SteppedClock
from drivers.fakes.scripted import Refuse, ScriptedSource, Step, Vanish
from drivers.lines import Sample
from firebox.errors import SourceError
from firebox.keeper.sources import AWAY, CLOSE_DEADLINE, LONGEST_PAUSE, Inlet, Supervised
from firebox.ports import ProbeSource, SourceHealth
from firebox.records import Entry, Problem, Rake, Reading, Split

from .conftest import START

TWENTY_FIVE = Sample("grate", 25.0)


class Minder:
    """A supervised source, and a clock that moves only while the supervisor pauses."""

    def __init__(self, source: ProbeSource, clock: SteppedClock) -> None:
        self.inlet = Inlet()
        self.pauses: list[float] = []
        self.away: list[bool] = []
        self.source, self.clock = source, clock
        self.supervised = Supervised(source, self.inlet, self.real, self.sleep)

    def real(self) -> float:
        return self.clock.slept

    async def sleep(self, seconds: float) -> None:
        self.pauses.append(seconds)
        self.clock.move(seconds)
        self.away.append(self.supervised.is_away())
        await asyncio.sleep(0)

    async def run(self, records: int) -> list[Reading | Entry]:
        """Supervise until so many records have come in."""
        taken: list[Reading | Entry] = []
        task = asyncio.create_task(self.supervised.run())
        async with asyncio.timeout(30):
            while len(taken) < records:
                await self.inlet.wait(5)
                taken += self.inlet.take()
        self.present = not self.supervised.is_away()
        task.cancel()
        await asyncio.wait([task])
        return taken


def scripted(*script: Step) -> Minder:
    clock = SteppedClock(START)
    return Minder(ScriptedSource("node", clock, script=script), clock)


async def test_a_source_is_read_to_its_end_and_then_left_alone() -> None:
    minder = scripted(TWENTY_FIVE, Split(time=START, kg=1.0))
    minder.source.finish()
    await minder.supervised.run()
    assert [type(record) for record in minder.inlet.take()] == [Reading, Split]
    assert minder.supervised.finished
    assert not minder.supervised.is_away()
    assert minder.pauses == []


async def test_pauses_double_up_to_half_a_minute() -> None:
    minder = scripted(*[Refuse()] * 8, TWENTY_FIVE)
    assert len(await minder.run(1)) == 1
    assert minder.pauses == [1, 2, 4, 8, 16, LONGEST_PAUSE, LONGEST_PAUSE, LONGEST_PAUSE]


class Slow(ScriptedSource):
    """A source that takes more than a minute over each thing it says."""

    def __init__(self, clock: SteppedClock, script: list[Step]) -> None:
        super().__init__("slow", clock, script=script)
        self._stepped = clock

    async def records(self) -> AsyncIterator[Reading | Entry | Problem]:
        async for record in super().records():
            self._stepped.move(70.0)
            yield record


async def test_a_source_that_ran_well_is_tried_again_soon() -> None:
    clock = SteppedClock(START)
    minder = Minder(Slow(clock, [*[Refuse()] * 4, TWENTY_FIVE, Vanish(), TWENTY_FIVE]), clock)
    await minder.run(2)
    assert minder.pauses == [1, 2, 4, 8, 1]


async def test_a_cable_that_was_bumped_is_no_trouble_and_one_that_stays_out_is() -> None:
    minder = scripted(TWENTY_FIVE, Vanish("unplugged"), *[Refuse("no such port")] * 5, TWENTY_FIVE)
    await minder.run(2)
    assert minder.pauses == [1, 2, 4, 8, 16, 30]
    assert minder.away == [sum(minder.pauses[: place + 1]) >= AWAY for place in range(6)]
    assert minder.present
    assert minder.supervised.problem == "node: no such port"


async def test_a_line_that_cannot_be_used_is_kept_as_the_problem(caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.INFO):
        minder = scripted(Problem(source="node", line=7, text="no number"), TWENTY_FIVE)
        await minder.run(1)
    assert minder.supervised.problem == "no number"
    assert "source node, line 7: no number" in caplog.text


class Odd:
    """A source that breaks its promises as it is told to."""

    name = "odd"
    health = SourceHealth(connected=True)

    def __init__(self, fails: Callable[[], None], close: Callable[[], asyncio.Future[None]] | None = None) -> None:
        self._fails = fails
        self._slow_close = close
        self.closed = 0
        self.openings = 0

    async def open(self) -> None:
        self.openings += 1

    async def records(self) -> AsyncIterator[Reading | Entry | Problem]:
        if self.openings == 1:
            self._fails()
        yield Reading(time=START, probe="grate", celsius=20.0)

    async def close(self) -> None:
        self.closed += 1
        if self._slow_close is not None and self.openings == 1:
            await self._slow_close()


async def test_a_defect_in_a_source_is_logged_and_it_is_started_again(caplog: pytest.LogCaptureFixture) -> None:
    def fail() -> None:
        raise ZeroDivisionError("a defect")

    minder = Minder(odd := Odd(fail), SteppedClock(START))
    await minder.supervised.run()
    assert (odd.openings, odd.closed) == (2, 2)
    assert "source odd failed" in caplog.text
    assert "ZeroDivisionError" in caplog.text
    assert minder.pauses == [1]


async def test_a_source_that_does_not_let_go_is_not_waited_for_longer_than_the_deadline(
    caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("firebox.keeper.sources.CLOSE_DEADLINE", CLOSE_DEADLINE / 300)

    def gone() -> None:
        raise SourceError("gone")

    minder = Minder(Odd(gone, lambda: asyncio.get_running_loop().create_future()), SteppedClock(START))
    await minder.supervised.run()
    assert "did not let go of its device" in caplog.text
    assert len(minder.inlet.take()) == 1


async def test_cancelled_a_source_is_closed() -> None:
    source = ScriptedSource("node", SteppedClock(START), script=[TWENTY_FIVE])
    minder = Minder(source, SteppedClock(START))
    task = asyncio.create_task(minder.supervised.run())
    await minder.inlet.wait(5.0)
    assert source.health.connected
    task.cancel()
    await asyncio.wait([task])
    assert task.cancelled()
    assert not source.health.connected


def reading(number: int) -> Reading:
    return Reading(time=START, probe="grate", celsius=float(number))


async def test_when_the_queue_is_full_the_oldest_readings_go_and_entries_stay() -> None:
    inlet = Inlet(limit=10)
    inlet.put(first := Rake(time=START, id="first"))
    for number in range(30):
        inlet.put(reading(number))
    inlet.put(last := Rake(time=START, id="last"))
    records = inlet.take()
    assert records == [first, *(reading(number) for number in range(22, 30)), last]
    assert inlet.dropped == 22
    assert inlet.take() == []


async def test_entries_alone_may_exceed_the_queue() -> None:
    inlet = Inlet(limit=3)
    entries = [Rake(time=START, id=str(number)) for number in range(7)]
    for entry in entries:
        inlet.put(entry)
    assert inlet.take() == entries
    assert inlet.dropped == 0
