"""Chips on SPI: the shipped drivers against state machines of the chips."""

import errno
import sys

import pytest

from drivers import spi
from drivers.bench import Bench
from drivers.fakes.bench_time import BenchTime
from drivers.fakes.spi_chips import FakeMax31855, FakeMax31856, FakeMax31865, SpiBoard, Wire
from firebox.errors import SourceError
from firebox.records import Status
from firebox.sensors import Max31855Probe, Max31856Probe, Max31865Probe
from firebox.thermo.thermocouple import Couple
from tests.unit.drivers.rig import ask


@pytest.fixture
def board():
    board = SpiBoard()
    yield board
    assert board.opened == 0, "a driver kept its line"


@pytest.fixture
def time():
    return BenchTime()


@pytest.fixture
def bench(board, time):
    benches = []

    def make(*probes):
        benches.append(Bench([spi.place(probe, board.open, time.sleep) for probe in probes]))
        return benches[-1]

    yield make
    for one in benches:
        one.close()


# --- MAX31855 ------------------------------------------------------------------------------------


@pytest.mark.parametrize("couple", Couple)
@pytest.mark.parametrize("junction", [-10.0, 25.0, 60.0])
def test_a_straight_line_is_bent_back_for_every_letter_and_at_every_cold_junction(board, bench, couple, junction):
    chip = board.chips[0, 1] = FakeMax31855(couple)
    rig = bench(Max31855Probe(probe="grate", junction="box", select=1, thermocouple=couple))
    for celsius in (60.0, 121.0, 350.0):
        chip.celsius, chip.junction = celsius, junction
        values, problems = ask(rig)
        # half of the chip's step is 0.125 K of its line; where the curve is flatter than the line it is more
        tolerance = 0.35 if couple in {Couple.R, Couple.S} else 0.2
        assert values == {"grate": pytest.approx(celsius, abs=tolerance), "box": junction}
        assert problems == []


@pytest.mark.parametrize(
    ("wire", "status"),
    [(Wire.OPEN, Status.OPEN), (Wire.TO_GROUND, Status.SHORTED), (Wire.TO_SUPPLY, Status.SHORTED)],
)
def test_a_fault_of_the_wire_is_told_and_the_chip_itself_is_still_read(board, bench, wire, status):
    chip = board.chips[0, 0] = FakeMax31855()
    rig = bench(Max31855Probe(probe="grate", junction="box"))
    chip.wire = wire
    assert ask(rig) == ({"grate": status, "box": 25.0}, [])
    chip.wire = Wire.WHOLE
    assert ask(rig)[0]["grate"] == pytest.approx(20.0, abs=0.2)


@pytest.mark.parametrize("noise", [1 << 17, 1 << 3, 1 << 16, 1 << 0])
def test_noise_on_the_wires_to_the_chip_is_no_temperature(board, bench, noise):
    chip = board.chips[0, 0] = FakeMax31855()
    rig = bench(Max31855Probe(probe="grate"))
    chip.noise = noise
    assert ask(rig) == (
        {"grate": Status.FAILED},
        ["grate: bits that do not go together: noise on the wires to the chip"],
    )


def test_a_chip_that_is_not_there_is_said_to_be_missing_and_not_a_quarter_degree_below_zero(board, bench):
    with pytest.raises(SourceError, match="SPI 0, select 0: no MAX31855 answers: all bits are 1"):
        bench(Max31855Probe(probe="grate"))
    chip = board.chips[0, 0] = FakeMax31855()
    rig = bench(Max31855Probe(probe="grate"))
    del board.chips[0, 0]
    with pytest.raises(SourceError, match="no MAX31855 answers"):
        ask(rig)
    board.chips[0, 0] = chip
    assert ask(rig)[0] == {"grate": pytest.approx(20.0, abs=0.2)}


def test_what_is_off_the_curve_or_too_hot_for_the_chip_has_failed(board, bench):
    chip = board.chips[0, 0] = FakeMax31855()
    rig = bench(Max31855Probe(probe="grate", junction="box", thermocouple=Couple.T))
    chip.celsius = 900.0  # a K junction where a T is configured: more voltage than any T gives
    values, problems = ask(rig)
    assert values == {"grate": Status.FAILED, "box": 25.0}
    assert len(problems) == 1
    chip.celsius, chip.junction = 120.0, 126.0
    values, problems = ask(rig)
    assert values == {"grate": Status.FAILED, "box": Status.FAILED}
    assert problems == ["grate, box: the chip says it is at 126 C; it works from -40 to 125 C"]
    chip.wire = Wire.OPEN
    values, problems = ask(rig)
    assert values == {"grate": Status.OPEN, "box": Status.FAILED}
    assert problems == ["box: the chip says it is at 126 C; it works from -40 to 125 C"]


# --- MAX31856 ------------------------------------------------------------------------------------


@pytest.mark.parametrize("mains", [50, 60])
@pytest.mark.parametrize("average", [1, 16])
@pytest.mark.parametrize("couple", Couple)
def test_a_chip_that_knows_the_curve_is_set_to_its_letter_and_waited_for(board, bench, time, couple, mains, average):
    chip = board.chips[0, 0] = FakeMax31856(time)
    chip.couple = couple
    chip.celsius, chip.junction = 121.125, 31.25
    rig = bench(Max31856Probe(probe="grate", junction="box", thermocouple=couple, mains=mains, average=average))
    assert ask(rig) == ({"grate": 121.125, "box": 31.25}, [])
    assert time.now < 1.0
    assert chip._registers[0] & 1 == (mains == 50)
    chip.celsius = -40.0
    time.sleep(1.0)
    assert ask(rig)[0]["grate"] == -40.0


@pytest.mark.parametrize(
    ("wire", "status"),
    [(Wire.OPEN, Status.OPEN), (Wire.TO_GROUND, Status.SHORTED), (Wire.TO_SUPPLY, Status.SHORTED)],
)
def test_the_fault_register_says_what_is_wrong(board, bench, time, wire, status):
    chip = board.chips[0, 0] = FakeMax31856(time)
    rig = bench(Max31856Probe(probe="grate"))
    chip.wire = wire
    assert ask(rig) == ({"grate": status}, [])
    chip.wire = Wire.WHOLE
    assert ask(rig) == ({"grate": 20.0}, [])


def test_a_chip_set_for_another_metal_is_out_of_range(board, bench, time):
    chip = board.chips[0, 0] = FakeMax31856(time)
    chip.couple = Couple.T
    assert ask(bench(Max31856Probe(probe="grate")))[0] == {"grate": Status.FAILED}


def test_a_chip_that_lost_its_power_is_set_up_again_and_never_read_before(board, bench, time):
    chip = board.chips[0, 0] = FakeMax31856(time)
    board.chips[0, 1] = FakeMax31855()
    rig = bench(Max31856Probe(probe="grate"), Max31855Probe(probe="firebox", select=1))
    chip.celsius = 121.0
    assert ask(rig)[0]["grate"] == 121.0
    chip.power_cycle()
    values, problems = ask(rig)
    assert values["grate"] is Status.FAILED
    assert "it has lost its settings: 00 03 in place of 91 23" in problems[0]
    assert ask(rig)[0]["grate"] == 121.0


@pytest.mark.parametrize("kind", [Max31856Probe, Max31855Probe])
def test_a_line_that_hangs_high_is_no_chip(board, bench, kind):
    with pytest.raises(SourceError, match=r"no MAX3185[56] answers"):
        bench(kind(probe="grate"))


# --- MAX31865 ------------------------------------------------------------------------------------


@pytest.mark.parametrize("mains", [50, 60])
@pytest.mark.parametrize(("ohm", "reference"), [(100, 430.0), (1000, 4300.0), (100, 400.0)])
def test_a_platinum_sensor_is_measured_with_its_bias_on_and_let_cool_after(board, bench, time, ohm, reference, mains):
    chip = board.chips[0, 0] = FakeMax31865(time, ohm, reference)
    rig = bench(Max31865Probe(probe="grate", ohm=ohm, reference_ohm=reference, mains=mains))
    for celsius in (-40.0, 0.0, 121.0, 450.0):
        chip.celsius = celsius
        # half a code is 0.0066 ohm of a Pt100, 0.02 K
        assert ask(rig) == ({"grate": pytest.approx(celsius, abs=0.025)}, [])
        assert not chip.is_biased


def test_three_wires_take_the_leads_out(board, bench, time):
    chip = board.chips[0, 0] = FakeMax31865(time)
    chip.celsius, chip.lead_ohm = 121.0, 0.5
    # 1 ohm of leads is 2.6 K at a Pt100
    assert ask(bench(Max31865Probe(probe="grate", reference_ohm=430.0)))[0]["grate"] == pytest.approx(123.6, abs=0.1)
    three = bench(Max31865Probe(probe="grate", reference_ohm=430.0, wires=3))
    assert ask(three)[0]["grate"] == pytest.approx(121.0, abs=0.025)


@pytest.mark.parametrize(
    ("wire", "status"),
    [(Wire.OPEN, Status.OPEN), (Wire.TO_GROUND, Status.SHORTED), (Wire.TO_SUPPLY, Status.SHORTED)],
)
def test_a_broken_or_shorted_sensor_is_told_and_forgotten_once_mended(board, bench, time, wire, status):
    chip = board.chips[0, 0] = FakeMax31865(time)
    rig = bench(Max31865Probe(probe="grate", reference_ohm=430.0))
    chip.wire = wire
    assert ask(rig) == ({"grate": status}, [])
    chip.wire = Wire.WHOLE
    assert ask(rig) == ({"grate": pytest.approx(20.0, abs=0.025)}, [])


def test_a_converter_that_is_not_there_is_said_to_be_missing(board, bench, time):
    with pytest.raises(SourceError, match="no MAX31865 answers, or it has lost its settings: ff in place of 01"):
        bench(Max31865Probe(probe="grate", reference_ohm=430.0))
    board.chips[0, 0] = FakeMax31865(time)
    rig = bench(Max31865Probe(probe="grate", reference_ohm=430.0))
    del board.chips[0, 0]
    with pytest.raises(SourceError, match="no MAX31865 answers"):
        ask(rig)


# --- the bus -------------------------------------------------------------------------------------


def test_a_bus_that_is_switched_off_is_told_with_its_name(board, bench):
    board.is_switched_on = False
    with pytest.raises(SourceError, match=r"/dev/spidev0\.0: No such file or directory"):
        bench(Max31855Probe(probe="grate"))


def test_the_real_bus_says_how_to_switch_it_on():
    pytest.importorskip("spidev")
    with pytest.raises(SourceError, match=r"/dev/spidev9\.9: .*; is SPI switched on in the boot configuration"):
        spi.Spidev(9, 9, 0)


def test_without_the_extra_the_message_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "spidev", None)
    with pytest.raises(SourceError, match=r'pip install "firebox\[pi\]"'):
        spi.Spidev(0, 0, 0)


def test_bytes_go_through_the_kernels_door_as_they_are(monkeypatch):
    class Door:
        def open(self, bus, select):
            self.where = bus, select

        def xfer2(self, data):
            return [value ^ 0xFF for value in data]

        def close(self):
            self.where = None

    door = Door()
    monkeypatch.setitem(sys.modules, "spidev", type("Package", (), {"SpiDev": staticmethod(lambda: door)}))
    line = spi.Spidev(1, 2, 3)
    assert (door.where, door.mode, door.max_speed_hz) == ((1, 2), 3, spi.HERTZ)
    assert line.transfer(b"\x00\x0f") == b"\xff\xf0"
    line.close()
    assert door.where is None


def test_a_bus_that_is_not_permitted_names_the_group(monkeypatch):
    class Door:
        def open(self, bus, select):
            raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setitem(sys.modules, "spidev", type("Package", (), {"SpiDev": Door}))
    with pytest.raises(SourceError, match=r"/dev/spidev0\.1: not permitted; .* in the group spi"):
        spi.Spidev(0, 1, 0)
