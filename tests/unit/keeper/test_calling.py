"""A device that looks at a pit from afar, and calls people in its own ways."""

import time
from collections.abc import Callable
from datetime import UTC, datetime

import pytest

from drivers.fakes.announcer import RememberingAnnouncer
from firebox.keeper.calling import CallingLink
from firebox.keeper.clock import SteadyClock
from firebox.keeper.notices import Notices
from firebox.ports import KeeperStatus, Kind
from firebox.records import Acknowledge, Alarm, AlarmState, Entry, Priority, Record, Tick
from firebox.warn.escalation import Policy

OWN = "keeper-silent"
TIME = datetime(2026, 5, 2, tzinfo=UTC)


def until(fact: Callable[[], object]) -> None:
    end = time.monotonic() + 30
    while not fact():
        assert time.monotonic() < end, "it did not come true in time"
        time.sleep(0.01)


class Behind:
    """A link that hands on what it is given."""

    def __init__(self) -> None:
        self.records: list[Record] = []
        self.alive = False
        self.kind = Kind.LIVE
        self.left: list[Entry] = []
        self.closed = 0

    def news(self) -> list[Record]:
        found, self.records = self.records, []
        return found

    def status(self) -> KeeperStatus:
        return KeeperStatus(alive=self.alive, pit="north", kind=self.kind, rate=1.0)

    def leave(self, entry: Entry) -> None:
        self.left.append(entry)

    def close(self) -> None:
        self.closed += 1


class Afar:
    def __init__(self) -> None:
        self.behind = Behind()
        self.way = RememberingAnnouncer("bed")
        notices = Notices(
            self.way, Policy(), SteadyClock(), pit="north", real=lambda: self.behind.kind is Kind.LIVE, note=print
        )
        self.link = CallingLink(self.behind, [notices], OWN)

    def hear(self, *records: Record) -> None:
        self.behind.records += records
        assert list(self.link.news()) == list(records)


@pytest.fixture
def afar():
    afar = Afar()
    yield afar
    afar.link.close()
    afar.link.close()
    assert afar.way.closed == 1
    assert afar.behind.closed == 2


def alarm(name: str = "fire-dying") -> Alarm:
    return Alarm(
        time=TIME, alarm=name, state=AlarmState.UNACKNOWLEDGED, priority=Priority.CRITICAL, text="t.", first="f."
    )


def test_an_alarm_of_the_keeper_calls_here_too(afar):
    afar.behind.alive = True
    afar.hear(Tick(time=TIME), alarm())
    until(lambda: afar.way.said)
    assert afar.way.said[0].alarms == ("fire-dying",)


def test_that_nobody_keeps_the_pit_calls_though_nothing_was_ever_heard_of_it(afar):
    afar.hear(alarm(), alarm(OWN))
    until(lambda: afar.way.said)
    assert afar.way.said[0].alarms == (OWN,)


def test_alarms_wait_until_it_is_known_what_sort_of_fire_it_is(afar):
    afar.hear(alarm())
    time.sleep(0.2)
    assert afar.way.said == []
    afar.behind.alive, afar.behind.kind = True, Kind.PRACTICE
    afar.hear()
    until(lambda: afar.way.said)
    assert "practice, no real fire" in afar.way.said[0].title


def test_entries_and_status_are_those_of_the_link_behind(afar):
    entry = Acknowledge(time=TIME, alarm="fire-dying")
    afar.link.leave(entry)
    assert afar.behind.left == [entry]
    assert afar.link.status() == afar.behind.status()
