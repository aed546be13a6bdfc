"""A pit looked at from another device over a real broker; and that device's own alarm when nobody watches any more."""

import asyncio
from datetime import UTC, datetime, timedelta

import pytest

from drivers.fakes.clock import SteppedClock
from drivers.mqtt_link import MqttLink
from drivers.mqtt_outlet import MqttOutlet
from drivers.silence import ALARM, SILENT_SECONDS
from firebox.errors import JournalError
from firebox.links import Broker, MqttOutletOptions
from firebox.ports import Kind
from firebox.records import (
    Acknowledge,
    Alarm,
    AlarmState,
    Entry,
    Health,
    Priority,
    ProbeHealth,
    Reading,
    Split,
    Tick,
)
from firebox.setup import Setup
from tui.view import ViewState, fold

pytestmark = pytest.mark.e2e

TIME = datetime(2026, 5, 2, 4, 0, tzinfo=UTC)


class Device:
    """A second device whose clock moves when told to, with everything it was told."""

    def __init__(self, broker, pit="north"):
        self.seconds = 0.0
        self.records = []
        self.link = MqttLink(
            MqttOutletOptions(broker=Broker(host=broker.host, port=broker.port)),
            pit,
            Setup(time=TIME, pit=pit),
            wall=lambda: TIME + timedelta(seconds=self.seconds),
            steady=lambda: self.seconds,
        )

    def look(self):
        self.records += self.link.news()
        return self.records

    def of(self, kind):
        return [record for record in self.look() if isinstance(record, kind)]

    def own(self):
        """Return the states of this device's own alarm, so far."""
        return [record.state for record in self.of(Alarm) if record.alarm == ALARM]


@pytest.fixture
def device(broker):
    devices = []

    def make(**options):
        devices.append(Device(broker, **options))
        return devices[-1]

    yield make
    for one in devices:
        one.link.close()
        one.link.close()


@pytest.fixture
async def keeper(broker, until):
    heard = []
    options = MqttOutletOptions(broker=Broker(host=broker.host, port=broker.port), accept_entries=True)
    outlet = MqttOutlet("house", SteppedClock(TIME), options=options, pit="north", hear=heard.append)
    outlet.heard = heard
    await outlet.open()
    await until(lambda: outlet.connected)
    yield outlet
    await outlet.close()


def alarm(state=AlarmState.UNACKNOWLEDGED):
    return Alarm(
        time=TIME - timedelta(hours=1), alarm="fire-dying", state=state, priority=Priority.HIGH, text="t", first="f"
    )


async def test_who_comes_late_sees_what_the_broker_kept_and_then_what_comes(keeper, device, ear, until):
    judged = ProbeHealth(time=TIME, probe="grate", health=Health.GOOD, role="grate", text="good")
    keeper.tell([Reading(time=TIME, probe="grate", celsius=121.4), judged, alarm()])
    other = ear()
    for topic in ("alarm/fire-dying", "reading/grate", "probe/grate"):
        await until(lambda topic=topic: other.heard(f"pits/north/{topic}"))
    one = device()
    await until(lambda: one.of(Alarm) and one.of(Reading) and one.of(ProbeHealth))
    assert isinstance(one.records[0], Setup)
    assert one.of(Alarm) == [alarm()]
    keeper.tell([alarm(AlarmState.ACKNOWLEDGED), Tick(time=TIME)])
    await until(lambda: len(one.of(Alarm)) == 2 and one.of(Tick))
    view = ViewState()
    for record in one.records:
        view = fold(view, record)
    assert view.alarms["fire-dying"].alarm.state is AlarmState.ACKNOWLEDGED
    assert view.probes["grate"].celsius == 121.4
    assert view.probes["grate"].health is Health.GOOD


async def test_the_keeper_lives_as_long_as_its_heart_beats_and_says_what_sort_of_fire_it_is(broker, device, until):
    options = MqttOutletOptions(broker=Broker(host=broker.host, port=broker.port))
    practice = MqttOutlet("house", SteppedClock(TIME), options=options, pit="north", kind=Kind.PRACTICE)
    await practice.open()
    one = device()
    await until(lambda: practice.connected)
    assert not one.link.status().alive  # not heard yet
    await until(lambda: one.link.status().problem is None)
    practice.tell([Tick(time=TIME)])
    await until(lambda: one.look() and one.link.status().alive)
    assert one.link.status().kind is Kind.PRACTICE
    one.seconds += SILENT_SECONDS + 1
    assert not one.link.status().alive
    await practice.close()


async def test_a_keeper_that_falls_silent_is_an_alarm_of_this_device_until_it_is_heard_again(keeper, device, until):
    one = device()
    await until(lambda: one.link.status().problem is None)
    keeper.tell([Tick(time=TIME)])
    await until(lambda: one.of(Tick))
    one.seconds += SILENT_SECONDS - 1
    assert one.own() == []
    one.seconds += 2
    assert one.own() == [AlarmState.UNACKNOWLEDGED]
    assert "silent for 30 s" in one.of(Alarm)[-1].text
    one.link.leave(Acknowledge(time=TIME, alarm=ALARM))
    assert one.own()[-1] is AlarmState.ACKNOWLEDGED
    keeper._next.clear()  # a heartbeat comes every ten seconds; here it comes at once
    keeper.tell([Tick(time=TIME + timedelta(seconds=60))])
    await until(lambda: one.own()[-1] is AlarmState.NORMAL)


async def test_nothing_ever_heard_is_an_alarm_too(device):
    one = device()
    one.seconds += SILENT_SECONDS + 1
    assert one.own() == [AlarmState.UNACKNOWLEDGED]


async def test_a_keeper_that_ends_is_an_alarm_at_once(keeper, device, until):
    one = device()
    await until(lambda: one.link.status().problem is None)
    keeper.tell([Tick(time=TIME)])
    await until(lambda: one.of(Tick))
    await keeper.close()
    await until(lambda: one.own() == [AlarmState.UNACKNOWLEDGED])
    assert "has ended" in one.of(Alarm)[-1].text
    assert not one.link.status().alive


async def test_a_broker_that_is_gone_is_an_alarm_and_no_entry_is_lost_unsaid(keeper, device, broker, until):
    one = device()
    await until(lambda: one.link.status().problem is None)
    keeper.tell([Tick(time=TIME)])
    await until(lambda: one.of(Tick))
    broker.stop()
    await until(lambda: one.link.status().problem is not None)
    with pytest.raises(JournalError, match="could not be left"):
        one.link.leave(Split(time=TIME))
    one.seconds += SILENT_SECONDS + 1
    assert one.own() == [AlarmState.UNACKNOWLEDGED]


async def test_an_entry_reaches_the_keeper_and_is_shown_here(keeper, device, until):
    one = device()
    await until(lambda: one.link.status().problem is None)
    keeper.tell([Tick(time=TIME)])
    await until(lambda: one.of(Tick))
    await asyncio.to_thread(one.link.leave, Split(time=TIME, kg=1.4))
    await until(lambda: keeper.heard)
    (shown,) = one.of(Entry)
    assert keeper.heard == [shown]
    assert shown.kg == 1.4
    assert shown.id is not None


async def test_what_is_no_record_is_passed_over_and_said(device, ear, until):
    one, other = device(), ear()
    await until(lambda: one.link.status().problem is None)
    other.say("pits/north/heartbeat", b"{")
    other.say("pits/north/reading/grate", b'{"probe": 3}')
    other.say("pits/north/alarm/x", b"x" * 70_000)
    other.say("pits/north/something/else", b"1")
    other.say("pits/north/heartbeat", b'{"time": "2026-05-02T04:00:00Z"}')
    await until(lambda: one.of(Tick))
    assert len(one.records) == 2  # setup and tick
    assert "no record is longer than" in one.link.status().problem
