"""A keeper that lives is heard, one that hangs is not: over a real broker, and by a real service manager's socket."""

import asyncio
import json
import os
import signal
import socket
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from drivers.mqtt_outlet import HEARTBEAT_SECONDS, MqttOutlet
from firebox.links import Broker, MqttOutletOptions
from firebox.records import Tick

pytestmark = pytest.mark.e2e

ROOT = Path(__file__).parents[2]
TIME = datetime(2026, 5, 2, 4, 10, 5, tzinfo=UTC)
TOPIC = "pits/north/heartbeat"


@pytest.fixture
async def outlet(broker, clock, until):
    options = MqttOutletOptions(broker=Broker(host=broker.host, port=broker.port))
    outlet = MqttOutlet("house", clock, options=options, pit="north")
    await outlet.open()
    await until(lambda: outlet.connected)
    yield outlet
    await outlet.close()


async def test_ticks_are_the_heartbeat_and_no_more_than_one_in_ten_seconds(outlet, ear, until, monkeypatch):
    one = ear()
    for number in range(6):
        outlet.tell([Tick(time=TIME + timedelta(seconds=5 * number))])
        await asyncio.sleep(0.05)
    await until(lambda: one.heard(TOPIC))
    await asyncio.sleep(0.3)
    (beat,) = [json.loads(beat) for beat in one.heard(TOPIC)]
    assert beat == {"time": TIME.isoformat().replace("+00:00", "Z"), "kind": "live", "rate": 1.0}
    assert HEARTBEAT_SECONDS == 10.0


async def test_a_heartbeat_is_not_kept_by_the_broker(outlet, ear, until):
    one = ear()
    outlet.tell([Tick(time=TIME)])
    await until(lambda: one.heard(TOPIC))
    late = ear()
    await until(lambda: late.heard("pits/north/status"))
    await asyncio.sleep(0.2)
    assert late.heard(TOPIC) == []


@pytest.fixture
def keeper(tmp_path, broker, node):
    """A keeper as a process, whose signs of life go to a socket and to the broker."""
    manager = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
    manager.bind(str(tmp_path / "notify"))
    manager.settimeout(30)
    (tmp_path / "config").mkdir()
    (tmp_path / "config" / "north.toml").write_text(
        f'[[sources]]\nkind = "serial"\nport = "{node.path}"\n'
        f'[mqtt]\nbroker = {{ host = "{broker.host}", port = {broker.port} }}\n'
    )
    process = subprocess.Popen(
        [sys.executable, "-m", "firebox", "keep"],
        env={
            **os.environ,
            "FIREBOX_HOME": str(tmp_path),
            "NOTIFY_SOCKET": str(tmp_path / "notify"),
            "PYTHONPATH": str(ROOT),
        },
    )
    yield process, manager
    if process.poll() is None:
        process.send_signal(signal.SIGCONT)
        process.terminate()
        process.wait(30)
    manager.close()


@pytest.mark.slow
def test_a_keeper_that_hangs_falls_silent_and_one_that_is_well_does_not(keeper, ear):
    process, manager = keeper
    one = ear()
    signs = [manager.recv(4096).decode() for _ in range(5)]
    assert signs[0].startswith("READY=1\nWATCHDOG=1\n")
    assert "1 of 1 sources connected" in signs[-1]
    time.sleep(1)
    beats = one.heard(TOPIC)
    assert len(beats) >= 2  # 20 s of ticks have gone by
    process.send_signal(signal.SIGSTOP)
    time.sleep(11)
    manager.setblocking(False)
    with pytest.raises(BlockingIOError):
        manager.recv(4096)
    assert len(one.heard(TOPIC)) <= len(beats) + 1
    manager.settimeout(30)
    process.send_signal(signal.SIGCONT)
    assert "WATCHDOG=1" in manager.recv(4096).decode()
    process.terminate()
    assert process.wait(30) == 0
    assert one.heard("pits/north/status")[-1] == b"offline"
    left = []
    manager.setblocking(False)
    try:
        while True:
            left.append(manager.recv(4096).decode())
    except BlockingIOError:
        assert left[-1].startswith("STOPPING=1")
