"""Two devices: one keeps the pit, the other shows it in a real terminal, and wakes its owner when the first falls silent."""

import os
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from drivers.fakes.broker import BrokerProcess
from drivers.fakes.player import FakePlayer
from drivers.fakes.probe_node import ProbeNode
from drivers.tones import wav
from firebox.records import Priority

ROOT = Path(__file__).parents[2]
DEADLINE = 60.0

pytestmark = [
    pytest.mark.e2e,
    pytest.mark.slow,
    pytest.mark.timeout(240),
    pytest.mark.skipif(shutil.which("tmux") is None, reason="needs tmux: apt install tmux"),
]


class Terminal:
    """The second device's terminal, on a tmux server of its own."""

    def __init__(self, home: Path, player: FakePlayer) -> None:
        self._socket = f"firebox-{os.getpid()}-{id(self)}"
        self._run(
            "-f", "/dev/null", "new-session", "-d", "-x", "100", "-y", "30", "-c", str(ROOT),
            "-e", f"FIREBOX_HOME={home}", "-e", "TERM=tmux-256color", "-e", "LC_ALL=C.UTF-8",
            f"env PATH={player.path()} {sys.executable} -m firebox watch --afar",  # a login shell has a PATH of its own
        )  # fmt: skip

    def _run(self, *arguments: str) -> str:
        done = subprocess.run(["tmux", "-L", self._socket, *arguments], capture_output=True, text=True, check=True)
        return done.stdout

    def shows(self, words: str) -> None:
        end = time.monotonic() + DEADLINE
        while words not in (screen := self._run("capture-pane", "-p")):
            assert time.monotonic() < end, f"{words!r} did not come; the screen is\n{screen}"
            time.sleep(0.2)

    def press(self, key: str) -> None:
        self._run("send-keys", key)

    def kill(self) -> None:
        subprocess.run(["tmux", "-L", self._socket, "kill-server"], capture_output=True, check=False)


@pytest.fixture
def talking(node: ProbeNode) -> Iterator[ProbeNode]:
    over = threading.Event()

    def talk() -> None:
        while not over.wait(0.5):
            node.step()

    thread = threading.Thread(target=talk, name="node")
    thread.start()
    yield node
    over.set()
    thread.join()


@pytest.fixture
def keeper(tmp_path: Path, broker: BrokerProcess, talking: ProbeNode) -> Iterator["subprocess.Popen[bytes]"]:
    pit = (
        '[units]\ndegrees = "C"\n[target]\ntemperature = 121\n[[probes]]\nname = "grate"\n[[probes]]\nname = "flat"\n'
        f'[mqtt]\nbroker = {{ host = "{broker.host}", port = {broker.port} }}\naccept_entries = true\n'
    )
    for home, more in (
        ("there", f'[[sources]]\nkind = "serial"\nport = "{talking.path}"\n'),
        ("here", '[[notices.to]]\nkind = "sound"\ndevice = "beside-the-bed"\n'),
    ):
        (tmp_path / home / "config").mkdir(parents=True)
        (tmp_path / home / "config" / "north.toml").write_text(pit + more)
    environment = {**os.environ, "FIREBOX_HOME": str(tmp_path / "there"), "PYTHONPATH": str(ROOT)}
    process = subprocess.Popen([sys.executable, "-m", "firebox", "keep"], env=environment)
    yield process
    process.send_signal(signal.SIGCONT)
    process.terminate()
    process.wait(30)


@pytest.fixture
def player(tmp_path: Path) -> FakePlayer:
    return FakePlayer(tmp_path / "player")


@pytest.fixture
def terminal(tmp_path: Path, keeper: "subprocess.Popen[bytes]", player: FakePlayer) -> Iterator[Terminal]:
    terminal = Terminal(tmp_path / "here", player)
    yield terminal
    terminal.kill()


def test_the_pit_is_shown_on_the_second_device_and_a_silent_keeper_rings_there(
    terminal: Terminal, keeper: "subprocess.Popen[bytes]", player: FakePlayer
) -> None:
    terminal.shows("probes 2 good")  # which only the keeper can tell: the target is known here as well
    assert player.played == []
    keeper.send_signal(signal.SIGSTOP)
    terminal.shows("NOBODY IS WATCHING")
    end = time.monotonic() + DEADLINE
    while not player.played:
        assert time.monotonic() < end, "the bed hears nothing"
        time.sleep(0.1)
    assert "beside-the-bed" in player.played[0].arguments
    assert player.played[0].sound == wav(Priority.CRITICAL, 1.0)
    terminal.press("A")
    terminal.shows("The keeper has been silent for 30 s")
    keeper.send_signal(signal.SIGCONT)
    terminal.shows("The keeper of the pit is heard again")
