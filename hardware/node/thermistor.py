"""A thermistor from an ADC pin to ground, with a resistor of known value from the pin to the reference voltage.

Beta equation: 1/T = 1/298.15 K + ln(R / R25) / beta. A beta holds near the two temperatures it was given for, which is
enough for the air beside the pit; it is not meant for the meat or the grate.
"""

from math import log

from readings import FAILED, OPEN, SHORTED, bad, good

FULL = 65535
MARGIN = FULL // 200
"""Codes in the outer half per cent at either end are a broken or bridged wire, not a temperature."""

SAMPLES = 16
"""Conversions averaged; the converter on the chip is noisy."""


def decode_divider(code: float, series_ohm: float, ohm_25: float, beta: float) -> tuple:
    """Return a reading from the converter's code, 0 to 65535."""
    if code > FULL - MARGIN:
        return bad(OPEN, "thermistor open")
    if code < MARGIN:
        return bad(SHORTED, "thermistor shorted")
    ohm = series_ohm * code / (FULL - code)
    kelvin = 1.0 / (1.0 / 298.15 + log(ohm / ohm_25) / beta)
    if not 200.0 < kelvin < 430.0:
        return bad(FAILED, "%d ohm is no thermistor of %d ohm" % (int(ohm), int(ohm_25)))
    return good(kelvin - 273.15)


class Thermistor:
    """A thermistor on a pin of the chip's converter."""

    def __init__(self, adc: object, *, series_ohm: float, ohm_25: float, beta: float) -> None:
        self._adc = adc
        self._series_ohm = series_ohm
        self._ohm_25 = ohm_25
        self._beta = beta

    def read(self) -> tuple:
        """Return the reading of now."""
        code = sum(self._adc.read_u16() for _ in range(SAMPLES)) / SAMPLES
        return decode_divider(code, self._series_ohm, self._ohm_25, self._beta)
