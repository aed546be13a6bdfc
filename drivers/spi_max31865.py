"""MAX31865: a platinum sensor, as the ratio of its resistance to a reference.

Registers by the Maxim MAX31865 datasheet, pages 13 to 20; verified against the kernel's driver: configuration bits 7
(bias), 5 (one conversion), 4 (three wires), 1 (clear faults), 0 (50 Hz), fault bit 2, the 10.5 ms that the bias needs
and the 52 or 62.5 ms of a conversion. From memory: configuration bits 3..2 (look for faults), the other fault bits, SPI
mode 1. The bias is on only while it measures, so that the sensor does not warm itself.
"""

from collections.abc import Callable
from typing import TYPE_CHECKING, Final

from drivers.bench import failed
from drivers.lines import Heard, Sample
from drivers.resistances import hear_platinum
from firebox.errors import SourceError
from firebox.records import Status
from firebox.sensors import Max31865Probe, PlatinumOptions

if TYPE_CHECKING:
    from drivers.spi import SpiDevice

CONFIGURATION: Final = 0x00
RATIO: Final = 0x01
FAULTS: Final = 0x07
WRITE: Final = 0x80

BIAS: Final = 0x80
ONE_CONVERSION: Final = 0x20
THREE_WIRES: Final = 0x10
LOOK_FOR_FAULTS: Final = 0x04
CLEAR_FAULTS: Final = 0x02
REJECT_50_HZ: Final = 0x01

HIGH: Final = 0x80
"""Fault: the ratio is above its upper threshold, which is the end of the scale unless it is set."""
LOW: Final = 0x40
BROKEN: Final = 0x38
"""Faults: a reference or sensor input where an open wire leaves it."""
OVER_VOLTAGE: Final = 0x04

BIAS_SECONDS: Final = 0.0105
FAULT_SECONDS: Final = 0.001
"""The chip's own look for faults takes 0.6 ms (from memory)."""
CONVERSION_SECONDS: Final = {50: 0.069, 60: 0.058}
"""62.5 and 52 ms, and a tenth for the chip's clock."""


class Max31865:
    """A MAX31865 with its sensor.

    Parameters
    ----------
    device : SpiDevice
    probe : Max31865Probe
    sleep : callable
        Waits so many seconds.

    Raises
    ------
    SourceError
        No chip answers.
    """

    MODE: Final = 1

    def __init__(self, device: "SpiDevice", probe: Max31865Probe, sleep: Callable[[float], None]) -> None:
        self._device = device
        self._probe = probe
        self._sleep = sleep
        self._sensor = PlatinumOptions(ohm=probe.ohm, reference_ohm=probe.reference_ohm)
        three, rejects = probe.wires == 3, probe.mains == 50
        self._base = (THREE_WIRES if three else 0) | (REJECT_50_HZ if rejects else 0)
        try:
            self._configure(CLEAR_FAULTS)
            self._registers(self._base)
        except (SourceError, OSError):
            device.close()
            raise

    def _configure(self, bits: int) -> None:
        self._device.transfer(bytes((CONFIGURATION | WRITE, self._base | bits)))

    def _registers(self, expected: int) -> bytes:
        registers = self._device.transfer(bytes(9))[1:]
        if registers[CONFIGURATION] != expected:
            where = f"SPI {self._probe.bus}, select {self._probe.select}"
            raise SourceError(
                f"{where}: no MAX31865 answers, or it has lost its settings: "
                f"{registers[CONFIGURATION]:02x} in place of {expected:02x}"
            )
        return registers

    def ask(self) -> Heard:
        """Return what the probe shows now; takes less than a tenth of a second.

        Raises
        ------
        SourceError, OSError
            It is gone, or was without power while it measured.
        """
        self._configure(BIAS | CLEAR_FAULTS)
        self._sleep(BIAS_SECONDS)
        self._configure(BIAS | LOOK_FOR_FAULTS)
        self._sleep(FAULT_SECONDS)
        self._configure(BIAS | ONE_CONVERSION)
        self._sleep(CONVERSION_SECONDS[self._probe.mains])
        registers = self._registers(BIAS | self._base)
        self._configure(0)
        word = int.from_bytes(registers[RATIO : RATIO + 2])
        if word & 1 or registers[FAULTS]:
            return self._faulty(registers[FAULTS])
        return hear_platinum(self._probe.probe, word >> 1, self._sensor)

    def _faulty(self, faults: int) -> Heard:
        if faults & (HIGH | BROKEN):
            return Heard((Sample(self._probe.probe, None, Status.OPEN),))
        if faults & (LOW | OVER_VOLTAGE):
            return Heard((Sample(self._probe.probe, None, Status.SHORTED),))
        return failed([self._probe.probe], "the chip reports a fault without saying which")

    def close(self) -> None:
        """Let go of the bus."""
        self._device.close()
