"""Real parts that several tests share: a broker, a node on a pty, an ear on a topic; and no thread left behind."""

import asyncio
import os
import threading
from collections import defaultdict

import pytest
from hypothesis import HealthCheck, settings
from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion

from drivers.fakes.broker import BrokerProcess
from drivers.fakes.clock import SteppedClock
from drivers.fakes.probe_node import ProbeNode
from firebox.errors import SourceError
from tests.scheduling import Files, in_order

# The same examples each time, so that a change stands or falls by itself; and as long as they take on a busy machine.
settings.register_profile("steady", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("search", derandomize=False)  # pytest tests/properties --hypothesis-profile search
settings.load_profile("steady")

DEADLINE = 30.0
"""Seconds until a thing that should happen counts as not happening, on a loaded machine."""


@pytest.fixture(autouse=True)
def _no_driver_thread_is_left():
    yield
    left = [
        thread.name
        for thread in threading.enumerate()
        if thread.name.startswith(("serial-", "mqtt-", "paho-", "poll-"))
    ]
    assert left == []


@pytest.fixture
def clock():
    return SteppedClock()


@pytest.fixture
def broker(tmp_path):
    broker = BrokerProcess(tmp_path)
    broker.start()
    yield broker
    broker.stop()


@pytest.fixture
def node(tmp_path):
    node = ProbeNode(tmp_path / "usb-node-1", {"grate": 121.4, "flat": 63.1})
    node.plug()
    yield node
    node.unplug()


class Ear:
    """Another client of the broker, that remembers what it hears and can speak."""

    def __init__(self, broker):
        self.messages = []
        self._client = Client(CallbackAPIVersion.VERSION2)
        self._client.on_connect = lambda client, *_: client.subscribe("#", qos=1)
        self._ready = threading.Event()
        self._client.on_subscribe = lambda *_: self._ready.set()
        self._client.on_disconnect = lambda *_: self._ready.clear()
        self._client.on_message = lambda _client, _data, message: self.messages.append(message)
        self._client.reconnect_delay_set(1, 1)
        self._client.connect(broker.host, broker.port)
        self._client.loop_start()
        assert self._ready.wait(DEADLINE)

    def say(self, topic, payload, *, retain=False, qos=1):
        assert self._ready.wait(DEADLINE)
        self._client.publish(topic, payload, qos=qos, retain=retain).wait_for_publish(DEADLINE)

    def heard(self, topic):
        return [message.payload for message in self.messages if message.topic == topic]

    def by_topic(self):
        found = defaultdict(list)
        for message in self.messages:
            found[message.topic].append(message)
        return found

    def close(self):
        self._client.disconnect()
        self._client.loop_stop()


@pytest.fixture
def ear(broker):
    ears = []

    def listen():
        ears.append(Ear(broker))
        return ears[-1]

    yield listen
    for one in ears:
        one.close()


@pytest.fixture
def until():
    async def wait(fact, seconds=DEADLINE):
        """Return once `fact()` is true; fail at the deadline."""
        end = asyncio.get_running_loop().time() + seconds
        while not fact():
            assert asyncio.get_running_loop().time() < end, "it did not come true in time"
            await asyncio.sleep(0.01)

    return wait


@pytest.fixture
def listening():
    """Return a context that collects what a source yields, and the error that ends it."""
    return Listening


class Listening:
    def __init__(self, source):
        self._source = source
        self.items = []
        self.error = None
        self.ended = False

    async def __aenter__(self):
        self._task = asyncio.create_task(self._collect(), name="listening")
        return self

    async def __aexit__(self, *_):
        self._task.cancel()
        await asyncio.wait([self._task])

    async def _collect(self):
        try:
            async for item in self._source.records():
                self.items.append(item)
        except SourceError as error:
            self.error = error
        self.ended = True

    def values(self, probe="grate"):
        return [item.celsius for item in self.items if getattr(item, "probe", None) == probe]

    def problems(self):
        return [item.text for item in self.items if hasattr(item, "source")]


def pytest_collection_modifyitems(config, items):
    if hasattr(config, "workerinput"):  # one of several workers
        items[:] = in_order(items)


def pytest_xdist_make_scheduler(config, log):
    if config.getoption("dist") != "load":  # somebody asks for another way
        return None
    config.option.loadscopereorder = False
    return Files(config, log)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item, call):
    """Where all parts are said to be there, a skipped test is a failed one."""
    report = yield
    if report.skipped and not hasattr(report, "wasxfail") and os.environ.get("FIREBOX_ALL_PARTS") == "1":
        report.outcome = "failed"
        report.longrepr = f"skipped, though every part should be here: {report.longrepr}"
    return report
