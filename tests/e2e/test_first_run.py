"""The very first `firebox watch`, in a real terminal: a file to fill in, an offer of the demo, and the dashboard."""

import fcntl
import os
import pty
import select
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from firebox.config import load
from firebox.journal.lock import holder

pytestmark = pytest.mark.e2e

ROOT = Path(__file__).parents[2]
DEADLINE = 40.0


class Terminal:
    """A command on a pseudo-terminal of 80 by 24."""

    def __init__(self, arguments: list[str], home: Path) -> None:
        self._far, near = pty.openpty()
        fcntl.ioctl(near, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        self.process = subprocess.Popen(
            [sys.executable, "-m", "firebox", *arguments],
            stdin=near, stdout=near, stderr=near, cwd=ROOT, start_new_session=True,
            env={**os.environ, "FIREBOX_HOME": str(home), "TERM": "xterm-256color", "PYTHONPATH": str(ROOT)},
        )  # fmt: skip
        os.close(near)
        self.seen = ""

    def until(self, words: str) -> None:
        """Read on until some words have been written."""
        end = time.monotonic() + DEADLINE
        start = len(self.seen)
        while words not in self.seen[start:]:
            assert time.monotonic() < end, f"{words!r} did not come; seen {self.seen[-2000:]!r}"
            self._read()

    def ended(self) -> int:
        """Return the status when the command has ended."""
        end = time.monotonic() + DEADLINE
        while self.process.poll() is None:
            assert time.monotonic() < end, f"it did not end; seen {self.seen[-2000:]!r}"
            self._read()
        return self.process.returncode

    def _read(self) -> None:
        ready, _, _ = select.select([self._far], [], [], 0.2)
        if ready:
            try:
                self.seen += os.read(self._far, 65536).decode(errors="replace")
            except OSError:  # the other end is closed: the command has ended
                time.sleep(0.05)

    def press(self, keys: str) -> None:
        os.write(self._far, keys.encode())

    def close(self) -> None:
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        os.close(self._far)


@pytest.fixture
def terminal(tmp_path: Path) -> Iterator[Terminal]:
    terminal = Terminal(["watch"], tmp_path)
    yield terminal
    terminal.close()
    subprocess.run(
        [sys.executable, "-m", "firebox", "stop", "--demo"],
        cwd=ROOT,
        env={**os.environ, "FIREBOX_HOME": str(tmp_path)},
    )


def test_the_demo_is_one_key_away_and_ends_with_its_dashboard(terminal, tmp_path):
    terminal.until("No pit is configured yet. Watch the demo pit? [Y/n]")
    assert load(tmp_path / "config" / "pit.toml").sources == ()
    terminal.press("\r")
    terminal.until("DEMO")
    assert holder(tmp_path / "state" / "demo.sqlite") is not None
    terminal.press("q")
    assert terminal.ended() == 0
    assert holder(tmp_path / "state" / "demo.sqlite") is None


def test_declining_the_demo_leaves_the_file_to_fill_in(terminal, tmp_path):
    terminal.until("[Y/n]")
    terminal.press("n\r")
    assert terminal.ended() == 0
    assert str(tmp_path / "config") in terminal.seen.replace("\r\n", "")
    assert not (tmp_path / "state").exists()
