"""Chips on I2C: the shipped drivers against state machines of the chips."""

import sys

import pytest

from drivers import i2c
from drivers.bench import Bench
from drivers.fakes.bench_time import BenchTime
from drivers.fakes.i2c_chips import FakeAds1115, FakeMcp9600, I2cBoard
from drivers.fakes.spi_chips import Wire
from firebox.errors import SourceError
from firebox.records import Status
from firebox.sensors import Ads1115Probe, Mcp9600Probe, ThermistorOptions
from firebox.thermo.thermistor import by_beta
from firebox.thermo.thermocouple import Couple
from tests.unit.drivers.rig import ask

THERMISTOR = ThermistorOptions(beta=3950.0, ohm=100_000.0, series_ohm=22_000.0, supply_volts=3.3)
CURVE = by_beta(3950.0, 100_000.0)


@pytest.fixture
def board():
    board = I2cBoard()
    yield board
    assert board.opened == 0, "a driver kept the bus"


@pytest.fixture
def time():
    return BenchTime()


@pytest.fixture
def bench(board, time):
    benches = []

    def make(*probes):
        benches.append(Bench([i2c.place(1, probe, board.open, time.sleep) for probe in probes]))
        return benches[-1]

    yield make
    for one in benches:
        one.close()


# --- MCP9600 -------------------------------------------------------------------------------------


@pytest.mark.parametrize("couple", Couple)
def test_the_chip_is_set_to_its_letter_and_waited_for(board, bench, time, couple):
    chip = board.chips[0x60] = FakeMcp9600(time, couple)
    chip.celsius, chip.junction = 121.125, 31.25
    rig = bench(Mcp9600Probe(probe="grate", junction="box", address=0x60, thermocouple=couple))
    assert ask(rig) == ({"grate": 121.125, "box": 31.25}, [])
    chip.celsius = -0.0625
    assert ask(rig)[0]["grate"] == -0.0625


@pytest.mark.parametrize(
    ("identity", "wire", "status", "problems"),
    [
        (0x41, Wire.OPEN, Status.OPEN, 0),
        (0x41, Wire.TO_GROUND, Status.SHORTED, 0),
        (0x40, Wire.OPEN, Status.FAILED, 1),
    ],
)
def test_each_of_the_two_chips_tells_the_faults_that_it_knows(board, bench, time, identity, wire, status, problems):
    chip = board.chips[0x67] = FakeMcp9600(time, identity=identity)
    rig = bench(Mcp9600Probe(probe="grate", junction="box"))
    chip.wire = wire
    values, told = ask(rig)
    assert values == {"grate": status, "box": 25.0}
    assert len(told) == problems
    chip.wire = Wire.WHOLE
    assert ask(rig) == ({"grate": 20.0, "box": 25.0}, [])


@pytest.mark.parametrize(
    "false_words",
    [
        {0: b"\x01\x01"},  # 16.0625 degC, as hosts report that do not wait for the chip
        {2: b"\x01\x01"},
        {0: b"\xff\xff", 1: b"\xff\xff", 2: b"\xff\xff"},
        {0: b"\x01\x01", 1: b"\x01\x01", 2: b"\x01\x01"},
    ],
)
def test_words_that_the_chip_never_sent_are_no_temperatures(board, bench, time, false_words):
    chip = board.chips[0x67] = FakeMcp9600(time)
    chip.celsius, chip.junction = 121.0, 40.0
    rig = bench(Mcp9600Probe(probe="grate", junction="box"))
    chip.false_words = false_words
    values, problems = ask(rig)
    assert values == {"grate": Status.FAILED, "box": Status.FAILED}
    assert problems == ["grate, box: the chip's words contradict one another; slow the bus down to 50 kHz or less"]


def test_another_chip_at_the_address_is_not_read(board, bench, time):
    board.chips[0x67] = FakeMcp9600(time, identity=0x19)
    with pytest.raises(SourceError, match="address 0x67: no MCP9600 answers but a chip that calls itself 19"):
        bench(Mcp9600Probe(probe="grate"))


def test_a_chip_that_lost_its_power_is_set_up_again(board, bench, time):
    chip = board.chips[0x67] = FakeMcp9600(time, Couple.J)
    board.chips[0x48] = FakeAds1115(time, CURVE)
    rig = bench(Mcp9600Probe(probe="grate", thermocouple=Couple.J), Ads1115Probe(probe="flat", sensor=THERMISTOR))
    assert ask(rig)[0]["grate"] == 20.0
    chip.power_cycle()
    assert ask(rig)[0]["grate"] is Status.FAILED
    assert ask(rig)[0]["grate"] == 20.0


def test_nobody_at_the_address_and_a_chip_that_is_pulled(board, bench, time):
    with pytest.raises(SourceError, match="I2C 1, address 0x67: no chip answers: Remote I/O error"):
        bench(Mcp9600Probe(probe="grate"))
    board.chips[0x67] = FakeMcp9600(time)
    rig = bench(Mcp9600Probe(probe="grate"))
    del board.chips[0x67]
    with pytest.raises(SourceError, match="Remote I/O error"):
        ask(rig)


# --- ADS1115 -------------------------------------------------------------------------------------


def test_thermistors_at_all_four_inputs_are_read_in_turn(board, bench, time):
    chip = board.chips[0x48] = FakeAds1115(time, CURVE)
    chip.celsius = {0: 5.0, 1: 63.0, 2: 93.0}
    chip.shorted = {3}
    rig = bench(*(Ads1115Probe(probe=f"meat{number}", input=number, sensor=THERMISTOR) for number in range(4)))
    values, problems = ask(rig)
    # half a code of 125 microvolts is 0.006 K in the middle
    expected = {f"meat{number}": pytest.approx(celsius, abs=0.02) for number, celsius in chip.celsius.items()}
    assert values == {**expected, "meat3": Status.SHORTED}
    assert problems == []
    del chip.celsius[1]
    assert ask(rig)[0]["meat1"] is Status.OPEN
    assert time.now == pytest.approx(8 * 0.138)


def test_a_higher_supply_takes_the_wider_range(board, bench, time):
    board.chips[0x49] = FakeAds1115(time, CURVE, supply_volts=5.0)
    board.chips[0x49].celsius = {0: 20.0}
    sensor = ThermistorOptions(beta=3950.0, ohm=100_000.0, series_ohm=22_000.0, supply_volts=5.0)
    rig = bench(Ads1115Probe(probe="flat", address=0x49, sensor=sensor))
    assert ask(rig)[0] == {"flat": pytest.approx(20.0, abs=0.03)}


def test_a_thermistor_of_half_a_kiloohm_where_a_hundred_are_configured_is_far_off_but_no_fault_of_the_wire(
    board, bench, time
):
    chip = board.chips[0x48] = FakeAds1115(time, by_beta(3950.0, 500.0))
    chip.celsius = {0: 25.0}
    assert ask(bench(Ads1115Probe(probe="flat", sensor=THERMISTOR)))[0]["flat"] > 150.0


def test_a_converter_that_somebody_else_uses_is_no_temperature(board, bench, time):
    chip = board.chips[0x48] = FakeAds1115(time, CURVE)
    chip.celsius = {0: 60.0}
    rig = bench(Ads1115Probe(probe="flat", sensor=THERMISTOR))
    chip.is_stubborn = True
    values, problems = ask(rig)
    assert values == {"flat": Status.FAILED}
    assert "does something else use it?" in problems[0]


# --- the bus -------------------------------------------------------------------------------------


def test_the_real_bus_says_how_to_switch_it_on():
    pytest.importorskip("smbus2")
    with pytest.raises(SourceError, match=r"/dev/i2c-99: .*; is I2C switched on in the boot configuration"):
        i2c.Smbus(99)


def test_without_the_extra_the_message_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "smbus2", None)
    with pytest.raises(SourceError, match=r'pip install "firebox\[pi\]"'):
        i2c.Smbus(1)


def test_bytes_go_through_the_kernels_door_as_they_are(monkeypatch):
    class Door:
        def __init__(self, number):
            self.written = []

        def read_i2c_block_data(self, address, register, count):
            return [address, register, count]

        def write_i2c_block_data(self, address, register, data):
            self.written.append((address, register, data))

        def close(self):
            self.written = None

    monkeypatch.setitem(sys.modules, "smbus2", type("Package", (), {"SMBus": Door}))
    bus = i2c.Smbus(1)
    assert bus.read(0x67, 4, 1) == b"\x67\x04\x01"
    bus.write(0x67, 5, b"\x10")
    assert bus._bus.written == [(0x67, 5, [0x10])]
    bus.close()
    assert bus._bus.written is None
