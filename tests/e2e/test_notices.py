"""A night's alarm through the whole program: a node on a pty, the keeper as a process, sounds and messages that arrive."""

import asyncio
import contextlib
import os
import signal
import socket
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import TypeVar

import pytest

from drivers.fakes.player import FakePlayer, Played
from drivers.fakes.web_hook import WebHook
from drivers.tones import wav
from firebox.journal import history
from firebox.journal.reader import JournalLink
from firebox.journal.schema import open_reading
from firebox.records import (
    Acknowledge,
    Alarm,
    AlarmState,
    Notice,
    Occasion,
    Priority,
    Reading,
    Record,
    Trouble,
)
from firebox.warn.hot import CLEAR_EXCESS

Kind = TypeVar("Kind", bound=Record)

pytestmark = pytest.mark.e2e

ROOT = Path(__file__).parents[2]
HIGH = 150.0
DEADLINE = 60.0
BUSY = 3.0
"""Seconds that a machine which is busy otherwise may add."""

PIT = """
[units]
degrees = "C"
[target]
temperature = 121
band = 8
high = 150
low = 90
[[probes]]
name = "grate"
role = "grate"
[[probes]]
name = "flat"
role = "meat"
[[sources]]
kind = "serial"
port = "{port}"
"""
BEDROOM = """
[[notices.to]]
kind = "sound"
name = "bedroom"
device = "null"
from_priority = "high"
"""
NEIGHBOUR = """
[[notices.to]]
kind = "sound"
name = "neighbour"
device = "plughw:9,0"
from_priority = "high"
after_minutes = 0.1
"""
FRIEND = """
[[notices.to]]
kind = "push"
name = "friend"
from_priority = "low"
url_file = "{file}"
"""


class Keeper:
    """A keeper process with a loudspeaker that writes down, and a service manager that listens."""

    def __init__(self, folder: Path, pit: str) -> None:
        self.player = FakePlayer(folder / "player")
        self.journal = folder / "state" / "north.sqlite"
        self.manager = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self.manager.bind(str(folder / "notify"))
        self.manager.setblocking(False)
        (folder / "config").mkdir()
        (folder / "config" / "north.toml").write_text(pit)
        self.environment = {
            **os.environ,
            "FIREBOX_HOME": str(folder),
            "PATH": self.player.path(),
            "PYTHONPATH": str(ROOT),
            "NOTIFY_SOCKET": str(folder / "notify"),
        }
        self.signs: list[str] = []
        self.start()

    def start(self) -> None:
        self.process = subprocess.Popen([sys.executable, "-m", "firebox", "keep"], env=self.environment)

    def heard(self) -> list[str]:
        """Return the signs of life so far."""
        while True:
            try:
                self.signs.append(self.manager.recv(4096).decode())
            except BlockingIOError:
                return self.signs

    def records(self, kind: type[Kind]) -> list[Kind]:
        with closing(open_reading(self.journal)) as connection:
            found = [record for _, record in history.records(connection, 0, ways="all")]
        return [record for record in found if isinstance(record, kind)]

    def leave(self, entry: Acknowledge) -> None:
        with closing(JournalLink(self.journal, "north")) as link:
            link.leave(entry)

    def kill(self) -> None:
        self.process.kill()
        self.process.wait(DEADLINE)

    def end(self) -> None:
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGTERM)
            self.process.wait(DEADLINE)
        self.manager.close()

    def sounded(self, device: str) -> list[Played]:
        return [played for played in self.player.played if device in played.arguments]


@pytest.fixture
def kept(tmp_path, node):
    keepers = []

    def begin(ways: str) -> Keeper:
        keepers.append(Keeper(tmp_path, PIT.format(port=node.path) + ways))
        return keepers[-1]

    yield begin
    for keeper in keepers:
        keeper.end()


@contextlib.asynccontextmanager
async def talking(node):
    """The node writes five lines a second, so that a hot pit comes within seconds."""
    task = asyncio.create_task(node.run(0.2), name="node")
    yield
    task.cancel()


async def heat(node):
    """Let the pit become 5 K hotter a second, which a flame could do, and well over its upper limit."""
    while node.celsius["grate"] < HIGH + 30.0:
        node.celsius["grate"] += 1.0
        await asyncio.sleep(0.2)


@pytest.mark.timeout(240)
async def test_a_hard_limit_is_heard_in_two_seconds_then_by_the_next_person_until_acknowledged(kept, node, until):
    keeper = kept(BEDROOM + NEIGHBOUR)
    async with talking(node):
        await until(lambda: any("1 of 1 sources connected" in sign for sign in keeper.heard()), DEADLINE)
        await asyncio.sleep(3)
        assert keeper.player.played == []
        await heat(node)
        await until(lambda: keeper.sounded("plughw:9,0"), DEADLINE)
        await until(lambda: len(keeper.sounded("null")) >= 3, DEADLINE)
        keeper.leave(Acknowledge(time=datetime.now(UTC), alarm="pit-too-hot"))
        await until(lambda: has_ended(keeper), DEADLINE)
        await asyncio.sleep(BUSY)  # a sound that was under way
        count = len(keeper.player.played)
        await asyncio.sleep(12)
        assert len(keeper.player.played) == count

    bedroom, neighbour = keeper.sounded("null"), keeper.sounded("plughw:9,0")
    assert {played.sound for played in bedroom} == {wav(Priority.CRITICAL, 1.0)}
    hot = [
        record.time.timestamp() for record in keeper.records(Reading) if (record.celsius or 0.0) > HIGH + CLEAR_EXCESS
    ]
    delay = bedroom[0].started - hot[0]
    print(f"\nfrom the first reading clearly over the limit to sound: {delay:.2f} s")
    assert 0.0 < delay <= 2.0 + BUSY
    assert neighbour[0].started - bedroom[0].started == pytest.approx(6.0, abs=BUSY)
    told = keeper.records(Notice)
    assert [(record.way, record.occasion, record.problem) for record in told[:2]] == [
        ("bedroom", Occasion.RAISED, None),
        ("neighbour", Occasion.RAISED, None),
    ]
    assert "READY=1" in keeper.signs[0]
    assert all("WATCHDOG=1" in sign for sign in keeper.signs)


def has_ended(keeper: Keeper) -> bool:
    states = [record.state for record in keeper.records(Alarm) if record.alarm == "pit-too-hot"]
    return states[-1:] == [AlarmState.ACKNOWLEDGED]


@pytest.mark.timeout(240)
async def test_a_keeper_that_is_killed_calls_again_when_it_is_back(kept, node, until):
    keeper = kept(BEDROOM)
    async with talking(node):
        await until(lambda: any("1 of 1" in sign for sign in keeper.heard()), DEADLINE)
        await heat(node)
        await until(lambda: keeper.player.played, DEADLINE)
        keeper.kill()
        await asyncio.sleep(1)
        count = len(keeper.player.played)
        keeper.start()
        await until(lambda: len(keeper.player.played) >= count + 2, DEADLINE)
    assert len({record.alarm for record in keeper.records(Alarm)} & {"pit-too-hot"}) == 1


@pytest.mark.slow
@pytest.mark.timeout(240)
async def test_a_loudspeaker_that_fails_is_tried_again_and_is_an_alarm_that_others_hear_of(
    kept, node, until, tmp_path
):
    pytest.importorskip("apprise", reason='needs apprise: pip install "firebox[test]"')
    hook = WebHook()
    hook.start()
    (tmp_path / "address").write_text(f"json://{hook.place}/t0ken-of-a-friend")
    keeper = kept(BEDROOM + FRIEND.format(file=tmp_path / "address"))
    keeper.player.fail("audio open error: No such device")

    def posted(words: str) -> bool:
        return any(words in body["message"] for _, body in hook.posted)

    async with talking(node):
        await until(lambda: any("1 of 1" in sign for sign in keeper.heard()), DEADLINE)
        await heat(node)
        await until(lambda: posted("well over its upper limit"), DEADLINE)
        await until(lambda: posted("No such device"), DEADLINE)
        assert keeper.player.played == []
        keeper.player.work()
        await until(lambda: keeper.player.played, DEADLINE)
        await until(lambda: any(not record.on for record in keeper.records(Trouble)), DEADLINE)
    keeper.end()
    hook.stop()
    attempts = [record for record in keeper.records(Notice) if record.way == "bedroom"]
    assert attempts[0].problem == "aplay ended with status 1: audio open error: No such device"
    assert any(record.problem is None for record in attempts)
    assert [(record.name, record.on) for record in keeper.records(Trouble)] == [("bedroom", True), ("bedroom", False)]
    written = b"".join(path.read_bytes() for path in (tmp_path / "state").iterdir())
    assert b"t0ken-of-a-friend" not in written
