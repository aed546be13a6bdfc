"""Thermocouple amplifiers on one SPI bus: MAX31855 (straight line, fixed type) and MAX31856 (any type, linear).

Bits and registers are those of the two datasheets (Maxim, MAX31855 tables 2-5; MAX31856 register map). The decoders
are plain functions from bytes to a reading, so that they can be held against the datasheets' own example words.
"""

from curves import straighten
from readings import FAILED, OPEN, SHORTED, bad, good


class Bus:
    """The SPI bus that all amplifiers share; each is selected by a pin of its own and spoken to in its own mode."""

    def __init__(self, spi: object, baud: int) -> None:
        self._spi = spi
        self._baud = baud

    def exchange(self, select: object, phase: int, request: bytes, answer: bytearray) -> None:
        """Select a chip, send `request`, fill `answer` (either may be empty) and let the chip go."""
        self._spi.init(baudrate=self._baud, polarity=0, phase=phase)
        select.value(0)
        try:
            if request:
                self._spi.write(request)
            if answer:
                self._spi.readinto(answer)
        finally:
            select.value(1)


def signed(code: int, bits: int) -> int:
    """Return a two's complement code of so many bits as a number."""
    return code - (1 << bits) if code >> (bits - 1) else code


# --- MAX31855 ------------------------------------------------------------------------------------


def decode_max31855(word: int) -> tuple:
    """Return a reading and the cold junction in degrees Celsius (None with a fault) from the chip's word of 32 bits."""
    if word in (0, 0xFFFFFFFF):
        return bad(FAILED, "no chip answers"), None
    if word & 0x00020008 or bool(word & 0x00010000) != bool(word & 7):
        return bad(FAILED, "garbled word %08x" % word), None
    if word & 1:
        return bad(OPEN, "thermocouple open"), None
    if word & 6:
        return bad(SHORTED, "thermocouple touches ground" if word & 2 else "thermocouple touches the supply"), None
    return good(signed(word >> 18, 14) * 0.25), signed((word >> 4) & 0xFFF, 12) * 0.0625


class Max31855:
    """A MAX31855: nothing to set, one word to read."""

    def __init__(self, bus: Bus, select: object, kind: str, *, straight: bool) -> None:
        self._bus = bus
        self._select = select
        self._kind = kind
        self._straight = straight
        self._word = bytearray(4)

    def read(self) -> tuple:
        """Return the reading of now."""
        self._bus.exchange(self._select, 0, b"", self._word)
        reading, cold = decode_max31855(int.from_bytes(self._word, "big"))
        if self._straight and cold is not None:
            return good(straighten(self._kind, reading[0], cold))
        return reading


# --- MAX31856 ------------------------------------------------------------------------------------

TYPES = {"B": 0, "E": 1, "J": 2, "K": 3, "N": 4, "R": 5, "S": 6, "T": 7}
"""CR1 bits 3..0."""

CONVERT, FIND_OPEN, HERTZ_50 = 0x80, 0x10, 0x01
"""CR0: convert all the time; look for an open circuit every 16 conversions; reject 50 Hz instead of 60."""

WRITE = 0x80


def decode_max31856(registers: bytes) -> tuple:
    """Return a reading from registers 0x00 to 0x0F."""
    state = registers[15]
    if state & 0x01:
        return bad(OPEN, "thermocouple open")
    if state & 0x02:
        return bad(SHORTED, "thermocouple input over or under the supply")
    if state & 0xC0:
        return bad(FAILED, "cold junction out of range" if state & 0x80 else "thermocouple out of range")
    return good(signed(int.from_bytes(bytes(registers[12:15]), "big") >> 5, 19) * 0.0078125)


class Max31856:
    """A MAX31856, kept to its settings: a chip that lost them (a dip of its supply) is set again, not believed."""

    def __init__(self, bus: Bus, select: object, kind: str, *, mains: int) -> None:
        self._bus = bus
        self._select = select
        hertz = HERTZ_50 if mains == 50 else 0
        self._wanted = bytes((CONVERT | FIND_OPEN | hertz, TYPES[kind]))
        self._stopped = hertz
        self._registers = bytearray(16)
        self.configure()

    def configure(self) -> None:
        """Write the settings; the mains filter may be changed only while the chip does not convert."""
        for address, value in ((0, self._stopped), (1, self._wanted[1]), (0, self._wanted[0])):
            self._bus.exchange(self._select, 1, bytes((address | WRITE, value)), b"")

    def read(self) -> tuple:
        """Return the reading of now."""
        self._bus.exchange(self._select, 1, b"\x00", self._registers)
        if bytes(self._registers[:2]) == self._wanted:
            return decode_max31856(self._registers)
        seen = set(self._registers)
        self.configure()
        if seen in ({0}, {0xFF}):
            return bad(FAILED, "no chip answers")
        return bad(FAILED, "chip had lost its settings; set again")
