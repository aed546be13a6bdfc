"""Pits for judging only: nothing in them is shaped like the practice fire, nor like any balance of heat.

A strange pit knows no gas, no steel and no oxygen. Every split is a train of lumps of warmth, cut from a random mixture
of humps and let out through a delay line at a pace that the dampers set; warmth comes up against a loss that is no
straight line; the intake has slack; two gains wander with the night. What the dampers hold back heaps up and comes
with a leap. All of it is drawn by a seed, and a copy goes its own way under the same wandering.
"""

import copy
import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firebox.errors import RangeError
from firebox.practice.weather import Air, Sky, Weather
from firebox.records import DamperName, DoorName
from firebox.setup import Role

STEP: Final = 2.0
_GRAIN: Final = 10.0  # s of a kernel's own time between two of its values


class _Train:
    """The warmth of one split as it leaves: a kernel and how far along it is."""

    __slots__ = ("kernel", "mass", "place", "size")

    def __init__(self, kernel: NDArray[np.float64], size: float, mass: float) -> None:
        self.kernel, self.size, self.mass, self.place = kernel, size, mass, 0.0

    def copy(self) -> "_Train":
        other = _Train(self.kernel, self.size, self.mass)
        other.place = self.place
        return other

    def left(self) -> float:
        spent = min(1.0, self.place / (_GRAIN * len(self.kernel)))
        return self.mass * math.pow(1.0 - spent, 1.5)


class StrangePit:
    """A pit of another kind with the same handles as the practice fire.

    Attributes
    ----------
    seconds : float
    intake, stack : float
        Where the handles stand; what they do has slack and bends.
    """

    def __init__(self, seed: int, sky: Sky, *, start_hour: float = 18.0) -> None:
        rng = np.random.Generator(np.random.Philox(key=seed + 31_000))
        self.seed, self.seconds = seed, 0.0
        self.weather = Weather(sky, seed + 5, start_hour)
        self.wander = Weather(
            Sky(wind=1.0, gusts=float(rng.uniform(0.04, 0.12)), fronts=float(rng.uniform(0.03, 0.10))), seed + 6
        )
        self.air: Air = self.weather.at(0.0)
        self.intake, self.stack = 0.5, 1.0
        self.cook_door = self.firebox_door = False
        self.usual_split_kg = round(float(np.exp(rng.uniform(np.log(0.5), np.log(2.4)))), 2)
        self._rng_seed = seed
        self._draw(rng)
        self.heat = self.skin = self.hold = 0.0
        self.deep = 0.0
        self.heap = self.ember = 0.0
        self.slack_place = self.intake
        self.trains: list[_Train] = []
        self.laid = 0
        self.now_out = 0.0
        self._line: list[float] = [0.0] * self._delay_steps
        self._ticks = 0
        self._gain = self._wind = self._rain = 1.0

    def _draw(self, rng: np.random.Generator) -> None:
        per_degree = float(rng.uniform(0.8, 1.2))
        self.need = 100.0 * per_degree  # warmth a minute that holds the usual rise of a hundred degrees
        self.bend = float(rng.uniform(1.08, 1.45))  # loss grows with the rise to this power
        self.quick = float(np.exp(rng.uniform(np.log(90.0), np.log(360.0))))
        self.slow = float(np.exp(rng.uniform(np.log(1500.0), np.log(5400.0))))
        self.share = float(rng.uniform(0.30, 0.55))  # of the answer that is quick
        self.slack = float(rng.uniform(0.0, 0.12))
        self.curve = float(rng.uniform(0.7, 2.2))
        self.pace_floor = float(rng.uniform(0.12, 0.35))
        self.leap = float(rng.uniform(0.0, 0.5))
        self.ember_share = float(rng.uniform(0.15, 0.40))
        self.ember_life = float(np.exp(rng.uniform(np.log(1500.0), np.log(5400.0))))
        self.wind_bite = float(rng.uniform(0.02, 0.10))
        self.door_bite = float(rng.uniform(0.3, 0.7))
        self.tilt = float(rng.uniform(-18.0, 18.0))  # K between the ends of the grate
        self._delay_steps = max(1, round(float(rng.uniform(10.0, 120.0)) / STEP))
        # a usual split each forty minutes at the usual opening holds the pit, give or take
        self.per_kg = self.need * 40.0 * float(rng.uniform(0.85, 1.15)) / self.usual_split_kg

    # --- handles -----------------------------------------------------------------------------------

    def copy(self) -> "StrangePit":
        """Return a pit that goes its own way under the same wandering."""
        other = copy.copy(self)
        other.trains = [train.copy() for train in self.trains]
        other._line = list(self._line)
        return other

    def lay_split(self, kg: float, moisture: float = 0.18, *, roughness: float = 1.15) -> None:
        """Put a split on; its hump is drawn anew each time around the pit's own shape."""
        self.laid += 1
        kernel = self._kernel(self.laid, moisture)
        self.trains.append(_Train(kernel, kg * self.per_kg * roughness / 1.15, kg))

    def light(self, kg: float) -> None:
        """Light with so much kindling: short trains and some embers."""
        for _ in range(3):
            self.laid += 1
            kernel = self._kernel(self.laid, 0.1)[::2]
            self.trains.append(_Train(kernel, kg / 3.0 * self.per_kg, kg / 3.0))
        self.ember += 0.15 * kg * self.per_kg

    def set_damper(self, damper: DamperName, opening: float) -> None:
        """Move a handle; within its slack nothing follows."""
        if damper is DamperName.STACK:
            self.stack = opening
            return
        self.intake = opening
        if abs(opening - self.slack_place) > self.slack:
            self.slack_place = opening - self.slack * (1.0 if opening > self.slack_place else -1.0)

    def set_door(self, door: DoorName, *, wide: bool) -> None:
        """Open or shut a door."""
        if door is DoorName.COOK:
            self.cook_door = wide
        else:
            self.firebox_door = wide

    def pull_dead_wood(self) -> None:
        """Take out what smoulders."""
        self.heap *= 0.3

    def put_meat(self, kg: float) -> None:
        """Put meat on: a lump of cold."""
        self.skin -= 3.0 * kg / (1.0 + self.usual_split_kg)

    def wood_left(self) -> float:
        """Return what a look into the firebox would guess. [kg]"""
        return sum(train.left() for train in self.trains)

    def flame_watts(self) -> float:
        """Return how lively it looks, in the watts of a fire of that size. [W]"""
        return 4000.0 * self.now_out / self.need

    def grate(self, place: float) -> float:
        """Return what a perfect probe at a place of the grate would read at once. [K]"""
        level = self.share * self.heat + (1.0 - self.share) * self.skin
        return self.air.kelvin + max(0.0, level) * (1.0 + self.tilt / 100.0 * (0.5 - place))

    def feels(self, role: Role, place: float = 0.5) -> float:
        """Return the temperature at a tip; a strange pit has probes at the grate and in the air only. [K]"""
        if role is Role.GRATE:
            return self.grate(place)
        if role is Role.AMBIENT:
            return self.air.kelvin
        raise RangeError(f"a strange pit has no {role} probe; grate or ambient would be right")

    # --- time --------------------------------------------------------------------------------------

    def run(self, seconds: float) -> None:
        """Let time pass in steps of two seconds."""
        for _ in range(round(seconds / STEP)):
            self._step()

    def _step(self) -> None:
        if self._ticks % 5 == 0:
            self.air = self.weather.at(self.seconds)
            self._gain = self.wander.at(self.seconds).wind
            self._wind = 1.0 + self.wind_bite * self.air.wind
            self._rain = 1.0 + 0.05 * self.air.rain
        pace = self._pace()
        out = self._let_out(pace) * self._gain
        self._line.append(out)
        arriving = self._line.pop(0)
        self._warm(arriving)
        self._ticks += 1
        self.seconds += STEP

    def _pace(self) -> float:
        opening = 1.0 if self.firebox_door else min(1.0, max(0.0, self.slack_place))
        pull = (0.4 + 0.6 * math.sqrt(self.stack)) * (0.7 + 0.3 * min(2.0, self._wind))
        return self.pace_floor + (1.6 - self.pace_floor) * math.pow(opening, self.curve) * pull

    def _let_out(self, pace: float) -> float:
        """Return the warmth a minute that leaves trains, embers and heap; the floor of the pace holds some back."""
        given = 0.0
        alive = []
        lively = 1.0 if self.ember + sum(t.size for t in self.trains) * 0.02 > 0.3 * self.need else 0.4
        for train in self.trains:
            train.place += STEP * pace * lively
            index = int(train.place / _GRAIN)
            if index < len(train.kernel):
                given += train.size * float(train.kernel[index]) * pace * lively
                alive.append(train)
        self.trains = alive
        self.ember += STEP / 60.0 * self.ember_share * given
        glow = self.ember * (0.5 + 0.5 * pace) / self.ember_life * 60.0
        self.ember = max(0.0, self.ember - STEP / 60.0 * glow)
        most = self.need * (0.25 + 2.4 * pace)  # the dampers let no more than this through at once
        wanted = (1.0 - self.ember_share) * given + self.leap * self.heap
        through = min(wanted, most)
        self.heap = max(
            0.0,
            self.heap + STEP / 60.0 * (0.5 * ((1.0 - self.ember_share) * given - through)) - STEP / 240.0 * self.heap,
        )
        self.now_out = through
        return through + glow

    def _warm(self, out: float) -> None:
        bite = self._wind * self._rain
        goal = 100.0 * (max(0.0, out) / (self.need * bite)) ** (1.0 / self.bend)
        if self.cook_door:
            goal *= 1.0 - self.door_bite
        if self.firebox_door:
            goal *= 0.8
        quick = self.quick / (4.0 if self.cook_door else 1.0)
        self.heat += STEP / quick * (goal - self.heat)
        # the slow part warms faster than it cools
        rate = self.slow * (0.8 if goal > self.skin else 1.1)
        self.deep += STEP / (0.25 * self.slow) * (self.heat - self.deep)
        self.skin += STEP / rate * (self.deep - self.skin)

    def _kernel(self, number: int, moisture: float) -> NDArray[np.float64]:
        """Return the hump of the `number`-th split: warmth a minute over its own time, adding up to one."""
        own = np.random.Generator(np.random.Philox(key=self._rng_seed + 40_000))
        peaks = own.uniform(5.0, 18.0, 2) * 60.0
        shapes = own.uniform(1.5, 5.0, 2)
        weights = own.uniform(0.3, 1.0, 2)
        lag = own.uniform(0.5, 4.0) * 60.0
        luck = np.random.Generator(np.random.Philox(key=self._rng_seed + 41_000 + number))
        stretch = float(np.exp(0.10 * luck.standard_normal())) * (0.8 + moisture)
        t = np.arange(0.0, 4800.0, _GRAIN)
        kernel = np.zeros_like(t)
        for peak, shape, weight in zip(peaks, shapes, weights, strict=True):
            x = np.maximum(0.0, t - lag * stretch) / (peak * stretch)
            kernel += weight * x**shape * np.exp(shape * (1.0 - x))
        return kernel / (float(np.sum(kernel)) * _GRAIN / 60.0)


def strange(seed: int, sky: Sky, *, start_hour: float = 18.0) -> StrangePit:
    """Return the strange pit of a seed, cold and unlit."""
    return StrangePit(seed, sky, start_hour=start_hour)
