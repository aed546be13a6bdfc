"""MCP9600 and MCP9601: a thermocouple of any letter, put on its curve by the chip itself.

Registers by the Microchip MCP9600 datasheet DS20005426C, pages 17 to 35. From memory: how register 0x06 is split, the
bits of an open and a shorted wire of the MCP9601, the time of a conversion, and that the hot junction is told as the
sum of its difference and the cold junction.

The chip stretches the clock of the bus, which some hosts do not bear: then words arrive that the chip never sent
(16.0625 degC, all ones). So three words are read and have to make sense together.
"""

from collections.abc import Callable
from typing import TYPE_CHECKING, Final

from drivers.amplifiers import hear_both, hear_fault, signed
from drivers.bench import failed
from drivers.lines import Heard
from firebox.errors import SourceError
from firebox.records import Status
from firebox.sensors import Mcp9600Probe
from firebox.thermo.thermocouple import Couple

if TYPE_CHECKING:
    from drivers.i2c import I2cBus

HOT: Final = 0x00
DIFFERENCE: Final = 0x01
COLD: Final = 0x02
STATUS: Final = 0x04
SENSOR: Final = 0x05
DEVICE: Final = 0x06
IDENTITY: Final = 0x20

SHORTED: Final = 0x20
"""Status, MCP9601 only."""
OUT_OF_RANGE: Final = 0x10
"""Status: the input is outside its range; on the MCP9601 also an open wire."""

NAMES: Final = {0x40: "MCP9600", 0x41: "MCP9601"}
LETTERS: Final = {
    Couple.K: 0, Couple.J: 1, Couple.T: 2, Couple.N: 3, Couple.S: 4, Couple.E: 5, Couple.R: 7,
}  # fmt: skip
"""Register 0x05, bits 6..4; B, which is 6, is no letter for a pit."""

BEST: Final = 0x00
"""Register 0x06: cold junction in 0.0625 degC, 18 bits, one sample, normal mode."""

FIRST: Final = 0.6
"""Seconds until the first word is one of the settings: 320 ms and 250 ms."""

APART: Final = 8.0
"""Kelvins by which the three words may miss one another: they are read one after the other, and a false word misses by
16 at least."""


class Mcp9600:
    """A MCP9600 or MCP9601 with its thermocouple.

    Parameters
    ----------
    bus : I2cBus
    probe : Mcp9600Probe
    sleep : callable
        Waits so many seconds for the first conversion.

    Raises
    ------
    SourceError
        What answers is another chip.
    """

    def __init__(self, bus: "I2cBus", probe: Mcp9600Probe, sleep: Callable[[float], None]) -> None:
        self._bus = bus
        self._probe = probe
        self._settings = bytes((LETTERS[probe.thermocouple] << 4 | probe.filter, BEST))
        identity = bus.read(probe.address, IDENTITY, 2)[0]
        if identity not in NAMES:
            raise SourceError(f"no MCP9600 answers but a chip that calls itself {identity:02x}")
        self._knows_shorts = NAMES[identity] == "MCP9601"
        for register, value in zip((SENSOR, DEVICE), self._settings, strict=True):
            bus.write(probe.address, register, bytes((value,)))
        sleep(FIRST)

    def _byte(self, register: int) -> int:
        return self._bus.read(self._probe.address, register, 1)[0]

    def _celsius(self, register: int) -> float:
        return word_celsius(self._bus.read(self._probe.address, register, 2))

    def ask(self) -> Heard:
        """Return what the probe, and the chip itself, show now.

        Raises
        ------
        SourceError, OSError
            It is gone, or was without power and has to be set up again.
        """
        probe, junction = self._probe.probe, self._probe.junction
        if bytes((self._byte(SENSOR), self._byte(DEVICE))) != self._settings:
            raise SourceError(f"I2C address 0x{self._probe.address:02x}: the chip has lost its settings")
        status = self._byte(STATUS)
        hot, difference, cold = (self._celsius(register) for register in (HOT, DIFFERENCE, COLD))
        if abs(hot - difference - cold) > APART or hot == difference == cold:
            names = [probe] if junction is None else [probe, junction]
            return failed(names, "the chip's words contradict one another; slow the bus down to 50 kHz or less")
        if status & SHORTED and self._knows_shorts:
            return hear_fault(probe, Status.SHORTED, junction, cold)
        if status & OUT_OF_RANGE:
            found = Status.OPEN if self._knows_shorts else Status.FAILED
            why = "" if self._knows_shorts else "outside what the chip converts; the wire may be open"
            return hear_fault(probe, found, junction, cold, why)
        return hear_both(probe, hot, self._probe.thermocouple, junction, cold)

    def close(self) -> None:
        """Let go of the bus; the chip goes on converting."""
        self._bus.close()


def word_celsius(data: bytes) -> float:
    """Return the temperature in a word of two bytes. [degC]

    Examples
    --------
    >>> word_celsius(bytes.fromhex("0190")), word_celsius(bytes.fromhex("ffff"))
    (25.0, -0.0625)
    """
    return signed(int.from_bytes(data), 16) * 0.0625
