"""What the owner tells of a pit: probes and their roles, target, build, wood.

`Setup` is a record: the journal holds it, so that a replay knows what the watch knew. The rest of the configuration
(ports, brokers, notices) concerns the shell alone and stays in `firebox.config`.
"""

from enum import StrEnum
from typing import Annotated, Final, Literal

from msgspec import Meta, Struct

from firebox.records import RECORDS, Fraction, Instant, Name, Record

SplitKg = Annotated[float, Meta(gt=0, le=100)]


class Role(StrEnum):
    """What a probe measures."""

    GRATE = "grate"
    FIREBOX = "firebox"
    STACK = "stack"
    AMBIENT = "ambient"
    MEAT = "meat"


class Probe(Struct, frozen=True, kw_only=True):
    """One probe: its name in the records, what it measures, where it hangs."""

    name: Name
    role: Role
    position: str = ""
    lag_seconds: Annotated[float, Meta(ge=0, le=600)] | None = None
    """Time constant of the sensor; None: the usual one of its role."""
    point_celsius: Annotated[float, Meta(ge=0, le=150)] | None = None
    """Meat only: the temperature at which the cook wants to go and feel."""


class PitBuild(Struct, frozen=True, kw_only=True):
    """The pit's dimensions; None where not known."""

    chamber_litres: Annotated[float, Meta(gt=0, le=100_000)] | None = None
    wall_mm: Annotated[float, Meta(gt=0, le=500)] | None = None
    firebox_insulated: bool | None = None
    usual_split_kg: SplitKg | None = None


class Wood(Struct, frozen=True, kw_only=True):
    """Wood on hand: what kind, how dry, and what the three sizes weigh."""

    species: str = "oak"
    moisture: Annotated[float, Meta(ge=0, le=2)] = 0.18
    small_kg: SplitKg | None = None
    medium_kg: SplitKg | None = None
    large_kg: SplitKg | None = None


class Learned(Struct, frozen=True, kw_only=True):
    """One parameter of a pit as cooks have taught it: its likeliest value in SI units, and the SD of its logarithm."""

    value: Annotated[float, Meta(gt=0, le=1e12)]
    spread: Annotated[float, Meta(gt=0, le=5)]


class Known(Struct, frozen=True, kw_only=True):
    """A number, and by how much it may be off: 8 of 10 times no more than `doubt`."""

    value: float
    doubt: float


class Worth(Struct, frozen=True, kw_only=True):
    """What is known of a pit that is held at its target.

    Attributes
    ----------
    kg : float
        A usual split as it is weighed, with its water. [kg]
    intake : float
        The opening that was asked at.
    every : Known
        Minutes between two usual splits that hold the target there.
    lift, peak : Known
        How much warmer it becomes with one of them than without [K], and after how many minutes that is most.
    fall : Known
        Minutes from its top until it has come down by 10 K, if nobody touches it.
    mark : Known
        How much warmer it is 20 min after one more mark of intake than without. [K]
    """

    kg: float
    intake: float
    every: Known
    lift: Known
    peak: Known
    fall: Known
    mark: Known


class KnownPit(Struct, frozen=True, kw_only=True):
    """What earlier cooks have taught of a pit, and where that comes from.

    Attributes
    ----------
    parameters : dict
        By the lower-case name of the parameter in `firebox.estimate.model.At`; one that this version does not know is
        passed over.
    cooks : tuple of datetime
        When the cooks began that taught it, oldest first.
    hours : float
        What they lasted in all.
    learned : datetime
        When the newest of them ended: knowledge ages from there.
    worth : Worth or None
        What that means for the cook; None: nothing that could be said.
    """

    parameters: dict[Name, Learned]
    cooks: tuple[Instant, ...]
    hours: Annotated[float, Meta(ge=0)]
    learned: Instant
    worth: Worth | None = None


class OwnCut(Struct, frozen=True, kw_only=True):
    """A cut of the owner's own: like a known one, where nothing else is said."""

    name: Name
    like: Name
    kg: Annotated[float, Meta(gt=0, le=100)] | None = None
    """What one usually weighs."""
    thickness_mm: Annotated[float, Meta(ge=10, le=600)] | None = None
    """Of the usual one, where it is thickest."""
    shape: Annotated[float, Meta(ge=0, le=2)] | None = None
    """0 a slab heated from both faces, 1 a cylinder, 2 a ball."""
    water: Fraction | None = None
    protein: Fraction | None = None
    fat: Fraction | None = None
    """Mass fractions when raw."""
    need_hours: Annotated[float, Meta(gt=0, le=100)] | None = None
    """Hours at 82 degC inside until it gives."""
    feel: Annotated[str, Meta(min_length=1, max_length=300)] | None = None
    """What to feel for."""


Grade = Literal["lean", "usual", "marbled"]
"""How much fat runs through a piece, against what is usual for its cut."""


class MeatPiece(Struct, frozen=True, kw_only=True):
    """A piece of meat and the probe in it."""

    probe: Name
    cut: Name
    kg: Annotated[float, Meta(ge=0.1, le=100)] | None = None
    thickness_mm: Annotated[float, Meta(ge=10, le=600)] | None = None
    grade: Grade = "usual"
    second: Name | None = None
    """Another probe in the same piece."""


class Round(Struct, frozen=True, kw_only=True):
    """A practice round: what it was, and what it came to once it was over.

    Attributes
    ----------
    began : Instant
        When the player took the fire over; what is older was there before.
    lasts : float
        Its whole length. [min]
    played, inside : float or None
        How long it was played and was in the band, by the fire itself and no probe. [min] None: left before it was scored.
    reached : bool or None
        Whether the goal was reached.
    """

    title: str
    goal: str
    began: Instant
    lasts: float
    played: float | None = None
    inside: float | None = None
    reached: bool | None = None


class Setup(Record, frozen=True, kw_only=True, tag="setup"):
    """The pit as the watch knows it from its owner."""

    pit: Name = "pit"
    target_celsius: Annotated[float, Meta(ge=0, le=400)] = 121.0
    """250 F; common practice for an offset pit, no source."""
    band: Annotated[float, Meta(gt=0, le=100)] = 8.0
    """Half width of the band around the target. [K]"""
    high_celsius: float | None = None
    """Hard upper limit; None: target + 25."""
    low_celsius: float | None = None
    """Hard lower limit; None: target - 25."""
    build: PitBuild = PitBuild()
    probes: tuple[Probe, ...] = ()
    wood: Wood = Wood()
    damper_marks: Annotated[int, Meta(ge=2, le=64)] = 8
    """Marks from shut to fully open on a damper."""
    intake_open: Fraction | None = None
    """How the dampers stand before the first entry; None: not known."""
    stack_open: Fraction | None = None
    meats: tuple[MeatPiece, ...] = ()
    cuts: tuple[OwnCut, ...] = ()
    known: KnownPit | None = None
    """What earlier cooks have taught of the pit; None: nothing."""
    round: Round | None = None
    """Of a fire that is practised on."""


LIMIT_KELVIN: Final = 25.0
"""Distance of the hard limits from the target where the owner gives none; the project's own choice."""

RECORDS["setup"] = Setup


def role_of(name: str, setup: Setup | None = None) -> Role:
    """Return a probe's role: as configured, else by its name (`grate`, `grate2`, `stack`, ...; any other is meat).

    Examples
    --------
    >>> role_of("grate2"), role_of("brisket flat")
    (<Role.GRATE: 'grate'>, <Role.MEAT: 'meat'>)
    """
    for probe in setup.probes if setup else ():
        if probe.name == name:
            return probe.role
    stem = name.rstrip("0123456789").rstrip("-_ ").lower()
    return Role(stem) if stem in set(Role) else Role.MEAT


def high_limit(setup: Setup, target_celsius: float) -> float:
    """Return the hard upper limit in degC that goes with a target."""
    shift = target_celsius - setup.target_celsius
    return target_celsius + LIMIT_KELVIN if setup.high_celsius is None else setup.high_celsius + shift


def low_limit(setup: Setup, target_celsius: float) -> float:
    """Return the hard lower limit in degC that goes with a target."""
    shift = target_celsius - setup.target_celsius
    return target_celsius - LIMIT_KELVIN if setup.low_celsius is None else setup.low_celsius + shift
