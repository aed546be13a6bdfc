"""Probes behind the kernel's industrial I/O (IIO): amplifier chips and converters that the kernel drives itself.

A temperature is `(raw + offset) * scale` in thousandths of a degree, or `input` as it is; a voltage the same in
millivolts (Documentation/ABI/testing/sysfs-bus-iio of the kernel). Where the drivers differ from that, or hide
something, the chip's name decides:

==============  ==================================================================================================
`max31855*`     takes the curve of the thermocouple for a line; put right here. Any fault of the wire is EINVAL
`max31856`      a fault is EIO, and `fault_oc` and `fault_ovuv` say which
`max31865`      a scale without its offset, and never an error: the code is converted here, `fault_ovuv` looked at
`mcp9600`       first versions of the driver told the word without its sign; an open wire is not told at all
==============  ==================================================================================================

Where no chip answers, or one has lost its settings with its supply, the drivers of `max31855*` and `max31856` see
nothing but zeros and tell no error: both temperatures at exactly 0 degC are taken for that and never for a frost.
"""

import errno
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from msgspec import Struct

from drivers.bench import Bench, Place, failed
from drivers.lines import Heard, Sample
from drivers.polling import PolledSource
from drivers.resistances import hear_platinum, hear_thermistor
from drivers.sysfs import (
    BUSY,
    GONE,
    Read,
    decimal_number,
    device_folders,
    read_attribute,
    read_if_there,
    read_patiently,
    whole_number,
    write_attribute,
)
from firebox.errors import RangeError, SourceError
from firebox.ports import Clock
from firebox.records import Status
from firebox.sensors import IioOptions, IioProbe, PlatinumOptions, ThermistorOptions
from firebox.thermo.thermocouple import RANGES, Couple, straighten

ANY: Final = (-210.0, 1800.0)
"""What a thermocouple of unknown letter may show. [degC]"""

CHIP: Final = (-55.0, 150.0)
"""What a chip may say of its own temperature: none of these works outside. [degC]"""

ANSWERLESS: Final = ("max31855", "max31856")
"""Chips whose drivers do not notice that nobody answers."""

SILENT: Final = (
    "no chip answers, or it lost its settings: all bits are 0; see to its supply and its wires, then restart"
)


class IioDevice(Struct, frozen=True):
    """A device folder and the names by which its owner may know it."""

    folder: Path
    chip: str
    label: str | None

    def is_called(self, name: str) -> bool:
        """Tell whether a name is one of its own."""
        return name in {self.label, self.chip, self.folder.name}

    def channels(self) -> list[str]:
        """Return the channels that it can read, in name order."""
        found = (re.fullmatch(r"in_(.+)_(?:raw|input)", path.name) for path in self.folder.iterdir())
        return sorted({match[1] for match in found if match})

    def describe(self) -> str:
        """Return what it is, in words for a message."""
        label = f', label "{self.label}"' if self.label else ""
        return f"{self.folder.name} ({self.chip}{label}: {', '.join(self.channels()) or 'no channels'})"


def devices(root: Path, read: Read = read_attribute) -> list[IioDevice]:
    """Return the devices that the kernel drives, in the order of their numbers.

    Raises
    ------
    SourceError
        There is no such place.
    """
    found = []
    for folder in device_folders(root, r"iio:device\d+"):
        try:
            found.append(IioDevice(folder, read(folder / "name"), read_if_there(read, folder / "label")))
        except OSError as error:
            if error.errno not in GONE:
                raise
    return found


def find(options: IioOptions, probe: IioProbe, read: Read) -> "IioChannel":
    """Return the channel that a probe of the configuration means.

    Raises
    ------
    SourceError
        Nothing there fits, or more than one thing does; the message lists what is there.
    """
    there = devices(Path(options.root), read)
    called = [one for one in there if probe.device is None or one.is_called(probe.device)]
    fitting = [(one, channel) for one in called if (channel := _channel(one, probe.channel, read)) is not None]
    wanted = f'"{probe.device}"' if probe.device else "device"
    listed = "; ".join(one.describe() for one in there) or "none"
    if not fitting:
        raise SourceError(f"{options.root}: no {wanted} with a channel {probe.channel}; there are: {listed}")
    if len(fitting) > 1:
        raise SourceError(
            f"{options.root}: more than one {wanted} with a channel {probe.channel}; name one by its label or folder: "
            + listed
        )
    return IioChannel(probe, *fitting[0], read)


def _channel(device: IioDevice, wanted: str, read: Read) -> str | None:
    channels = device.channels()
    if wanted in channels:
        return wanted
    return next((one for one in channels if read_if_there(read, device.folder / f"in_{one}_label") == wanted), None)


def labelled(options: IioOptions, read: Read) -> list[IioProbe]:
    """Return a probe for every temperature that carries a label, its own or that of its device."""
    found = []
    for device in devices(Path(options.root), read):
        for channel in device.channels():
            own = read_if_there(read, device.folder / f"in_{channel}_label")
            label = own or (device.label if channel == "temp" else None)
            if label and channel.startswith("temp"):
                found.append(IioProbe(probe=label, device=device.folder.name, channel=channel))
    return found


class IioChannel:
    """One channel of one device, as a probe.

    Parameters
    ----------
    probe : IioProbe
    device : IioDevice
    channel : str
        Between `in_` and `_raw`.
    read : callable
        Returns what a file says.

    Raises
    ------
    SourceError
        The chip tells something that needs a word of the owner's to become a temperature.
    """

    def __init__(self, probe: IioProbe, device: IioDevice, channel: str, read: Read) -> None:
        self._probe = probe
        self._folder = device.folder
        self._chip = device.chip
        self._channel = channel
        self._read = read
        self._couple = self._letter()
        self._is_line = device.chip.startswith("max31855") and channel == "temp"
        self._check(device)
        self._notes = self._set_filter()

    def _set_filter(self) -> tuple[str, ...]:
        """Set the chip's filter to the mains; return what went wrong, which is no reason not to read the probe."""
        mains = self._probe.mains
        if mains is None:
            return ()
        name, path = self._probe.probe, self._folder / "in_filter_notch_center_frequency"
        try:
            if whole_number(self._read(path), path) != mains:
                write_attribute(path, str(mains))
        except (OSError, ValueError) as error:
            why = error.strerror if isinstance(error, OSError) else error
            return (f"{name}: {self._chip}: its filter is not set to {mains} Hz: {why}",)
        return ()

    def _letter(self) -> Couple | None:
        told = self._probe.thermocouple or read_if_there(self._read, self._file("thermocouple_type"))
        suffix = self._chip.removeprefix("max31855").upper()
        return next((Couple(word) for word in (told, suffix) if word in set(Couple)), None)

    def _check(self, device: IioDevice) -> None:
        sensor, takes_ratio = self._probe.sensor, self._chip == "max31865" and self._channel == "temp"
        where = f"{self._probe.probe}: {device.describe()}"
        if self._is_line and self._couple is None:
            raise SourceError(f'{where}: does not say which thermocouple it is made for; add thermocouple = "K"')
        if takes_ratio != isinstance(sensor, PlatinumOptions):
            right = 'add sensor = { kind = "platinum", reference_ohm = 430 }' if takes_ratio else "no platinum sensor"
            raise SourceError(f"{where}: tells {'a' if takes_ratio else 'no'} ratio of resistances; {right}")
        if self._channel.startswith("voltage") != isinstance(sensor, ThermistorOptions):
            raise SourceError(f'{where}: a voltage and sensor = {{ kind = "thermistor", ... }} go together')

    def _file(self, what: str) -> Path:
        return self._folder / f"in_{self._channel}_{what}"

    # --- asking ------------------------------------------------------------------------------

    def ask(self) -> Heard:
        """Return what the probe shows now.

        Raises
        ------
        OSError
            The device has gone away.
        """
        heard = self._ask()
        notes, self._notes = self._notes, ()  # told once, since the readings are none the worse for it
        return Heard(heard.samples, heard.problems + notes)

    def _ask(self) -> Heard:
        name = self._probe.probe
        try:
            heard = self._hear()
            status = self._status()
        except OSError as error:
            if error.errno in GONE:
                raise
            if error.errno in BUSY:
                return Heard(problems=(f"{name}: {self._chip} is busy with somebody else",))
            return self._faulty(error)
        except (RangeError, ValueError) as error:
            return failed([name], f"{self._chip}: {error}")
        return heard if status is Status.GOOD else Heard((Sample(name, None, status),))

    def close(self) -> None:
        """Nothing is held between two looks."""

    def _faulty(self, error: OSError) -> Heard:
        """Return what an error of the driver means, with what the fault files say of it."""
        status = self._status()
        if status is not Status.GOOD:
            return Heard((Sample(self._probe.probe, None, status),))
        why = error.strerror or str(error)
        if error.errno == errno.EINVAL and self._chip.startswith("max"):
            why = "a wire is open or shorted; its driver does not say which"
        return failed([self._probe.probe], f"{self._chip}: {why}")

    def _status(self) -> Status:
        if read_if_there(self._read, self._folder / "fault_oc") == "1":
            return Status.OPEN
        if read_if_there(self._read, self._folder / "fault_ovuv") == "1":
            return Status.SHORTED
        return Status.GOOD

    def _range(self) -> tuple[float, float]:
        if self._channel.endswith("ambient"):
            return CHIP
        return ANY if self._couple is None else RANGES[self._couple]

    # --- values ------------------------------------------------------------------------------

    def _hear(self) -> Heard:
        name, sensor = self._probe.probe, self._probe.sensor
        if isinstance(sensor, PlatinumOptions):
            return hear_platinum(name, self._raw(self._channel), sensor)
        value = self._value(self._channel)
        if isinstance(sensor, ThermistorOptions):
            return hear_thermistor(name, value, sensor)
        if value == 0.0 and self._is_silent():
            return failed([name], f"{self._chip}: {SILENT}")
        if self._is_line and self._couple is not None:
            value = straighten(self._couple, value, self._value("temp_ambient"))
        low, high = self._range()
        if not low <= value <= high:
            return failed([name], f"{self._chip}: {value:.0f} C is outside {low:g} to {high:g} C")
        return Heard((Sample(name, value),))

    def _is_silent(self) -> bool:
        """Tell whether probe and chip both show exactly 0: all bits 0 is what an unconnected data line says."""
        return self._chip.startswith(ANSWERLESS) and all(self._raw(one) == 0 for one in ("temp", "temp_ambient"))

    def _value(self, channel: str) -> float:
        """Return a channel's value in the base unit. [degC or V]"""
        ready = self._folder / f"in_{channel}_input"
        if ready.exists():
            return whole_number(read_patiently(self._read, ready), ready) / 1000.0
        raw = self._raw(channel)
        return (raw + self._shared(channel, "offset", 0.0)) * self._shared(channel, "scale", 1.0) / 1000.0

    def _raw(self, channel: str) -> int:
        path = self._folder / f"in_{channel}_raw"
        raw = whole_number(read_patiently(self._read, path), path)
        return raw - 0x10000 if self._chip.startswith("mcp960") and raw > 0x7FFF else raw

    def _shared(self, channel: str, what: str, default: float) -> float:
        """Return a number that a channel has for itself or shares with those of its kind."""
        kind = re.split(r"[_\d-]", channel, maxsplit=1)[0]
        for owner in dict.fromkeys((channel, kind)):
            path = self._folder / f"in_{owner}_{what}"
            text = read_if_there(self._read, path)
            if text is not None:
                return decimal_number(text, path)
        return default


def bench(options: IioOptions, read: Read = read_attribute) -> Bench:
    """Return the channels of a configuration as one rig.

    Raises
    ------
    SourceError
        Not one of them is there, or no channel carries a label where none is named.
    """
    probes: Sequence[IioProbe] = options.probes or labelled(options, read)
    if not probes:
        listed = "; ".join(one.describe() for one in devices(Path(options.root), read)) or "none"
        raise SourceError(
            f"{options.root}: no temperature carries a label, so name them in probes; there are: {listed}"
        )
    return Bench([_place(options, probe, read) for probe in probes])


def _place(options: IioOptions, probe: IioProbe, read: Read) -> Place:
    return Place((probe.probe,), lambda: find(options, probe, read))


def source(name: str, clock: Clock, *, options: IioOptions, read: Read = read_attribute) -> PolledSource:
    """Return the channels of a configuration as a probe source."""
    return PolledSource(name, clock, connect=lambda: bench(options, read), every=options.every)
