"""The firebox of a practice pit: pieces of wood, coals, ash, flames, the gas between them and the steel around."""

import copy
import math
from typing import Final

from firebox.practice import air as gas_flow
from firebox.practice import wood
from firebox.practice.build import Build
from firebox.practice.losses import STEFAN_BOLTZMANN
from firebox.practice.wood import Piece

REFERENCE: Final = 288.15
"""K; stored heat is counted from here."""

STEEL_HEAT: Final = 500.0
"""J/(kg K) carbon steel, 490 at 20 degC rising to 520-560 by 200-300 degC; from memory."""

STEEL_DENSITY: Final = 7850.0
"""kg/m3; from memory."""

CHAR_SPECIFIC: Final = 1000.0
"""J/(kg K); order of magnitude, from memory."""

ASH_SHARE: Final = 0.012
"""kg ash a kg dry wood; 0.002-0.01 for clean stem wood, 0.02-0.05 for bark; from memory."""

CRITICAL_FLUX: Final = 0.0012
"""kg/(m2 s) of volatiles at which a piloted flame holds on wood; about 1-2.5 g/(m2 s), from memory."""

_FLAME_RADIATES: Final = 0.30  # share of flame heat; luminous wood flames 0.2-0.35, from memory
_TO_PIECES, _TO_BED, _TO_SIDES, _TO_TOP = 0.45, 0.10, 0.10, 0.15  # of it; the rest goes through the throat
_VOLATILE_RELEASE: Final = wood.VOLATILE_HEAT + wood.PYROLYSIS
_TAIL: Final = 200.0  # s; over which the last volatiles of a fallen piece, or a lighter, burn away
_PILOT: Final = 720.0  # K; coals that light a flame
_CHAR_STAYS: Final = 0.75  # share of the coals' heat that warms the coals; the rest goes with their gas


class Hearth:
    """The firebox as it burns.

    Attributes
    ----------
    pieces : list of Piece
    coals, ash : float
        [kg]
    bed, gas, sides, top : float
        Temperatures of coals, firebox gas, lower and upper firebox steel. [K]
    fumes, oxygen : float
        Unburnt volatiles and oxygen in the firebox gas. [kg]
    flame_watts, coal_watts : float
        Heat that flames and coals give. [W]
    throat_watts : float
        Radiation through the throat into the chamber. [W]
    smoke_rate : float
        Volatiles that leave unburnt. [kg/s]
    """

    def __init__(self, build: Build, kelvin: float) -> None:
        self.build = build
        self.pieces: list[Piece] = []
        self.lit: list[float] = []
        self.coals = self.ash = self.loose = self.fumes = 0.0
        self.bed = self.gas = self.sides = self.top = kelvin
        self.volume = 1.4 * build.firebox_litres * 1e-3  # the throat and the near end of the chamber count
        self.oxygen = gas_flow.OXYGEN * self.volume * gas_flow.density(kelvin)
        self.flame_watts = self.coal_watts = self.throat_watts = 0.0
        self.smoke_rate = self.steam_rate = self.volatile_rate = self.char_rate = self.glow_rate = 0.0
        self.half_area = 0.5 * build.firebox_area
        self.grate_area = 0.6 * build.firebox_size**2
        self.steel_capacity = self.half_area * build.firebox_wall * STEEL_DENSITY * STEEL_HEAT
        self.grate_capacity = 40_000.0 * self.grate_area  # iron bars of 80 kg a square metre
        self.from_walls = self.from_gas = 0.0
        self._bed_to_sides = self._bed_to_gas = 0.0

    def copy(self) -> "Hearth":
        """Return a hearth that burns on its own from here."""
        other = copy.copy(self)
        other.pieces = [piece.copy() for piece in self.pieces]
        other.lit = list(self.lit)
        return other

    def stored(self) -> float:
        """Return the heat stored above `REFERENCE`. [J]"""
        steel = self.steel_capacity * (self.sides + self.top - 2.0 * REFERENCE)
        pieces = sum(piece.stored(REFERENCE) for piece in self.pieces)
        gas = self._gas_capacity() * (self.gas - REFERENCE)
        return steel + pieces + gas + self._bed_capacity() * (self.bed - REFERENCE) + self.fumes * wood.PYROLYSIS

    def wood_left(self) -> float:
        """Return what has not yet become coals or smoke, water left out. [kg]"""
        return sum(piece.volatile for piece in self.pieces) / (1.0 - wood.CHAR_SHARE)

    def coals_and_char(self) -> float:
        """Return coals in the bed and char still on the pieces. [kg]"""
        return self.coals + sum(p.char for p in self.pieces)

    def lay(self, piece: Piece, *, lit: float = 0.0) -> None:
        """Put a piece on the fire."""
        self.pieces.append(piece)
        self.lit.append(lit)

    def pull_dead_wood(self) -> None:
        """Take out what does not burn; its char, if any, goes with it."""
        burning = [index for index, lit in enumerate(self.lit) if lit > 0.3]
        self.pieces = [self.pieces[index] for index in burning]
        self.lit = [self.lit[index] for index in burning]

    def rake(self) -> None:
        """Knock the ash through the grate and break up what has charred."""
        self.ash *= 0.25
        for piece in self.pieces:
            self._to_coals(0.5 * piece.char)
            piece.char *= 0.5

    def _bed_capacity(self) -> float:
        return self.grate_capacity + CHAR_SPECIFIC * self.coals

    def _gas_capacity(self) -> float:
        return 0.8 * self.volume * gas_flow.SPECIFIC_HEAT + 60.0  # hot gas, soot and the skin of the grate

    def _bed_surface(self) -> float:
        return min(self.grate_area, 0.01 + 0.075 * math.pow(self.coals, 2.0 / 3.0))

    def _to_coals(self, kg: float) -> None:
        # the heat of char stays counted with its piece until that falls apart: it joins the coals at REFERENCE
        before = self._bed_capacity()
        self.coals += kg
        self.bed = REFERENCE + (self.bed - REFERENCE) * before / self._bed_capacity()

    def burn(self, dt: float, inflow: float, outside: float) -> float:
        """Let the firebox burn for `dt` with `inflow` of air; return the heat won from fuel. [W]

        Parameters
        ----------
        dt : float
            [s]
        inflow : float
            Air through intake, leaks and door. [kg/s]
        outside : float
            Its temperature. [K]
        """
        self._pyrolyse(dt)
        self._glow(dt, inflow)
        self._flame(dt, inflow)
        self._warm_gas(dt, inflow, outside)
        # what pyrolysis had taken up was heat of this fire before: it is given back, not gained
        return self.flame_watts * wood.VOLATILE_HEAT / _VOLATILE_RELEASE + self.coal_watts

    def _pyrolyse(self, dt: float) -> None:
        area = sum(piece.area for piece in self.pieces)
        radiated = _FLAME_RADIATES * self.flame_watts * _TO_PIECES
        to_bed = _FLAME_RADIATES * self.flame_watts * _TO_BED
        if not self.pieces:
            to_bed, radiated = to_bed + radiated, 0.0
        # flames and coals warm most what already burns; a fresh piece on top gets its share later
        weights = [piece.area * (0.8 + 0.4 * lit) for piece, lit in zip(self.pieces, self.lit, strict=True)]
        whole = sum(weights)
        seen = min(0.4 * area, 0.65 * self._bed_surface())
        from_bed = from_walls = from_gas = volatile = steam = glow = 0.0
        fresh = gas_flow.OXYGEN * self.volume * gas_flow.density(self.gas)
        breath = min(1.0, self.oxygen / fresh) * (1.0 - 0.7 * self.flame_watts / (self.flame_watts + 3000.0))
        # wood lies in the plume: the gas around it is hotter than the mean of the box by the share of it that is flame
        around = self.gas + 0.6 * max(0.0, 1150.0 - self.gas) * self.flame_watts / (self.flame_watts + 4000.0)
        for piece, weight in zip(self.pieces, weights, strict=True):
            b, w, g = piece.step(
                dt,
                bed=self.bed,
                walls=self.sides,
                gas=around,
                flame_watts=radiated * weight / whole,
                bed_view=min(0.5, seen * weight / (whole * piece.area)),
                breath=breath,
            )
            from_bed, from_walls, from_gas = from_bed + b, from_walls + w, from_gas + g
            volatile += piece.volatile_rate
            glow += piece.glow_rate
            steam += piece.steam_rate
        loose = self.loose / _TAIL
        self.loose -= loose * dt
        self.volatile_rate, self.steam_rate, self.glow_rate = volatile + loose, steam, glow
        self.from_walls, self.from_gas = from_walls, from_gas
        self.bed += dt * (to_bed - from_bed - loose * wood.PYROLYSIS) / self._bed_capacity()
        self._crumble(dt)

    def _crumble(self, dt: float) -> None:
        for piece in self.pieces:
            falling = piece.char * dt / 700.0
            piece.char -= falling
            self._to_coals(falling)
        for index in reversed([i for i, piece in enumerate(self.pieces) if piece.burnt_out()]):
            piece = self.pieces.pop(index)
            self.lit.pop(index)
            self._to_coals(piece.char + 0.25 * piece.volatile)
            self.loose += piece.volatile
            self.ash += ASH_SHARE * piece.dry0
            self.bed += piece.stored(REFERENCE) / self._bed_capacity()

    def _glow(self, dt: float, inflow: float) -> None:
        clear = 1.0 / (1.0 + self.ash / self.build.ash_room)
        primary = 0.35 * inflow * clear
        size = self.coals ** (2.0 / 3.0)
        if size < 1e-5 or primary <= 0.0:
            self.char_rate = 0.0
        else:
            kinetic = 3.2e-4 * self.build.reactivity * size * math.exp(-6000.0 * (1.0 / self.bed - 1e-3))
            carried = 2.0e-4 * size * math.sqrt(primary / 0.004) * (0.4 + 0.6 * clear)
            supplied = 0.9 * primary * gas_flow.OXYGEN / wood.OXYGEN_CHAR
            self.char_rate = min(1.0 / (1.0 / kinetic + 1.0 / carried + 1.0 / supplied), self.coals / dt)
        bed_watts = self.char_rate * wood.CHAR_HEAT
        self.coal_watts = bed_watts + self.glow_rate * wood.CHAR_HEAT
        surface = self._bed_surface()
        radiated = 0.2 * STEFAN_BOLTZMANN * surface * (self.bed**4 - self.sides**4)
        blown = 6.0 * (surface + 0.15 * self.grate_area) * (self.bed - self.gas)
        heat = _CHAR_STAYS * bed_watts - radiated - blown
        carried_off = CHAR_SPECIFIC * self.char_rate * (self.bed - REFERENCE)
        self.bed += dt * heat / self._bed_capacity()
        self.coals = max(0.0, self.coals - dt * self.char_rate)
        self._bed_to_sides = radiated
        self._bed_to_gas = blown + carried_off + (1.0 - _CHAR_STAYS) * bed_watts

    def _light_pieces(self, dt: float) -> float:
        """Let flames catch or lose hold on each piece; return the share of the volatiles that meets a flame."""
        pilot = self.bed > _PILOT or self.gas > 820.0 or any(lit > 0.3 for lit in self.lit)
        mass = self.volume * gas_flow.density(self.gas)
        breathing = self.oxygen > 0.02 * mass or self.flame_watts > 500.0
        met = 0.0
        for index, piece in enumerate(self.pieces):
            flux = piece.volatile_rate / piece.area
            holds = flux > (CRITICAL_FLUX if self.lit[index] < 0.5 else 0.6 * CRITICAL_FLUX)
            wish = 1.0 if holds and pilot and breathing else 0.0
            self.lit[index] += (wish - self.lit[index]) * (1.0 - math.exp(-dt / (12.0 if wish else 20.0)))
            met += piece.volatile_rate * self.lit[index]
        if pilot:
            met += self.loose / _TAIL
        rich = self.fumes > 0.05 * mass and pilot and self.oxygen > 0.03 * mass
        if self.volatile_rate <= 0.0:
            return 1.0 if rich else 0.0
        share = met / self.volatile_rate
        return max(share, 0.8) if rich else share + 0.5 * (1.0 - share) * min(1.0, self.flame_watts / 4000.0)

    def _flame(self, dt: float, inflow: float) -> None:
        share = self._light_pieces(dt)
        mass = self.volume * gas_flow.density(self.gas)
        self.fumes += dt * self.volatile_rate
        self.oxygen = max(
            0.0, self.oxygen + dt * (gas_flow.OXYGEN * inflow - wood.OXYGEN_CHAR * (self.char_rate + self.glow_rate))
        )
        meets = 1.0 - math.exp(-dt / 1.5)
        burnt = meets * min(share * self.fumes, self.build.mixing * self.oxygen / wood.OXYGEN_VOLATILE)
        self.flame_watts = burnt * _VOLATILE_RELEASE / dt
        self.fumes -= burnt
        self.oxygen -= burnt * wood.OXYGEN_VOLATILE
        swept = 1.0 - math.exp(-dt * (inflow + self.volatile_rate + self.steam_rate) / mass)
        self.smoke_rate = swept * self.fumes / dt
        self.fumes -= swept * self.fumes
        self.oxygen -= swept * self.oxygen

    def outflow(self, inflow: float) -> float:
        """Return the gas that leaves through the throat. [kg/s]"""
        return inflow + self.volatile_rate + self.steam_rate + self.char_rate + self.glow_rate

    def _warm_gas(self, dt: float, inflow: float, outside: float) -> None:
        out = self.outflow(inflow) * gas_flow.SPECIFIC_HEAT
        soot = 6.0 * self.flame_watts / (self.flame_watts + 4000.0)
        film = (4.0 + soot) * self.half_area
        capacity = self._gas_capacity() / dt
        heat = (1.0 - _FLAME_RADIATES) * self.flame_watts + self._bed_to_gas - self.from_gas
        heat += (1.0 - wood.GLOW_STAYS) * self.glow_rate * wood.CHAR_HEAT
        self.gas = (capacity * self.gas + out * outside + heat + film * (self.sides + self.top)) / (
            capacity + out + 2.0 * film
        )
        flame = _FLAME_RADIATES * self.flame_watts
        self.throat_watts = (1.0 - _TO_PIECES - _TO_BED - _TO_SIDES - _TO_TOP) * flame
        into_sides = film * (self.gas - self.sides) + _TO_SIDES * flame + self._bed_to_sides - self.from_walls
        self.sides += dt * into_sides / self.steel_capacity
        self.top += dt * (film * (self.gas - self.top) + _TO_TOP * flame) / self.steel_capacity
