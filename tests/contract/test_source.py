"""What every probe source promises, whatever is behind it.

A source on real hardware joins in where `FIREBOX_TEST_PORT` names its port; it must write a value for a probe
`grate` at least every five seconds.
"""

import asyncio
import os
import threading

import pytest

from drivers import hwmon, i2c, iio, load_source, modbus, onewire, spi
from drivers.fakes.bench_time import BenchTime
from drivers.fakes.i2c_chips import FakeMcp9600, I2cBoard
from drivers.fakes.modbus_module import ModbusLine
from drivers.fakes.scripted import Refuse, ScriptedSource
from drivers.fakes.spi_chips import FakeMax31856, SpiBoard
from drivers.fakes.sysfs import KernelTree, Max31856, OneWire
from drivers.lines import Sample
from drivers.mqtt_topics import MqttSource
from drivers.practice import PracticeSource
from drivers.replay import ReplaySource
from drivers.serial_lines import SerialSource
from firebox.errors import SourceError
from firebox.keeper.corrected import CorrectedSource
from firebox.links import (
    Broker,
    ModbusOptions,
    ModbusProbe,
    MqttSourceOptions,
    ReplayOptions,
    SerialOptions,
    TopicMap,
)
from firebox.records import Problem, Reading, Status
from firebox.sensors import (
    HwmonOptions,
    HwmonProbe,
    I2cOptions,
    IioOptions,
    IioProbe,
    Max31856Probe,
    Mcp9600Probe,
    OneWireOptions,
    OneWireProbe,
    SpiOptions,
)
from firebox.thermo.calibration import ICE, Check, correction

pytestmark = pytest.mark.e2e


class SerialStand:
    """A node on a pty."""

    readings = 30

    def __init__(self, clock, request):
        self.node = request.getfixturevalue("node")
        self.node.wake()
        self.source = SerialSource("one", clock, options=SerialOptions(port=str(self.node.path)))

    def say(self, celsius):
        self.node.celsius["grate"] = celsius
        self.node.step()

    def babble(self):
        self.node.write(b"\xff{{\n")

    def unplug(self):
        self.node.unplug()

    def plug(self):
        self.node.plug()
        self.node.wake()


class MqttStand:
    """A real broker, and a client that publishes."""

    readings = 30

    def __init__(self, clock, request):
        self.broker = request.getfixturevalue("broker")
        self.ear = request.getfixturevalue("ear")()
        options = MqttSourceOptions(
            broker=Broker(host=self.broker.host, port=self.broker.port),
            topics=(TopicMap(topic="node/grate", probe="grate"),),
        )
        self.source = MqttSource("one", clock, options=options)

    def say(self, celsius):
        self.ear.say("node/grate", str(celsius))

    def babble(self):
        self.ear.say("node/grate", b"\xff{{")

    def unplug(self):
        self.broker.stop()

    def plug(self):
        self.broker.start()


class ScriptedStand:
    """A source that says what it is told."""

    readings = 30

    def __init__(self, clock, request):
        self.source = ScriptedSource("one", clock)

    def say(self, celsius):
        self.source.say(Sample("grate", celsius))

    def babble(self):
        self.source.say(Problem(source="one", line=1, text="not JSON"))

    def unplug(self):
        self.source.vanish()
        self.source._steps.append(Refuse())

    def plug(self):
        pass


class ReplayStand:
    """A recording of 40 readings, a minute apart, with one line that is none."""

    readings = 30

    def __init__(self, clock, request):
        self.file = request.getfixturevalue("tmp_path") / "cook.jsonl"
        lines = [
            f'{{"type":"reading","time":"2025-11-01T05:{minute:02}:00Z","probe":"grate","celsius":{minute}}}\n'
            for minute in range(40)
        ]
        lines.insert(20, "garbage\n")
        self.file.write_text("".join(lines))
        self.source = ReplaySource("one", clock, options=ReplayOptions(file=str(self.file)))

    def unplug(self):
        self.file.rename(self.file.with_suffix(".away"))

    def plug(self):
        self.file.with_suffix(".away").rename(self.file)


class IioStand:
    """A chip behind the kernel's industrial I/O, as a tree on disk that the shipped reader reads."""

    readings = 1

    def __init__(self, clock, request):
        self.tree = KernelTree(request.getfixturevalue("tmp_path"))
        self.plug()
        options = IioOptions(root=str(self.tree.iio), probes=(IioProbe(probe="grate"),), every=0.05)
        self.source = iio.source("one", clock, options=options)

    def say(self, celsius):
        self.chip.feel(celsius)

    def babble(self):
        self.tree.write(self.chip.place / "in_temp_raw", "nonsense")

    def unplug(self):
        self.tree.unplug(self.chip.place)

    def plug(self):
        self.chip = Max31856(self.tree, 0)


class HwmonStand:
    """A temperature behind the kernel's hardware monitoring."""

    readings = 1

    def __init__(self, clock, request):
        self.tree = KernelTree(request.getfixturevalue("tmp_path"))
        self.place = self.tree.hwmon / "hwmon0"
        self.plug()
        probes = (HwmonProbe(probe="grate", device="max6697"),)
        self.source = hwmon.source(
            "one", clock, options=HwmonOptions(root=str(self.tree.hwmon), probes=probes, every=0.05)
        )

    def say(self, celsius):
        self.tree.write(self.place / "temp1_input", str(round(celsius * 1000)))

    def babble(self):
        self.tree.write(self.place / "temp1_input", "nonsense")

    def unplug(self):
        self.tree.unplug(self.place)

    def plug(self):
        self.tree.plug(self.place, name="max6697", temp1_input="0")


class OneWireStand:
    """A sensor behind the kernel's 1-Wire."""

    readings = 1

    def __init__(self, clock, request):
        self.tree = KernelTree(request.getfixturevalue("tmp_path"))
        self.plug()
        options = OneWireOptions(root=str(self.tree.w1), probes=(OneWireProbe(probe="grate"),), every=0.05)
        self.source = onewire.source("one", clock, options=options)

    def say(self, celsius):
        self.sensor.feel(celsius)

    def babble(self):
        self.tree.write(self.sensor.place / "temperature", "nonsense")

    def unplug(self):
        self.tree.unplug(self.sensor.place)

    def plug(self):
        self.sensor = OneWire(self.tree)


class SpiStand:
    """A chip on SPI, driven from here."""

    readings = 1

    def __init__(self, clock, request):
        self.board, self.time = SpiBoard(), BenchTime()
        self.chip = FakeMax31856(self.time)
        self.plug()
        options = SpiOptions(probes=(Max31856Probe(probe="grate"),), every=0.05)
        self.source = spi.source("one", clock, options=options, open_spi=self.board.open, sleep=self.time.sleep)

    def say(self, celsius):
        self.chip.celsius = celsius

    def babble(self):
        self.chip.celsius = 1600.0  # more than any K

    def unplug(self):
        self.board.chips.clear()

    def plug(self):
        self.chip.power_cycle()
        self.board.chips[0, 0] = self.chip


class I2cStand:
    """A chip on I2C, driven from here."""

    readings = 1

    def __init__(self, clock, request):
        self.board, self.time = I2cBoard(), BenchTime()
        self.chip = FakeMcp9600(self.time)
        self.plug()
        options = I2cOptions(probes=(Mcp9600Probe(probe="grate"),), every=0.05)
        self.source = i2c.source("one", clock, options=options, open_i2c=self.board.open, sleep=self.time.sleep)

    def say(self, celsius):
        self.chip.false_words = {}
        self.chip.celsius = celsius

    def babble(self):
        self.chip.false_words = {0: b"\x7f\xff"}

    def unplug(self):
        self.board.chips.clear()

    def plug(self):
        self.chip.power_cycle()
        self.board.chips[0x67] = self.chip


class CorrectedStand(ScriptedStand):
    """A source that says what it is told, in front of it the correction of a probe that needs none."""

    def __init__(self, clock, request):
        super().__init__(clock, request)
        self.said = self.source
        right = Check(known=ICE, shown=ICE)
        self.source = CorrectedSource(self.said, {"grate": correction(right)})

    def say(self, celsius):
        self.said.say(Sample("grate", celsius))

    def babble(self):
        self.said.say(Problem(source="one", line=1, text="not JSON"))

    def unplug(self):
        self.said.vanish()
        self.said._steps.append(Refuse())


class ModbusStand:
    """An input module on a serial line: the library's own server behind a pty."""

    readings = 1

    def __init__(self, clock, request):
        self.line = ModbusLine(request.getfixturevalue("tmp_path") / "rs485", baud=115_200)
        probes = (ModbusProbe(probe="grate", register=0, codes={"32767": "failed"}),)
        options = ModbusOptions(port=str(self.line.path), baud=115_200, probes=probes, every=0.05)
        self.source = modbus.source("one", clock, options=options)

    def say(self, celsius):
        self.line.table = 4
        self.line.registers[1][0] = round(celsius * 10)

    def babble(self):
        self.line.table = 3

    async def unplug(self):
        await self.line.unplug()

    async def plug(self):
        await self.line.plug()


class CountingFire:
    """A played fire whose grate is a degree warmer whenever it is looked at."""

    def __init__(self):
        self.celsius = -1.0

    def advance(self, time):
        self.celsius += 1.0
        return [Reading(time=time, probe="grate", celsius=self.celsius)]

    def act(self, entry):
        raise AssertionError("nobody is at the keys")


class PracticeStand:
    """A played fire."""

    readings = 30

    def __init__(self, clock, request):
        self.source = PracticeSource("one", clock, fire=CountingFire())


class HardwareStand:
    """A node on the port that the environment names."""

    readings = 1

    def __init__(self, clock, request):
        self.source = SerialSource("one", clock, options=SerialOptions(port=os.environ["FIREBOX_TEST_PORT"]))


TOLD = [SerialStand, MqttStand, ScriptedStand, CorrectedStand]
ASKED = [IioStand, HwmonStand, OneWireStand, SpiStand, I2cStand, ModbusStand]
LIVE = [*TOLD, *ASKED]
ALL = [*LIVE, ReplayStand, PracticeStand, *([HardwareStand] if "FIREBOX_TEST_PORT" in os.environ else [])]


@pytest.fixture
async def stand(request, clock):
    stand = request.param(clock, request)
    if isinstance(stand, ModbusStand):
        await stand.plug()
    yield stand
    await stand.source.close()
    if isinstance(stand, ModbusStand):
        await stand.unplug()


async def do(step):
    """Wait for a step where it takes time, as putting up a server does."""
    if step is not None:
        await step


every_source = pytest.mark.parametrize("stand", ALL, indirect=True, ids=lambda kind: kind.__name__)
every_told_source = pytest.mark.parametrize("stand", TOLD, indirect=True, ids=lambda kind: kind.__name__)
every_asked_source = pytest.mark.parametrize("stand", ASKED, indirect=True, ids=lambda kind: kind.__name__)
every_live_source = pytest.mark.parametrize("stand", LIVE, indirect=True, ids=lambda kind: kind.__name__)


def speak(stand, *celsius):
    """Say values where the source says nothing by itself."""
    for value in celsius:
        if hasattr(stand, "say"):
            stand.say(value)


@every_source
async def test_a_source_that_is_not_open_has_nothing_to_tell(stand, listening, until):
    assert not stand.source.health.connected
    async with listening(stand.source) as ears:
        await until(lambda: ears.ended)
    assert ears.items == []


@every_source
async def test_opening_and_closing_twice_is_fine(stand, listening, until):
    await stand.source.close()
    for _ in range(2):
        await stand.source.open()
        await stand.source.open()
        assert stand.source.health.connected
        async with listening(stand.source) as ears:
            speak(stand, 121.0)
            await until(lambda ears=ears: ears.values())
        await stand.source.close()
        await stand.source.close()
        assert not stand.source.health.connected


@every_source
async def test_readings_come_in_order_with_times_that_never_run_back(stand, listening, until):
    await stand.source.open()
    async with listening(stand.source) as ears:
        speak(stand, *range(30))
        await until(lambda: len(ears.values()) >= stand.readings)
    assert stand.readings == 1 or ears.values()[:30] == list(range(30))
    times = [item.time for item in ears.items if isinstance(item, Reading)]
    assert times == sorted(times)
    assert all(time.utcoffset() is not None for time in times)


@every_source
async def test_no_thread_and_no_task_outlives_the_source(stand, listening, until):
    threads, tasks = set(threading.enumerate()), asyncio.all_tasks()
    await stand.source.open()
    async with listening(stand.source) as ears:
        speak(stand, 121.0)
        await until(ears.values)
    await stand.source.close()
    assert set(threading.enumerate()) <= threads
    assert asyncio.all_tasks() <= tasks


@every_live_source
async def test_closing_ends_who_listens(stand, listening, until):
    await stand.source.open()
    async with listening(stand.source) as ears:
        speak(stand, 121.0)
        await until(ears.values)
        await stand.source.close()
        await until(lambda: ears.ended)
    assert ears.error is None


@every_live_source
async def test_a_device_that_went_away_is_an_error_and_comes_back(stand, listening, until):
    await stand.source.open()
    async with listening(stand.source) as ears:
        speak(stand, 121.0)
        await until(lambda: ears.values()[-1:] == [121.0])
        await do(stand.unplug())
        await until(lambda: ears.ended)
    assert isinstance(ears.error, SourceError)
    assert not stand.source.health.connected
    assert stand.source.health.last_problem
    with pytest.raises(SourceError):
        await stand.source.open()
    assert not stand.source.health.connected
    await do(stand.plug())
    await stand.source.open()
    async with listening(stand.source) as ears:
        speak(stand, 122.0)
        await until(lambda: ears.values()[-1:] == [122.0])


@pytest.mark.parametrize("stand", [ReplayStand], indirect=True)
async def test_a_recording_that_is_not_there_is_an_error_until_it_is(stand, listening, until):
    stand.unplug()
    with pytest.raises(SourceError, match="cannot be read: No such file"):
        await stand.source.open()
    stand.plug()
    await stand.source.open()
    async with listening(stand.source) as ears:
        await until(lambda: ears.ended)
    assert len(ears.values()) == 40
    assert ears.error is None


@every_told_source
async def test_silence_is_no_error_and_no_reading(stand, listening, until):
    await stand.source.open()
    async with listening(stand.source) as ears:
        await asyncio.sleep(0.2)
        assert ears.items == []
        assert not ears.ended
        assert stand.source.health.connected
        speak(stand, 121.0)
        await until(lambda: ears.values() == [121.0])


@every_told_source
async def test_babble_is_counted_and_shown_and_the_next_reading_is_heard(stand, listening, until):
    await stand.source.open()
    async with listening(stand.source) as ears:
        speak(stand, 121.0)
        stand.babble()
        speak(stand, 122.0)
        await until(lambda: ears.values() == [121.0, 122.0])
    assert len(ears.problems()) == 1
    assert ears.problems()[0] == stand.source.health.last_problem
    assert stand.source.health.bad_lines == 1
    assert stand.source.health.lines == 3


@every_asked_source
async def test_babble_is_a_failed_probe_told_of_once_and_counted_always(stand, listening, until):
    stand.say(121.0)
    await stand.source.open()
    async with listening(stand.source) as ears:
        await until(lambda: 121.0 in ears.values())
        stand.babble()
        await until(lambda: stand.source.health.bad_lines >= 3)
        assert [item.status for item in ears.items if isinstance(item, Reading)][-1] is Status.FAILED
        assert len(ears.problems()) == 1
        assert ears.problems()[0] == stand.source.health.last_problem
        stand.say(122.0)
        await until(lambda: ears.values()[-1:] == [122.0])
        bad = stand.source.health.bad_lines
        assert stand.source.health.lines > bad
        stand.babble()
        await until(lambda: len(ears.problems()) == 2)


def test_every_source_is_loaded_by_its_kind():
    assert load_source("serial") is SerialSource
    assert load_source("mqtt") is MqttSource
    with pytest.raises(LookupError, match="one of hwmon, i2c, iio, modbus, mqtt, onewire, practice, replay"):
        load_source("telepathy")
