"""Thermistors and platinum sensors as probes: what a converter measures at them, as a reading or a fault."""

from drivers.bench import failed
from drivers.lines import Heard, Sample
from firebox.errors import RangeError
from firebox.records import Status
from firebox.sensors import PlatinumOptions, ThermistorOptions
from firebox.thermo import platinum, thermistor


def hear_thermistor(probe: str, volts: float, sensor: ThermistorOptions) -> Heard:
    """Return what the voltage at the middle of a thermistor's divider means.

    Within half a percent of either end of the supply no thermistor of a pit can be told from a broken or a shorted
    wire, so it is taken for one.

    Examples
    --------
    >>> sensor = ThermistorOptions(beta=3950.0, ohm=100_000.0, series_ohm=22_000.0, supply_volts=3.3)
    >>> hear_thermistor("flat", 3.299, sensor).samples[0].status
    <Status.OPEN: 'open'>
    """
    part = volts / sensor.supply_volts
    if part > 1.0 - thermistor.EDGE:
        return Heard((Sample(probe, None, Status.OPEN if sensor.grounded else Status.SHORTED),))
    if part < thermistor.EDGE:
        return Heard((Sample(probe, None, Status.SHORTED if sensor.grounded else Status.OPEN),))
    ohm = thermistor.divider_ohm(part, sensor.series_ohm, grounded=sensor.grounded)
    try:
        return Heard((Sample(probe, sensor.curve().celsius(ohm)),))
    except RangeError as error:
        return failed([probe], str(error))


FULL_CODE = 1 << 15
"""Codes of a MAX31865 from no resistance to that of its reference (datasheet, page 13)."""


def hear_platinum(probe: str, code: int, sensor: PlatinumOptions) -> Heard:
    """Return what the 15-bit ratio of a MAX31865 means.

    The ends of the scale are an open sensor (more than the reference) and a shorted one.

    Examples
    --------
    >>> sensor = PlatinumOptions(ohm=100, reference_ohm=400.0)
    >>> round(hear_platinum("grate", 11343, sensor).samples[0].celsius, 1)
    99.9
    """
    if code >= FULL_CODE - 1:
        return Heard((Sample(probe, None, Status.OPEN),))
    if code <= 0:
        return Heard((Sample(probe, None, Status.SHORTED),))
    try:
        celsius = platinum.temperature(code * sensor.reference_ohm / FULL_CODE, ohm_at_zero=sensor.ohm)
    except RangeError as error:
        return failed([probe], str(error))
    return Heard((Sample(probe, celsius),))
