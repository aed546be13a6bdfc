"""MAX31855: a thermocouple as one word of 32 bits, read only.

Maxim MAX31855 datasheet, page 10, tables 2 to 5: D31..D18 thermocouple, 14 bits of 0.25 degC; D16 any fault; D15..D4
cold junction, 12 bits of 0.0625 degC; D2 shorted to the supply, D1 shorted to ground, D0 open; D17 and D3 are 0. SPI
mode 0 and a conversion of 100 ms at most: from memory. The chip takes the thermocouple's curve for a straight line,
which is put right here.
"""

from typing import TYPE_CHECKING, Final

from msgspec import Struct

from drivers.amplifiers import hear_both, hear_fault, signed
from drivers.bench import failed
from drivers.lines import Heard
from firebox.errors import RangeError, SourceError
from firebox.records import Status
from firebox.sensors import Max31855Probe
from firebox.thermo.thermocouple import straighten

if TYPE_CHECKING:
    from drivers.spi import SpiDevice

NOBODY: Final = frozenset({0x00000000, 0xFFFFFFFF})
"""What an unconnected wire says. All zeros could also be a chip and a probe at exactly 0 degC, which is as good as
never so for two looks in a row."""


class Word(Struct, frozen=True):
    """What one word of the chip says."""

    shown_celsius: float
    """By the chip's straight line."""
    junction_celsius: float
    status: Status
    is_sound: bool
    """Whether the bits that are always 0 are, and the summary of the faults agrees with them."""


def decode(word: int) -> Word:
    """Return what a word of 32 bits says.

    Examples
    --------
    >>> decode(0x064C1900)
    Word(shown_celsius=100.75, junction_celsius=25.0, status=<Status.GOOD: 'good'>, is_sound=True)
    """
    faults = word & 0b111
    status = Status.GOOD if not faults else Status.OPEN if faults & 0b001 else Status.SHORTED
    is_sound = not word & (1 << 17 | 1 << 3) and bool(word >> 16 & 1) == bool(faults)
    return Word(signed(word >> 18, 14) * 0.25, signed(word >> 4 & 0xFFF, 12) * 0.0625, status, is_sound)


class Max31855:
    """A MAX31855 with its thermocouple.

    Raises
    ------
    SourceError
        No chip answers.
    """

    MODE: Final = 0

    def __init__(self, device: "SpiDevice", probe: Max31855Probe) -> None:
        self._device = device
        self._probe = probe
        try:
            self._word()
        except (SourceError, OSError):
            device.close()
            raise

    def _word(self) -> int:
        word = int.from_bytes(self._device.transfer(bytes(4)))
        if word in NOBODY:
            where = f"SPI {self._probe.bus}, select {self._probe.select}"
            raise SourceError(f"{where}: no MAX31855 answers: all bits are {word & 1}")
        return word

    def ask(self) -> Heard:
        """Return what the probe, and the chip itself, show now.

        Raises
        ------
        SourceError, OSError
            It is gone.
        """
        probe, junction = self._probe.probe, self._probe.junction
        word = decode(self._word())
        if not word.is_sound:
            names = [probe] if junction is None else [probe, junction]
            return failed(names, "bits that do not go together: noise on the wires to the chip")
        if word.status is not Status.GOOD:
            return hear_fault(probe, word.status, junction, word.junction_celsius)
        try:
            celsius = straighten(self._probe.thermocouple, word.shown_celsius, word.junction_celsius)
        except RangeError as error:
            return hear_fault(probe, Status.FAILED, junction, word.junction_celsius, str(error))
        return hear_both(probe, celsius, self._probe.thermocouple, junction, word.junction_celsius)

    def close(self) -> None:
        """Let go of the bus."""
        self._device.close()
