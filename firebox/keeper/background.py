"""Starting a keeper that outlives the dashboard and its terminal, and ending one."""

import os
import signal
import socket
import subprocess
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from firebox.errors import FireboxError, HeldError
from firebox.journal.lock import Holder, holder

START_SECONDS: Final = 20.0
"""A keeper on a slow card needs several seconds to load."""

STOP_SECONDS: Final = 20.0
"""More than the deadlines of sources and outlets together."""

_GLANCE: Final = 0.05
_LAST_LINES: Final = 5


def spawn(
    command: Sequence[str], journal: Path, output: Path, seconds: float = START_SECONDS
) -> "subprocess.Popen[bytes]":
    """Start a keeper in a session of its own and return when the pit is kept.

    The process that is returned has ended already where another keeper, started at the same time, was quicker.

    Parameters
    ----------
    command : sequence of str
        A `firebox keep` with its options.
    journal : Path
    output : Path
        File that takes what the keeper prints.
    seconds : float
        How long to wait at most.

    Raises
    ------
    HeldError
        The pit is kept already.
    FireboxError
        The keeper ended, or did not get going in time; the message has the last lines it printed.
    """
    kept_by = holder(journal)
    if kept_by is not None:
        raise HeldError(f"the pit is kept already, by {kept_by.describe()}")
    output.parent.mkdir(parents=True, exist_ok=True)
    with output.open("ab") as sink:
        begin = sink.tell()
        process = subprocess.Popen(  # noqa: S603  the program itself
            command, stdin=subprocess.DEVNULL, stdout=sink, stderr=sink, start_new_session=True, close_fds=True
        )
    deadline = time.monotonic() + seconds
    while time.monotonic() < deadline:
        kept_by = holder(journal)
        if kept_by is not None and kept_by.pid == process.pid:
            return process
        if process.poll() is not None:
            if kept_by is not None:
                return process  # somebody else was quicker
            raise FireboxError(f"the keeper ended at once (status {process.returncode}){_told(output, begin)}")
        time.sleep(_GLANCE)
    process.terminate()
    process.wait()
    raise FireboxError(f"the keeper did not get going within {seconds:.0f} s{_told(output, begin)}")


def leave(command: Sequence[str], output: Path) -> None:
    """Start something in a session of its own, at the lowest priority, and wait for nothing.

    Parameters
    ----------
    command : sequence of str
    output : Path
        File that takes what it prints; where it cannot be started, why.
    """
    output.parent.mkdir(parents=True, exist_ok=True)
    with output.open("ab") as sink:
        try:
            subprocess.Popen(  # noqa: S603  the program itself
                ["nice", "-n", "19", *command],  # noqa: S607  where the system has it
                stdin=subprocess.DEVNULL,
                stdout=sink,
                stderr=sink,
                start_new_session=True,
                close_fds=True,
            )
        except OSError as error:
            sink.write(f"{command}: {error}\n".encode())


def _told(output: Path, begin: int) -> str:
    with output.open("rb") as file:
        file.seek(begin)
        lines = file.read().decode(errors="replace").strip().splitlines()
    return ": " + "\n".join(lines[-_LAST_LINES:]) if lines else ""


def stop(journal: Path, seconds: float = STOP_SECONDS) -> Holder | None:
    """End the keeper of a pit in order and return who it was; None where nobody keeps it.

    Raises
    ------
    FireboxError
        It runs on another machine, belongs to another user, or did not end in time.
    """
    kept_by = holder(journal)
    if kept_by is None:
        return None
    if kept_by.host != socket.gethostname():
        raise FireboxError(f"the pit is kept by {kept_by.describe()}; stop it there")
    try:
        os.kill(kept_by.pid, signal.SIGTERM)
    except ProcessLookupError:
        return kept_by
    except PermissionError as error:
        raise FireboxError(f"the pit is kept by {kept_by.describe()}, which belongs to another user") from error
    deadline = time.monotonic() + seconds
    while time.monotonic() < deadline:
        now = holder(journal)
        if now is None or now.pid != kept_by.pid:
            return kept_by
        time.sleep(_GLANCE)
    raise FireboxError(f"{kept_by.describe()} was asked to end but still keeps the pit after {seconds:.0f} s")
