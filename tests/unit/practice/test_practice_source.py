"""The practice pit as a probe source."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from drivers.practice import READINGS_A_SECOND, PracticeSource
from firebox.links import PracticeOptions
from firebox.practice.scenarios import SCENES
from firebox.records import Entry, Reading, Split

START = datetime(2026, 5, 2, 2, 0, tzinfo=UTC)


class HandClock:
    """A clock that moves only by sleeping."""

    def __init__(self, rate: float) -> None:
        self.rate = rate
        self.time = START

    def now(self) -> datetime:
        return self.time

    async def sleep(self, seconds: float) -> None:
        self.time += timedelta(seconds=seconds)


class Fire:
    """A played fire that remembers what was asked of it."""

    def __init__(self) -> None:
        self.asked: list[datetime] = []
        self.acted: list[Entry] = []

    def advance(self, time: datetime) -> Sequence[Reading | Entry]:
        self.asked.append(time)
        return [Reading(time=time, probe="grate", celsius=121.0)]

    def act(self, entry: Entry) -> None:
        self.acted.append(entry)


async def collect(source: PracticeSource, count: int) -> list[Reading]:
    heard: list[Reading] = []
    await source.open()
    async for record in source.records():
        assert isinstance(record, Reading)
        heard.append(record)
        if len(heard) == count:
            await source.close()
    return heard


async def test_a_reading_a_second_at_the_pace_of_the_day() -> None:
    heard = await collect(PracticeSource("practice", HandClock(1.0), fire=Fire()), 4)
    assert [r.time - START for r in heard] == [timedelta(seconds=s) for s in range(4)]


async def test_a_fast_clock_does_not_flood_the_keeper() -> None:
    heard = await collect(PracticeSource("practice", HandClock(30.0), fire=Fire()), 3)
    assert heard[1].time - heard[0].time == timedelta(seconds=30.0 / READINGS_A_SECOND)


async def test_the_cooks_entries_reach_the_fire() -> None:
    fire = Fire()
    entry = Split(time=START, kg=1.2)
    PracticeSource("practice", HandClock(1.0), fire=fire).act(entry)
    assert fire.acted == [entry]


async def test_it_may_be_opened_again_and_closed_twice() -> None:
    source = PracticeSource("practice", HandClock(1.0), fire=Fire())
    await collect(source, 2)
    await source.close()
    assert not source.health.connected
    assert len(await collect(source, 2)) == 2
    assert source.health.lines == 4


def test_a_practice_source_plays_a_known_scene_where_none_is_named() -> None:
    assert PracticeOptions().scenario in SCENES
