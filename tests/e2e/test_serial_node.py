"""A probe node on a real pty: boots, talks, babbles, hangs, is pulled out and put back."""

import asyncio
import os
import random
import termios

import pytest

from drivers.fakes.probe_node import NodeState
from drivers.serial_lines import SerialSource, find_port
from firebox.errors import SourceError
from firebox.links import LineFormat, SerialOptions
from firebox.records import Reading, Status

pytestmark = pytest.mark.e2e


@pytest.fixture
async def source(node, clock):
    source = SerialSource("node", clock, options=SerialOptions(port=str(node.path)))
    await source.open()
    yield source
    await source.close()


async def test_a_node_boots_describes_itself_and_is_heard(source, node, clock, listening, until):
    async with listening(source) as ears:
        for _ in range(3):
            node.step()
        await until(lambda: len(ears.values()) == 2)
    assert ears.items[0] == Reading(time=clock.now(), probe="grate", celsius=121.4)
    assert source.node == {"name": "pty-node", "probes": ["grate", "flat"]}
    assert ears.problems() == []  # what a board babbles while it boots is the line that was torn by opening
    assert source.health.connected
    assert source.health.lines == 3


async def test_half_lines_are_put_together(source, node, listening, until):
    async with listening(source) as ears:
        node.write(b'{"grate": 12')
        await asyncio.sleep(0.05)
        assert ears.items == []
        node.write(b'1.4}\n{"gra')
        node.write(b'te": 122.5}\n')
        await until(lambda: ears.values() == [121.4, 122.5])


async def test_garbage_and_long_lines_are_counted_and_nothing_else_is_lost(source, node, listening, until):
    async with listening(source) as ears:
        node.step()
        node.step()
        node.write(b"\xfe\x80\x00garbage\n" + b"x" * 600)
        node.write(b"y" * 2000 + b"\n")
        node.step()
        await until(lambda: len(ears.values()) == 2)
    assert len(ears.problems()) == 2
    assert "longer than 512 bytes" in ears.problems()[1]
    assert source.health.bad_lines == 2
    assert source.health.last_problem == ears.problems()[1]


async def test_a_broken_wire_is_a_status_and_never_a_temperature(source, node, listening, until):
    async with listening(source) as ears:
        node.wake()
        node.fault("grate", Status.OPEN)
        node.fault("flat", Status.SHORTED)
        node.step()
        await until(lambda: len(ears.items) == 2)
        node.fault("grate", Status.GOOD)
        node.step()
        await until(lambda: len(ears.items) == 4)
    assert [(item.celsius, item.status) for item in ears.items] == [
        (None, Status.OPEN), (None, Status.SHORTED), (121.4, Status.GOOD), (None, Status.SHORTED),
    ]  # fmt: skip


async def test_a_pulled_cable_is_noticed_and_the_node_heard_again_every_time(source, node, listening, until):
    for turn in range(3):
        node.celsius["grate"] = 100.0 + turn
        async with listening(source) as ears:
            node.step()
            node.step()
            await until(lambda ears=ears, turn=turn: ears.values() == [100.0 + turn])
            node.write(b'{"grate": 9')  # torn off in the middle of a line
            node.unplug()
            await until(lambda ears=ears: ears.ended)
        assert isinstance(ears.error, SourceError)
        assert "gone" in str(ears.error)
        assert not source.health.connected
        with pytest.raises(SourceError, match="cannot be opened"):
            await source.open()
        node.plug()
        await source.open()
    assert source.health.connected
    assert source.health.bad_lines == 0


async def test_a_hanging_node_is_silence_and_no_error(source, node, listening, until):
    async with listening(source) as ears:
        node.fall_silent()
        node.step()
        await asyncio.sleep(0.2)
        assert ears.items == []
        assert not ears.ended
        assert source.health.connected
        node.wake()
        node.step()
        await until(lambda: ears.values() == [121.4])
    assert node.state is NodeState.TALKING


async def test_a_row_that_was_cut_by_opening_is_no_temperature(node, clock, listening, until):
    form = LineFormat(format="columns", columns=("grate", "flat"))
    source = SerialSource("node", clock, options=SerialOptions(port=str(node.path), lines=form))
    await source.open()
    async with listening(source) as ears:
        node.write(b"1.4,63.1\n")  # the rest of 121.4
        node.write(b"121.4,63.1\n")
        await until(lambda: ears.values("flat") == [63.1])
        assert ears.values() == [121.4]
    await source.close()


async def test_a_port_is_found_by_a_pattern_and_its_absence_told(node, clock, listening, until):
    options = SerialOptions(port=str(node.path.with_name("usb-*-1")))
    source = SerialSource("node", clock, options=options)
    await source.open()
    async with listening(source) as ears:
        node.wake()
        node.step()
        await until(lambda: ears.values() == [121.4])
    await source.close()
    node.unplug()
    with pytest.raises(SourceError, match="no such device; there are"):
        await source.open()
    assert "no such device" in source.health.last_problem


async def test_a_port_in_use_is_refused_and_its_user_undisturbed(source, node, clock, listening, until):
    second = SerialSource("second", clock, options=SerialOptions(port=str(node.path)))
    with pytest.raises(SourceError, match="cannot be opened"):
        await second.open()
    async with listening(source) as ears:
        node.wake()
        node.step()
        await until(lambda: ears.values() == [121.4])


async def test_a_flood_is_taken_in_order(source, node, listening, until):
    async with listening(source) as ears:
        for number in range(2000):
            node.write(b'{"grate": %d}\n' % number)
            if number % 50 == 0:
                await until(lambda number=number: ears.values() and ears.values()[-1] == number)
        await until(lambda: len(ears.values()) == 2000)
    assert ears.values() == list(range(2000))


async def test_a_node_runs_at_its_own_rate(source, node, listening, until):
    running = asyncio.create_task(node.run(0.02))
    async with listening(source) as ears:
        await until(lambda: len(ears.values()) >= 5)
    running.cancel()
    await asyncio.wait([running])


async def test_letting_go_of_a_port_does_not_hang_up_so_that_the_board_is_not_reset(node, clock):
    port = os.open(node.path, os.O_RDWR | os.O_NOCTTY)
    try:
        settings = termios.tcgetattr(port)
        settings[2] |= termios.HUPCL
        termios.tcsetattr(port, termios.TCSANOW, settings)
        source = SerialSource("node", clock, options=SerialOptions(port=str(node.path)))
        await source.open()
        await source.close()
        assert termios.tcgetattr(port)[2] & termios.HUPCL == 0
    finally:
        os.close(port)


async def test_a_storm_of_random_bytes_leaves_the_source_listening(source, node, listening, until):
    dice = random.Random(7)
    async with listening(source) as ears:
        for _ in range(200):
            node.write(dice.randbytes(dice.randrange(100)))
            await asyncio.sleep(0)
        node.write(b"\n")
        node.wake()
        node.step()
        await until(lambda: 121.4 in ears.values())
        assert not ears.ended
    assert set(ears.values()) == {121.4}
    assert source.health.bad_lines > 10


class Port:
    def __init__(self, device, vid, pid, serial_number):
        self.device, self.vid, self.pid, self.serial_number = device, vid, pid, serial_number


def test_a_device_is_found_by_its_usb_ids_and_serial_number(monkeypatch):
    there = [
        Port("/dev/ttyACM0", 0x2E8A, 0xA, "one"),
        Port("/dev/ttyACM1", 0x2E8A, 0xA, "two"),
        Port("/dev/ttyS0", None, None, None),
    ]
    monkeypatch.setattr("drivers.serial_lines.list_ports.comports", lambda: there)
    assert find_port("usb:2e8a:000a") == "/dev/ttyACM0"
    assert find_port("usb:2E8A:000A:two") == "/dev/ttyACM1"
    assert find_port("/dev/ttyUSB7") == "/dev/ttyUSB7"
    with pytest.raises(SourceError, match="there are /dev/ttyACM0, /dev/ttyACM1, /dev/ttyS0"):
        find_port("usb:2e8a:000a:three")


async def test_an_opening_that_is_given_up_leaves_nothing_open(node, clock):
    source = SerialSource("node", clock, options=SerialOptions(port=str(node.path)))
    opening = asyncio.create_task(source.open())
    await asyncio.sleep(0)
    opening.cancel()
    with pytest.raises(asyncio.CancelledError):
        await opening
    await source.open()  # the port would be in use if the first opening still held it
    await source.close()
