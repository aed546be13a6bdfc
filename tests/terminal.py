"""A real terminal, in a tmux server of its own so that no other session is touched; for tests that look at its screen."""

import os
import shutil
import subprocess
import time
import uuid
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final

import pytest

DEADLINE: Final = 60.0
"""Seconds until what should show counts as not coming, on a small machine that is busy otherwise."""

needs_tmux: Final = pytest.mark.skipif(shutil.which("tmux") is None, reason="needs tmux: apt install tmux")

_OWN: Final = {"TERM": "tmux-256color", "LC_ALL": "C.UTF-8"}
_NOT_OURS: Final = frozenset({"COLUMNS", "LINES", "NO_COLOR", "TMUX"})
"""A size in the environment would be believed before the terminal's own."""


def until(what: str, fact: Callable[[], object], seconds: float = DEADLINE) -> None:
    """Return once `fact()` is true; fail at the deadline with `what` it was."""
    end = time.monotonic() + seconds
    while not fact():
        assert time.monotonic() < end, f"{what}: it did not come true in time"
        time.sleep(0.1)


class Terminal:
    """A terminal in which a command runs, until `kill`."""

    def __init__(
        self, command: str, *, columns: int = 80, lines: int = 24, environment: Mapping[str, object] | None = None
    ) -> None:
        self._socket = f"firebox-{uuid.uuid4().hex[:12]}"
        told = [word for name, value in {**_OWN, **(environment or {})}.items() for word in ("-e", f"{name}={value}")]
        size = ("-x", str(columns), "-y", str(lines))
        self._run("-f", "/dev/null", "new-session", "-d", *size, "-c", str(Path.cwd()), *told, command)

    def _run(self, *arguments: str) -> str:
        clean = {name: value for name, value in os.environ.items() if name not in _NOT_OURS}
        command = ["tmux", "-L", self._socket, *arguments]
        return subprocess.run(command, capture_output=True, text=True, check=True, env=clean).stdout

    def screen(self) -> str:
        """Return what stands on the screen."""
        return self._run("capture-pane", "-p")

    def shows(self, *words: str, seconds: float = DEADLINE) -> str:
        """Return the screen once all the words stand on it."""
        return self.until(lambda screen: all(word in screen for word in words), f"{words!r}", seconds)

    def until(self, fact: Callable[[str], object], what: str = "it", seconds: float = DEADLINE) -> str:
        """Return the screen once `fact` is true of it; fail at the deadline with the screen as it is then."""
        end = time.monotonic() + seconds
        while not fact(screen := self.screen()):
            assert time.monotonic() < end, f"{what} did not come; the screen is\n{screen}"
            time.sleep(0.1)
        return screen

    def press(self, *keys: str) -> None:
        """Press keys, by tmux's names for them."""
        for key in keys:
            self._run("send-keys", key)

    def record(self, path: Path) -> None:
        """Write what is sent to the terminal from now on to a file."""
        path.touch()
        self._run("pipe-pane", f"cat > {path}")

    def resize(self, columns: int, lines: int) -> None:
        """Give the terminal another size."""
        self._run("resize-window", "-x", str(columns), "-y", str(lines))

    def children(self) -> list[int]:
        """Return the processes that the terminal's shell has started."""
        pane = self._run("list-panes", "-F", "#{pane_pid}").strip()
        found = subprocess.run(["ps", "--ppid", pane, "-o", "pid="], check=False, capture_output=True, text=True)
        return [int(word) for word in found.stdout.split()]

    def kill(self) -> None:
        """Cut the terminal off, as a lost connection does."""
        subprocess.run(["tmux", "-L", self._socket, "kill-server"], capture_output=True, check=False)
