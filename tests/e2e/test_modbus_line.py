"""The Modbus source on a real serial line, against the library's own server."""

import sys

import msgspec
import pytest

from drivers import modbus
from drivers.fakes.modbus_module import ModbusLine
from firebox.errors import SourceError
from firebox.links import ModbusOptions, ModbusProbe, Scale
from firebox.records import Reading, Status

pytestmark = pytest.mark.e2e


@pytest.fixture
async def line(tmp_path):
    line = ModbusLine(tmp_path / "rs485", (1, 2), baud=115_200)
    yield line
    await line.unplug()


@pytest.fixture
async def source(line, clock, request):
    """Return the source of the probes that a test needs, opened."""
    sources = []

    async def make(*probes):
        options = ModbusOptions(port=str(line.path), baud=115_200, probes=probes, every=0.05)
        sources.append(modbus.source("modules", clock, options=options))
        await sources[-1].open()
        return sources[-1]

    yield make
    for one in sources:
        await one.close()


def newest(ears):
    return {
        item.probe: item.celsius if item.status is Status.GOOD else item.status
        for item in ears.items
        if isinstance(item, Reading)
    }


async def test_registers_of_every_type_are_temperatures(line, source, listening, until):
    # 121.4 as float32 is 0x42F2CCCD; -12.5 in tenths is 65411
    line.registers[1] = [1214, 65411, 0x42F2, 0xCCCD, 0xCCCD, 0x42F2, 0, 25250]
    await line.plug()
    modules = await source(
        ModbusProbe(probe="grate", register=0),
        ModbusProbe(probe="ambient", register=1),
        ModbusProbe(probe="upper", register=2, type="float32", scale=1.0),
        ModbusProbe(probe="lower", register=4, type="float32", scale=1.0, swapped=True),
        ModbusProbe(probe="firebox", register=6, type="uint32", scale=0.01, unit=Scale.F),
    )
    async with listening(modules) as ears:
        await until(lambda: len(newest(ears)) == 5)
    assert newest(ears) == {
        "grate": 121.4,
        "ambient": -12.5,
        "upper": pytest.approx(121.4, abs=1e-5),
        "lower": pytest.approx(121.4, abs=1e-5),
        "firebox": pytest.approx((252.5 - 32.0) / 1.8),
    }
    assert ears.problems() == []


async def test_holding_registers_are_another_table(line, source, listening, until):
    line.registers[1][0] = 1214
    line.table = 3
    await line.plug()
    modules = await source(
        ModbusProbe(probe="grate", register=0, table="holding"), ModbusProbe(probe="flat", register=0)
    )
    async with listening(modules) as ears:
        await until(lambda: len(newest(ears)) == 2)
    assert newest(ears) == {"grate": 121.4, "flat": Status.FAILED}
    assert ears.problems() == ["flat: station 1 refuses input register 0: it does not read this table"]


async def test_numbers_that_mean_a_fault_are_no_temperatures(line, source, listening, until):
    codes = {"32767": "open", "-32768": "shorted"}
    line.registers[1][:2] = [32767, -32768]
    await line.plug()
    modules = await source(*(ModbusProbe(probe=f"meat{n}", register=n, codes=codes) for n in (0, 1)))
    async with listening(modules) as ears:
        await until(lambda: len(newest(ears)) == 2)
        assert newest(ears) == {"meat0": Status.OPEN, "meat1": Status.SHORTED}
        line.registers[1][:2] = [631, 632]
        await until(lambda: newest(ears) == {"meat0": pytest.approx(63.1), "meat1": pytest.approx(63.2)})


async def test_a_register_that_a_module_does_not_have_is_told(line, source, listening, until):
    await line.plug()
    modules = await source(ModbusProbe(probe="grate", register=100))
    async with listening(modules) as ears:
        await until(ears.problems)
    assert newest(ears) == {"grate": Status.FAILED}
    assert ears.problems() == ["grate: station 1 refuses input register 100: it has no such register"]


async def test_a_module_without_power_does_not_silence_the_others(line, source, listening, until):
    line.registers[1][0] = 1214
    line.mute = {2}
    await line.plug()
    modules = await source(
        ModbusProbe(probe="flat", station=2, register=0),
        ModbusProbe(probe="point", station=2, register=1),
        ModbusProbe(probe="grate", register=0),
    )
    async with listening(modules) as ears:
        await until(lambda: len(newest(ears)) == 3)
    assert newest(ears) == {"flat": Status.FAILED, "point": Status.FAILED, "grate": 121.4}
    assert ears.problems() == ["flat, point: station 2 does not answer"]


async def test_a_line_on_which_nobody_answers_is_an_error(line, source, listening, until):
    line.mute = {1}
    await line.plug()
    modules = await source(ModbusProbe(probe="grate", register=0))
    async with listening(modules) as ears:
        await until(lambda: ears.ended)
    assert isinstance(ears.error, SourceError)
    assert str(ears.error) == f"{line.path}: station 1 does not answer"


async def test_a_port_that_is_not_there_is_an_error(line, source):
    with pytest.raises(SourceError, match="rs485: cannot be opened: not there, held by another program"):
        await source(ModbusProbe(probe="grate", register=0))


async def test_without_the_extra_the_message_says_what_to_install(line, source, monkeypatch):
    monkeypatch.setitem(sys.modules, "pymodbus.client", None)
    with pytest.raises(SourceError, match=r'pip install "firebox\[modbus\]"'):
        await source(ModbusProbe(probe="grate", register=0))


@pytest.mark.parametrize(
    ("plain", "word"),
    [
        ({"probe": "grate", "register": -1}, "register"),
        ({"probe": "grate", "register": 0, "station": 0}, "station"),
        ({"probe": "grate", "register": 0, "codes": {"fault": "open"}}, "is no whole number"),
        ({"probe": "grate", "register": 0, "type": "int8"}, "int8"),
    ],
)
def test_a_register_that_cannot_be_is_refused(plain, word):
    with pytest.raises(msgspec.ValidationError, match=word):
        msgspec.convert(plain, ModbusProbe)
