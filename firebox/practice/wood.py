"""One piece of wood in the fire: a drying front, a charring front behind it, and the char they leave.

A piece is a cylinder. Heat falls on its surface from the coals, the firebox walls, the flames and the gas, and is led
inwards: through the char to the charring front, where dry wood gives off volatiles, and on through dry wood to the
drying front, where water leaves. What is left of the heat warms the wet core.
"""

import math
from typing import Final

from firebox.practice.losses import STEFAN_BOLTZMANN

HHV: Final = 20.0e6
"""J/kg oven-dry wood, higher heating value: 8600 Btu/lb, the usual figure for any species."""

HYDROGEN: Final = 0.06
"""kg/kg dry wood; from memory."""

LATENT_25: Final = 2.442e6
"""J/kg, evaporation of water at 25 degC (IAPWS-IF97)."""

CHAR_SHARE: Final = 0.23
"""kg char a kg dry wood; volatiles are 75-85 % of dry wood by proximate analysis (Briggs, "Forest Products
Measurements and Conversion Factors", ch. 9)."""

CHAR_HEAT: Final = 31.0e6
"""J/kg char; 30-32 MJ/kg, from memory."""

OXYGEN_WOOD: Final = 1.378
"""kg oxygen a kg dry wood of C 0.50, H 0.06, O 0.43: 2.664 C + 7.937 H - O."""

OXYGEN_CHAR: Final = 2.664
"""kg oxygen a kg carbon burnt to CO2."""

OXYGEN_VOLATILE: Final = (OXYGEN_WOOD - CHAR_SHARE * OXYGEN_CHAR) / (1.0 - CHAR_SHARE)
"""kg oxygen a kg volatiles; what the wood needs less what its char needs."""

CHARRING: Final = 573.0
"""K; temperature of the charring front: fast pyrolysis lies at 280-500 degC (Fire Science Reviews 2013 survey)."""

BOILING: Final = 373.15
"""K; of water at standard pressure."""

STEAM: Final = 2.2565e6
"""J/kg, evaporation of water at 100 degC (IAPWS-IF97)."""

PYROLYSIS: Final = 1.1e6
"""J/kg volatiles: warming dry wood to the charring front and breaking it up; order of magnitude, from memory."""

_GLOW: Final = 4.5e-4  # kg/(m2 s) of char burnt on the surface of a piece at 900 K with no flame around it, no source
GLOW_STAYS: Final = 0.5  # share of that heat that warms the piece; the rest goes with the gas
_SURFACE_DEPTH: Final = 0.003  # m of wood that follows the surface temperature
_SKIN: Final = 0.006  # m between a surface and a front that has just left it
_CHAR_CONDUCTIVITY: Final = 0.12  # W/(m K), cracked char with gas flowing out against the heat; from memory
_DRY_CONDUCTIVITY: Final = 0.157  # W/(m K); Wood Handbook eq. 4-15 at 10 % and gravity 0.54
_WET_CONDUCTIVITY: Final = 0.20  # W/(m K); same equation near fibre saturation
_SPECIFIC_HEAT: Final = 1400.0  # J/(kg K) dry wood near 340 K; Wood Handbook eq. 4-16a gives 1418
_WATER_HEAT: Final = 4180.0  # J/(kg K)


def net_heating_value(moisture: float) -> float:
    """Return the net heat of a kilogram of wood as fired. [J/kg]

    Parameters
    ----------
    moisture : float
        Water over oven-dry mass. [-]

    Notes
    -----
    LHV = HHV (1 - w) - 2.442 (9 H (1 - w) + w), w the share of water in the whole mass; the form of EN ISO 18125.

    Examples
    --------
    >>> round(net_heating_value(0.2) / 1e6, 2)
    15.16
    """
    w = moisture / (1.0 + moisture)
    return HHV * (1.0 - w) - LATENT_25 * (9.0 * HYDROGEN * (1.0 - w) + w)


VOLATILE_HEAT: Final = (net_heating_value(0.0) - CHAR_SHARE * CHAR_HEAT) / (1.0 - CHAR_SHARE)
"""J/kg volatiles, net, so that volatiles and char together give the dry wood's net heat."""


class Piece:
    """A piece of wood on the fire, changing as it burns.

    Attributes
    ----------
    water, volatile, char : float
        What is left in the piece. [kg]
    surface, core : float
        Temperatures of its skin and of the wood inside the drying front. [K]
    """

    __slots__ = (
        "area", "char", "core", "core_capacity", "dry0", "glow_rate", "heat_in", "length", "radius", "steam_rate",
        "surface", "surface_capacity", "volatile", "volatile0", "volatile_rate", "water", "water0",
    )  # fmt: skip
    core: float
    surface: float
    volatile: float
    water: float

    def __init__(
        self, kg: float, moisture: float, kelvin: float, *, density: float = 650.0, roughness: float = 1.15
    ) -> None:
        """Lay a piece of `kg` (water included) on the fire, at the temperature of the woodpile.

        `density` of the dry wood in kg/m3; `roughness` is its surface over that of a smooth cylinder.
        """
        dry = kg / (1.0 + moisture)
        volume = dry / density
        self.length = min(0.45, 0.30 * math.pow(kg / 1.2, 0.25) + 0.05)
        self.radius = math.sqrt(volume / (math.pi * self.length))
        self.area = (2.0 * math.pi * self.radius * self.length + 2.0 * math.pi * self.radius**2) * roughness
        self.dry0 = dry
        self.water = self.water0 = dry * moisture
        self.volatile = self.volatile0 = dry * (1.0 - CHAR_SHARE)
        self.char = 0.0
        self.surface = self.core = kelvin
        skin = min(0.25 * dry, self.area * _SURFACE_DEPTH * density)
        self.surface_capacity = skin * _SPECIFIC_HEAT
        self.core_capacity = (dry - skin) * _SPECIFIC_HEAT + self.water0 * _WATER_HEAT
        self.volatile_rate = self.steam_rate = self.heat_in = self.glow_rate = 0.0

    def copy(self) -> "Piece":
        """Return a piece that goes its own way from here."""
        other = Piece.__new__(Piece)
        for name in Piece.__slots__:
            setattr(other, name, getattr(self, name))
        return other

    def stored(self, kelvin: float) -> float:
        """Return the heat in the piece above `kelvin`. [J]"""
        return self.surface_capacity * (self.surface - kelvin) + self.core_capacity * (self.core - kelvin)

    def burnt_out(self) -> bool:
        """Tell whether nothing but char is left, so that the piece falls apart into the coals."""
        return self.volatile < 0.02 * self.volatile0

    def step(
        self, dt: float, *, bed: float, walls: float, gas: float, flame_watts: float, bed_view: float, breath: float
    ) -> tuple[float, float, float]:
        """Let `dt` seconds of heat fall on the piece; return what it took from coals, walls and gas. [W]

        Parameters
        ----------
        dt : float
            [s]
        bed, walls, gas : float
            Temperatures of coals, firebox walls and firebox gas. [K]
        flame_watts : float
            Radiation of the flames that falls on this piece. [W]
        bed_view : float
            Share of its surface that sees the coals. [-]
        breath : float
            Oxygen at its surface over that of fresh air. [-]
        """
        t4 = self.surface**4
        area = self.area
        from_bed = bed_view * 0.9 * STEFAN_BOLTZMANN * area * (bed**4 - t4)
        from_walls = 0.1 * 0.9 * STEFAN_BOLTZMANN * area * (walls**4 - t4)  # the rest sees other wood
        from_gas = 15.0 * area * (gas - self.surface)
        glow = _GLOW * area * breath * math.exp(-8000.0 * (1.0 / self.surface - 1.0 / 900.0))
        self.glow_rate = min(glow, 0.02 * self.char / dt)
        self.char -= dt * self.glow_rate
        inward = self._lead_inwards(dt)
        self.heat_in = from_bed + from_walls + from_gas + flame_watts + GLOW_STAYS * self.glow_rate * CHAR_HEAT
        self.surface += dt * (self.heat_in - inward) / self.surface_capacity
        return from_bed, from_walls, from_gas

    def _lead_inwards(self, dt: float) -> float:
        left, wet = self.volatile / self.volatile0, self.water / self.water0 if self.water0 > 0.0 else 0.0
        r0 = self.radius
        r_char = r0 * math.sqrt(left)
        r_dry = min(r0 * math.sqrt(wet), r_char)
        side = self.area * max(r_char, 0.1 * r0) / r0
        through_char = _CHAR_CONDUCTIVITY * 0.5 * (self.area + side) / (r0 - r_char + _SKIN)
        through_dry = _DRY_CONDUCTIVITY * side / (r_char - r_dry + _SKIN)
        drying = BOILING if self.water > 0.0 and self.core < BOILING else self.core
        if self.surface > CHARRING:
            inward = through_char * (self.surface - CHARRING)
            onward = min(inward, through_dry * (CHARRING - drying))
        else:
            inward = onward = (self.surface - drying) / (1.0 / through_char + 1.0 / through_dry)
        self.volatile_rate = min(max(0.0, inward - onward) / PYROLYSIS, self.volatile / dt)
        self._dry(dt, inward - self.volatile_rate * PYROLYSIS, r_dry)
        made = dt * self.volatile_rate
        self.volatile -= made
        self.char += made * CHAR_SHARE / (1.0 - CHAR_SHARE)
        return inward

    def _dry(self, dt: float, onward: float, r_dry: float) -> None:
        steam = 0.0
        if self.water > 0.0 and onward > 0.0:
            wet_side = 2.0 * math.pi * max(r_dry, 0.002) * self.length
            inside = _WET_CONDUCTIVITY * wet_side / max(0.5 * r_dry, 0.002) * max(0.0, BOILING - self.core)
            inside = min(inside, onward)
            steam = min((onward - inside) / STEAM, self.water / dt)
        self.steam_rate = steam
        self.water = max(0.0, self.water - dt * steam)
        self.core += dt * (onward - steam * STEAM) / self.core_capacity
