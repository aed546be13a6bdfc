"""MAX31856: a thermocouple of any letter, put on its curve by the chip itself.

Registers, widths and steps by the Maxim MAX31856 datasheet (pages 1 to 5 and 18 to 27); verified against the kernel's
driver: addresses, write = address | 0x80, CR0 bits 7, 6 and 5..4, the letters in CR1, SR bits 1 and 0, 19 bits of
0.0078125 degC and 14 bits of 0.015625 degC. From memory: CR0 bits 3..0, averaging in CR1 bits 6..4, SR bits 7 and 6,
SPI mode 1, and how long a conversion takes.
"""

from collections.abc import Callable
from typing import TYPE_CHECKING, Final

from drivers.amplifiers import hear_both, hear_fault, signed
from drivers.lines import Heard
from firebox.errors import SourceError
from firebox.records import Status
from firebox.sensors import Max31856Probe
from firebox.thermo.thermocouple import Couple

if TYPE_CHECKING:
    from drivers.spi import SpiDevice

CR0: Final = 0x00
CR1: Final = 0x01
JUNCTION: Final = 0x0A
COUPLE: Final = 0x0C
SR: Final = 0x0F
WRITE: Final = 0x80

AUTO: Final = 0x80
"""CR0: convert without being asked."""
LOOK_FOR_OPEN: Final = 0x10
"""CR0: look for an open wire every 16 conversions, with a series resistance under 5 kohm."""
REJECT_50_HZ: Final = 0x01
"""CR0; 60 Hz without it. May only be changed while the chip does not convert by itself."""

OPEN: Final = 0x01
"""SR: the wire is open."""
OVER_VOLTAGE: Final = 0x02
"""SR: an input is above the supply or below ground."""
OUT_OF_RANGE: Final = 0xC0
"""SR: the cold junction or the thermocouple is outside what the chip converts."""

LETTERS: Final = {
    Couple.E: 1, Couple.J: 2, Couple.K: 3, Couple.N: 4, Couple.R: 5, Couple.S: 6, Couple.T: 7,
}  # fmt: skip
"""CR1 bits 3..0; B, which is 0, is no letter for a pit."""

AVERAGES: Final = {1: 0, 2: 1, 4: 2, 8: 3, 16: 4}

FIRST: Final = {50: 0.185, 60: 0.155}
"""Seconds until the first conversion is done (169 and 143 ms typical, and a tenth for the chip's clock)."""
EACH: Final = {50: 0.044, 60: 0.037}
"""Seconds more for each further conversion in an average."""


class Max31856:
    """A MAX31856 with its thermocouple.

    Parameters
    ----------
    device : SpiDevice
    probe : Max31856Probe
    sleep : callable
        Waits so many seconds for the first conversion; before it the chip would say 0 degC.

    Raises
    ------
    SourceError
        No chip answers, or it does not keep what is written to it.
    """

    MODE: Final = 1

    def __init__(self, device: "SpiDevice", probe: Max31856Probe, sleep: Callable[[float], None]) -> None:
        self._device = device
        self._probe = probe
        rejects = REJECT_50_HZ if probe.mains == 50 else 0
        self._cr0 = AUTO | LOOK_FOR_OPEN | rejects
        self._cr1 = AVERAGES[probe.average] << 4 | LETTERS[probe.thermocouple]
        try:
            self._write(CR0, LOOK_FOR_OPEN | rejects)
            self._write(CR1, self._cr1)
            self._write(CR0, self._cr0)
            self._registers()
        except (SourceError, OSError):
            device.close()
            raise
        sleep(FIRST[probe.mains] + EACH[probe.mains] * (probe.average - 1))

    def _write(self, register: int, value: int) -> None:
        self._device.transfer(bytes((register | WRITE, value)))

    def _registers(self) -> bytes:
        """Return all 16 registers, read at once so that they belong together."""
        registers = self._device.transfer(bytes(17))[1:]
        if (registers[CR0], registers[CR1]) != (self._cr0, self._cr1):
            where = f"SPI {self._probe.bus}, select {self._probe.select}"
            raise SourceError(
                f"{where}: no MAX31856 answers, or it has lost its settings: "
                f"{registers[CR0]:02x} {registers[CR1]:02x} in place of {self._cr0:02x} {self._cr1:02x}"
            )
        return registers

    def ask(self) -> Heard:
        """Return what the probe, and the chip itself, show now.

        Raises
        ------
        SourceError, OSError
            It is gone, or was without power and has to be set up again.
        """
        registers = self._registers()
        probe, junction, fault = self._probe.probe, self._probe.junction, registers[SR]
        celsius, chip_celsius = couple_celsius(registers[COUPLE:SR]), junction_celsius(registers[JUNCTION:COUPLE])
        if fault & OPEN:
            return hear_fault(probe, Status.OPEN, junction, chip_celsius)
        if fault & OVER_VOLTAGE:
            return hear_fault(probe, Status.SHORTED, junction, chip_celsius)
        if fault & OUT_OF_RANGE:
            return hear_fault(probe, Status.FAILED, junction, chip_celsius, "outside what the chip converts")
        return hear_both(probe, celsius, self._probe.thermocouple, junction, chip_celsius)

    def close(self) -> None:
        """Let go of the bus; the chip goes on converting."""
        self._device.close()


def couple_celsius(data: bytes) -> float:
    """Return the temperature in the three registers of the thermocouple. [degC]

    Examples
    --------
    >>> couple_celsius(bytes.fromhex("064f00"))
    100.9375
    """
    return signed(int.from_bytes(data) >> 5, 19) * 0.0078125


def junction_celsius(data: bytes) -> float:
    """Return the temperature in the two registers of the cold junction. [degC]

    Examples
    --------
    >>> junction_celsius(bytes.fromhex("ff80"))
    -0.5
    """
    return signed(int.from_bytes(data) >> 2, 14) * 0.015625
