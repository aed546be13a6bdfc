"""What a practice pit is made of: dimensions, leaks, insulation, and the luck of its build."""

import math

import numpy as np
from msgspec import Struct


class Build(Struct, frozen=True, kw_only=True):
    """A pit's dimensions and habits; every figure is the simulator's own and hidden from the watch.

    Attributes
    ----------
    name : str
    litres, wall : float
        Cook chamber: volume [l], steel thickness [m].
    slenderness : float
        Length of the chamber over its diameter.
    firebox_litres, firebox_wall : float
        Firebox: volume [l], steel thickness [m].
    insulation : float or None
        Conductance from the firebox steel to its outer skin [W/(m2 K)]; None: bare steel.
    stack_area, stack_height, intake_area : float
        [m2], [m], [m2]
    firebox_leak, chamber_leak : float
        Areas that never shut. [m2]
    baffle_kg, racks_kg : float
        Steel inside the chamber, over the throat and as grates. [kg]
    mixing : float
        Share of the firebox's oxygen that finds a flame. [-]
    inner : float
        Inner heat transfer relative to the usual. [-]
    emissivity : float
        Of the outer skin. [-]
    shelter : float
        Wind at the pit over wind in the open. [-]
    intake_shape : float
        Area of the intake goes with opening to this power. [-]
    ash_room : float
        Ash that halves the air through the grate. [kg]
    reactivity : float
        Of the coals, relative to the usual. [-]
    usual_split_kg : float
        What its owner calls a medium split. [kg]
    """

    name: str
    litres: float
    wall: float
    slenderness: float = 2.6
    firebox_litres: float
    firebox_wall: float
    insulation: float | None = None
    stack_area: float
    stack_height: float
    intake_area: float
    firebox_leak: float
    chamber_leak: float
    baffle_kg: float
    racks_kg: float
    mixing: float = 0.7
    inner: float = 1.0
    emissivity: float = 0.9
    shelter: float = 0.6
    intake_shape: float = 1.2
    ash_room: float = 1.0
    reactivity: float = 1.0
    usual_split_kg: float

    @property
    def diameter(self) -> float:
        """Diameter of the chamber. [m]"""
        return float((4.0 * self.litres * 1e-3 / (math.pi * self.slenderness)) ** (1.0 / 3.0))

    @property
    def shell_area(self) -> float:
        """Outer area of the chamber, ends included. [m2]"""
        d = self.diameter
        return math.pi * d * d * (self.slenderness + 0.5)

    @property
    def firebox_area(self) -> float:
        """Outer area of the firebox, taken as a cube of which one face joins the chamber and others are sheltered. [m2]"""
        return float(3.6 * (self.firebox_litres * 1e-3) ** (2.0 / 3.0))

    @property
    def firebox_size(self) -> float:
        """Edge of the firebox, taken as a cube. [m]"""
        return float((self.firebox_litres * 1e-3) ** (1.0 / 3.0))


def sized(name: str, litres: float, wall_mm: float, *, insulated: bool = False, leak: float = 1.0) -> Build:
    """Return a pit of common proportions.

    The proportions (a firebox of a fifth of the chamber, a stack and an intake that grow with it) are common practice
    among pit builders, without a source.

    Parameters
    ----------
    name : str
    litres : float
        Volume of the chamber. [l]
    wall_mm : float
        [mm]
    insulated : bool
        The firebox is.
    leak : float
        Leakiness relative to a fair build. [-]
    """
    scale = litres / 950.0
    stack_diameter = 0.165 * scale**0.36
    return Build(
        name=name,
        litres=litres,
        wall=wall_mm * 1e-3,
        firebox_litres=0.20 * litres * scale**-0.15,
        firebox_wall=wall_mm * 1e-3,
        insulation=2.5 if insulated else None,
        stack_area=0.25 * math.pi * stack_diameter**2,
        stack_height=0.75 + 0.3 * scale**0.5,
        intake_area=0.013 * scale**0.65,
        firebox_leak=0.0007 * leak * scale**0.5,
        chamber_leak=0.0012 * leak * scale**0.5,
        baffle_kg=14.0 * scale**0.8,
        racks_kg=22.0 * scale**0.8,
        ash_room=1.2 * scale**0.6,
        usual_split_kg=round((1.4 if insulated else 1.85) * scale**0.6, 2),
    )


def draw(seed: int, litres: float | None = None) -> Build:
    """Return a pit drawn at random: from a thin one of 230 litres to a heavy one of 1900, insulated, leaky, or neither.

    Parameters
    ----------
    seed : int
        The same seed gives the same pit.
    litres : float, optional
        Its size, where that is not to be drawn. [l]
    """
    rng = np.random.Generator(np.random.Philox(key=seed))
    size = float(np.exp(rng.uniform(np.log(230.0), np.log(1900.0)))) if litres is None else litres
    wall_mm = float(rng.choice([2.0, 3.0] if size < 300.0 else [4.8, 6.35, 6.35, 8.0, 9.5]))
    insulated, leaky = bool(rng.random() < 0.35), bool(rng.random() < 0.3)
    plain = sized(f"pit {seed}", size, wall_mm, insulated=insulated, leak=2.5 if leaky else 1.0)

    def about(value: float, spread: float) -> float:
        return float(value * np.exp(spread * rng.standard_normal()))

    return Build(
        name=plain.name,
        litres=size,
        wall=plain.wall,
        slenderness=float(rng.uniform(2.0, 3.4)),
        firebox_litres=about(plain.firebox_litres, 0.2),
        firebox_wall=plain.wall * float(rng.choice([1.0, 1.0, 1.33])),
        insulation=about(2.5, 0.3) if insulated else None,
        stack_area=about(plain.stack_area, 0.15),
        stack_height=about(plain.stack_height, 0.15),
        intake_area=about(plain.intake_area, 0.2),
        firebox_leak=about(plain.firebox_leak, 0.4),
        chamber_leak=about(plain.chamber_leak, 0.4),
        baffle_kg=about(plain.baffle_kg, 0.5) if rng.random() < 0.7 else 0.15 * plain.baffle_kg,
        racks_kg=about(plain.racks_kg, 0.25),
        mixing=float(rng.uniform(0.55, 0.85)),
        inner=about(1.0, 0.2),
        emissivity=float(rng.uniform(0.75, 0.95)),
        shelter=float(rng.uniform(0.3, 1.0)),
        intake_shape=float(rng.uniform(0.9, 1.7)),
        ash_room=about(plain.ash_room, 0.4),
        reactivity=about(1.0, 0.2),
        usual_split_kg=round(about(plain.usual_split_kg, 0.15), 2),
    )
