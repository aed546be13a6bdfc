"""The probe node's firmware in a real MicroPython, heard through a pty by the source that is shipped."""

import asyncio
import contextlib
import json
import os
import sqlite3
import sys
from pathlib import Path

import pytest

from drivers.serial_lines import SerialSource
from firebox.errors import SourceError
from firebox.links import SerialOptions
from firebox.records import Reading, Status
from hardware.bench.board import MICROPYTHON, MISSING, NODE, Board

pytestmark = [pytest.mark.e2e, pytest.mark.skipif(MICROPYTHON is None, reason=MISSING)]

SHIPPED = json.loads((NODE / "settings.json").read_text())
MIXED = SHIPPED | {
    "probes": [
        one | {"chip": "max31855", "straighten": True} if one["name"] == "firebox" else one
        for one in SHIPPED["probes"]
    ]
}
"""With a chip of the other kind at the firebox."""
FAST = MIXED | {"seconds": 0.25}

HUNG = {
    "17": {"chip": "max31856", "celsius": 121.4, "cold": 25.0},
    "20": {"chip": "max31856", "celsius": 118.25, "cold": 25.0},
    "21": {"chip": "max31855", "microvolts": 14989.99, "cold": 35.0},  # type K: 400 degC against 35 degC, NIST tables
    "26": {"ohm": 17958.0, "series_ohm": 10000.0},
}


class Bench:
    """A board, the source that listens to it, and what it heard."""

    def __init__(self, board, source, link, until):
        self.board, self.source, self.link, self.until = board, source, link, until
        self.items = []
        self.errors = []

    async def listen(self):
        while True:
            try:
                await self.source.open()
                async for item in self.source.records():
                    self.items.append(item)
            except SourceError as error:
                self.errors.append(str(error))
            await asyncio.sleep(0.02)

    def last(self, probe):
        found = [item for item in self.items if isinstance(item, Reading) and item.probe == probe]
        return (found[-1].celsius, found[-1].status) if found else None

    def statuses(self, probe):
        return [item.status for item in self.items if isinstance(item, Reading) and item.probe == probe]

    def problems(self):
        return [item.text for item in self.items if not isinstance(item, Reading)]

    @property
    def node(self):
        return self.source.node or {}


@pytest.fixture
async def bench(tmp_path: Path, clock, until):
    link = tmp_path / "pit-node"
    folder = tmp_path / "board"
    folder.mkdir()
    board = Board(folder, link, HUNG, watchdog_ms=1500)
    board.settle(FAST)
    source = SerialSource("node", clock, options=SerialOptions(port=str(link)))
    bench = Bench(board, source, link, until)
    tasks = [asyncio.create_task(board.run(), name="board"), asyncio.create_task(bench.listen(), name="listening")]
    yield bench
    for task in tasks:
        task.cancel()
    await asyncio.wait(tasks)
    await source.close()


async def test_every_probe_is_heard_at_its_temperature_and_the_node_tells_of_itself(bench):
    await bench.until(lambda: len(bench.statuses("ambient")) >= 3)
    assert bench.last("grate") == (121.4, Status.GOOD)
    assert bench.last("grate2") == (118.25, Status.GOOD)
    celsius, _ = bench.last("firebox")
    assert celsius == pytest.approx(400.0, abs=0.3)  # the chip's step; not corrected it would say 398
    assert bench.last("ambient")[0] == pytest.approx(12.39, abs=0.05)  # beta equation, worked by hand
    assert bench.node["name"] == "pit-node"
    assert bench.node["probes"] == ["grate", "grate2", "firebox", "ambient"]
    assert bench.node["started_by"] == "power"
    assert "trouble" not in bench.node
    assert bench.problems() == []


@pytest.mark.parametrize(
    ("pin", "probe", "fault", "status", "why"),
    [
        ("17", "grate", "open", Status.OPEN, "thermocouple open"),
        ("17", "grate", "supply", Status.SHORTED, "over or under the supply"),
        ("17", "grate", "range", Status.FAILED, "out of range"),
        ("17", "grate", "absent", Status.FAILED, "no chip answers"),
        ("21", "firebox", "open", Status.OPEN, "thermocouple open"),
        ("21", "firebox", "ground", Status.SHORTED, "touches ground"),
        ("21", "firebox", "supply", Status.SHORTED, "touches the supply"),
        ("21", "firebox", "absent", Status.FAILED, "no chip answers"),
        ("26", "ambient", "open", Status.OPEN, "thermistor open"),
        ("26", "ambient", "ground", Status.SHORTED, "thermistor shorted"),
    ],
)
async def test_a_fault_is_a_status_and_told_in_words_and_mended_is_a_temperature_again(
    bench, pin, probe, fault, status, why
):
    await bench.until(lambda: bench.last(probe) is not None)
    good = bench.last(probe)
    bench.board.change(pin, fault=fault)
    await bench.until(lambda: bench.last(probe) == (None, status))
    await bench.until(lambda: any(why in text and probe in text for text in bench.node.get("trouble", [])))
    others = {"grate", "grate2", "firebox", "ambient"} - {probe}
    assert all(set(bench.statuses(other)) == {Status.GOOD} for other in others)
    bench.board.change(pin, fault="")
    await bench.until(lambda: bench.last(probe) == good)
    await bench.until(lambda: "trouble" not in bench.node)
    assert bench.problems() == []


async def test_a_chip_that_lost_its_settings_is_not_believed_and_is_set_again(bench):
    await bench.until(lambda: len(bench.statuses("grate")) >= 2)
    bench.board.change("17", fault="dip")
    await bench.until(lambda: Status.FAILED in bench.statuses("grate"))
    bench.board.change("17", fault="")
    await bench.until(lambda: bench.last("grate") == (121.4, Status.GOOD))
    values = {item.celsius for item in bench.items if isinstance(item, Reading) and item.probe == "grate"}
    assert values == {121.4, None}


async def test_a_hanging_bus_is_ended_by_the_watchdog_and_the_node_is_heard_again(bench):
    await bench.until(lambda: bench.last("grate") is not None)
    bench.board.change("20", fault="hang")
    await bench.until(lambda: bench.board.starts >= 2)
    bench.board.change("20", fault="")
    heard = len(bench.items)
    await bench.until(lambda: len(bench.items) > heard + 4)
    assert bench.node["started_by"] == "watchdog"
    assert any("gone" in error for error in bench.errors)
    assert bench.last("grate2") == (118.25, Status.GOOD)


async def test_wrong_settings_are_told_to_whoever_looks_for_the_probes(tmp_path, until):
    folder, home = tmp_path / "board", tmp_path / "home"
    folder.mkdir()
    (home / "config").mkdir(parents=True)
    (home / "config" / "north.toml").write_text(
        f'[[probes]]\nname = "grate"\n[[sources]]\nkind = "serial"\nport = "{tmp_path / "pit-node"}"\n'
    )
    board = Board(folder, tmp_path / "pit-node", HUNG)
    board.settle(SHIPPED | {"probes": [{"name": "grate", "chip": "max31856", "select": 17, "type": "Q"}]})
    running = asyncio.create_task(board.run())
    await until(lambda: board.starts == 1)
    command = await asyncio.create_subprocess_exec(
        Path(sys.executable).with_name("firebox"), "probes", "--seconds", "6", env={**os.environ, "FIREBOX_HOME": str(home)},
        stdout=asyncio.subprocess.PIPE, stderr=asyncio.subprocess.PIPE,
    )  # fmt: skip
    _, said = await asyncio.wait_for(command.communicate(), 60)
    running.cancel()
    await asyncio.wait([running])
    assert command.returncode == 1
    assert 'the node says: \'settings.json: probes[0].type: "Q" is not right; write one of' in said.decode()


async def test_what_the_node_says_reaches_the_journal(tmp_path, until):
    folder, home = tmp_path / "board", tmp_path / "home"
    folder.mkdir()
    (home / "config").mkdir(parents=True)
    (home / "config" / "north.toml").write_text(
        '[[probes]]\nname = "grate"\n[[probes]]\nname = "grate2"\n'
        f'[[sources]]\nkind = "serial"\nport = "{tmp_path / "pit-node"}"\n'
    )
    environment = {**os.environ, "FIREBOX_HOME": str(home)}
    board = Board(folder, tmp_path / "pit-node", HUNG)
    board.settle(FAST)
    running = asyncio.create_task(board.run())
    await until(lambda: board.starts == 1)
    keeper = await asyncio.create_subprocess_exec(Path(sys.executable).with_name("firebox"), "keep", env=environment)
    journal = home / "state" / "north.sqlite"
    await until(lambda: (118.25, "good") in readings(journal, "grate2"), 30)
    board.change("20", fault="open")
    await until(lambda: (None, "open") in readings(journal, "grate2"), 30)
    keeper.terminate()
    assert await asyncio.wait_for(keeper.wait(), 20) == 0
    running.cancel()
    await asyncio.wait([running])
    assert readings(journal, "grate2") == {(118.25, "good"), (None, "open")}
    assert readings(journal, "grate") == {(121.4, "good")}


def readings(journal: Path, probe: str) -> set[tuple[float | None, str]]:
    if not journal.exists():
        return set()
    with contextlib.closing(sqlite3.connect(f"file:{journal}?mode=ro", uri=True)) as file:
        if not file.execute("select 1 from sqlite_master where name = 'reading_list'").fetchone():
            return set()
        return set(file.execute("select celsius, status from reading_list where probe = ?", (probe,)))


async def test_with_the_service_plug_in_the_node_stays_quiet_and_lets_itself_be_worked_on(tmp_path):
    folder = tmp_path / "board"
    folder.mkdir()
    board = Board(folder, tmp_path / "pit-node", HUNG | {"14": {"grounded": True}})
    board.settle(FAST)
    await asyncio.wait_for(board.run(), 10)
    assert board.exit_status == 0  # at the prompt, with no watchdog running
