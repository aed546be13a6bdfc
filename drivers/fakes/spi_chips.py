"""Thermometer chips on a fake SPI bus: state machines of the chips by their datasheets, bit for bit.

They feel a temperature, have a wire that can break, and can lose their power. The shipped drivers talk to them through
the same protocol as to a real bus. They share no code with those drivers, so that a wrong bit shows.
"""

import errno
import os
from enum import StrEnum
from typing import Protocol

from drivers.fakes.bench_time import BenchTime
from firebox.thermo import platinum
from firebox.thermo.thermocouple import LINE, Couple, emf


class Wire(StrEnum):
    """How the wire to the probe is."""

    WHOLE = "whole"
    OPEN = "open"
    TO_GROUND = "shorted to ground"
    TO_SUPPLY = "shorted to the supply"


class Chip(Protocol):
    """A chip at a chip-select line."""

    modes: tuple[int, ...]

    def transfer(self, data: bytes) -> bytes: ...


class SpiBoard:
    """Chips by bus and chip-select line; what is not there leaves the line high, and a wrong mode shifts every bit."""

    def __init__(self) -> None:
        self.chips: dict[tuple[int, int], Chip] = {}
        self.is_switched_on = True
        self.opened = 0
        """Lines that are held just now."""

    def open(self, bus: int, select: int, mode: int) -> "SpiLine":
        """Return a line of the bus.

        Raises
        ------
        OSError
            The bus is switched off.
        """
        if not self.is_switched_on:
            raise OSError(errno.ENOENT, os.strerror(errno.ENOENT), f"/dev/spidev{bus}.{select}")
        self.opened += 1
        return SpiLine(self, (bus, select), mode)


class SpiLine:
    """One line of a board, held by a driver."""

    def __init__(self, board: SpiBoard, place: tuple[int, int], mode: int) -> None:
        self._board = board
        self._place = place
        self._mode = mode

    def transfer(self, data: bytes) -> bytes:
        """Return what the chip there says."""
        chip = self._board.chips.get(self._place)
        if chip is None:
            return b"\xff" * len(data)
        said = chip.transfer(data)
        if self._mode not in chip.modes:
            return (int.from_bytes(said, "big") << 1 & (1 << 8 * len(said)) - 1).to_bytes(len(said), "big")
        return said

    def close(self) -> None:
        """Let go of it."""
        self._board.opened -= 1


class FakeMax31855:
    """A MAX31855: one word, made from the thermocouple's voltage by the chip's straight line."""

    modes = (0,)

    def __init__(self, couple: Couple = Couple.K) -> None:
        self.couple = couple
        self.celsius = 20.0
        self.junction = 25.0
        self.wire = Wire.WHOLE
        self.noise = 0
        """Bits of the word that are turned over."""

    def word(self) -> int:
        """Return the word that it says now."""
        measured = emf(self.couple, self.celsius) - emf(self.couple, self.junction)
        shown = self.junction + measured / LINE[self.couple]
        faults = {Wire.WHOLE: 0, Wire.OPEN: 1, Wire.TO_GROUND: 2, Wire.TO_SUPPLY: 4}[self.wire]
        couple = (round(shown * 4) if not faults else 0x1FFF) & 0x3FFF
        return couple << 18 | bool(faults) << 16 | (round(self.junction * 16) & 0xFFF) << 4 | faults

    def transfer(self, data: bytes) -> bytes:
        """Return the word, over and over."""
        word = (self.word() ^ self.noise).to_bytes(4, "big")
        return (word * (len(data) // 4 + 1))[: len(data)]


class FakeMax31856:
    """A MAX31856: sixteen registers, and conversions that take their time."""

    modes = (1, 3)

    def __init__(self, time: BenchTime) -> None:
        self._time = time
        self.celsius = 20.0
        self.junction = 25.0
        self.couple = Couple.K
        self.wire = Wire.WHOLE
        self.power_cycle()

    def power_cycle(self) -> None:
        """Lose all settings: registers as after power-on (datasheet, table 6)."""
        self._registers = bytearray.fromhex("00 03 ff 7f c0 7f ff 80 00 00 00 00 00 00 00 00")
        self._done_at: float | None = None

    def transfer(self, data: bytes) -> bytes:
        """Return registers from an address on, or write them."""
        self._convert()
        address, said = data[0] & 0x7F, bytearray(len(data))
        for offset, value in enumerate(data[1:]):
            register = (address + offset) % 16
            if data[0] & 0x80:
                self._write(register, value)
            else:
                said[offset + 1] = self._registers[register]
        return bytes(said)

    def _write(self, register: int, value: int) -> None:
        if register > 0x0B:
            return  # read only
        converting = self._registers[0] & 0x80
        if register == 0 and converting and (value ^ self._registers[0]) & 0x01:
            value ^= 0x01  # the filter may only be changed while it stands still
        self._registers[register] = value
        if register == 0:
            seconds = 0.169 if value & 0x01 else 0.143
            averaged = 1 << min(self._registers[1] >> 4 & 7, 4)
            seconds += (averaged - 1) * (0.040 if value & 0x01 else 0.0333)
            self._done_at = self._time.now + seconds if value & 0xC0 else None

    def _convert(self) -> None:
        if self._done_at is None or self._time.now < self._done_at:
            return
        letter = "BEJKNRST"[self._registers[1] & 7]
        junction = round(self.junction * 64) << 2 & 0xFFFF
        self._registers[0x0A:0x0C] = junction.to_bytes(2, "big")
        celsius = self.celsius if letter == self.couple.value else 1800.0  # set for another metal: nonsense
        self._registers[0x0C:0x0F] = (round(celsius * 128) << 5 & 0xFFFFFF).to_bytes(3, "big")
        over = self.wire in {Wire.TO_GROUND, Wire.TO_SUPPLY}
        looks_for_open = self._registers[0] & 0x30
        self._registers[0x0F] = (self.wire is Wire.OPEN and bool(looks_for_open)) | over << 1


class FakeMax31865:
    """A MAX31865: eight registers, a bias that has to settle, and a conversion that is asked for."""

    modes = (1, 3)

    def __init__(self, time: BenchTime, ohm_at_zero: float = 100.0, reference_ohm: float = 430.0) -> None:
        self._time = time
        self._at_zero = ohm_at_zero
        self._reference = reference_ohm
        self.celsius = 20.0
        self.lead_ohm = 0.0
        """Of one lead; only a chip told that there are three takes it out."""
        self.wire = Wire.WHOLE
        self.power_cycle()

    def power_cycle(self) -> None:
        """Lose all settings: registers as after power-on (datasheet, table 1)."""
        self._registers = bytearray.fromhex("00 00 00 ff ff 00 00 00")
        self._bias_since: float | None = None
        self._done_at: float | None = None

    @property
    def is_biased(self) -> bool:
        """Whether current flows through the sensor now."""
        return self._bias_since is not None

    def transfer(self, data: bytes) -> bytes:
        """Return registers from an address on, or write them."""
        self._convert()
        address, said = data[0] & 0x7F, bytearray(len(data))
        for offset, value in enumerate(data[1:]):
            register = (address + offset) % 8
            if not data[0] & 0x80:
                said[offset + 1] = self._registers[register]
            elif register == 0:
                self._configure(value)
            elif 3 <= register <= 6:
                self._registers[register] = value
        return bytes(said)

    def _configure(self, value: int) -> None:
        if value & 0x80 and self._bias_since is None:
            self._bias_since = self._time.now
        elif not value & 0x80:
            self._bias_since = None
        if value & 0x02 and not value & 0x2C:
            self._registers[7] = 0
        if value & 0x0C and self._bias_since is not None and self.wire is Wire.OPEN:
            self._registers[7] |= 0x08
        if value & 0x20:
            self._done_at = self._time.now + (0.0625 if value & 0x01 else 0.052)
        self._registers[0] = value & 0xD1 | value & 0x20

    def _convert(self) -> None:
        if self._done_at is None or self._time.now < self._done_at:
            return
        self._done_at = None
        self._registers[0] &= ~0x20
        settled = self._bias_since is not None and self._time.now - self._bias_since >= 0.0105
        two_leads = 0.0 if self._registers[0] & 0x10 else 2.0 * self.lead_ohm
        resistance = platinum.ohm(self.celsius, ohm_at_zero=self._at_zero) + two_leads
        code = round(resistance / self._reference * 32768) if settled else 1000
        code = {Wire.WHOLE: code, Wire.OPEN: 32767, Wire.TO_GROUND: 0, Wire.TO_SUPPLY: code}[self.wire]
        if self.wire is Wire.TO_SUPPLY:
            self._registers[7] |= 0x04
        if code << 1 >= int.from_bytes(self._registers[3:5], "big") & 0xFFFE:
            self._registers[7] |= 0x80
        self._registers[1:3] = (code << 1 | bool(self._registers[7])).to_bytes(2, "big")
