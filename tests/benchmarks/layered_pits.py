"""Layered pits to be tended and troubled: walls in layers, every log by itself, a bed of coals with its own temperature.

The physics are those of the surrogate pits that the estimate is tested on, here with the handles of the practice fire
and those that a fault needs. A forecast at these pits errs about as much as at those that the goals are given for.
"""

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firebox.practice.weather import Air, Sky, Weather
from firebox.records import DamperName, DoorName
from firebox.setup import Role
from tests.unit.estimate import surrogate_pits
from tests.unit.estimate.surrogate_pits import LOGS, PIECES, STEP

GAS_HEAT: Final = 15.5e6
"""J/kg of the gases that wood gives off; order of magnitude."""

_GREASE_HEAT: Final = 37.0e6
"""J/kg of fat."""

_GROWS: Final = 240.0
_LASTS: Final = 180.0
"""A fire of fat grows with the square of time, as open fires do: after `_GROWS` it burns so fast that all of it would be
gone in `_LASTS`. [s] What it heats is gas alone, so that a fire that began at full size would be over any limit at once."""

_ASH_GATHERS: Final = 3600.0
"""What chokes the grate comes down with the coals, not at once: time constant. [s]"""

_SMOULDERS: Final = 500.0
"""Wood colder than this has not caught. [K]"""


class LayeredPit:
    """A layered pit with the handles of a practice fire and those of `firebox.practice.faults.Exposed`.

    Attributes
    ----------
    seconds : float
    intake, stack : float
        Where the handles stand.
    ajar : float
        How far the cook door stands ajar. [0..1]
    """

    def __init__(self, seed: int, sky: Sky, *, litres: float | None = None, start_hour: float = 18.0) -> None:
        rng = np.random.default_rng(seed + 51_000)
        self.build = surrogate_pits.draw_build(rng, litres)
        self.usual_split_kg = round(self.build.usual, 2)
        self.seconds = 0.0
        self.weather = Weather(sky, seed + 5, start_hour)
        self.air: Air = self.weather.at(0.0)
        self.intake, self.stack = 0.5, 1.0
        self.cook_door = self.firebox_door = False
        self.ajar = 0.0
        self.build.ambient = self.air.kelvin - 273.15
        self._state = surrogate_pits.cold(self.build)
        self._state.a["rough"] = np.ones((1, LOGS))
        self._state.a["grease"] = np.zeros(1)
        self._grease = self._caught = self._aflame = 0.0  # J left, J that caught, s since
        self._ash_comes = 0.0
        self._meat_kg = 0.0
        self._sheltered = float(rng.uniform(0.3, 0.8))  # share of the wind that reaches the pit
        self._steps = 0

    # --- handles -----------------------------------------------------------------------------------

    def copy(self) -> "LayeredPit":
        """Return a pit that goes its own way in the same weather."""
        other = object.__new__(type(self))
        other.__dict__ = dict(self.__dict__)
        other._state = self._state.copy()
        return other

    def lay_split(self, kg: float, moisture: float = 0.18, *, roughness: float = 1.15) -> None:
        """Put a split on; where there is no room left, onto what is nearly burnt."""
        self._lay(kg, moisture, roughness, hot=False)

    def light(self, kg: float) -> None:
        """Light with so much kindling, some of it already coals."""
        for _ in range(4):
            self._lay(kg / 4.0, 0.1, 1.4, hot=True)
        self._a["bed"] += 0.18 * kg
        self._a["tbed"] = np.maximum(self._a["tbed"], self.air.kelvin + 700.0)

    def _lay(self, kg: float, moisture: float, roughness: float, *, hot: bool) -> None:
        left = self._a["ms"].reshape(-1, PIECES).sum(axis=1)
        slot = int(np.argmin(left))
        surrogate_pits.add_log(self._state, slot, kg, moisture, self.air.kelvin, hot)
        self._a["rough"][:, PIECES * slot : PIECES * slot + PIECES] = roughness / 1.15

    def set_damper(self, damper: DamperName, opening: float) -> None:
        """Move a handle."""
        if damper is DamperName.STACK:
            self.stack = opening
        else:
            self.intake = opening

    def set_door(self, door: DoorName, *, wide: bool) -> None:
        """Open or shut a door."""
        if door is DoorName.COOK:
            self.cook_door = wide
        else:
            self.firebox_door = wide

    def pull_dead_wood(self) -> None:
        """Take out what smoulders."""
        self._a["ms"] = np.where(self._a["ts"] < _SMOULDERS, 0.0, self._a["ms"])

    def put_meat(self, kg: float) -> None:
        """Put meat on; what hangs there already is as warm as it has become."""
        have = max(self.build.meat_kg, 1e-3)
        for mass in ("m1", "m2"):
            self._a[mass] = (have * self._a[mass] + kg * 277.0) / (have + kg)
        self._meat_kg += kg

    # --- faults ------------------------------------------------------------------------------------

    def flare(self, kg: float) -> None:
        """Let so much grease catch fire."""
        self._grease += _GREASE_HEAT * kg
        self._caught, self._aflame = self._grease, 0.0

    def leave_ajar(self, share: float) -> None:
        """Let the cook door stand ajar by a share of its opening."""
        self.ajar = min(1.0, max(0.0, share))

    def choke(self, rooms: float) -> None:
        """Let ash gather, in multiples of what halves the air through the grate."""
        size = self.build.litres / 400.0
        amount = rooms * math.log(2.0) / 0.12 * size
        self._ash_comes = max(0.0, self._ash_comes + amount)
        if amount < 0.0:
            self._a["ash"] = np.maximum(0.0, self._a["ash"] + amount)

    # --- what can be seen --------------------------------------------------------------------------

    @property
    def _a(self) -> dict[str, NDArray[np.float64]]:
        return self._state.a

    def wood_left(self) -> float:
        """Return what a look into the firebox would guess. [kg]"""
        return float(self._a["ms"].sum())

    def flame_watts(self) -> float:
        """Return how lively it looks, in the watts of a flame at a pit that needs four kilowatts. [W]"""
        need = self.usual_split_kg * 14.5e6 / 1700.0
        return 4000.0 * float(np.sum(self._a["heat"])) / need

    def smoulders(self) -> bool:
        """Tell whether more of the wood's gas leaves unburnt than burns."""
        return GAS_HEAT * float(np.sum(self._a["soot"])) > float(np.sum(self._a.get("flame", 0.0))) + 50.0

    def grate(self, place: float) -> float:
        """Return what a perfect probe at a place of the grate would read at once, 0 being the end at the fire. [K]"""
        if "z1" not in self._a:
            return self.air.kelvin
        near, far = self._a["z1"], self._a["z2"]
        walls = (1.0 - place) * self._a["w1"][:, 0] + place * self._a["w2"][:, 0]
        mixed = (1.0 - self.build.probe_mix) * ((1.0 - place) * near + place * far) + self.build.probe_mix * walls
        return float(mixed[0])

    def feels(self, role: Role, place: float = 0.5) -> float:
        """Return the temperature at a tip: at the grate, in the firebox, the stack or the air. [K]"""
        if role is Role.AMBIENT:
            return self.air.kelvin
        if role is Role.FIREBOX:
            return float(0.7 * self._a["gas"][0] + 0.3 * self._a["fbw"][0, 0])
        if role is Role.STACK:
            return float(self._a["tst"][0])
        return self.grate(place)

    # --- time --------------------------------------------------------------------------------------

    def run(self, seconds: float) -> None:
        """Let time pass, in steps of five seconds."""
        for _ in range(round(seconds / STEP)):
            self._step()

    def _step(self) -> None:
        if self._steps % 2 == 0:
            self.air = self.weather.at(self.seconds)
        self._burn_grease()
        self._gather_ash()
        kg = self.build.meat_kg
        self.build.meat_kg = kg + self._meat_kg
        controls = (self.intake, self.stack, 1.0 if self.cook_door else self.ajar, float(self.firebox_door))
        # Rain cools like wind: the loss of a wet wall grows by some twentieth for each mm/h.
        wind = self._sheltered * self.air.wind * (1.0 + 0.05 * self.air.rain)
        surrogate_pits.step(self._state, self.build, controls, wind, self.air.kelvin)
        self.build.meat_kg = kg
        self._steps += 1
        self.seconds += STEP

    def _burn_grease(self) -> None:
        """Let grease burn, slowly at first."""
        self._aflame += STEP
        watts = min(self._grease / STEP, self._caught / _LASTS * (self._aflame / _GROWS) ** 2)
        self._grease -= STEP * watts
        self._a["grease"] = np.full(1, watts)

    def _gather_ash(self) -> None:
        falls = STEP / _ASH_GATHERS * self._ash_comes
        self._ash_comes -= falls
        self._a["ash"] = self._a["ash"] + falls


def layered(seed: int, sky: Sky, *, litres: float | None = None, start_hour: float = 18.0) -> LayeredPit:
    """Return the layered pit of a seed, cold and unlit."""
    return LayeredPit(seed, sky, litres=litres, start_hour=start_hour)
