"""Probes behind the kernel's files: which file is meant, what it says, and what it does not say aloud.

The trees are laid out as the kernel documents (ABI/testing/sysfs-bus-iio, w1_therm.rst, hwmon/sysfs-interface.rst) and
as its drivers expose them.
"""

import errno

import msgspec
import pytest

from drivers import hwmon, iio, onewire
from drivers.bench import Bench
from drivers.fakes.sysfs import KernelTree, Max31855, Max31856, Max31865, OneWire, Wire, hush
from drivers.sysfs import read_attribute, read_patiently
from firebox.errors import SourceError
from firebox.records import Status
from firebox.sensors import (
    HwmonOptions,
    HwmonProbe,
    IioOptions,
    IioProbe,
    OneWireOptions,
    OneWireProbe,
    PlatinumOptions,
    ThermistorOptions,
)
from firebox.thermo.thermocouple import Couple
from tests.unit.drivers.rig import ask


@pytest.fixture
def tree(tmp_path):
    return KernelTree(tmp_path)


def iio_bench(tree, *probes):
    return iio.bench(IioOptions(root=str(tree.iio), probes=probes), tree.read)


# --- IIO -----------------------------------------------------------------------------------------


def test_a_chip_that_takes_the_curve_for_a_line_is_put_right(tree):
    chip = Max31855(tree, 0)
    chip.feel(400.0, 35.0)
    rig = iio_bench(tree, IioProbe(probe="firebox"), IioProbe(probe="box", channel="temp_ambient"))
    values, problems = ask(rig)
    # half a count of the chip is 0.125 K; uncorrected it would say 398.25
    assert values == {"firebox": pytest.approx(400.0, abs=0.13), "box": 35.0}
    assert problems == []


def test_a_fault_that_the_driver_does_not_name_is_a_failed_probe_and_never_a_temperature(tree):
    chip = Max31855(tree, 0)
    chip.feel(400.0, 35.0, Wire.OPEN)
    values, problems = ask(iio_bench(tree, IioProbe(probe="firebox")))
    assert values == {"firebox": Status.FAILED}
    assert problems == ["firebox: max31855k: a wire is open or shorted; its driver does not say which"]


@pytest.mark.parametrize("kind", [Max31855, Max31856])
def test_a_chip_that_does_not_answer_is_a_failed_probe_and_never_a_frost(tree, kind):
    chip = kind(tree, 0)
    chip.feel(121.0, 30.0)
    rig = iio_bench(tree, IioProbe(probe="grate"), IioProbe(probe="box", channel="temp_ambient"))
    assert ask(rig)[0] == {"grate": pytest.approx(121.0, abs=0.13), "box": 30.0}
    hush(tree, chip.place)
    values, problems = ask(rig)
    assert values == {"grate": Status.FAILED, "box": Status.FAILED}
    assert len(problems) == 2
    assert all("no chip answers" in problem and "supply" in problem for problem in problems)
    chip.feel(122.0, 30.0)
    assert ask(rig) == ({"grate": pytest.approx(122.0, abs=0.13), "box": 30.0}, [])


@pytest.mark.parametrize(("celsius", "junction"), [(0.0, 20.0), (20.0, 0.0), (0.0, 0.0625)])
def test_one_zero_alone_is_a_temperature(tree, celsius, junction):
    chip = Max31856(tree, 0)
    chip.feel(celsius, junction)
    rig = iio_bench(tree, IioProbe(probe="grate"), IioProbe(probe="box", channel="temp_ambient"))
    assert ask(rig) == ({"grate": celsius, "box": junction}, [])


@pytest.mark.parametrize(("wire", "status"), [(Wire.OPEN, Status.OPEN), (Wire.SHORTED, Status.SHORTED)])
def test_fault_files_say_whether_a_wire_is_open_or_shorted(tree, wire, status):
    chip = Max31856(tree, 0)
    chip.feel(121.0, wire=wire)
    rig = iio_bench(tree, IioProbe(probe="grate"), IioProbe(probe="box", channel="temp_ambient"))
    assert ask(rig) == ({"grate": status, "box": status}, [])
    chip.feel(121.0, 30.0)
    assert ask(rig) == ({"grate": 121.0, "box": 30.0}, [])


def test_a_real_driver_error_comes_through_the_shipped_reader(tree):
    chip = Max31856(tree, 0)
    raw = (chip.place / "in_temp_raw").resolve()
    raw.unlink()
    raw.symlink_to("/proc/self/mem")  # reading it from its beginning is EIO
    tree.write(chip.place / "fault_oc", "1")
    rig = iio.bench(IioOptions(root=str(tree.iio), probes=(IioProbe(probe="grate"),)))
    assert ask(rig) == ({"grate": Status.OPEN}, [])


def test_a_ratio_of_resistances_is_converted_here(tree):
    chip = Max31865(tree, 0)
    rig = iio_bench(tree, IioProbe(probe="grate", sensor=PlatinumOptions(reference_ohm=430.0)))
    for celsius in (-20.0, 0.0, 121.0, 400.0):
        chip.feel(celsius)
        # half a code is 0.0066 ohm, 0.02 K
        assert ask(rig) == ({"grate": pytest.approx(celsius, abs=0.025)}, [])
    chip.feel(121.0, Wire.OPEN)
    assert ask(rig) == ({"grate": Status.OPEN}, [])
    chip.feel(121.0, Wire.SHORTED)
    assert ask(rig) == ({"grate": Status.SHORTED}, [])
    chip.feel(121.0)
    tree.write(chip.place / "fault_ovuv", "1")
    assert ask(rig) == ({"grate": Status.SHORTED}, [])


def test_the_filter_is_set_to_the_mains_and_a_chip_without_one_is_read_all_the_same(tree):
    chip = Max31865(tree, 0)
    notch = chip.place / "in_filter_notch_center_frequency"
    sensor = PlatinumOptions(reference_ohm=430.0)
    chip.feel(121.0)
    good = {"grate": pytest.approx(121.0, abs=0.025)}
    assert ask(iio_bench(tree, IioProbe(probe="grate", sensor=sensor)))[0] == good
    assert tree.read(notch) == "50"
    rig = iio_bench(tree, IioProbe(probe="grate", sensor=sensor, mains=60))
    assert ask(rig) == (good, [])
    assert tree.read(notch) == "60"
    tree.write(notch, "neither")
    assert ask(iio_bench(tree, IioProbe(probe="grate", sensor=sensor, mains=60))) == (
        good,
        [
            'grate: max31865: its filter is not set to 60 Hz: in_filter_notch_center_frequency says "neither", which is no whole number'
        ],
    )
    notch.resolve().unlink()
    rig = iio_bench(tree, IioProbe(probe="grate", sensor=sensor, mains=60))
    assert ask(rig) == (good, ["grate: max31865: its filter is not set to 60 Hz: No such file or directory"])
    assert ask(rig) == (good, [])


def test_a_word_that_an_old_driver_tells_without_its_sign_gets_it_back(tree):
    tree.plug(
        tree.iio / "iio:device0", name="mcp9600", in_temp_raw="65535", in_temp_scale="62.5", in_temp_ambient_raw="400",
        in_temp_ambient_scale="62.5",
    )  # fmt: skip
    rig = iio_bench(tree, IioProbe(probe="ambient"), IioProbe(probe="box", channel="temp_ambient"))
    assert ask(rig) == ({"ambient": -0.0625, "box": 25.0}, [])


def test_what_no_thermocouple_of_its_letter_can_show_is_a_failed_probe(tree):
    tree.plug(
        tree.iio / "iio:device0", name="mcp9600", in_temp_raw="22000", in_temp_scale="62.5",
        in_temp_thermocouple_type="K",
    )  # fmt: skip
    values, problems = ask(iio_bench(tree, IioProbe(probe="grate")))
    assert values == {"grate": Status.FAILED}
    assert problems == ["grate: mcp9600: 1375 C is outside -200 to 1372 C"]


def test_a_thermistor_at_a_converter_is_a_temperature(tree):
    place = tree.iio / "iio:device0"
    tree.plug(place, name="ads1115", in_voltage0_raw="0", in_voltage0_scale="0.125000", in_voltage1_raw="8000")
    sensor = ThermistorOptions(beta=3950.0, ohm=100_000.0, series_ohm=22_000.0, supply_volts=3.3)
    rig = iio_bench(tree, IioProbe(probe="flat", channel="voltage0", sensor=sensor))
    # 8539.8 ohm is 93 C by Beta: 3.3 V * 8539.8 / 30539.8 = 922.8 mV = 7382 codes of 0.125 mV
    tree.write(place / "in_voltage0_raw", "7382")
    assert ask(rig) == ({"flat": pytest.approx(93.0, abs=0.05)}, [])
    tree.write(place / "in_voltage0_raw", "26400")
    assert ask(rig) == ({"flat": Status.OPEN}, [])
    tree.write(place / "in_voltage0_raw", "3")
    assert ask(rig) == ({"flat": Status.SHORTED}, [])


def test_an_offset_is_added_before_the_scale_and_a_shared_scale_is_found(tree):
    tree.plug(
        tree.iio / "iio:device0", name="someadc", in_temp0_raw="700", in_temp_offset="-100", in_temp_scale="40.5"
    )
    assert ask(iio_bench(tree, IioProbe(probe="ambient", channel="temp0"))) == ({"ambient": pytest.approx(24.3)}, [])


def test_a_finished_value_needs_no_scale(tree):
    tree.plug(tree.iio / "iio:device0", name="tmp117", in_temp_input="21340", in_temp_scale="99")
    assert ask(iio_bench(tree, IioProbe(probe="ambient"))) == ({"ambient": 21.34}, [])


@pytest.mark.parametrize("device", ["left", "max31856", "iio:device3"])
def test_a_device_is_found_by_label_by_chip_and_by_folder(tree, device):
    tree.plug(tree.iio / "iio:device10", name="tmp117", in_temp_input="20000")
    Max31856(tree, 3, label="left").feel(121.0)
    assert ask(iio_bench(tree, IioProbe(probe="grate", device=device))) == ({"grate": 121.0}, [])


def test_without_probes_every_labelled_temperature_is_one(tree):
    Max31856(tree, 0, label="grate").feel(121.0)
    Max31855(tree, 1, label="firebox").feel(400.0, 35.0)
    tree.plug(tree.iio / "iio:device2", name="bmp280", in_temp_input="20000", in_pressure_input="101.3")
    tree.plug(tree.iio / "iio:device4", name="multi", in_temp0_input="60500", in_temp0_label="flat")
    values, problems = ask(iio.bench(IioOptions(root=str(tree.iio)), tree.read))
    assert values == {"grate": 121.0, "firebox": pytest.approx(400.0, abs=0.13), "flat": 60.5}
    assert problems == []


def test_nothing_that_fits_lists_what_is_there(tree):
    Max31855(tree, 0, label="left")
    with pytest.raises(SourceError) as told:
        iio_bench(tree, IioProbe(probe="grate", device="max31856"))
    assert str(told.value) == (
        f'{tree.iio}: no "max31856" with a channel temp; there are: '
        'iio:device0 (max31855k, label "left": temp, temp_ambient)'
    )


def test_two_that_fit_have_to_be_told_apart(tree):
    Max31855(tree, 0)
    Max31855(tree, 1, Couple.K)
    with pytest.raises(
        SourceError, match="more than one device with a channel temp; name one by its label or folder"
    ):
        iio_bench(tree, IioProbe(probe="grate"))


@pytest.mark.parametrize(
    ("files", "probe", "word"),
    [
        ({"name": "max31855", "in_temp_raw": "1"}, {}, 'add thermocouple = "K"'),
        ({"name": "max31865", "in_temp_raw": "1"}, {}, "reference_ohm = 430"),
        ({"name": "ads1115", "in_voltage0_raw": "1"}, {"channel": "voltage0"}, "go together"),
        ({"name": "max31856", "in_temp_raw": "1"}, {"sensor": PlatinumOptions(reference_ohm=400.0)}, "no platinum"),
    ],
)
def test_a_channel_that_needs_a_word_of_the_owners_says_which(tree, files, probe, word):
    tree.plug(tree.iio / "iio:device0", **files)
    with pytest.raises(SourceError, match=word):
        iio_bench(tree, IioProbe(probe="grate", **probe))


def test_no_kernel_support_at_all_is_said_plainly(tmp_path):
    options = IioOptions(root=str(tmp_path / "nowhere"), probes=(IioProbe(probe="grate"),))
    with pytest.raises(SourceError, match="No such file or directory; no device of this kind is switched on"):
        iio.bench(options)


def test_babble_in_a_file_is_a_failed_probe_with_a_reason(tree):
    chip = Max31856(tree, 0)
    rig = iio_bench(tree, IioProbe(probe="grate"))
    tree.write(chip.place / "in_temp_raw", "nonsense")
    assert ask(rig) == (
        {"grate": Status.FAILED},
        ['grate: max31856: in_temp_raw says "nonsense", which is no whole number'],
    )


def test_a_bus_that_does_not_answer_is_a_failed_probe(tree):
    chip = Max31856(tree, 0)
    rig = iio_bench(tree, IioProbe(probe="grate"))
    tree.fail(chip.place / "in_temp_raw", errno.EREMOTEIO)
    assert ask(rig) == ({"grate": Status.FAILED}, ["grate: max31856: Remote I/O error"])


def test_a_busy_device_is_asked_again_and_is_no_fault(tree):
    chip = Max31856(tree, 0)
    chip.feel(121.0)
    answers = [errno.EBUSY, errno.EAGAIN, 0]

    def read(path):
        if path.name == "in_temp_raw":
            tree.fail(path, answers.pop(0))
        return tree.read(path)

    assert read_patiently(read, chip.place / "in_temp_raw") == "15488"
    tree.fail(chip.place / "in_temp_raw", errno.EBUSY)
    assert ask(iio_bench(tree, IioProbe(probe="grate"))) == ({}, ["grate: max31856 is busy with somebody else"])


def test_one_device_that_is_pulled_does_not_silence_the_other(tree):
    left, right = Max31856(tree, 0, label="left"), Max31856(tree, 1, label="right")
    left.feel(121.0)
    right.feel(130.0)
    rig = iio_bench(tree, IioProbe(probe="grate", device="left"), IioProbe(probe="grate2", device="right"))
    tree.unplug(left.place)
    values, problems = ask(rig)
    assert values == {"grate": Status.FAILED, "grate2": 130.0}
    assert len(problems) == 1
    Max31856(tree, 7, label="left").feel(122.0)  # it comes back with another number
    assert ask(rig) == ({"grate": 122.0, "grate2": 130.0}, [])
    for place in (tree.iio / "iio:device7", right.place):
        tree.unplug(place)
    with pytest.raises(SourceError):
        ask(rig)


# --- 1-Wire --------------------------------------------------------------------------------------


def one_wire_bench(tree, *probes):
    options = OneWireOptions(root=str(tree.w1), probes=probes)
    return Bench([onewire.place(options, probe, tree.read) for probe in probes])


@pytest.mark.parametrize("old", [False, True], ids=["temperature", "w1_slave"])
def test_a_sensor_on_one_wire_is_read(tree, old):
    sensor = OneWire(tree, old=old)
    rig = one_wire_bench(tree, OneWireProbe(probe="ambient"))
    sensor.feel(-3.0625)
    assert ask(rig) == ({"ambient": pytest.approx(-3.0625, abs=0.001)}, [])
    sensor.feel(21.5, mute=True)
    assert ask(rig) == ({"ambient": Status.FAILED}, ["ambient: no answer from the bus"])
    sensor.feel(21.5)
    assert ask(rig) == ({"ambient": 21.5}, [])


def test_what_follows_a_wrong_checksum_is_never_a_temperature(tree):
    sensor = OneWire(tree, old=True)
    sensor.feel(21.5, noise=True)
    rig = one_wire_bench(tree, OneWireProbe(probe="ambient"))
    assert ask(rig) == ({"ambient": Status.FAILED}, ["ambient: the checksum is wrong: noise on the wire"])


def test_the_value_after_power_on_is_believed_only_beside_its_like(tree):
    sensor = OneWire(tree)
    rig = one_wire_bench(tree, OneWireProbe(probe="ambient"))
    why = ["ambient: 85 C, which a sensor shows that had no power to measure with"]
    assert ask(rig) == ({"ambient": Status.FAILED}, why)
    sensor.feel(21.5)
    assert ask(rig) == ({"ambient": 21.5}, [])
    sensor.feel(85.0)
    assert ask(rig) == ({"ambient": Status.FAILED}, why)
    sensor.feel(84.5)
    assert ask(rig) == ({"ambient": 84.5}, [])
    sensor.feel(85.0)
    assert ask(rig) == ({"ambient": 85.0}, [])
    sensor.feel(127.9375)
    assert ask(rig)[0] == {"ambient": Status.FAILED}


def test_several_sensors_are_told_apart_by_their_ids(tree):
    OneWire(tree, "28-000000000001").feel(10.0)
    OneWire(tree, "28-000000000002").feel(20.0)
    tree.plug(tree.w1 / "w1_bus_master1", name="w1_bus_master1")
    assert ask(one_wire_bench(tree, OneWireProbe(probe="ambient", id="28-000000000002")))[0] == {"ambient": 20.0}
    with pytest.raises(SourceError, match="ambient needs an id; there are: 28-000000000001, 28-000000000002"):
        one_wire_bench(tree, OneWireProbe(probe="ambient"))
    with pytest.raises(SourceError, match="no sensor 28-00000000000f; there are: 28-000000000001"):
        one_wire_bench(tree, OneWireProbe(probe="ambient", id="28-00000000000f"))
    with pytest.raises(msgspec.ValidationError, match="28-0316a2797c3f"):
        msgspec.convert({"probe": "ambient", "id": "28-xyz"}, OneWireProbe)


# --- hwmon ---------------------------------------------------------------------------------------


def hwmon_bench(tree, *probes):
    options = HwmonOptions(root=str(tree.hwmon), probes=probes)
    return Bench([hwmon.place(options, probe, tree.read) for probe in probes])


def test_a_monitored_temperature_is_found_by_driver_and_label(tree):
    tree.plug(tree.hwmon / "hwmon0", name="cpu_thermal", temp1_input="51000")
    place = tree.hwmon / "hwmon1"
    tree.plug(
        place, name="max6697", temp1_input="20000", temp2_input="121500", temp2_label="left end", temp2_fault="0"
    )
    for channel in ("temp2", "left end"):
        rig = hwmon_bench(tree, HwmonProbe(probe="grate", device="max6697", channel=channel))
        assert ask(rig) == ({"grate": 121.5}, [])
    tree.write(place / "temp2_fault", "1")
    assert ask(rig) == ({"grate": Status.FAILED}, ["grate: its driver reports a fault of the sensor"])
    tree.write(place / "temp2_fault", "0")
    tree.fail(place / "temp2_input", errno.EBUSY)
    assert ask(rig) == ({}, ["grate: busy with somebody else"])
    tree.fail(place / "temp2_input", errno.ETIMEDOUT)
    assert ask(rig)[0] == {"grate": Status.FAILED}
    tree.fail(place / "temp2_input", 0)
    tree.write(place / "temp2_input", "9000000")
    assert ask(rig) == ({"grate": Status.FAILED}, ["grate: 9000 C is outside -100 to 1800 C"])
    tree.write(place / "temp2_input", "12 34")
    assert ask(rig)[0] == {"grate": Status.FAILED}
    tree.unplug(place)
    with pytest.raises(SourceError, match="temp2_input: No such file or directory"):
        ask(rig)


def test_two_monitors_of_one_name_have_to_be_told_apart(tree):
    tree.plug(tree.hwmon / "hwmon0", name="jc42", temp1_input="20000")
    tree.plug(tree.hwmon / "hwmon1", name="jc42", temp1_input="30000")
    assert ask(hwmon_bench(tree, HwmonProbe(probe="box", device="hwmon1")))[0] == {"box": 30.0}
    with pytest.raises(SourceError, match='more than one "jc42"; name one by its folder'):
        hwmon_bench(tree, HwmonProbe(probe="box", device="jc42"))


def test_a_file_is_read_without_its_line_end(tmp_path):
    (tmp_path / "in_temp_raw").write_text(" 484\n")
    assert read_attribute(tmp_path / "in_temp_raw") == "484"
