"""Chips on I2C, driven from here through smbus2, where no driver of the kernel holds them."""

import time
from collections.abc import Callable
from typing import Protocol

from drivers.bench import Bench, Device, Place, refused
from drivers.i2c_ads1115 import Ads1115
from drivers.i2c_mcp9600 import Mcp9600
from drivers.polling import PolledSource
from firebox.errors import SourceError
from firebox.ports import Clock
from firebox.sensors import Ads1115Probe, I2cOptions, Mcp9600Probe

I2cProbe = Mcp9600Probe | Ads1115Probe
Sleep = Callable[[float], None]


class I2cBus(Protocol):
    """A bus on which registers of chips are read and written."""

    def read(self, address: int, register: int, count: int) -> bytes:
        """Return so many bytes of a register.

        Raises
        ------
        OSError
            No chip answers there, or the bus is gone.
        """
        ...

    def write(self, address: int, register: int, data: bytes) -> None:
        """Write bytes to a register; raises as `read`."""
        ...

    def close(self) -> None: ...


OpenI2c = Callable[[int], I2cBus]
"""Number of a bus -> the bus; raises OSError where there is none."""


class Smbus:
    """A bus through the kernel's i2c-dev."""

    def __init__(self, bus: int) -> None:
        try:
            import smbus2  # noqa: PLC0415  an extra that is asked for only where a chip is configured
        except ImportError as error:
            raise SourceError('chips on I2C need the package smbus2; pip install "firebox[pi]"') from error
        try:
            self._bus = smbus2.SMBus(bus)
        except OSError as error:
            raise refused(f"/dev/i2c-{bus}", error, "I2C") from error

    def read(self, address: int, register: int, count: int) -> bytes:
        """Return so many bytes of a register."""
        return bytes(self._bus.read_i2c_block_data(address, register, count))

    def write(self, address: int, register: int, data: bytes) -> None:
        """Write bytes to a register."""
        self._bus.write_i2c_block_data(address, register, list(data))

    def close(self) -> None:
        """Let go of the bus."""
        self._bus.close()


def find(number: int, probe: I2cProbe, open_i2c: OpenI2c, sleep: Sleep) -> Device:
    """Return the chip of a probe, set up and measuring.

    Raises
    ------
    SourceError, OSError
        It is not there.
    """
    bus = open_i2c(number)
    try:
        return Mcp9600(bus, probe, sleep) if isinstance(probe, Mcp9600Probe) else Ads1115(bus, probe, sleep)
    except OSError as error:
        bus.close()
        raise SourceError(
            f"I2C {number}, address 0x{probe.address:02x}: no chip answers: {error.strerror}"
        ) from error
    except SourceError as error:
        bus.close()
        raise SourceError(f"I2C {number}, address 0x{probe.address:02x}: {error}") from error


def place(number: int, probe: I2cProbe, open_i2c: OpenI2c, sleep: Sleep = time.sleep) -> Place:
    """Return the place of a probe of the configuration on the bus of a number."""
    junction = getattr(probe, "junction", None)
    names = (probe.probe,) if junction is None else (probe.probe, junction)
    return Place(names, lambda: find(number, probe, open_i2c, sleep))


def source(
    name: str, clock: Clock, *, options: I2cOptions, open_i2c: OpenI2c = Smbus, sleep: Sleep = time.sleep
) -> PolledSource:
    """Return the chips of a configuration as a probe source."""

    def connect() -> Bench:
        return Bench([place(options.bus, probe, open_i2c, sleep) for probe in options.probes])

    return PolledSource(name, clock, connect=connect, every=options.every)
