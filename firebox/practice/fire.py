"""The practice fire: an offset pit with a wood fire, stepped through time by its physics.

A `Fire` is the one thing in the core that changes in place, for speed: a twelve-hour cook takes some twenty thousand
steps. `copy` gives a fire that goes its own way in the same weather, so that "what if nothing more is done" can be
asked at any minute.

==================  ====================================================================================
part                module
==================  ====================================================================================
wood, piece by piece  `wood`: drying front, charring front, volatiles, char
coals, flame, box     `hearth`: oxygen, fumes, ash, radiation, firebox gas and steel
chamber, load         `chamber`: three zones of gas and steel, baffle, racks, pan, meat, grease
draft and openings    this module, with `air`
losses, weather       `losses`, `weather`
==================  ====================================================================================
"""

import copy
from typing import Final

from firebox.practice import losses
from firebox.practice.account import Account
from firebox.practice.air import ORIFICE, density, draft, exchange, flow
from firebox.practice.build import Build
from firebox.practice.chamber import Chamber
from firebox.practice.hearth import REFERENCE, Hearth
from firebox.practice.weather import Air, Weather
from firebox.practice.wood import PYROLYSIS, STEAM, Piece
from firebox.records import DamperName, DoorName
from firebox.setup import Role

STEP: Final = 2.0
"""s; small against the fastest thing that is stepped explicitly, the skin of a piece of wood (about 60 s)."""

_WEATHER_STEPS: Final = 5  # the weather and the loss coefficients are looked at every ten seconds
_RAIN_HEAT: Final = 2.55e6 / 3600.0  # J/kg to warm and evaporate rain, times kg/(m2 s) a mm/h


class Fire:
    """An offset pit with its fire, `seconds` after the beginning.

    Attributes
    ----------
    intake, stack : float
        Openings of the dampers. [0..1]
    cook_door, firebox_door : bool
        Whether they stand open.
    ajar : float
        How far the cook door stands ajar where nobody opened it. [0..1]
    inflow, leak : float
        Air into the firebox, and into the chamber past it. [kg/s]
    account : Account
    """

    def __init__(self, build: Build, weather: Weather, *, intake: float = 0.6, stack: float = 1.0) -> None:
        self.build, self.weather = build, weather
        self.seconds = 0.0
        self._steps = 0
        self.air: Air = weather.at(0.0)
        self.hearth = Hearth(build, self.air.kelvin)
        self.chamber = Chamber(build, self.air.kelvin)
        self.intake, self.stack = intake, stack
        self.cook_door = self.firebox_door = False
        self.ajar = 0.0
        self.inflow = self.leak = self.swapped = 0.0
        self.account = Account(stored_at_start=self.stored())
        self._conductances: tuple[float, float, float, float, float] = (0.0,) * 5
        self._rained = 0.0

    def copy(self) -> "Fire":
        """Return a fire that goes its own way from here, in the same weather."""
        other = copy.copy(self)
        other.hearth, other.chamber = self.hearth.copy(), self.chamber.copy()
        other.account = copy.copy(self.account)
        return other

    # --- what is done to it ----------------------------------------------------------------------

    def lay_split(
        self, kg: float, moisture: float = 0.18, *, density_dry: float = 650.0, roughness: float = 1.15
    ) -> None:
        """Put a split on the fire; `kg` with its water, `moisture` on the dry basis."""
        piece = Piece(kg, moisture, self.air.kelvin, density=density_dry, roughness=roughness)
        self.account.laid += piece.stored(REFERENCE)
        self.hearth.lay(piece)

    def light(self, kg: float, moisture: float = 0.15) -> None:
        """Light the fire on a heap of glowing charcoal of a quarter of `kg`, with kindling for the rest."""
        hearth = self.hearth
        before = hearth.stored()
        hearth.coals += 0.25 * kg
        hearth.loose += 0.06 * kg  # lighters and tinder
        hearth.bed = max(hearth.bed, 1000.0)
        count = max(3, round(0.75 * kg / 0.30))
        for _ in range(count):
            piece = Piece(0.75 * kg / count, moisture, self.air.kelvin, roughness=1.2)
            piece.surface = 620.0
            hearth.lay(piece, lit=1.0)
        self.account.laid += hearth.stored() - before

    def set_damper(self, damper: DamperName, opening: float) -> None:
        """Move a damper to an opening of 0..1."""
        if damper is DamperName.INTAKE:
            self.intake = min(1.0, max(0.0, opening))
        else:
            self.stack = min(1.0, max(0.0, opening))

    def set_door(self, door: DoorName, *, wide: bool) -> None:
        """Open or shut a door."""
        if door is DoorName.COOK:
            self.cook_door = wide
        else:
            self.firebox_door = wide

    def rake(self) -> None:
        """Clear the grate and stir the coals."""
        self.hearth.rake()

    def pull_dead_wood(self) -> None:
        """Take the pieces that do not burn out of the firebox."""
        before = self.hearth.stored()
        self.hearth.pull_dead_wood()
        self.account.laid += self.hearth.stored() - before

    def put_meat(self, kg: float, kelvin: float = 278.15) -> None:
        """Put so much meat on the racks; 0 takes it off."""
        before = self.chamber.load_stored()
        self.chamber.meat_kg, self.chamber.meat_dryness = kg, 0.0
        self.chamber.meat_skin = self.chamber.meat_core = kelvin
        self.account.laid += self.chamber.load_stored() - before

    def fill_pan(self, kg: float, kelvin: float = 313.15) -> None:
        """Fill the water pan."""
        before = self.chamber.load_stored()
        self.chamber.pan_kg, self.chamber.pan = kg, kelvin
        self.account.laid += self.chamber.load_stored() - before

    def flare(self, kg: float) -> None:
        """Let so much grease catch fire in the chamber."""
        self.chamber.grease_kg += kg
        self.chamber.flaring = True

    def leave_ajar(self, share: float) -> None:
        """Let the cook door stand ajar by a share of its opening; 0 shuts it."""
        self.ajar = min(1.0, max(0.0, share))

    def choke(self, rooms: float) -> None:
        """Let ash gather, in multiples of what halves the air through the grate."""
        self.hearth.ash = max(0.0, self.hearth.ash + rooms * self.build.ash_room)

    # --- what it shows ---------------------------------------------------------------------------

    def grate(self, place: float) -> float:
        """Return what a perfect probe at a place on the grate would read at once. [K]

        Parameters
        ----------
        place : float
            0 at the firebox end, 1 at the stack end.

        Notes
        -----
        A probe stands between the gas around it, the walls it sees and the rack it is clipped to, weighted 12 : 5 : 5
        after the coefficients of a finger-thick sheath in slow gas (from memory, order of magnitude).
        """
        at = 2.0 * min(1.0, max(0.0, place))
        low = min(1, int(at))
        part = at - low
        gas, shell = self.chamber.gas, self.chamber.shell
        g = gas[low] + part * (gas[low + 1] - gas[low])
        s = shell[low] + part * (shell[low + 1] - shell[low])
        seen = s + 0.12 * max(0.0, 1.0 - at) * (self.chamber.baffle - s)
        rack = self.chamber.racks + g - gas[1]  # racks are one lump; along the grate they follow the gas
        return (12.0 * g + 5.0 * seen + 5.0 * rack) / 22.0

    def feels(self, role: Role, place: float = 0.5) -> float:
        """Return the temperature at the tip of a perfect probe of a role; `place` counts on the grate only. [K]"""
        match role:
            case Role.GRATE:
                return self.grate(place)
            case Role.FIREBOX:
                return 0.6 * self.hearth.gas + 0.4 * self.hearth.top
            case Role.STACK:
                return self.air.kelvin + 0.93 * (self.chamber.gas[2] - self.air.kelvin)
            case Role.AMBIENT:
                return self.air.kelvin
            case Role.MEAT:
                return self.chamber.meat_core

    def heat_watts(self) -> float:
        """Return the heat that the fire gives. [W]"""
        return self.hearth.flame_watts + self.hearth.coal_watts

    def flame_watts(self) -> float:
        """Return the heat that the flames give, the glow left out. [W]"""
        return self.hearth.flame_watts

    def wood_left(self) -> float:
        """Return the wood that has not yet turned to coals or smoke, without its water. [kg]"""
        return self.hearth.wood_left()

    def stored(self) -> float:
        """Return the heat stored in everything, from `REFERENCE`. [J]"""
        return self.hearth.stored() + self.chamber.stored()

    def imbalance(self) -> float:
        """Return the error of the energy account as a share of the heat burnt."""
        return self.account.imbalance(self.stored())

    # --- time ------------------------------------------------------------------------------------

    def run(self, seconds: float) -> None:
        """Let time pass, in steps of `STEP`, up to `seconds` more (rounded to whole steps)."""
        for _ in range(round(seconds / STEP)):
            self._step()

    def _step(self) -> None:
        if self._steps % _WEATHER_STEPS == 0:
            self._feel_weather()
        self._breathe()
        hearth, chamber, account, outside = self.hearth, self.chamber, self.account, self.air.kelvin
        heat = hearth.burn(STEP, self.inflow, outside)
        chamber.baffle += STEP * hearth.throat_watts / chamber.baffle_capacity
        flue = chamber.warm(
            STEP,
            inflow=hearth.outflow(self.inflow),
            gas=hearth.gas,
            leak=self.leak,
            swapped=self.swapped,
            outside=outside,
        )
        account.burnt += STEP * (heat + chamber.grease_watts)
        account.flue += STEP * flue
        account.steam += STEP * (hearth.steam_rate * STEAM + chamber.steam_watts)
        account.pyrolysis += STEP * hearth.smoke_rate * PYROLYSIS
        account.outside += STEP * self._lose()
        self._steps += 1
        self.seconds += STEP

    def _feel_weather(self) -> None:
        self.air = air = self.weather.at(self.seconds)
        build = self.build
        wind = air.wind * build.shelter

        def coefficient(kelvin: float, size: float) -> float:
            return losses.outside(kelvin, air.kelvin, size, wind, build.emissivity)

        shell, size = self.chamber.shell, build.diameter
        box = [coefficient(k, build.firebox_size) for k in (self.hearth.sides, self.hearth.top)]
        if build.insulation is not None:
            box = [1.0 / (1.0 / build.insulation + 1.0 / h) for h in box]
        zone, half = self.chamber.zone_area, self.hearth.half_area
        s0, s1, s2 = (zone * coefficient(k, size) for k in shell)
        self._conductances = (s0, s1, s2, half * box[0], half * box[1])
        self._rained = 0.45 * air.rain * _RAIN_HEAT  # rain that stays long enough to evaporate, no source

    def _breathe(self) -> None:
        """Set the flows from draft, wind and openings: inlets and stack share the draft as two orifices in series."""
        build, outside = self.build, self.air.kelvin
        chamber, hearth = self.chamber, self.hearth
        wind_pressure = 0.5 * density(outside) * (self.air.wind * build.shelter) ** 2
        flue = outside + 0.9 * (chamber.gas[2] - outside)
        pull = draft(build.stack_height + 0.4 * build.diameter, flue, outside) + 0.25 * wind_pressure
        own = draft(0.35 * build.firebox_size, hearth.gas, outside) + 0.1 * wind_pressure
        choked = 1.0 / (1.0 + 0.25 * hearth.ash / build.ash_room)
        door = 0.12 * build.firebox_size**2 if self.firebox_door else 0.0
        inlet = ORIFICE * (build.intake_area * choked * self.intake**build.intake_shape + build.firebox_leak + door)
        wide = 0.45 * build.diameter**2 * build.slenderness * (1.0 if self.cook_door else self.ajar)
        seams = ORIFICE * (build.chamber_leak + 0.3 * wide)
        out = 0.75 * ORIFICE * build.stack_area * max(0.03, self.stack)
        cold, hot = density(outside), density(flue)
        under = max(0.0, pull) * out * out * hot / (out * out * hot + (inlet + seams) ** 2 * cold)
        self.inflow = max(1e-5, flow(inlet, under + own, outside))
        self.leak = max(0.0, flow(seams, under, outside))
        self.swapped = exchange(wide, 0.5 * build.diameter, chamber.gas[1], outside)

    def _lose(self) -> float:
        """Let the steel lose heat to the outside for a step; return the loss. [W]"""
        outside, chamber, hearth = self.air.kelvin, self.chamber, self.hearth
        lost = 0.0
        wet = self._rained * chamber.zone_area * 0.4
        for zone in range(3):
            kelvin = chamber.shell[zone]
            watts = self._conductances[zone] * (kelvin - outside) + wet * min(1.0, max(0.0, (kelvin - 300.0) / 20.0))
            chamber.shell[zone] = kelvin - STEP * watts / chamber.shell_capacity
            lost += watts
        sides = self._conductances[3] * (hearth.sides - outside)
        top = self._conductances[4] * (hearth.top - outside)
        hearth.sides -= STEP * sides / hearth.steel_capacity
        hearth.top -= STEP * top / hearth.steel_capacity
        seam = 3.0 * (hearth.top - chamber.shell[0])  # W; through the steel where the two are joined, no source
        hearth.top -= STEP * seam / hearth.steel_capacity
        chamber.shell[0] += STEP * seam / chamber.shell_capacity
        return lost + sides + top
