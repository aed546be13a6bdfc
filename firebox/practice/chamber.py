"""The cook chamber of a practice pit: three zones of gas and steel, baffle, racks, water pan, meat, grease."""

import copy
import math
from typing import Final

from firebox.practice.air import SPECIFIC_HEAT
from firebox.practice.build import Build
from firebox.practice.hearth import REFERENCE, STEEL_DENSITY, STEEL_HEAT
from firebox.practice.losses import STEFAN_BOLTZMANN
from firebox.practice.wood import STEAM

GREASE_HEAT: Final = 37.0e6
"""J/kg fat, net; about 37-39 MJ/kg, from memory."""

MEAT_HEAT: Final = 3430.0
"""J/(kg K); lean beef with 72 % water, 0-100 degC (ASHRAE table of measured values)."""

_WATER_HEAT: Final = 4180.0
_SPREADS: Final = 90.0  # s; a flame takes a minute or two to spread over a floor of grease, no source
_CONDUCTS: Final = 50.0  # W/(m K) carbon steel, 45-60, from memory


def humidity_at(kelvin: float) -> float:
    """Return the water that air over a wet surface carries, kg a kg of dry air.

    Magnus' equation for the vapour pressure (WMO form, 611.2 Pa, 17.62, 243.12 degC) and 0.622 p / (P - p).

    Examples
    --------
    >>> round(humidity_at(293.15), 4)
    0.0147
    """
    celsius = min(kelvin - 273.15, 97.0)
    pressure = 611.2 * math.exp(17.62 * celsius / (243.12 + celsius))
    return 0.622 * pressure / (101_325.0 - pressure)


class Chamber:
    """The chamber as it warms. Index 0 is the firebox end, 2 the stack end.

    Attributes
    ----------
    gas, shell : list of float
        Temperatures of the gas and of the steel, by zone. [K]
    baffle, racks : float
        [K]
    pan_kg, pan : float
        Water in the pan [kg] and its temperature [K].
    meat_kg, meat_skin, meat_core, meat_dryness : float
        [kg], [K], [K], water lost [kg].
    grease_kg : float
        Fat that has gathered where it can burn. [kg]
    flaring : bool
    flaring_for : float
        How long it has burned. [s]
    """

    def __init__(self, build: Build, kelvin: float) -> None:
        self.build = build
        self.gas = [kelvin] * 3
        self._scale = math.pow(build.litres / 950.0, 0.6)
        self.shell = [kelvin] * 3
        self.baffle = self.racks = kelvin
        self.zone_area = build.shell_area / 3.0
        self.zone_capacity = build.litres * 1e-3 / 3.0 * 0.9 * SPECIFIC_HEAT + 40.0
        self.shell_capacity = self.zone_area * build.wall * STEEL_DENSITY * STEEL_HEAT
        self.baffle_capacity = build.baffle_kg * STEEL_HEAT
        self.racks_capacity = build.racks_kg * STEEL_HEAT
        self.pan_kg, self.pan = 0.0, kelvin
        self.meat_kg, self.meat_skin, self.meat_core, self.meat_dryness = 0.0, kelvin, kelvin, 0.0
        self.grease_kg, self.flaring, self.flaring_for = 0.0, False, 0.0
        self.steam_watts = self.grease_watts = 0.0
        # steel between the middles of two zones
        length = build.diameter * build.slenderness
        self._along = _CONDUCTS * math.pi * build.diameter * build.wall / (length / 3.0)

    def copy(self) -> "Chamber":
        """Return a chamber that goes its own way from here."""
        other = copy.copy(self)
        other.gas, other.shell = list(self.gas), list(self.shell)
        return other

    def stored(self) -> float:
        """Return the heat stored above `REFERENCE`. [J]"""
        gas = self.zone_capacity * (sum(self.gas) - 3.0 * REFERENCE)
        shell = self.shell_capacity * (sum(self.shell) - 3.0 * REFERENCE)
        inside = self.baffle_capacity * (self.baffle - REFERENCE) + self.racks_capacity * (self.racks - REFERENCE)
        return gas + shell + inside + self.load_stored()

    def load_stored(self) -> float:
        """Return the heat stored in water and meat above `REFERENCE`. [J]"""
        pan = self.pan_kg * _WATER_HEAT * (self.pan - REFERENCE)
        skin, core = self._meat_capacities()
        return pan + skin * (self.meat_skin - REFERENCE) + core * (self.meat_core - REFERENCE)

    def _meat_capacities(self) -> tuple[float, float]:
        whole = self.meat_kg * MEAT_HEAT
        return 0.2 * whole, 0.8 * whole

    def warm(self, dt: float, *, inflow: float, gas: float, leak: float, swapped: float, outside: float) -> float:
        """Let the firebox's gas pass through for `dt`; return the heat that gas carries out. [W]

        Parameters
        ----------
        dt : float
            [s]
        inflow, gas : float
            Gas from the firebox: flow [kg/s] and temperature [K].
        leak, swapped : float
            Air drawn in by leaks, and swapped through the cook door. [kg/s]
        outside : float
            [K]
        """
        cp = SPECIFIC_HEAT
        film = self._film(inflow + leak) * self.zone_area
        baffle_film = 14.0 * 0.35 * self.zone_area
        burning = self._flare(dt)
        capacity = self.zone_capacity / dt
        stirred = 1.2 * inflow + 0.01 * self._scale
        load = [self._pan_heat(dt), self._racks_and_meat_heat(dt), 0.0]
        flow, arriving = inflow, gas
        steel, old = self.shell, list(self.gas)
        for zone in range(3):
            fresh = leak / 3.0
            across = [n for n in (zone - 1, zone + 1) if 0 <= n <= 2]
            bottom = capacity + (flow + fresh + swapped / 3.0) * cp + film + len(across) * stirred * cp
            upper = capacity * old[zone] + flow * cp * arriving + (fresh + swapped / 3.0) * cp * outside
            upper += film * steel[zone] + sum(stirred * cp * old[n] for n in across) - load[zone]
            if zone == 0:
                bottom += baffle_film
                upper += baffle_film * self.baffle
            if zone == 1:
                upper += 0.7 * burning
            self.gas[zone] = upper / bottom
            flow, arriving = flow + fresh, self.gas[zone]
        flue = flow * cp * (self.gas[2] - outside) + swapped / 3.0 * cp * (sum(self.gas) - 3.0 * outside)
        self._warm_steel(dt, film, baffle_film, burning)
        return flue

    def _film(self, flow: float) -> float:
        usual = 0.016 * self._scale
        return self.build.inner * (12.0 + 9.5 * math.pow(min(3.0, flow / usual), 0.6))

    def _warm_steel(self, dt: float, film: float, baffle_film: float, burning: float) -> None:
        s0, s1, s2 = self.shell
        between = 0.5 * 0.8 * STEFAN_BOLTZMANN * 0.35 * self.zone_area * (self.baffle**4 - s0**4)
        along0, along1 = self._along * (s0 - s1), self._along * (s1 - s2)
        c = dt / self.shell_capacity
        self.shell[0] = s0 + c * (film * (self.gas[0] - s0) + between - along0)
        self.shell[1] = s1 + c * (film * (self.gas[1] - s1) + along0 - along1 + 0.3 * burning)
        self.shell[2] = s2 + c * (film * (self.gas[2] - s2) + along1)
        self.baffle += dt * (baffle_film * (self.gas[0] - self.baffle) - between) / self.baffle_capacity

    def _flare(self, dt: float) -> float:
        if self.flaring:
            self.flaring_for += dt
            spread = 1.0 - math.exp(-self.flaring_for / _SPREADS)
            rate = spread * min(self.grease_kg / 150.0, 0.0009)
            self.grease_kg -= rate * dt
            self.flaring = self.grease_kg > 0.004
            self.grease_watts = rate * GREASE_HEAT
        else:
            self.grease_watts = self.flaring_for = 0.0
        return self.grease_watts

    def _pan_heat(self, dt: float) -> float:
        """Return what the water pan takes from the first zone's gas, and let it steam. [W]"""
        if self.pan_kg <= 0.01:
            self.steam_watts = 0.0
            return 0.0
        area = 0.03 + 0.02 * math.pow(self.pan_kg, 2.0 / 3.0)
        taken = 18.0 * area * (self.gas[0] - self.pan)
        steam = min(7.0 * area / 1010.0 * max(0.0, humidity_at(self.pan) - 0.012), self.pan_kg / dt)
        # the mass that leaves takes its own warmth along: counted with the steam
        self.steam_watts = steam * (STEAM + _WATER_HEAT * (self.pan - REFERENCE))
        self.pan += dt * (taken - steam * STEAM) / (self.pan_kg * _WATER_HEAT)
        self.pan_kg -= steam * dt
        return taken

    def _racks_and_meat_heat(self, dt: float) -> float:
        """Return what racks and meat take from the middle zone's gas. [W]"""
        taken = 14.0 * 0.06 * self.build.racks_kg * (self.gas[1] - self.racks)
        self.racks += dt * taken / self.racks_capacity
        if self.meat_kg <= 0.0:
            return taken
        area = 0.075 * math.pow(self.meat_kg, 2.0 / 3.0)
        skin, core = self._meat_capacities()
        to_meat = 16.0 * area * (self.gas[1] - self.meat_skin)
        wet = math.exp(-self.meat_dryness / (0.10 * self.meat_kg))
        steam = wet * 6.0 * area / 1010.0 * max(0.0, humidity_at(self.meat_skin) - 0.015)
        inwards = 0.45 * area / 0.025 * (self.meat_skin - self.meat_core)
        self.meat_skin += dt * (to_meat - steam * STEAM - inwards) / skin
        self.meat_core += dt * inwards / core
        self.meat_dryness += steam * dt
        self.steam_watts += steam * STEAM
        self.grease_kg += dt * 2.5e-7 * self.meat_kg * max(0.0, min(1.0, (self.meat_skin - 325.0) / 20.0))
        return taken + to_meat
