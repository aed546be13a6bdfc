"""The watch on a real broker: what stays there, who hears it, and what survives a broker or a program that dies."""

import asyncio
import json
import os
import signal
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drivers.fakes.broker import MOSQUITTO
from drivers.mqtt_outlet import MqttOutlet
from drivers.mqtt_topics import MqttSource
from firebox.links import Broker, MqttOutletOptions, MqttSourceOptions, Tls, TopicMap
from firebox.records import (
    Alarm,
    AlarmState,
    Fire,
    Meat,
    Move,
    Outlook,
    Phase,
    Priority,
    Problem,
    Reading,
    Split,
    Tick,
    word_of,
)

pytestmark = pytest.mark.e2e
needs_mosquitto = pytest.mark.skipif(
    MOSQUITTO is None, reason="needs mosquitto: amqtt 0.12 speaks 3.1.1 only and tells kept messages wrongly"
)

ROOT = "pits/north pit"
TIME = datetime(2026, 5, 2, 4, 10, 5, tzinfo=UTC)
READING = Reading(time=TIME, probe="grate", celsius=121.4)


def outlook(assumes):
    return Outlook(
        time=TIME, probe="grate", celsius=121.2, drift_per_hour=-9.5, minutes=(5,), p10=(119.0,), p50=(120.0,), p90=(121.0,),
        assumes=assumes,
    )  # fmt: skip


def alarm(state, name="fire-dying"):
    return Alarm(
        time=TIME, alarm=name, state=state, priority=Priority.HIGH, text="the fire dies", first="look at the bed"
    )


def make(broker, clock, heard=None, **options):
    link = Broker(host=broker.host, port=broker.port, protocol=options.pop("protocol", "3.1.1"))
    return MqttOutlet(
        "house",
        clock,
        options=MqttOutletOptions(broker=link, **options),
        pit="north pit",
        hear=None if heard is None else heard.append,
    )


@pytest.fixture
async def outlet(broker, clock, until):
    outlet = make(broker, clock)
    await outlet.open()
    await until(lambda: outlet.connected)
    yield outlet
    await outlet.close()


@needs_mosquitto
async def test_every_thing_has_its_topic_and_stays_for_who_comes_late(outlet, ear, until):
    outlet.tell(
        [
            READING,
            outlook("nothing more is done"),
            outlook("the recommended split goes in"),
            Move(
                time=TIME, split=None, intake=None, stack=None, hold=True, expected=None, reason="the coals carry it"
            ),
            Fire(time=TIME, phase=Phase.STEADY),
            Meat(time=TIME, probe="flat/left", celsius=63.1),
            alarm(AlarmState.UNACKNOWLEDGED),
            Tick(time=TIME),
            Split(time=TIME, kg=1.4),
        ]
    )
    early = ear()
    await until(lambda: early.heard(f"{ROOT}/alarm/fire-dying"))
    late = ear()
    await until(lambda: len(late.by_topic()) >= 8)
    found = {topic.removeprefix(f"{ROOT}/"): messages[0] for topic, messages in late.by_topic().items()}
    assert sorted(found) == [
        "alarm/fire-dying", "fire", "meat/flat%2Fleft", "move", "outlook", "outlook/recommended", "reading/grate", "status",
    ]  # fmt: skip
    assert all(message.retain for message in found.values())
    assert {topic for topic, message in found.items() if message.qos == 1} == {"alarm/fire-dying", "status"}
    assert found["status"].payload == b"online"
    assert json.loads(found["reading/grate"].payload) == {
        "time": "2026-05-02T04:10:05Z", "probe": "grate", "celsius": 121.4, "status": "good",
    }  # fmt: skip
    assert json.loads(found["outlook"].payload)["assumes"] == "nothing more is done"
    assert json.loads(found["alarm/fire-dying"].payload)["state"] == "unacknowledged"
    assert "type" not in json.loads(found["move"].payload)


@pytest.mark.parametrize("protocol", ["3.1.1", pytest.param("5", marks=needs_mosquitto)])
async def test_closing_says_offline_after_all_that_was_told(broker, clock, ear, until, protocol):
    outlet = make(broker, clock, protocol=protocol)
    await outlet.open()
    await until(lambda: outlet.connected)
    listener = ear()
    outlet.tell([READING])
    outlet.tell([Reading(time=TIME, probe="grate", celsius=122.0), *(alarm(state) for state in AlarmState)])
    await outlet.close()
    assert not outlet.connected
    await until(lambda: listener.heard(f"{ROOT}/status")[-1] == b"offline")
    assert json.loads(listener.heard(f"{ROOT}/reading/grate")[-1])["celsius"] == 122.0
    told = [json.loads(payload)["state"] for payload in listener.heard(f"{ROOT}/alarm/fire-dying")]
    assert told == list(AlarmState)
    assert listener.messages[-1].payload == b"offline"


async def test_a_program_that_is_killed_is_seen_to_be_offline(broker, ear, until):
    root = str(Path(__file__).parents[2])
    script = (
        "import asyncio\n"
        "from drivers.mqtt_outlet import MqttOutlet\n"
        "from drivers.fakes.clock import SteppedClock\n"
        "from firebox.links import Broker, MqttOutletOptions\n"
        "async def main():\n"
        f"    options = MqttOutletOptions(broker=Broker(host={broker.host!r}, port={broker.port}))\n"
        "    await MqttOutlet('house', SteppedClock(), options=options, pit='north pit').open()\n"
        "    await asyncio.sleep(60)\n"
        "asyncio.run(main())\n"
    )
    listener = ear()
    with subprocess.Popen(  # noqa: ASYNC220  the loop has nothing else to do
        [sys.executable, "-c", script], cwd=root, env={**os.environ, "PYTHONPATH": root}
    ) as program:
        await until(lambda: listener.heard(f"{ROOT}/status") == [b"online"])
        program.send_signal(signal.SIGKILL)
        await until(lambda: listener.heard(f"{ROOT}/status") == [b"online", b"offline"])
    late = ear()
    await until(lambda: late.by_topic()[f"{ROOT}/status"])
    assert late.by_topic()[f"{ROOT}/status"][0].retain


async def test_a_broker_that_forgot_everything_is_told_again(outlet, broker, ear, until):
    outlet.tell([READING, Fire(time=TIME, phase=Phase.STEADY), alarm(AlarmState.UNACKNOWLEDGED)])
    listener = ear()
    await until(lambda: listener.heard(f"{ROOT}/alarm/fire-dying"))
    broker.stop()
    await until(lambda: not outlet.connected)
    assert f"{broker.host}:{broker.port}" in outlet.last_problem
    outlet.tell([Fire(time=TIME, phase=Phase.DYING), alarm(AlarmState.ACKNOWLEDGED), alarm(AlarmState.NORMAL)])
    broker.start()
    await until(lambda: outlet.connected)
    assert outlet.last_problem is None
    late = ear()
    await until(lambda: len(late.by_topic()) == 4 and b"normal" in late.heard(f"{ROOT}/alarm/fire-dying")[-1])
    assert json.loads(late.heard(f"{ROOT}/fire")[-1])["phase"] == "dying"
    assert json.loads(late.heard(f"{ROOT}/reading/grate")[-1])["celsius"] == 121.4
    assert late.heard(f"{ROOT}/status")[-1] == b"online"


@pytest.mark.parametrize("protocol", ["3.1.1", pytest.param("5", marks=needs_mosquitto)])
async def test_no_alarm_is_lost_and_none_overtakes_when_the_broker_hangs_and_dies(
    broker, clock, ear, until, protocol
):
    outlet = make(broker, clock, protocol=protocol)
    await outlet.open()
    await until(lambda: outlet.connected)
    broker.pause()
    states = [AlarmState.UNACKNOWLEDGED, AlarmState.ACKNOWLEDGED, AlarmState.NORMAL]
    for state in states:
        outlet.tell([alarm(state)])
        await asyncio.sleep(0.05)
    broker.stop()
    await until(lambda: not outlet.connected)
    broker.start()
    late = ear()
    await until(lambda: b"normal" in (late.heard(f"{ROOT}/alarm/fire-dying") or [b""])[-1])
    await until(lambda: not outlet._alarms)
    last = ear()
    await until(lambda: last.heard(f"{ROOT}/alarm/fire-dying"))
    assert json.loads(last.heard(f"{ROOT}/alarm/fire-dying")[0])["state"] == "normal"
    await outlet.close()


async def test_a_link_that_comes_and_goes_does_not_pile_up_alarms(broker, clock):
    broker.stop()
    outlet = make(broker, clock)
    await outlet.open()
    outlet.tell([alarm(AlarmState.UNACKNOWLEDGED), alarm(AlarmState.NORMAL), alarm(AlarmState.NORMAL, "high")])
    for _ in range(5):
        outlet._greet(outlet._client)  # connected, and lost again before the broker acknowledged anything
        outlet._fail(outlet._client, "lost")
    assert len(outlet._alarms) == 3
    await outlet.close()


async def test_a_hanging_broker_costs_neither_time_nor_memory(outlet, broker, until):
    broker.pause()
    loop = asyncio.get_running_loop()
    began = loop.time()
    for number in range(20_000):
        outlet.tell([Fire(time=TIME, phase=Phase.STEADY, heat_watts=float(number), wood_left_kg=1.0)])
        if number % 1000 == 0:
            await asyncio.sleep(0)
    assert loop.time() - began < 5.0
    assert len(outlet._latest) == 1
    assert len(outlet._under_way) <= 32
    broker.resume()


async def test_a_probe_is_told_once_a_second_at_most_and_its_last_value_in_the_end(outlet, ear, until):
    listener = ear()
    topic = f"{ROOT}/reading/grate"
    began = asyncio.get_running_loop().time()
    for number in range(60):
        outlet.tell([Reading(time=TIME, probe="grate", celsius=float(number))])
        await asyncio.sleep(0.02)
    await until(lambda: listener.heard(topic) and json.loads(listener.heard(topic)[-1])["celsius"] == 59.0)
    seconds = asyncio.get_running_loop().time() - began
    assert len(listener.heard(topic)) <= 1 + int(seconds)


async def test_what_is_told_before_the_broker_is_there_is_told_when_it_is(broker, clock, ear, until):
    broker.stop()
    outlet = make(broker, clock)
    await outlet.open()
    outlet.tell([alarm(AlarmState.UNACKNOWLEDGED), READING])
    await until(lambda: outlet.last_problem and "refused" in outlet.last_problem)
    assert not outlet.connected
    broker.start()
    await until(lambda: outlet.connected)
    listener = ear()
    await until(lambda: len(listener.by_topic()) == 3)
    await outlet.close()
    await outlet.close()


async def test_another_watch_can_read_the_published_readings(outlet, broker, clock, listening, until):
    options = MqttSourceOptions(
        broker=Broker(host=broker.host, port=broker.port), topics=(TopicMap(topic=f"{ROOT}/reading/+"),)
    )
    source = MqttSource("yard", clock, options=options)
    await source.open()
    async with listening(source) as ears:
        outlet.tell([READING])
        await until(lambda: ears.values() == [121.4])
    await source.close()


async def test_an_outlet_whose_certificates_are_missing_says_so_and_can_still_be_told(clock):
    link = Broker(tls=Tls(ca_file="/nowhere/ca.pem"))
    outlet = MqttOutlet("house", clock, options=MqttOutletOptions(broker=link), pit="one")
    with pytest.raises(OSError, match=r"/nowhere/ca\.pem: No such file"):
        await outlet.open()
    outlet.tell([READING])
    assert not outlet.connected
    assert "/nowhere/ca.pem: No such file" in outlet.last_problem
    await outlet.close()


# --- entries from other devices --------------------------------------------------------------------


async def test_entries_are_refused_and_told_unless_the_owner_allows_them(broker, clock, ear, until):
    heard = []
    outlet = make(broker, clock, heard)
    await outlet.open()
    await until(lambda: outlet.connected)
    ear().say(f"{ROOT}/entry", '{"entry":"split","kg":1.4}')
    await until(lambda: heard)
    await outlet.close()
    assert isinstance(heard[0], Problem)
    assert "accept_entries = true" in heard[0].text
    assert outlet.last_problem == heard[0].text


@needs_mosquitto
async def test_entries_come_in_once_stamped_with_the_present(broker, clock, ear, until):
    heard = []
    outlet = make(broker, clock, heard, accept_entries=True, root="yard/one")
    speaker = ear()
    speaker.say("yard/one/entry", '{"entry":"split","kg":9}', retain=True)
    await outlet.open()
    await until(lambda: len(heard) == 1)
    for payload in (
        '{"entry":"split","kg":1.4,"time":"2020-01-01T00:00:00Z","id":"a1"}',
        '{"entry":"split","kg":1.4,"time":"2020-01-01T00:00:00Z","id":"a1"}',
        '{"entry":"clock","to":"2030-01-01T00:00:00Z"}',
        '{"entry":"resumed","gap_seconds":5}',
        '{"entry":"trouble","what":"clock","name":"x","on":true,"text":"x"}',
        '{"entry":"split","kg":-1}',
        b"\xff",
        "[]",
        '{"entry":"lit"}',
    ):
        speaker.say("yard/one/entry", payload)
    await until(lambda: len(heard) == 9)
    await outlet.close()
    entries = [one for one in heard if not isinstance(one, Problem)]
    assert [word_of(entry) for entry in entries] == ["split", "lit"]
    assert entries[0] == Split(time=clock.now(), kg=1.4, id="a1")
    refusals = [one.text for one in heard if isinstance(one, Problem)]
    assert "retained" in refusals[0]
    assert '"clock" is no entry of a cook' in refusals[1]
    assert [one.line for one in heard if isinstance(one, Problem)] == [1, 4, 5, 6, 7, 8, 9]
