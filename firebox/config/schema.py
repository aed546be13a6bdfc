"""The tables of a pit's file, in the cook's own units.

Defaults stand here or in the records that a table becomes, and nowhere else; a key that may be left out and has its
default elsewhere is None here.
"""

from datetime import datetime
from typing import Annotated, Any, Final, Literal

import msgspec
from msgspec import Meta, Struct

from firebox.links import MqttOutletOptions, SourceOptions
from firebox.records import Fraction, Name
from firebox.setup import Grade, MeatPiece, OwnCut, PitBuild, Probe, Role, Setup, Wood, role_of
from firebox.units import Degrees, Mass, celsius_from, kelvin_from, kg_from
from firebox.ways import WayOptions

PitName = Annotated[str, Meta(min_length=1, max_length=64, pattern=r"^[^\s./\\+#\x00-\x1f][^/\\+#\x00-\x1f]*$")]
"""A pit names a file and an MQTT topic, so it has no slash, plus or number sign, and does not begin with a dot."""


RESERVED: Final = "demo"
"""The demo pit is called so, and has files of its own."""


class PitTable(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What is known of the pit; a part left out is not known."""

    name: PitName | None = None
    """None: the name of the file, without `.toml`."""
    chamber_litres: Annotated[float, Meta(gt=0, le=100_000)] | None = None
    wall_mm: Annotated[float, Meta(gt=0, le=500)] | None = None
    firebox_insulated: bool | None = None
    usual_split_weight: Annotated[float, Meta(gt=0)] | None = None


class UnitsTable(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The cook's units, in this file and on the dashboard."""

    degrees: Degrees = Degrees.F
    mass: Mass = Mass.KG
    clock: Literal[12, 24] = 24


class TargetTable(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What the pit is to hold, in the cook's degrees."""

    temperature: float | None = None
    band: Annotated[float, Meta(gt=0)] | None = None
    """Half width."""
    high: float | None = None
    low: float | None = None


class ProbeTable(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One probe."""

    name: Name
    role: Role | None = None
    """None: what the name says."""
    position: Annotated[str, Meta(max_length=200)] = ""
    lag_seconds: Annotated[float, Meta(ge=0, le=600)] | None = None
    point: float | None = None
    """Meat only: where the cook wants to go and feel, in the cook's degrees."""


class DampersTable(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The marks on the dampers, and how they usually stand when a cook begins."""

    marks: Annotated[int, Meta(ge=2, le=64)] | None = None
    intake_open: Fraction | None = None
    stack_open: Fraction | None = None


class WoodTable(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Wood on hand; sizes in the cook's unit of mass."""

    species: Annotated[str, Meta(min_length=1, max_length=64)] | None = None
    moisture: Annotated[float, Meta(ge=0, le=2)] | None = None
    small: Annotated[float, Meta(gt=0)] | None = None
    medium: Annotated[float, Meta(gt=0)] | None = None
    large: Annotated[float, Meta(gt=0)] | None = None
    price: Annotated[float, Meta(ge=0)] | None = None
    """What one unit of the cook's mass costs, for the review."""
    currency: Annotated[str, Meta(max_length=12)] = ""
    """The word behind an amount of money; any."""


class MeatTable(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A piece of meat and the probe in it; the weight in the cook's unit of mass."""

    probe: Name
    cut: Name
    weight: Annotated[float, Meta(gt=0)] | None = None
    thickness_mm: Annotated[float, Meta(ge=10, le=600)] | None = None
    grade: Grade = "usual"
    second: Name | None = None


class CutTable(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A cut of the owner's own, like a known one where nothing else is said."""

    name: Name
    like: Name
    weight: Annotated[float, Meta(gt=0)] | None = None
    thickness_mm: Annotated[float, Meta(ge=10, le=600)] | None = None
    shape: Annotated[float, Meta(ge=0, le=2)] | None = None
    water: Fraction | None = None
    protein: Fraction | None = None
    fat: Fraction | None = None
    need_hours: Annotated[float, Meta(gt=0, le=100)] | None = None
    feel: Annotated[str, Meta(min_length=1, max_length=300)] | None = None


class NoticesTable(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How alarms make themselves noticed."""

    bell: bool = True
    """The terminal's bell, while a dashboard is open."""
    to: tuple[WayOptions, ...] = ()
    """The ways in which people are called, with or without a dashboard."""


class DashboardTable(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The look of the dashboard; a part left out is as the dashboard itself has it."""

    theme: Literal["dusk", "day", "night", "contrast"] | None = None
    ascii: bool | None = None
    history_hours: Annotated[int, Meta(ge=1, le=16)] | None = None


class Config(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One pit's configuration. `firebox.config.load` makes one; it alone checks what goes in."""

    pit: PitTable = PitTable()
    units: UnitsTable = UnitsTable()
    target: TargetTable = TargetTable()
    probes: tuple[ProbeTable, ...] = ()
    dampers: DampersTable = DampersTable()
    wood: WoodTable = WoodTable()
    meat: tuple[MeatTable, ...] = ()
    cut: tuple[CutTable, ...] = ()
    sources: tuple[SourceOptions, ...] = ()
    mqtt: MqttOutletOptions | None = None
    notices: NoticesTable = NoticesTable()
    dashboard: DashboardTable = DashboardTable()

    @property
    def name(self) -> str:
        """The pit's name."""
        return self.pit.name or DEFAULT_NAME

    def setup(self, time: datetime) -> Setup:
        """Return what the watch has to know of the pit, in SI units.

        Parameters
        ----------
        time : datetime
            When the pit became known as it is here; aware.
        """
        degrees, mass = self.units.degrees, self.units.mass
        target, wood = self.target, self.wood
        return Setup(
            time=time,
            pit=self.name,
            build=PitBuild(
                chamber_litres=self.pit.chamber_litres,
                wall_mm=self.pit.wall_mm,
                firebox_insulated=self.pit.firebox_insulated,
                usual_split_kg=_kg(self.pit.usual_split_weight, mass),
            ),
            probes=tuple(_probe(probe, degrees) for probe in self.probes),
            wood=Wood(
                **_given(species=wood.species, moisture=wood.moisture),
                small_kg=_kg(wood.small, mass),
                medium_kg=_kg(wood.medium, mass),
                large_kg=_kg(wood.large, mass),
            ),
            intake_open=self.dampers.intake_open,
            stack_open=self.dampers.stack_open,
            high_celsius=_celsius(target.high, degrees),
            low_celsius=_celsius(target.low, degrees),
            meats=tuple(_piece(one, mass) for one in self.meat),
            cuts=tuple(_own_cut(one, mass) for one in self.cut),
            **_given(
                target_celsius=_celsius(target.temperature, degrees),
                band=None if target.band is None else kelvin_from(target.band, degrees),
                damper_marks=self.dampers.marks,
            ),
        )


DEFAULT_NAME: Final = "pit"
"""Of a pit that has neither a name nor a file."""


def _probe(table: ProbeTable, degrees: Degrees) -> Probe:
    return Probe(
        name=table.name,
        role=table.role or role_of(table.name),
        position=table.position,
        lag_seconds=table.lag_seconds,
        point_celsius=_celsius(table.point, degrees),
    )


def _piece(table: MeatTable, mass: Mass) -> MeatPiece:
    return MeatPiece(
        probe=table.probe,
        cut=table.cut,
        kg=_kg(table.weight, mass),
        thickness_mm=table.thickness_mm,
        grade=table.grade,
        second=table.second,
    )


def _own_cut(table: CutTable, mass: Mass) -> OwnCut:
    return OwnCut(
        name=table.name,
        like=table.like,
        kg=_kg(table.weight, mass),
        thickness_mm=table.thickness_mm,
        shape=table.shape,
        water=table.water,
        protein=table.protein,
        fat=table.fat,
        need_hours=table.need_hours,
        feel=table.feel,
    )


def _celsius(value: float | None, degrees: Degrees) -> float | None:
    return None if value is None else celsius_from(value, degrees)


def _kg(value: float | None, mass: Mass) -> float | None:
    return None if value is None else kg_from(value, mass)


def _given(**values: Any) -> dict[str, Any]:  # keyword arguments of several types
    """Return the values that were given, so that the others keep the default of the record."""
    return {key: value for key, value in values.items() if value is not None}


def shape() -> msgspec.inspect.StructType:
    """Return the schema as data, for the checker and the page of keys."""
    kind = msgspec.inspect.type_info(Config)
    assert isinstance(kind, msgspec.inspect.StructType)
    return kind
