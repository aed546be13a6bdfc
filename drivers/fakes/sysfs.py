"""A piece of /sys on disk, with chips in it whose drivers' files are laid out as the kernel documents them.

Real files and real links, so that the shipped source reads them with its own reader. Where a driver answers a read
with an error, a plain file cannot; for that the source under test is handed `KernelTree.read`.
"""

import os
import shutil
from enum import StrEnum
from errno import EINVAL, EIO
from pathlib import Path

from drivers.sysfs import read_attribute
from firebox.thermo import platinum, thermocouple
from firebox.thermo.thermocouple import LINE, Couple


class Wire(StrEnum):
    """How the wire to the probe is."""

    WHOLE = "whole"
    OPEN = "open"
    SHORTED = "shorted"


class KernelTree:
    """Devices under `root`, linked into the folders of their classes as the kernel does.

    Attributes
    ----------
    iio, hwmon, w1, thermal : Path
        What stands in place of /sys/bus/iio/devices, /sys/class/hwmon, /sys/bus/w1/devices and /sys/class/thermal.
    """

    def __init__(self, root: Path) -> None:
        self._root = root
        self._errors: dict[Path, int] = {}
        self.iio = root / "bus" / "iio" / "devices"
        self.hwmon = root / "class" / "hwmon"
        self.w1 = root / "bus" / "w1" / "devices"
        self.thermal = root / "class" / "thermal"
        for folder in (self.iio, self.hwmon, self.w1, self.thermal):
            folder.mkdir(parents=True)

    def plug(self, place: Path, **files: str) -> None:
        """Let a device appear, with its files."""
        folder = self._root / "devices" / place.parent.parent.name / place.name
        folder.mkdir(parents=True)
        for name, text in files.items():
            (folder / name).write_text(f"{text}\n")
        place.symlink_to(os.path.relpath(folder, place.parent))

    def unplug(self, place: Path) -> None:
        """Take a device away with all of its files."""
        folder = place.resolve()
        place.unlink()
        shutil.rmtree(folder)

    def write(self, path: Path, text: str) -> None:
        """Let a file say something else, in one go."""
        fresh = path.resolve().with_name(f".{path.name}.new")
        fresh.write_text(f"{text}\n" if text else "")
        fresh.rename(path.resolve())

    def fail(self, path: Path, error: int) -> None:
        """Let reading a file end in an error of the driver, 0 to mend it; seen through `read` only."""
        if error:
            self._errors[path] = error
        else:
            self._errors.pop(path, None)

    def read(self, path: Path) -> str:
        """Return what a file says, or raise what its driver says.

        Raises
        ------
        OSError
        """
        if path in self._errors and path.exists():
            raise OSError(self._errors[path], os.strerror(self._errors[path]), str(path))
        return read_attribute(path)


ROOM = 25.0
"""What a chip and its probe feel until they are told. [degC]"""


def hush(tree: KernelTree, place: Path) -> None:
    """Let nobody answer behind a driver that does not notice: every bit it reads is 0."""
    for name in ("in_temp_raw", "in_temp_ambient_raw"):
        tree.fail(place / name, 0)
        tree.write(place / name, "0")


class Max31855:
    """A MAX31855 behind `maxim_thermocouple`: any fault of the wire is EINVAL on both of its temperatures."""

    def __init__(self, tree: KernelTree, number: int, couple: Couple = Couple.K, label: str | None = None) -> None:
        self._tree = tree
        self._couple = couple
        self.place = tree.iio / f"iio:device{number}"
        self._files = {
            "name": f"max31855{couple.value.lower()}",
            "in_temp_scale": "250",
            "in_temp_ambient_scale": "62.500000",
            "in_temp_thermocouple_type": couple.value,
            "in_temp_raw": "0",
            "in_temp_ambient_raw": "0",
        } | ({"label": label} if label else {})
        tree.plug(self.place, **self._files)
        self.feel(ROOM, ROOM)

    def feel(self, celsius: float, junction: float, wire: Wire = Wire.WHOLE) -> None:
        """Let the probe and the chip have these temperatures. [degC]"""
        measured = thermocouple.emf(self._couple, celsius) - thermocouple.emf(self._couple, junction)
        line = junction + measured / LINE[self._couple]
        self._tree.write(self.place / "in_temp_raw", str(round(line / 0.25)))
        self._tree.write(self.place / "in_temp_ambient_raw", str(round(junction / 0.0625)))
        for name in ("in_temp_raw", "in_temp_ambient_raw"):
            self._tree.fail(self.place / name, 0 if wire is Wire.WHOLE else EINVAL)


class Max31856:
    """A MAX31856 behind the driver of its name: faults are EIO, and two files say which."""

    def __init__(self, tree: KernelTree, number: int, label: str | None = None) -> None:
        self._tree = tree
        self.place = tree.iio / f"iio:device{number}"
        files = {
            "name": "max31856",
            "in_temp_raw": "0",
            "in_temp_scale": "7.812500",
            "in_temp_ambient_raw": "0",
            "in_temp_ambient_scale": "15.625000",
            "fault_oc": "0",
            "fault_ovuv": "0",
        } | ({"label": label} if label else {})
        tree.plug(self.place, **files)
        self.feel(ROOM, ROOM)

    def feel(self, celsius: float, junction: float = 25.0, wire: Wire = Wire.WHOLE) -> None:
        """Let the probe and the chip have these temperatures. [degC]"""
        self._tree.write(self.place / "in_temp_raw", str(round(celsius / 0.0078125)))
        self._tree.write(self.place / "in_temp_ambient_raw", str(round(junction / 0.015625)))
        self._tree.write(self.place / "fault_oc", str(int(wire is Wire.OPEN)))
        self._tree.write(self.place / "fault_ovuv", str(int(wire is Wire.SHORTED)))
        for name in ("in_temp_raw", "in_temp_ambient_raw"):
            self._tree.fail(self.place / name, 0 if wire is Wire.WHOLE else EIO)


class Max31865:
    """A MAX31865 behind the driver of its name: a ratio, a scale without its offset, and no errors."""

    def __init__(self, tree: KernelTree, number: int, reference_ohm: float = 430.0) -> None:
        self._tree = tree
        self._reference = reference_ohm
        self.place = tree.iio / f"iio:device{number}"
        tree.plug(
            self.place,
            name="max31865",
            in_temp_raw="8192",
            in_temp_scale="31.250000",
            in_filter_notch_center_frequency="50",
            fault_ovuv="0",
        )

    def feel(self, celsius: float, wire: Wire = Wire.WHOLE) -> None:
        """Let the probe have this temperature. [degC]"""
        code = round(platinum.ohm(celsius) / self._reference * 32768)
        code = {Wire.WHOLE: code, Wire.OPEN: 32767, Wire.SHORTED: 0}[wire]
        self._tree.write(self.place / "in_temp_raw", str(code))


class OneWire:
    """A DS18B20 behind `w1_therm`."""

    def __init__(self, tree: KernelTree, serial: str = "28-0316a2797c3f", *, old: bool = False) -> None:
        self._tree = tree
        self._file = "w1_slave" if old else "temperature"
        self.place = tree.w1 / serial
        tree.plug(self.place, **{"name": serial, self._file: ""})
        self.feel(85.0)

    def feel(self, celsius: float, *, noise: bool = False, mute: bool = False) -> None:
        """Let the sensor have this temperature; `noise` spoils the checksum, `mute` the whole answer."""
        text = str(round(celsius * 1000))
        if self._file == "w1_slave":
            code = round(celsius * 16) & 0xFFFF
            data = f"{code & 0xFF:02x} {code >> 8:02x} 4b 46 7f ff 0c 10 1c"
            text = f"{data} : crc=1c {'NO' if noise else 'YES'}\n{data} t={text}"
        self._tree.write(self.place / self._file, "" if mute else text)
