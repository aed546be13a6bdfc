"""A board without the board: `machine` as the firmware knows it, with chips that behave as the datasheets say.

The firmware runs unchanged in a MicroPython on any computer when this folder comes before it on the module path. What
hangs on the pins stands in `bench.json` in the working folder and is read again at every exchange, so that whoever
runs the bench can heat a probe, break a wire or pull a chip while the firmware runs:

    {"17": {"chip": "max31856", "celsius": 121.4, "cold": 25.0, "fault": ""},
     "21": {"chip": "max31855", "microvolts": 14990.0, "cold": 35.0, "fault": "open"},
     "26": {"ohm": 18000.0, "series_ohm": 10000.0}, "14": {"grounded": true}}

Faults: "open", "ground", "supply", "range", "absent" (nothing answers), "dip" (the chip loses its settings once, as
after a dip of its supply), "hang" (the exchange never ends). The process ends with status 3 where the chip would be
reset by its watchdog; the environment variable BENCH_RESET tells the next start that it was so.
"""

import json
import os
import sys
import time

PWRON_RESET = 1
WDT_RESET = 3

_selected = []
_chips = {}
_watchdogs = []


def reset_cause() -> int:
    """Return why the board started."""
    return WDT_RESET if os.getenv("BENCH_RESET") == "watchdog" else PWRON_RESET


def reset() -> None:
    """End as the board does when it is reset."""
    sys.exit(3)


def _bench() -> dict:
    with open("bench.json") as file:
        return json.load(file)


class Pin:
    """A pin; a select pin that is low makes its chip listen."""

    IN, OUT, PULL_UP = 0, 1, 1

    def __init__(self, number: object, mode: int = 0, pull: int = -1, value: int = 0) -> None:
        self.number = number
        self._level = value
        if mode == Pin.IN and pull == Pin.PULL_UP:
            self._level = 0 if _bench().get(str(number), {}).get("grounded") else 1

    def value(self, level: object = None) -> object:
        """Return the level, or set it."""
        if level is None:
            return self._level
        self._level = int(level)
        key = str(self.number)
        if key in _selected:
            _selected.remove(key)
        if not level:
            _selected.append(key)
            _begin(key)
        return None


class ADC:
    """A channel of the converter, with a divider on it."""

    def __init__(self, pin: int) -> None:
        self._key = str(pin)

    def read_u16(self) -> int:
        """Return the code, with an open or bridged wire at the ends."""
        divider = _bench()[self._key]
        if divider.get("fault") == "open":
            return 65535
        if divider.get("fault") == "ground":
            return 0
        return int(65535 * divider["ohm"] / (divider["ohm"] + divider["series_ohm"]) + 0.5)


class WDT:
    """The watchdog; it cannot be stopped."""

    def __init__(self, timeout: int) -> None:
        if not 0 < timeout <= 8388:
            raise ValueError("timeout exceeds 8388")
        self._timeout = int(os.getenv("BENCH_WATCHDOG_MS") or timeout)
        self._fed = time.ticks_ms()
        _watchdogs.append(self)

    def feed(self) -> None:
        """Put the moment off."""
        self.look()
        self._fed = time.ticks_ms()

    def look(self) -> None:
        """Reset the board if nobody fed in time."""
        if time.ticks_diff(time.ticks_ms(), self._fed) > self._timeout:
            reset()


class SPI:
    """The bus: bytes go to and come from the one chip that is selected."""

    def __init__(self, bus: int, *, baudrate: int, polarity: int, phase: int, sck: Pin, mosi: Pin, miso: Pin) -> None:
        for pin, remainder in ((miso, 0), (sck, 2), (mosi, 3)):
            if pin.number % 4 != remainder or pin.number // 8 % 2 != bus:
                raise ValueError("bad pin %s" % pin.number)
        self.init(baudrate=baudrate, polarity=polarity, phase=phase)

    def init(self, *, baudrate: int, polarity: int, phase: int) -> None:
        """Set clock and mode."""
        if baudrate > 5000000:
            raise ValueError("the chips take 5 MHz at most")
        self._mode = polarity, phase

    def write(self, data: bytes) -> None:
        """Send bytes."""
        for chip in self._listening():
            chip.take(data)

    def readinto(self, buffer: bytearray) -> None:
        """Fill a buffer; without a chip the line floats high."""
        chips = self._listening()
        told = chips[0].tell(len(buffer)) if len(chips) == 1 else b"\xff" * len(buffer)
        if chips and self._mode != chips[0].mode:  # sampled half a clock off: every bit is its neighbour
            word = int.from_bytes(told, "big") << 1
            told = (word & ((1 << 8 * len(buffer)) - 1)).to_bytes(len(buffer), "big")
        buffer[:] = told

    def _listening(self) -> list:
        bench = _bench()
        for key in _selected:
            while bench.get(key, {}).get("fault") == "hang":
                for watchdog in _watchdogs:
                    watchdog.look()
                time.sleep_ms(10)
                bench = _bench()
        return [_chips[key] for key in _selected if key in _chips and bench[key].get("fault") != "absent"]


# --- chips ---------------------------------------------------------------------------------------


def _begin(key: str) -> None:
    """Let a chip know that it was selected, and what hangs on it now."""
    hung = _bench().get(key)
    if hung is None:
        return
    if key not in _chips:
        _chips[key] = {"max31855": FakeMax31855, "max31856": FakeMax31856}[hung["chip"]]()
    _chips[key].begin(hung)


def _code(value: float, step: float, bits: int) -> int:
    """Return a value as a two's complement code of so many bits."""
    return int(value // step) & ((1 << bits) - 1)


class FakeMax31855:
    """Takes the thermocouple's force for a straight line of 41.276 microvolts a degree, as the K part does."""

    mode = 0, 0

    def begin(self, hung: dict) -> None:
        """Latch the word of now."""
        fault = hung.get("fault", "")
        bits = {"open": 1, "ground": 2, "supply": 4}.get(fault, 0)
        hot = hung["microvolts"] / 41.276 + hung["cold"]
        word = _code(hot, 0.25, 14) << 18 | _code(hung["cold"], 0.0625, 12) << 4
        self._word = word | (0x10000 | bits if bits else 0)

    def take(self, data: bytes) -> None:
        """Do nothing: it has no registers."""

    def tell(self, count: int) -> bytes:
        """Return the word."""
        return self._word.to_bytes(4, "big")[:count]


class FakeMax31856:
    """Registers 0x00 to 0x0F, an address that counts up, and conversions only while CR0 asks for them."""

    mode = 0, 1

    def __init__(self) -> None:
        self._dipped = False
        self._reset()

    def _reset(self) -> None:
        self._registers = bytearray(16)
        self._registers[1] = 0x03  # type K
        self._registers[2] = 0xFF

    def begin(self, hung: dict) -> None:
        """Wait for an address, after a conversion if one is asked for."""
        self._address = None
        dips = hung.get("fault") == "dip"
        if dips and not self._dipped:
            self._reset()
        self._dipped = dips
        if self._registers[0] & 0x80:
            self._convert(hung)

    def _convert(self, hung: dict) -> None:
        fault = hung.get("fault", "")
        registers = self._registers
        registers[15] = {"open": 0x01, "supply": 0x02, "ground": 0x02, "range": 0x40}.get(fault, 0)
        if fault == "open" and not registers[0] & 0x30:
            registers[15] = 0  # not asked to look for it
        registers[10:12] = (_code(hung["cold"], 0.015625, 14) << 2).to_bytes(2, "big")
        kind = registers[1] & 0x0F
        celsius = hung["celsius"] if kind == hung.get("kind", 3) else hung["celsius"] * 0.8  # another type's curve
        registers[12:15] = (_code(celsius, 0.0078125, 19) << 5).to_bytes(3, "big")

    def take(self, data: bytes) -> None:
        """Take an address, and values for the registers from there on if its top bit is set."""
        for value in data:
            if self._address is None:
                self._address = value & 0x0F
                self._writing = bool(value & 0x80)
            elif self._writing:
                if self._address < 10:
                    self._registers[self._address] = value
                self._address = (self._address + 1) & 0x0F

    def tell(self, count: int) -> bytes:
        """Return the registers from the address on."""
        start = self._address or 0
        self._address = (start + count) & 0x0F
        return bytes(self._registers[(start + place) & 0x0F] for place in range(count))
