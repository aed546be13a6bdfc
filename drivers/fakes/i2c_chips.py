"""Thermometer chips on a fake I2C bus: state machines of the chips by their datasheets, bit for bit.

As in `drivers.fakes.spi_chips`, they share no code with the drivers that talk to them.
"""

import errno
import os
from typing import Protocol

from drivers.fakes.bench_time import BenchTime
from drivers.fakes.spi_chips import Wire
from firebox.thermo.thermistor import Curve
from firebox.thermo.thermocouple import Couple


class I2cChip(Protocol):
    """A chip at an address."""

    def read(self, register: int, count: int) -> bytes: ...

    def write(self, register: int, data: bytes) -> None: ...


class I2cBoard:
    """Chips by address on one bus; where there is none, nobody acknowledges."""

    def __init__(self) -> None:
        self.chips: dict[int, I2cChip] = {}
        self.opened = 0
        """How many hold the bus just now."""

    def open(self, number: int) -> "I2cBoard":
        """Return the bus of a number, of which there is only 1.

        Raises
        ------
        OSError
            Another was asked for.
        """
        if number != 1:
            raise OSError(errno.ENOENT, os.strerror(errno.ENOENT), f"/dev/i2c-{number}")
        self.opened += 1
        return self

    def close(self) -> None:
        """Let go of it."""
        self.opened -= 1

    def _chip(self, address: int) -> I2cChip:
        if address not in self.chips:
            raise OSError(errno.EREMOTEIO, os.strerror(errno.EREMOTEIO))
        return self.chips[address]

    def read(self, address: int, register: int, count: int) -> bytes:
        """Return what a chip says."""
        return self._chip(address).read(register, count)

    def write(self, address: int, register: int, data: bytes) -> None:
        """Tell a chip something."""
        self._chip(address).write(register, data)


class FakeMcp9600:
    """A MCP9600, or with `identity` 0x41 a MCP9601."""

    def __init__(self, time: BenchTime, couple: Couple = Couple.K, identity: int = 0x40) -> None:
        self._time = time
        self._couple = couple
        self._identity = identity
        self.celsius = 20.0
        self.junction = 25.0
        self.wire = Wire.WHOLE
        self.false_words: dict[int, bytes] = {}
        """Register -> what arrives of it at a host that does not wait for the chip."""
        self.power_cycle()

    def power_cycle(self) -> None:
        """Lose all settings."""
        self._sensor = self._device = 0
        self._since = self._time.now

    def write(self, register: int, data: bytes) -> None:
        """Take a setting."""
        if register == 0x05:
            self._sensor, self._since = data[0], self._time.now
        elif register == 0x06:
            self._device = data[0]

    def read(self, register: int, count: int) -> bytes:
        """Return a register's bytes, over and over."""
        if register in self.false_words:
            return self.false_words[register][:count]
        said = self._said(register)
        return (said * count)[:count]

    def _said(self, register: int) -> bytes:
        is_converted = self._time.now - self._since >= 0.32
        letter = "KJTNSEBR"[self._sensor >> 4 & 7]
        hot = self.celsius if letter == self._couple.value else self.celsius + 60.0
        if self.wire is Wire.OPEN:
            hot = self.junction
        match register:
            case 0x00:
                return self._word(hot if is_converted else 0.0)
            case 0x01:
                return self._word(hot - self.junction if is_converted else 0.0)
            case 0x02:
                return self._word(self.junction)
            case 0x04:
                return bytes((self._status(is_converted=is_converted),))
            case 0x05:
                return bytes((self._sensor,))
            case 0x06:
                return bytes((self._device,))
            case 0x20:
                return bytes((self._identity, 0x12))
            case _:
                return b"\x00"

    def _status(self, *, is_converted: bool) -> int:
        shorted = self._identity == 0x41 and self.wire in {Wire.TO_GROUND, Wire.TO_SUPPLY}
        return is_converted << 6 | shorted << 5 | (self.wire is Wire.OPEN) << 4

    @staticmethod
    def _word(celsius: float) -> bytes:
        return (round(celsius * 16) & 0xFFFF).to_bytes(2, "big")


class FakeAds1115:
    """An ADS1115 with a thermistor under a fixed resistor at each input."""

    FULL_SCALE = (6.144, 4.096, 2.048, 1.024, 0.512, 0.256, 0.256, 0.256)
    RATES = (8, 16, 32, 64, 128, 250, 475, 860)

    def __init__(
        self, time: BenchTime, curve: Curve, series_ohm: float = 22_000.0, supply_volts: float = 3.3
    ) -> None:
        self._time = time
        self._curve = curve
        self._series = series_ohm
        self._supply = supply_volts
        self.celsius: dict[int, float] = {}
        """Input -> the temperature of its thermistor; where there is none, the input hangs at the supply."""
        self.shorted: set[int] = set()
        self.is_stubborn = False
        """Whether somebody else keeps overwriting its settings."""
        self._configuration = 0x8583
        self._code = 0
        self._done_at = 0.0

    def volts(self, number: int) -> float:
        """Return the voltage at an input."""
        if number in self.shorted:
            return 0.0
        if number not in self.celsius:
            return self._supply
        ohm = self._curve.ohm(self.celsius[number])
        return self._supply * ohm / (ohm + self._series)

    def write(self, register: int, data: bytes) -> None:
        """Take a setting, and start to convert where it says so."""
        if register == 0x01:
            self._configuration = int.from_bytes(data, "big")
            if self._configuration & 0x8000:
                self._done_at = self._time.now + 1.1 / self.RATES[self._configuration >> 5 & 7]

    def read(self, register: int, count: int) -> bytes:
        """Return the configuration or the last conversion."""
        is_done = self._time.now >= self._done_at
        if register == 0x01:
            told = self._configuration & 0x7FFF | is_done << 15
            return (told ^ (0x1000 if self.is_stubborn else 0)).to_bytes(2, "big")[:count]
        if is_done:
            multiplexer = self._configuration >> 12 & 7
            volts = self.volts(multiplexer - 4) if multiplexer >= 4 else 0.0
            scale = self.FULL_SCALE[self._configuration >> 9 & 7]
            self._code = max(-32768, min(32767, round(volts / scale * 32768)))
        return (self._code & 0xFFFF).to_bytes(2, "big")[:count]
