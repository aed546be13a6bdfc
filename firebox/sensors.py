"""What the owner tells of probes that are wired to the computer itself: channels, chips, curves.

Data only, as `firebox.links`, which takes these in. A probe is found by names that stay the same over a restart (a
label, a chip's name, a serial number), not by numbers that the kernel hands out.
"""

import re
from collections.abc import Hashable, Iterable
from typing import Annotated, Literal

from msgspec import Meta, Struct

from firebox.records import Name
from firebox.thermo.thermistor import Curve, by_beta, by_points
from firebox.thermo.thermocouple import Couple

Word = Annotated[str, Meta(min_length=1, max_length=128)]
Folder = Annotated[str, Meta(min_length=1, max_length=4096)]
Ohm = Annotated[float, Meta(gt=0, le=1e9)]
Volts = Annotated[float, Meta(gt=0, le=60)]
Seconds = Annotated[float, Meta(ge=0.05, le=60)]
"""Between two looks at a probe."""
Hum = Literal[50, 60]
"""Frequency of the mains, whose hum a chip filters out. [Hz]"""


def check_apart(places: Iterable[Hashable], what: str) -> None:
    """Refuse two probes in one place (ValueError)."""
    seen: set[Hashable] = set()
    for place in places:
        if place in seen:
            raise ValueError(f"probes: two are at {what} {place}; one of them hangs elsewhere")
        seen.add(place)


# --- what is at the end of the wire --------------------------------------------------------------


class Point(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One measured point of a thermistor."""

    celsius: Annotated[float, Meta(gt=-273.15, le=600)]
    ohm: Ohm


class ThermistorOptions(
    Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind", tag="thermistor"
):
    """A thermistor in a divider: known by its Beta, by a, b and c, or by three points.

    Attributes
    ----------
    beta, ohm : float or None
        Beta, and the resistance at 25 degC. [K, ohm]
    a, b, c : float or None
        Steinhart and Hart's coefficients for ohm and kelvin.
    points : tuple of Point
    series_ohm : float
        The fixed resistor of the divider. [ohm]
    supply_volts : float
        Across the whole divider. [V]
    grounded : bool
        Whether the thermistor is the one between the measured middle and ground.
    """

    beta: Annotated[float, Meta(gt=0, le=20_000)] | None = None
    ohm: Ohm | None = None
    a: float | None = None
    b: float | None = None
    c: float | None = None
    points: tuple[Point, ...] = ()
    series_ohm: Ohm
    supply_volts: Volts = 3.3
    grounded: bool = True

    def __post_init__(self) -> None:
        """Refuse a thermistor known in no way, in two, or by half (ValueError)."""
        self.curve()

    def curve(self) -> Curve:
        """Return its curve.

        Raises
        ------
        ValueError
            It is known in no way, in two, or by half.
        """
        by_coefficients = (self.a, self.b, self.c)
        ways = (self.beta is not None, any(one is not None for one in by_coefficients), bool(self.points))
        if sum(ways) != 1:
            raise ValueError("a thermistor is known in one way: beta and ohm, or a, b and c, or three points")
        if self.beta is not None:
            if self.ohm is None:
                raise ValueError("beta without ohm; add the resistance at 25 C")
            return by_beta(self.beta, self.ohm)
        if self.points:
            return by_points(tuple((point.celsius, point.ohm) for point in self.points))
        if self.a is None or self.b is None or self.c is None or self.b <= 0:
            raise ValueError("a, b and c go together, and b is more than 0")
        return Curve(self.a, self.b, self.c)


class PlatinumOptions(
    Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind", tag="platinum"
):
    """A Pt100 or Pt1000 at a converter that compares it with a reference resistor."""

    ohm: Literal[100, 1000] = 100
    """At 0 degC. [ohm]"""
    reference_ohm: Ohm
    """The resistor on the converter's board: often 400 or 430 for a Pt100, 4000 or 4300 for a Pt1000. [ohm]"""


Sensor = ThermistorOptions | PlatinumOptions


# --- the kernel's files --------------------------------------------------------------------------


class IioProbe(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A probe behind a channel of the kernel's industrial I/O.

    Attributes
    ----------
    device : str or None
        The device's label, the name of its driver's chip (`max31856`) or its folder (`iio:device0`). None: the only
        device that has the channel.
    channel : str
        Between `in_` and `_raw` or `_input`: `temp`, `temp_ambient`, `voltage0`; or the channel's own label.
    sensor : Sensor or None
        What hangs there, where the kernel tells a voltage or a ratio and no temperature.
    thermocouple : Couple or None
        Which, where the kernel does not say.
    mains : 50, 60 or None
        Frequency of the mains to set the chip's filter to, where it has one; None leaves it as it is.
    """

    probe: Name
    device: Word | None = None
    channel: Word = "temp"
    sensor: Sensor | None = None
    thermocouple: Couple | None = None
    mains: Hum | None = None


class IioOptions(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind", tag="iio"):
    """Channels of the kernel's industrial I/O (IIO)."""

    name: Name = "iio"
    root: Folder = "/sys/bus/iio/devices"
    probes: tuple[IioProbe, ...] = ()
    """Empty: every temperature that carries a label, under its label."""
    every: Seconds = 1.0

    def __post_init__(self) -> None:
        """Refuse two probes on one channel (ValueError)."""
        check_apart((f"{probe.device or 'any device'}, {probe.channel}" for probe in self.probes), "the channel")


class HwmonProbe(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A probe behind a file of the kernel's hardware monitoring."""

    probe: Name
    device: Word
    """The name of its driver, or its folder (`hwmon0`)."""
    channel: Word = "temp1"
    """`temp1`, or what its label says."""


class HwmonOptions(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind", tag="hwmon"):
    """Temperatures of the kernel's hardware monitoring."""

    name: Name = "hwmon"
    root: Folder = "/sys/class/hwmon"
    probes: Annotated[tuple[HwmonProbe, ...], Meta(min_length=1)]
    every: Seconds = 1.0

    def __post_init__(self) -> None:
        """Refuse two probes on one channel (ValueError)."""
        check_apart((f"{probe.device}, {probe.channel}" for probe in self.probes), "the channel")


class OneWireProbe(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A sensor on a 1-Wire bus."""

    probe: Name
    id: str | None = None
    """Family and serial number, as `28-0316a2797c3f`. None: the only sensor there."""

    def __post_init__(self) -> None:
        """Refuse what is no id (ValueError)."""
        if self.id is not None and not re.fullmatch(r"[0-9a-f]{2}-[0-9a-f]{12}", self.id):
            raise ValueError(f'id: "{self.id}" is not of the form 28-0316a2797c3f')


class OneWireOptions(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind", tag="onewire"):
    """Sensors on a 1-Wire bus, through the kernel; good for the air outside, never for a pit (125 degC at most)."""

    name: Name = "onewire"
    root: Folder = "/sys/bus/w1/devices"
    probes: Annotated[tuple[OneWireProbe, ...], Meta(min_length=1)]
    every: Seconds = 5.0

    def __post_init__(self) -> None:
        """Refuse two probes on one sensor (ValueError)."""
        check_apart((probe.id or "without an id" for probe in self.probes), "the sensor")


# --- chips on SPI --------------------------------------------------------------------------------

SpiBus = Annotated[int, Meta(ge=0, le=9)]
SpiSelect = Annotated[int, Meta(ge=0, le=9)]
"""Which chip-select line: 0 is CE0."""


class Max31855Probe(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind", tag="max31855"):
    """A thermocouple at a MAX31855, which is made for one letter and tells it nowhere.

    Attributes
    ----------
    junction : str or None
        Probe under whose name the chip's own temperature is told too: the inside of its box.
    """

    probe: Name
    junction: Name | None = None
    bus: SpiBus = 0
    select: SpiSelect = 0
    thermocouple: Couple = Couple.K


class Max31856Probe(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind", tag="max31856"):
    """A thermocouple at a MAX31856."""

    probe: Name
    junction: Name | None = None
    """As in `Max31855Probe`."""
    bus: SpiBus = 0
    select: SpiSelect = 0
    thermocouple: Couple = Couple.K
    mains: Hum = 50
    average: Literal[1, 2, 4, 8, 16] = 4
    """Conversions averaged by the chip."""


class Max31865Probe(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind", tag="max31865"):
    """A platinum sensor at a MAX31865."""

    probe: Name
    bus: SpiBus = 0
    select: SpiSelect = 0
    ohm: Literal[100, 1000] = 100
    """As in `PlatinumOptions`."""
    reference_ohm: Ohm
    wires: Literal[2, 3, 4] = 2
    mains: Hum = 50


class SpiOptions(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind", tag="spi"):
    """Chips on SPI that no driver of the kernel holds; needs the extra `pi`."""

    name: Name = "spi"
    probes: Annotated[tuple[Max31855Probe | Max31856Probe | Max31865Probe, ...], Meta(min_length=1)]
    every: Seconds = 1.0

    def __post_init__(self) -> None:
        """Refuse two chips at one chip-select line (ValueError)."""
        check_apart((f"bus {probe.bus}, select {probe.select}" for probe in self.probes), "SPI")


# --- chips on I2C --------------------------------------------------------------------------------


class Mcp9600Probe(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind", tag="mcp9600"):
    """A thermocouple at a MCP9600 or MCP9601."""

    probe: Name
    junction: Name | None = None
    """As in `Max31855Probe`."""
    address: Annotated[int, Meta(ge=0x60, le=0x67)] = 0x67
    thermocouple: Couple = Couple.K
    filter: Annotated[int, Meta(ge=0, le=7)] = 2
    """How strongly the chip smooths: 0 not at all, 7 most."""


class Ads1115Probe(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind", tag="ads1115"):
    """A thermistor at one input of an ADS1115."""

    probe: Name
    address: Annotated[int, Meta(ge=0x48, le=0x4B)] = 0x48
    input: Literal[0, 1, 2, 3] = 0
    sensor: ThermistorOptions


class I2cOptions(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind", tag="i2c"):
    """Chips on I2C that no driver of the kernel holds; needs the extra `pi`."""

    name: Name = "i2c"
    bus: Annotated[int, Meta(ge=0, le=99)] = 1
    """1 is the one on the pins of a small computer."""
    probes: Annotated[tuple[Mcp9600Probe | Ads1115Probe, ...], Meta(min_length=1)]
    every: Seconds = 1.0

    def __post_init__(self) -> None:
        """Refuse two probes at one input of one chip (ValueError)."""
        check_apart((_i2c_place(probe) for probe in self.probes), "I2C address")


def _i2c_place(probe: Mcp9600Probe | Ads1115Probe) -> str:
    return f"0x{probe.address:02x}" + (f", input {probe.input}" if isinstance(probe, Ads1115Probe) else "")
