"""Two devices: one keeps the pit, the other shows it in a real terminal, and wakes its owner when the first falls silent."""

import os
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from drivers.fakes.broker import BrokerProcess
from drivers.fakes.player import FakePlayer
from drivers.fakes.probe_node import ProbeNode
from drivers.tones import wav
from firebox.records import Priority
from tests.terminal import Terminal, needs_tmux, until

ROOT = Path(__file__).parents[2]

pytestmark = [
    pytest.mark.e2e,
    pytest.mark.slow,
    pytest.mark.timeout(240),
    needs_tmux,
]


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
    command = (
        f"env PATH={player.path()} {sys.executable} -m firebox watch --afar"  # a login shell has a PATH of its own
    )
    terminal = Terminal(command, columns=100, lines=30, environment={"FIREBOX_HOME": tmp_path / "here"})
    yield terminal
    terminal.kill()


def test_the_pit_is_shown_on_the_second_device_and_a_silent_keeper_rings_there(
    terminal: Terminal, keeper: "subprocess.Popen[bytes]", player: FakePlayer
) -> None:
    terminal.shows("probes 2 good")  # which only the keeper can tell: the target is known here as well
    assert player.played == []
    keeper.send_signal(signal.SIGSTOP)
    terminal.shows("NOBODY IS WATCHING")
    until("the bed hears it", lambda: player.played)
    assert "beside-the-bed" in player.played[0].arguments
    assert player.played[0].sound == wav(Priority.CRITICAL, 1.0)
    terminal.press("A")
    terminal.shows("The keeper has been silent for 30 s")
    keeper.send_signal(signal.SIGCONT)
    terminal.shows("The keeper of the pit is heard again")
