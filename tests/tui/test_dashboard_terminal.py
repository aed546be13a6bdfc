"""The dashboard in a real terminal: drawn, resized, left, and cut off."""

import os
import shutil
import subprocess
import sys
import time
import uuid
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
LOOK = ROOT / "tests" / "tui" / "look.py"
DEADLINE = 20.0

pytestmark = pytest.mark.e2e


class Terminal:
    """A terminal of its own, in tmux."""

    def __init__(self, width, height, *options):
        self._socket = f"firebox-{uuid.uuid4().hex[:12]}"
        command = f"{sys.executable} {LOOK} {' '.join(options)}; exec sleep 60"
        self._tmux("-f", "/dev/null", "new-session", "-d", "-s", "pit", "-x", str(width), "-y", str(height), command)

    def _tmux(self, *words):
        # A size in the environment would be believed before the terminal's own.
        clean = {
            key: value for key, value in os.environ.items() if key not in {"COLUMNS", "LINES", "NO_COLOR", "TMUX"}
        }
        command = ["tmux", "-L", self._socket, *words]
        return subprocess.run(command, check=True, capture_output=True, text=True, env=clean).stdout

    def screen(self):
        return self._tmux("capture-pane", "-p", "-t", "pit")

    def press(self, *keys):
        for key in keys:
            self._tmux("send-keys", "-t", "pit", key)

    def record(self, path):
        """Write what the dashboard sends from now on to a file."""
        path.touch()
        self._tmux("pipe-pane", "-t", "pit", f"cat > {path}")

    def resize(self, width, height):
        self._tmux("resize-window", "-t", "pit", "-x", str(width), "-y", str(height))

    def see(self, *words):
        return self.until(lambda screen: all(word in screen for word in words))

    def until(self, fact):
        end = time.monotonic() + DEADLINE
        while not fact(screen := self.screen()):
            assert time.monotonic() < end, screen
            time.sleep(0.05)
        return screen

    def children(self):
        pane = self._tmux("list-panes", "-t", "pit", "-F", "#{pane_pid}").strip()
        found = subprocess.run(["ps", "--ppid", pane, "-o", "pid="], check=False, capture_output=True, text=True)
        return [int(word) for word in found.stdout.split()]

    def close(self):
        subprocess.run(["tmux", "-L", self._socket, "kill-server"], check=False, capture_output=True)


@pytest.fixture
def terminal():
    assert shutil.which("tmux"), "tmux is needed for the tests in a real terminal"
    opened = []

    def open_terminal(*options, size=(80, 24)):
        opened.append(Terminal(*size, *options))
        return opened[-1]

    yield open_terminal
    for one in opened:
        one.close()


def test_a_split_is_logged_and_the_dashboard_left_in_a_real_terminal(terminal):
    screen = terminal("--begin", "15000")
    screen.see("NEXT", "SPLIT", "no alarms", "q leave")
    screen.press("s")
    screen.see("1 small", "2 medium", "3 large")
    screen.press("2")
    screen.see("medium split, 1.4 kg", "logged")
    screen.press("q")
    screen.see("The watch goes on without the dashboard. To end it: firebox stop")


def test_an_alarm_reaches_the_terminal_within_two_seconds_of_the_news(terminal):
    screen = terminal("--begin", "15000", "--alarm-after", "4", "--kind", "demo", "--rate", "20")
    screen.see("DEMO FIRE - NOT A REAL PIT x20")
    screen.see("HIGH ALARM", "FIRST", "I am awake: stop the bell")


def test_the_bell_goes_on_ringing_in_the_terminal_until_the_alarm_is_acknowledged(terminal, tmp_path):
    screen = terminal("--begin", "15000", "--alarm-after", "3")
    heard = tmp_path / "heard"
    screen.see("NEXT")
    screen.record(heard)
    screen.see("HIGH ALARM")
    screen.until(lambda _: heard.read_bytes().count(b"\a") >= 3)
    screen.press("a")
    screen.see("acknowledged: The fire is dying")


def test_a_terminal_may_change_its_size_at_any_time(terminal):
    screen = terminal("--begin", "15000")
    screen.see("NEXT")
    screen.resize(160, 50)
    screen.see("PROBES", "ENTRIES", "min to the split")
    screen.resize(60, 20)
    screen.until(lambda shown: "PROBES" not in shown and "NEXT" in shown and "q leave" in shown)
    screen.resize(30, 8)
    screen.resize(80, 24)
    screen.see("NEXT", "aim 250F", "q leave")


def test_a_terminal_that_is_cut_off_leaves_no_dashboard_behind(terminal):
    screen = terminal("--begin", "15000")
    screen.see("NEXT")
    (child,) = screen.children()
    screen.close()
    end = time.monotonic() + DEADLINE
    while (
        Path(f"/proc/{child}").exists()
        and "Z" not in Path(f"/proc/{child}/stat").read_text().rsplit(")", 1)[1].split()[0]
    ):
        assert time.monotonic() < end, "the dashboard lives on without a terminal"
        time.sleep(0.05)
