"""Sensors on a 1-Wire bus, through the kernel's `w1_therm`.

`temperature` is read where there is one, in thousandths of a degree; older kernels have only `w1_slave`, whose first
line says whether the checksum was right. Either starts a conversion and blocks for up to 0.75 s. An empty answer is a
failure of the bus, which these files tell in no other way.
"""

import re
from pathlib import Path
from typing import Final

from drivers.bench import Bench, Place, failed
from drivers.lines import Heard, Sample
from drivers.polling import PolledSource
from drivers.sysfs import GONE, Read, device_folders, read_attribute
from firebox.errors import SourceError
from firebox.ports import Clock
from firebox.sensors import OneWireOptions, OneWireProbe

FAMILIES: Final = "10|22|28|3b|42"
"""Family codes of thermometers: DS18S20, DS1822, DS18B20, DS1825, DS28EA00."""

RANGE: Final = (-55.0, 125.0)
"""What these sensors can show (their datasheets). [degC]"""

POWER_ON: Final = 85.0
"""What a sensor shows that was without power during the conversion (its datasheet). [degC]"""

NEAR: Final = 2.0
"""Kelvins: so near to `POWER_ON` the reading before has to be for it to be believed; common sense, no source."""


class OneWireSensor:
    """One sensor, as a probe."""

    def __init__(self, probe: str, folder: Path, read: Read) -> None:
        self._probe = probe
        self._folder = folder
        self._read = read
        self._before: float | None = None

    def ask(self) -> Heard:
        """Return what the sensor shows now.

        Raises
        ------
        OSError
            It has gone away.
        """
        try:
            celsius = self._celsius()
        except OSError as error:
            if error.errno in GONE or not self._folder.exists():
                raise
            return failed([self._probe], error.strerror or str(error))
        except ValueError as error:
            return failed([self._probe], str(error))
        low, high = RANGE
        if not low <= celsius <= high:
            return failed([self._probe], f"{celsius:.0f} C is outside {low:g} to {high:g} C")
        if celsius == POWER_ON and (self._before is None or abs(self._before - POWER_ON) > NEAR):
            return failed([self._probe], "85 C, which a sensor shows that had no power to measure with")
        self._before = celsius
        return Heard((Sample(self._probe, celsius),))

    def _celsius(self) -> float:
        ready = self._folder / "temperature"
        if ready.exists():
            text = self._read(ready)
            if not text:
                raise ValueError("no answer from the bus")
            if not re.fullmatch(r"-?\d{1,6}", text):
                raise ValueError(f'temperature says "{text[:40]}", which is no whole number')
            return int(text) / 1000.0
        return slave_celsius(self._read(self._folder / "w1_slave"))

    def close(self) -> None:
        """Nothing is held between two looks."""


def slave_celsius(text: str) -> float:
    r"""Return the temperature in the two lines of `w1_slave`. [degC]

    Raises
    ------
    ValueError
        There is none, or it cannot be trusted: what follows a wrong checksum is never a temperature.

    Examples
    --------
    >>> slave_celsius("4b 01 4b 46 7f ff 05 10 e1 : crc=e1 YES\n4b 01 4b 46 7f ff 05 10 e1 t=20687")
    20.687
    """
    if not text:
        raise ValueError("no answer from the bus")
    match = re.fullmatch(r"[^\n]*crc=[0-9a-f]{2} (YES|NO)\n[^\n]* t=(-?\d{1,6})", text)
    if match is None:
        raise ValueError(f'w1_slave says "{text[:60]!r}"; two lines, ending in YES and t=20687, would be right')
    if match[1] == "NO":
        raise ValueError("the checksum is wrong: noise on the wire")
    return int(match[2]) / 1000.0


def find(options: OneWireOptions, probe: OneWireProbe, read: Read) -> OneWireSensor:
    """Return the sensor that a probe of the configuration means.

    Raises
    ------
    SourceError
        It is not there, or is not named where there are several; the message lists those there are.
    """
    there = device_folders(Path(options.root), rf"(?:{FAMILIES})-[0-9a-f]{{12}}")
    listed = ", ".join(folder.name for folder in there) or "none"
    fitting = [folder for folder in there if probe.id in {None, folder.name}]
    if not fitting:
        raise SourceError(f"{options.root}: no sensor {probe.id or ''}".rstrip() + f"; there are: {listed}")
    if len(fitting) > 1:
        raise SourceError(f"{options.root}: {probe.probe} needs an id; there are: {listed}")
    return OneWireSensor(probe.probe, fitting[0], read)


def place(options: OneWireOptions, probe: OneWireProbe, read: Read = read_attribute) -> Place:
    """Return the place of a probe of the configuration."""
    return Place((probe.probe,), lambda: find(options, probe, read))


def source(name: str, clock: Clock, *, options: OneWireOptions, read: Read = read_attribute) -> PolledSource:
    """Return the sensors of a configuration as a probe source."""

    def connect() -> Bench:
        return Bench([place(options, probe, read) for probe in options.probes])

    return PolledSource(name, clock, connect=connect, every=options.every)
