"""Who keeps a pit: one process at a time, told by an advisory lock that ends with the process.

The text in the lock file only says who holds it; whether it is held is the system's knowledge (`flock`), so what a
dead process left there does no harm.
"""

import fcntl
import hashlib
import os
import socket
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Final, Self

import msgspec
from msgspec import Struct

from firebox.errors import HeldError, JournalError

PATIENCE: Final = 0.5
"""Seconds that taking the lock may last: whoever only looks holds it shared for an instant."""

_SIZE: Final = 2048
"""Bytes of the lock file, written in full at once, so that a later note fits even on a full disk."""

_NOTE_LENGTH: Final = 400


class Holder(Struct, frozen=True, kw_only=True):
    """The process that keeps a pit."""

    pid: int
    host: str
    since: datetime
    problem: str | None = None
    """Why the journal is not being written, where it is not."""

    def describe(self) -> str:
        """Return the holder in words."""
        return f"process {self.pid} on {self.host} since {self.since.isoformat(timespec='seconds')}"


def paths(journal: Path) -> tuple[Path, Path]:
    """Return where the lock of a journal is: beside it, or, where nothing can be made there, among temporary files."""
    digest = hashlib.sha256(str(journal.absolute()).encode()).hexdigest()[:16]
    return journal.with_name(journal.name + ".lock"), Path(tempfile.gettempdir(), f"firebox-{digest}.lock")


class Lock:
    """The lock of one pit, held from `take` to `close` or the end of the process."""

    def __init__(self, descriptor: int, holder: Holder) -> None:
        self._descriptor = descriptor
        self._holder = holder

    @classmethod
    def take(cls, journal: Path) -> Self:
        """Return the lock of a journal's pit.

        Raises
        ------
        HeldError
            Another process keeps the pit; the message says which and since when.
        JournalError
            No lock file can be made.
        """
        descriptor = _open(journal)
        deadline = time.monotonic() + PATIENCE
        while not _locked(descriptor, fcntl.LOCK_EX):
            if time.monotonic() > deadline:
                holder = _read(descriptor)
                os.close(descriptor)
                raise HeldError(f"the pit is kept already, by {holder.describe() if holder else 'another process'}")
            time.sleep(0.02)
        lock = cls(descriptor, Holder(pid=os.getpid(), host=socket.gethostname(), since=datetime.now(UTC)))
        lock.note(None)
        return lock

    def note(self, problem: str | None) -> None:
        """Let it be known why the journal is not being written, or that it is.

        The text is overwritten in place, which needs no space; where not even that works nobody can be told here.
        """
        cut = problem and problem[:_NOTE_LENGTH]
        self._holder = msgspec.structs.replace(self._holder, problem=cut)
        text = msgspec.json.encode(self._holder)
        try:
            os.pwrite(self._descriptor, text.ljust(_SIZE - 1)[: _SIZE - 1] + b"\n", 0)
        except OSError:
            # Read-only: the lock holds all the same, and the alarm about the journal is what tells of it.
            return

    def close(self) -> None:
        """Let go; may be called twice."""
        if self._descriptor >= 0:
            os.close(self._descriptor)
            self._descriptor = -1


def holder(journal: Path) -> Holder | None:
    """Return who keeps the pit of a journal now; None where nobody does."""
    for path in paths(journal):
        try:
            descriptor = os.open(path, os.O_RDONLY | os.O_CLOEXEC)
        except OSError:
            continue
        try:
            if not _locked(descriptor, fcntl.LOCK_SH):
                # Taken a moment ago: the text may not be written yet, or be of the one before.
                return _read(descriptor) or Holder(pid=0, host="", since=datetime.now(UTC))
        finally:
            os.close(descriptor)
    return None


def _open(journal: Path) -> int:
    flags = os.O_RDWR | os.O_CREAT | os.O_CLOEXEC
    problems = []
    for path in paths(journal):
        for way in (flags, os.O_RDONLY | os.O_CLOEXEC):
            try:
                path.parent.mkdir(parents=True, exist_ok=True)
                return os.open(path, way, 0o644)
            except OSError as error:
                problems.append(f"{path}: {error.strerror}")
    raise JournalError(f"no lock file can be made: {'; '.join(problems)}")


def _locked(descriptor: int, way: int) -> bool:
    try:
        fcntl.flock(descriptor, way | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


def _read(descriptor: int) -> Holder | None:
    try:
        return msgspec.json.decode(os.pread(descriptor, _SIZE, 0).strip(), type=Holder)
    except (msgspec.DecodeError, OSError):
        return None
