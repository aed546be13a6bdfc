"""Whatever a bus or a file of the kernel says, a driver answers with a temperature that can be, a fault, or is gone."""

import errno

from hypothesis import given
from hypothesis import strategies as st

from drivers import hwmon, i2c, iio, onewire, spi
from drivers.bench import Bench
from drivers.fakes.sysfs import KernelTree, Max31855, Max31856, Max31865, OneWire
from firebox.errors import SourceError
from firebox.records import Status
from firebox.sensors import (
    Ads1115Probe,
    HwmonOptions,
    HwmonProbe,
    IioOptions,
    IioProbe,
    Max31855Probe,
    Max31856Probe,
    Max31865Probe,
    Mcp9600Probe,
    OneWireOptions,
    OneWireProbe,
    PlatinumOptions,
    ThermistorOptions,
)

THERMISTOR = ThermistorOptions(beta=3950.0, ohm=100_000.0, series_ohm=22_000.0)
SPI = [
    Max31855Probe(probe="grate", junction="box"),
    Max31856Probe(probe="grate", junction="box"),
    Max31865Probe(probe="grate", reference_ohm=430.0),
]
I2C = [Mcp9600Probe(probe="grate", junction="box"), Ads1115Probe(probe="grate", sensor=THERMISTOR)]


def check(rig, rounds=3):
    for _ in range(rounds):
        try:
            heard = list(rig.sample())
        except SourceError:
            continue
        for sample in (sample for one in heard for sample in one.samples):
            assert (sample.celsius is None) == (sample.status is not Status.GOOD)
            assert sample.celsius is None or -210.0 <= sample.celsius <= 1800.0
    rig.close()


class Babbler:
    """A bus that answers with given bytes, and with what was written where it is told to."""

    def __init__(self, said, keeps):
        self._said = iter(said)
        self._keeps = keeps
        self._kept = {}

    def _next(self, count):
        return bytes(next(self._said, 0) for _ in range(count))

    def transfer(self, data):
        if data[0] & 0x80:
            self._kept[data[0] & 0x7F] = data[1]
        said = bytearray(self._next(len(data)))
        if self._keeps and len(data) > 4:
            for register, value in self._kept.items():
                said[register + 1] = value & ~0x22 if len(data) == 9 else value
        return bytes(said)

    def read(self, address, register, count):
        if self._keeps and register == 0x20:
            return b"\x41\x00"
        if self._keeps and register in self._kept:
            return self._kept[register]
        return self._next(count)

    def write(self, address, register, data):
        self._kept[register] = data

    def close(self):
        pass


@given(st.sampled_from(SPI), st.binary(min_size=20, max_size=200), st.booleans())
def test_random_bytes_on_spi(probe, said, keeps):
    bus = Babbler(said, keeps)
    try:
        rig = Bench([spi.place(probe, lambda *_: bus, lambda _: None)])
    except SourceError:
        return
    check(rig)


@given(st.sampled_from(I2C), st.binary(min_size=20, max_size=200), st.booleans())
def test_random_bytes_on_i2c(probe, said, keeps):
    bus = Babbler(said, keeps)
    try:
        rig = Bench([i2c.place(1, probe, lambda _: bus, lambda _: None)])
    except SourceError:
        return
    check(rig)


texts = st.one_of(st.integers(-(10**13), 10**13).map(str), st.text(max_size=40), st.sampled_from(["", "-0", "1e5"]))
errors = st.sampled_from([errno.EINVAL, errno.EIO, errno.EREMOTEIO, errno.ENODEV, errno.ENOENT, errno.EPERM])


@given(st.data())
def test_random_text_and_errors_in_the_kernels_files(tmp_path_factory, data):
    tree = KernelTree(tmp_path_factory.mktemp("sys"))
    Max31855(tree, 0, label="left"), Max31856(tree, 1), Max31865(tree, 2)
    OneWire(tree, "28-000000000001"), OneWire(tree, "28-000000000002", old=True)
    tree.plug(tree.hwmon / "hwmon0", name="jc42", temp1_input="20000", temp1_fault="0")
    tree.plug(tree.iio / "iio:device3", name="ads1115", in_voltage0_raw="5000", in_voltage_scale="0.125")

    def read(path):
        if path.name in {"name", "label"} or data.draw(st.booleans()):
            return tree.read(path)
        said = data.draw(texts | errors)
        if isinstance(said, int):
            raise OSError(said, "drawn")
        return said

    platinum = PlatinumOptions(reference_ohm=430.0)
    options = IioOptions(
        root=str(tree.iio),
        probes=(
            IioProbe(probe="one", device="left"),
            IioProbe(probe="two", device="max31856"),
            IioProbe(probe="three", device="max31865", sensor=platinum),
            IioProbe(probe="four", channel="voltage0", sensor=THERMISTOR),
        ),
    )
    check(iio.bench(options, read), 1)
    one_wire = OneWireOptions(
        root=str(tree.w1), probes=tuple(OneWireProbe(probe=f"w{n}", id=f"28-00000000000{n}") for n in (1, 2))
    )
    check(Bench([onewire.place(one_wire, probe, read) for probe in one_wire.probes]), 1)
    monitor = HwmonOptions(root=str(tree.hwmon), probes=(HwmonProbe(probe="h", device="jc42"),))
    check(Bench([hwmon.place(monitor, probe, read) for probe in monitor.probes]), 1)
