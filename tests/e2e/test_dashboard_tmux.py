"""A watch on a real probe node, seen and tended in a real terminal: what a cook does in an evening, in a minute."""

import os
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from drivers.fakes.probe_node import ProbeNode
from firebox.journal.lock import holder
from firebox.journal.reader import JournalLink
from firebox.records import Alarm, AlarmState, Split, Status
from tests.terminal import Terminal, needs_tmux, until

pytestmark = [
    pytest.mark.e2e,
    pytest.mark.timeout(240),
    needs_tmux,
]

FILE = """
[units]
degrees = "C"
mass = "kg"
[target]
temperature = 121
[wood]
small = 0.8
medium = 1.3
large = 2.0
[[probes]]
name = "grate"
[[probes]]
name = "grate2"
[[probes]]
name = "flat"
[[sources]]
kind = "serial"
port = "{port}"
"""


class Evening:
    """A home, a file, and a node that goes on talking."""

    def __init__(self, folder: Path) -> None:
        self.home = folder / "home"
        self.config = folder / "pit.toml"
        self.node = ProbeNode(folder / "node", {"grate": 119.0, "grate2": 118.4, "flat": 63.1})
        self.node.plug()
        self.config.write_text(FILE.format(port=folder / "node"))
        self.journal = self.home / "state" / "pit.sqlite"
        self._done = threading.Event()
        self._thread = threading.Thread(target=self._talk, name="node")
        self._thread.start()

    def _talk(self) -> None:
        while not self._done.wait(0.5):
            self.node.step()

    def watched(self, *, columns: int, lines: int) -> Terminal:
        """Return a terminal in which this pit is watched."""
        command = f"{sys.executable} -m firebox watch --config {self.config}"
        return Terminal(command, columns=columns, lines=lines, environment={"FIREBOX_HOME": self.home})

    def end(self) -> None:
        self._done.set()
        self._thread.join()
        self.node.unplug()

    def firebox(self, *arguments: str) -> "subprocess.CompletedProcess[str]":
        environment = {**os.environ, "FIREBOX_HOME": str(self.home)}
        return subprocess.run(
            [sys.executable, "-m", "firebox", *arguments],
            capture_output=True,
            text=True,
            env=environment,
            check=False,
        )


@pytest.fixture
def evening(tmp_path: Path) -> Iterator[Evening]:
    evening = Evening(tmp_path)
    yield evening
    evening.firebox("stop", "--config", str(evening.config))
    evening.end()


@pytest.mark.parametrize(("columns", "lines"), [(80, 24), (160, 50)])
def test_an_evening_at_the_pit(evening: Evening, columns: int, lines: int) -> None:
    terminal = evening.watched(columns=columns, lines=lines)
    link = JournalLink(evening.journal)
    records = []

    def heard(kind: type, **wanted: object) -> bool:
        records.extend(link.news())
        return any(isinstance(r, kind) and all(getattr(r, k) == v for k, v in wanted.items()) for r in records)

    try:
        terminal.shows("aim 121C")
        terminal.shows("probes 3 good")
        kept_by = holder(evening.journal)
        assert kept_by is not None

        terminal.press("s", "2")
        until("the split is kept", lambda: heard(Split, kg=1.3))

        evening.node.fault("grate2", Status.OPEN)
        until("the open probe is raised", lambda: heard(Alarm, alarm="probe-open-grate2", state="unacknowledged"))
        terminal.shows("Probe grate2: open")
        terminal.press("a")
        until("it is seen", lambda: heard(Alarm, alarm="probe-open-grate2", state=AlarmState.ACKNOWLEDGED))

        terminal.kill()
        time.sleep(1.0)
        assert holder(evening.journal) == kept_by, "losing the terminal must not end the watch"
        again = evening.firebox("keep", "--config", str(evening.config))
        assert again.returncode == 1
        assert str(kept_by.pid) in again.stderr

        terminal = evening.watched(columns=columns, lines=lines)
        terminal.shows("aim 121C")
        assert holder(evening.journal) == kept_by, "a second look must not start a second keeper"
        terminal.press("q")
        time.sleep(1.0)
        assert holder(evening.journal) == kept_by, "leaving the dashboard must not end the watch"

        assert evening.firebox("stop", "--config", str(evening.config)).returncode == 0
        assert holder(evening.journal) is None
    except AssertionError:
        print(terminal.screen())
        raise
    finally:
        terminal.kill()
        link.close()
