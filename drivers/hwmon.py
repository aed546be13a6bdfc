"""Probes behind the kernel's hardware monitoring (hwmon): files `tempN_input` in thousandths of a degree.

`tempN_fault` says 1 where the driver sees a broken sensor (Documentation/hwmon/sysfs-interface.rst of the kernel).
"""

import re
from pathlib import Path
from typing import Final

from drivers.bench import Bench, Place, failed
from drivers.lines import Heard, Sample
from drivers.polling import PolledSource
from drivers.sysfs import (
    BUSY,
    GONE,
    Read,
    device_folders,
    read_attribute,
    read_if_there,
    read_patiently,
    whole_number,
)
from firebox.errors import SourceError
from firebox.ports import Clock
from firebox.sensors import HwmonOptions, HwmonProbe

RANGE: Final = (-100.0, 1800.0)
"""What a sensor behind hwmon may show; the widest is that of a thermocouple amplifier. [degC]"""


class HwmonChannel:
    """One temperature file, as a probe."""

    def __init__(self, probe: str, folder: Path, channel: str, read: Read) -> None:
        self._probe = probe
        self._input = folder / f"{channel}_input"
        self._fault = folder / f"{channel}_fault"
        self._read = read

    def ask(self) -> Heard:
        """Return what the probe shows now.

        Raises
        ------
        OSError
            The device has gone away.
        """
        try:
            if read_if_there(self._read, self._fault) == "1":
                return failed([self._probe], "its driver reports a fault of the sensor")
            celsius = whole_number(read_patiently(self._read, self._input), self._input) / 1000.0
        except OSError as error:
            if error.errno in GONE:
                raise
            if error.errno in BUSY:
                return Heard(problems=(f"{self._probe}: busy with somebody else",))
            return failed([self._probe], error.strerror or str(error))
        except ValueError as error:
            return failed([self._probe], str(error))
        low, high = RANGE
        if not low <= celsius <= high:
            return failed([self._probe], f"{celsius:.0f} C is outside {low:g} to {high:g} C")
        return Heard((Sample(self._probe, celsius),))

    def close(self) -> None:
        """Nothing is held between two looks."""


def find(options: HwmonOptions, probe: HwmonProbe, read: Read) -> HwmonChannel:
    """Return the channel that a probe of the configuration means.

    Raises
    ------
    SourceError
        Nothing there fits, or more than one thing does; the message lists what is there.
    """
    fitting, there = [], []
    for folder in device_folders(Path(options.root), r"hwmon\d+"):
        name = read_if_there(read, folder / "name") or ""
        channels = _channels(folder, read)
        there.append(f"{folder.name} ({name}: {', '.join(dict.fromkeys(channels)) or 'no temperatures'})")
        if probe.device in {name, folder.name} and probe.channel in channels:
            fitting.append(HwmonChannel(probe.probe, folder, channels[probe.channel], read))
    listed = "; ".join(there) or "none"
    if not fitting:
        raise SourceError(
            f'{options.root}: no "{probe.device}" with a temperature {probe.channel}; there are: {listed}'
        )
    if len(fitting) > 1:
        raise SourceError(f'{options.root}: more than one "{probe.device}"; name one by its folder: {listed}')
    return fitting[0]


def _channels(folder: Path, read: Read) -> dict[str, str]:
    """Return what each temperature of a device may be called -> the beginning of its files' names."""
    own = sorted(match[1] for path in folder.iterdir() if (match := re.fullmatch(r"(temp\d+)_input", path.name)))
    called = {name: name for name in own}
    for name in own:
        label = read_if_there(read, folder / f"{name}_label")
        if label:
            called.setdefault(label, name)
    return called


def place(options: HwmonOptions, probe: HwmonProbe, read: Read = read_attribute) -> Place:
    """Return the place of a probe of the configuration."""
    return Place((probe.probe,), lambda: find(options, probe, read))


def source(name: str, clock: Clock, *, options: HwmonOptions, read: Read = read_attribute) -> PolledSource:
    """Return the channels of a configuration as a probe source."""

    def connect() -> Bench:
        return Bench([place(options, probe, read) for probe in options.probes])

    return PolledSource(name, clock, connect=connect, every=options.every)
