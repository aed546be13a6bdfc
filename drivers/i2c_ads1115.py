"""ADS1115: four voltages, here of thermistors in dividers.

Registers by the Texas Instruments ADS1115 datasheet, tables 8-1 and 8-3; verified against the kernel's driver:
addresses, multiplexer, gain, rates, comparator. From memory: bit 15 (start, and ready), the value after reset.
"""

from collections.abc import Callable
from typing import TYPE_CHECKING, Final

from drivers.amplifiers import signed
from drivers.bench import failed
from drivers.lines import Heard
from drivers.resistances import hear_thermistor
from firebox.sensors import Ads1115Probe

if TYPE_CHECKING:
    from drivers.i2c import I2cBus

CONVERSION: Final = 0x00
CONFIGURATION: Final = 0x01

START: Final = 0x8000
"""Written: convert once. Read: it is done."""
SINGLE_ENDED: Final = 0x4000
ONE_CONVERSION: Final = 0x0100
NO_COMPARATOR: Final = 0x0003

RANGES: Final = ((0.256, 5), (0.512, 4), (1.024, 3), (2.048, 2), (4.096, 1), (6.144, 0))
"""(full scale in volts, code in bits 11..9)."""

SLOWEST: Final = 0.138
"""Seconds of a conversion at 8 a second, the chip's clock being good to a tenth. The slowest, because its filter takes
most of the hum of the mains away."""

PATIENCE: Final = 5
"""Looks at a conversion that is not done yet, 10 ms apart."""

FULL_CODE: Final = 1 << 15


class Ads1115:
    """One input of an ADS1115 with its thermistor.

    Parameters
    ----------
    bus : I2cBus
    probe : Ads1115Probe
    sleep : callable
        Waits so many seconds for a conversion.
    """

    def __init__(self, bus: "I2cBus", probe: Ads1115Probe, sleep: Callable[[float], None]) -> None:
        self._bus = bus
        self._probe = probe
        self._sleep = sleep
        supply = probe.sensor.supply_volts
        self._volts, gain = next((one for one in RANGES if one[0] >= supply), RANGES[-1])
        self._settings = SINGLE_ENDED | probe.input << 12 | gain << 9 | ONE_CONVERSION | NO_COMPARATOR
        bus.read(probe.address, CONFIGURATION, 2)

    def ask(self) -> Heard:
        """Return what the probe shows now; takes about a seventh of a second.

        Raises
        ------
        OSError
            The chip is gone.
        """
        address = self._probe.address
        self._bus.write(address, CONFIGURATION, (START | self._settings).to_bytes(2))
        self._sleep(SLOWEST)
        for _ in range(PATIENCE):
            told = int.from_bytes(self._bus.read(address, CONFIGURATION, 2))
            if told & START:
                break
            self._sleep(0.01)
        if told != START | self._settings:
            return failed([self._probe.probe], "the converter does not do as it is told; does something else use it?")
        code = signed(int.from_bytes(self._bus.read(address, CONVERSION, 2)), 16)
        return hear_thermistor(self._probe.probe, code * self._volts / FULL_CODE, self._probe.sensor)

    def close(self) -> None:
        """Let go of the bus."""
        self._bus.close()
