"""Chips on SPI, driven from here through spidev, where no driver of the kernel holds them."""

import time
from collections.abc import Callable
from typing import Final, Protocol

from drivers.bench import Bench, Device, Place, refused
from drivers.polling import PolledSource
from drivers.spi_max31855 import Max31855
from drivers.spi_max31856 import Max31856
from drivers.spi_max31865 import Max31865
from firebox.errors import SourceError
from firebox.ports import Clock
from firebox.sensors import Max31855Probe, Max31856Probe, Max31865Probe, SpiOptions

HERTZ: Final = 500_000
"""Clock of the bus: a tenth of what the chips bear, for wires as long as an amplifier's box needs them."""

SpiProbe = Max31855Probe | Max31856Probe | Max31865Probe
Sleep = Callable[[float], None]


class SpiDevice(Protocol):
    """One chip-select line of a bus."""

    def transfer(self, data: bytes) -> bytes:
        """Return what came in while `data` went out, byte for byte.

        Raises
        ------
        OSError
            The bus is gone.
        """
        ...

    def close(self) -> None: ...


OpenSpi = Callable[[int, int, int], SpiDevice]
"""(bus, select, mode) -> its device; raises OSError where there is none."""


class Spidev:
    """A chip-select line through the kernel's spidev."""

    def __init__(self, bus: int, select: int, mode: int) -> None:
        try:
            import spidev  # noqa: PLC0415  an extra that is asked for only where a chip is configured
        except ImportError as error:
            raise SourceError('chips on SPI need the package spidev; pip install "firebox[pi]"') from error
        self._device = spidev.SpiDev()
        try:
            self._device.open(bus, select)
        except OSError as error:
            raise refused(f"/dev/spidev{bus}.{select}", error, "SPI") from error
        self._device.mode = mode
        self._device.max_speed_hz = HERTZ

    def transfer(self, data: bytes) -> bytes:
        """Return what came in while `data` went out."""
        return bytes(self._device.xfer2(list(data)))

    def close(self) -> None:
        """Let go of the line."""
        self._device.close()


def find(probe: SpiProbe, open_spi: OpenSpi, sleep: Sleep) -> Device:
    """Return the chip of a probe, set up and measuring.

    Raises
    ------
    SourceError, OSError
        It is not there.
    """
    match probe:
        case Max31855Probe():
            return Max31855(open_spi(probe.bus, probe.select, Max31855.MODE), probe)
        case Max31856Probe():
            return Max31856(open_spi(probe.bus, probe.select, Max31856.MODE), probe, sleep)
        case Max31865Probe():
            return Max31865(open_spi(probe.bus, probe.select, Max31865.MODE), probe, sleep)


def place(probe: SpiProbe, open_spi: OpenSpi, sleep: Sleep = time.sleep) -> Place:
    """Return the place of a probe of the configuration."""
    junction = getattr(probe, "junction", None)
    names = (probe.probe,) if junction is None else (probe.probe, junction)
    return Place(names, lambda: find(probe, open_spi, sleep))


def source(
    name: str, clock: Clock, *, options: SpiOptions, open_spi: OpenSpi = Spidev, sleep: Sleep = time.sleep
) -> PolledSource:
    """Return the chips of a configuration as a probe source."""

    def connect() -> Bench:
        return Bench([place(probe, open_spi, sleep) for probe in options.probes])

    return PolledSource(name, clock, connect=connect, every=options.every)
