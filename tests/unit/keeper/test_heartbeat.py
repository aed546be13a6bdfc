"""Signs of life, heard on a real socket as the service manager would."""

import asyncio
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest

from firebox.journal.lock import Lock
from firebox.journal.reader import KeeperNote
from firebox.keeper.heartbeat import SignOfLife
from firebox.keeper.loop import Keeper
from firebox.ports import Kind

from .conftest import Station


class ServiceManager:
    """The far end of `NOTIFY_SOCKET`."""

    def __init__(self, address: str) -> None:
        self.address = address
        self._socket = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self._socket.bind("\0" + address[1:] if address.startswith("@") else address)
        self._socket.setblocking(False)

    def heard(self) -> list[list[str]]:
        found = []
        while True:
            try:
                found.append(self._socket.recv(4096).decode().split("\n"))
            except BlockingIOError:
                return found

    def close(self) -> None:
        self._socket.close()


@pytest.fixture(params=["path", "abstract"])
def manager(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[ServiceManager]:
    address = str(tmp_path / "notify") if request.param == "path" else f"@firebox-test-{tmp_path.name}-{id(tmp_path)}"
    manager = ServiceManager(address)
    yield manager
    manager.close()


def test_the_first_sign_says_that_the_watch_is_ready(manager: ServiceManager) -> None:
    life = SignOfLife.of({"NOTIFY_SOCKET": manager.address})
    life.beat("watching north")
    life.beat("watching\nnorth" + "x" * 1000)
    life.end()
    first, second, last = manager.heard()
    assert first == ["READY=1", "WATCHDOG=1", "STATUS=watching north"]
    assert second[0] == "WATCHDOG=1"
    assert len(second) == 2  # what is said of a source makes no line of its own
    assert last[0] == "STOPPING=1"


def test_nobody_who_wants_to_know_is_no_trouble(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    SignOfLife.of({}).beat("x")
    assert caplog.records == []
    gone = SignOfLife(str(tmp_path / "gone"))
    for _ in range(3):
        gone.beat("x")
    assert len(caplog.records) == 1


@pytest.fixture
def kept(tmp_path: Path) -> Iterator[tuple[Keeper[object], Station, ServiceManager]]:
    manager = ServiceManager(str(tmp_path / "notify"))
    station = Station(tmp_path / "pit.db")
    book = station.keep()
    lock = Lock.take(station.path)
    keeper = Keeper(
        book,
        station.clock,
        sources=[],
        outlets=[],
        lock=lock,
        note=KeeperNote(pit="north", kind=Kind.LIVE, rate=1.0),
        stopping=asyncio.Event(),
        life=SignOfLife(manager.address),
    )
    yield keeper, station, manager  # type: ignore[misc]  the keeper of a tally
    lock.close()
    station.journal.close()
    manager.close()


async def test_a_watch_that_turns_gives_a_sign_at_every_tick(kept) -> None:
    keeper, station, manager = kept
    for _ in range(240):
        station.machine.pass_seconds(0.25)
        keeper.turn()
    signs = manager.heard()
    assert len(signs) == pytest.approx(60 / 5, abs=1)
    assert signs[0] == ["READY=1", "WATCHDOG=1", "STATUS=watching north, 0 of 0 sources connected"]


async def test_a_watch_that_cannot_take_its_ticks_gives_none(kept, monkeypatch) -> None:
    keeper, station, manager = kept

    def broken() -> None:
        raise MemoryError

    monkeypatch.setattr(keeper._book, "tick", broken)
    station.machine.pass_seconds(10)
    with pytest.raises(MemoryError):
        keeper.turn()
    assert manager.heard() == []


async def test_a_journal_that_takes_nothing_is_said_and_the_watch_is_alive_in_memory(kept, monkeypatch) -> None:
    keeper, station, manager = kept
    station.machine.pass_seconds(10)
    keeper.turn()
    manager.heard()
    monkeypatch.setattr(station.journal, "problem", "no space left on device")
    monkeypatch.setattr(station.journal, "flush", lambda: None)
    station.machine.pass_seconds(10)
    keeper.turn()
    ((beat, status),) = manager.heard()
    assert beat == "WATCHDOG=1"
    assert "in memory only: no space left on device" in status
