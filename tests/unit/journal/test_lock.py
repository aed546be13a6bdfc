"""One process keeps a pit, and who that is can be asked."""

import os
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from firebox.errors import HeldError
from firebox.journal.lock import Lock, holder, paths

HOLD = """
import sys
from pathlib import Path
from firebox.journal.lock import Lock
lock = Lock.take(Path(sys.argv[1]))
print("held", flush=True)
sys.stdin.read()
"""


def test_a_second_process_is_told_who_keeps_the_pit(tmp_path: Path) -> None:
    path = tmp_path / "pit.db"
    with subprocess.Popen(
        [sys.executable, "-c", HOLD, str(path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == "held\n"
        found = holder(path)
        assert found is not None
        assert (found.pid, found.host) == (other.pid, socket.gethostname())
        with pytest.raises(HeldError, match=rf"by process {other.pid} on .* since 20"):
            Lock.take(path)
        other.kill()
        other.wait()
    assert holder(path) is None
    Lock.take(path).close()


def test_what_a_dead_keeper_left_in_the_lock_file_does_no_harm(tmp_path: Path) -> None:
    path = tmp_path / "pit.db"
    for left in (b"", b"\xff\x00 garbage", b'{"pid":1,"host":"elsewhere","since":"2020-01-01T00:00:00Z"}'):
        paths(path)[0].write_bytes(left)
        assert holder(path) is None
        lock = Lock.take(path)
        found = holder(path)
        assert found is not None
        assert found.pid == os.getpid()
        lock.close()


def test_a_problem_is_noted_in_place_and_taken_back(tmp_path: Path) -> None:
    path = tmp_path / "pit.db"
    lock = Lock.take(path)
    size = paths(path)[0].stat().st_size
    lock.note("disk is full " * 200)
    found = holder(path)
    assert found is not None
    assert str(found.problem).startswith("disk is full")
    assert paths(path)[0].stat().st_size == size
    lock.note(None)
    found = holder(path)
    assert found is not None
    assert found.problem is None
    lock.close()
    lock.close()


def test_where_no_file_can_be_made_beside_the_journal_the_lock_is_elsewhere(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    blocked = tmp_path / "here"
    blocked.write_text("a file where a folder should be")
    path = blocked / "pit.db"
    lock = Lock.take(path)
    with pytest.raises(HeldError):
        Lock.take(path)
    assert holder(path) is not None
    lock.close()
    assert holder(path) is None
