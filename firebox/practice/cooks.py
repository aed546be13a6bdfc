"""Simulated cooks: hands that feed and steer a practice fire, and write down what they did, more or less."""

from collections.abc import Callable
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Final, Protocol

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from firebox.records import Damper, DamperName, Door, DoorName, Entry, Lit, MeatOn, Split, Spritz


class Style(StrEnum):
    """How a cook decides."""

    CLOCKWORK = "clockwork"
    REACTIVE = "reactive"
    SKILFUL = "skilful"


class Logging(Struct, frozen=True, kw_only=True):
    """How a cook keeps the log.

    Attributes
    ----------
    missed : float
        Share of splits and damper moves that are never written down.
    weight_error : float
        Spread of the weight written down over the true one. [-]
    late : float
        Mean delay between the deed and the entry. [s]
    unweighed : float
        Share of splits written down without a weight.
    """

    missed: float = 0.0
    weight_error: float = 0.08
    late: float = 8.0
    unweighed: float = 0.0


GOOD_LOG = Logging()
SLOPPY_LOG = Logging(missed=1.0 / 3.0, weight_error=0.30, late=90.0, unweighed=0.1)

MARK: Final = 1.0 / 8.0
"""One mark of a damper."""

_CLEAN: Final = 0.25
"""Below this opening a fire smoulders; a hand goes there only to stop one that runs away."""


class Plan(Struct, frozen=True, kw_only=True):
    """What a cook means to hold, and with which wood."""

    target: float = 121.0
    split_kg: float
    moisture: float = 0.18
    intake: float = 0.4
    doors: bool = True
    """Whether the cook opens the cook door to look and spritz."""
    meat_kg: float = 0.0


class Tended(Protocol):
    """What a hand can see and touch of a fire."""

    @property
    def seconds(self) -> float: ...

    @property
    def intake(self) -> float: ...

    def light(self, kg: float) -> None: ...

    def lay_split(self, kg: float, moisture: float, *, roughness: float) -> None: ...

    def set_damper(self, damper: DamperName, opening: float) -> None: ...

    def set_door(self, door: DoorName, *, wide: bool) -> None: ...

    def put_meat(self, kg: float) -> None: ...

    def pull_dead_wood(self) -> None: ...

    def wood_left(self) -> float: ...

    def flame_watts(self) -> float: ...


class Hand:
    """One cook at one fire, looking every ten seconds.

    Attributes
    ----------
    held_until : float
        The hand leaves the fire alone until then. [s]
    """

    def __init__(self, style: Style, logging: Logging, plan: Plan, seed: int, epoch: datetime) -> None:
        self.style, self.logging, self.plan = style, logging, plan
        self.held_until = 0.0
        self.split_at = -1e9
        self.damper_at = -1e9
        self._rng = np.random.Generator(np.random.Philox(key=seed + 9_000))
        self.epoch = epoch
        self._deeds: list[tuple[float, Callable[[Tended], None]]] = []
        self._entries: list[tuple[float, Entry]] = []
        self._seen: list[float] = []
        self._next_split = 0.0
        self._trim = 0.0
        self._cycle: list[float] = []
        self._next_look = 7200.0 + 1800.0 * self._rng.random()
        self._stage = 0
        self._meat_on = False

    def light(self, fire: Tended) -> None:
        """Light a cold fire: kindling, both dampers open."""
        kg = round(0.9 + 0.9 * self.plan.split_kg, 2)
        fire.light(kg)
        self.set_damper(fire, DamperName.INTAKE, 1.0, always=True)
        self.set_damper(fire, DamperName.STACK, 1.0, always=True)
        self._write(fire.seconds, Lit(time=self.epoch, kg=kg), always=True)
        self._next_split = fire.seconds + 480.0

    def entries(self, seconds: float) -> list[Entry]:
        """Return what was written down by `seconds` and not yet handed over."""
        due = [entry for when, entry in self._entries if when <= seconds]
        self._entries = [(when, entry) for when, entry in self._entries if when > seconds]
        return due

    def look(self, fire: Tended, celsius: float) -> None:
        """See the thermometer, do what is due, and decide."""
        now = fire.seconds
        for deed in [deed for when, deed in self._deeds if when <= now]:
            deed(fire)
        self._deeds = [(when, deed) for when, deed in self._deeds if when > now]
        self._seen = [*self._seen[-59:], celsius]
        self._cycle.append(celsius)
        if self._deeds or now < self.held_until:
            return
        if self._stage < 3:
            self._start_up(fire, celsius)
            return
        if celsius < self.plan.target - 28.0 and fire.flame_watts() < 1500.0 and now - self.split_at > 420.0:
            self._relight(fire)
            return
        self._tend_dampers(fire, celsius)
        # a full firebox is not fed: more wood would only smother it
        kg = self._wants_split(fire, celsius) if fire.wood_left() < 2.6 * self.plan.split_kg else 0.0
        if kg > 0.0:
            self.feed(fire, kg, self._delay())
        elif self.plan.doors and now > self._next_look and now - self.split_at > 600.0:
            self._look_inside(now)

    def feed(
        self,
        fire: Tended,
        kg: float,
        delay: float,
        *,
        written_kg: float | None = None,
        moisture: float | None = None,
    ) -> None:
        """Go and put a split on after `delay` seconds, with the firebox door open for half a minute.

        `written_kg` is what the cook writes down where that is not what was laid; `moisture` is the split's own where it
        is not what the cook takes it for.
        """
        # what the last cycle averaged teaches where to aim the next
        if self._stage == 3 and len(self._cycle) > 60:
            self._trim = float(
                np.clip(self._trim + 0.35 * (float(np.mean(self._cycle)) - self.plan.target), -4.0, 25.0)
            )
        self._cycle = []
        begin = fire.seconds + delay
        wide = float(self._rng.uniform(15.0, 40.0))
        self._deeds.append((begin, lambda f: f.set_door(DoorName.FIREBOX, wide=True)))
        self._deeds.append((begin + wide, lambda f: self._lay(f, kg, written_kg, moisture)))
        self.split_at = begin

    def set_damper(self, fire: Tended, damper: DamperName, opening: float, *, always: bool = False) -> None:
        """Move a damper now and write it down as this cook does."""
        fire.set_damper(damper, opening)
        entry = Damper(time=self.epoch, damper=damper, open=round(opening, 3))
        self._write(fire.seconds, entry, always=always)
        self.damper_at = fire.seconds

    # --- deciding ----------------------------------------------------------------------------------

    def _slope(self) -> float:
        """Return the fall or rise over the last five minutes. [K/min]"""
        if len(self._seen) < 31:
            return 0.0
        return (self._seen[-1] - self._seen[-31]) / 5.0

    def _start_up(self, fire: Tended, celsius: float) -> None:
        plan = self.plan
        if fire.flame_watts() < 800.0 and fire.seconds - self.split_at > 360.0 and fire.seconds > 900.0:
            self._relight(fire)
        elif self._stage < 2 and fire.seconds >= self._next_split:
            self._stage += 1
            self._next_split = fire.seconds + 540.0
            self.feed(fire, plan.split_kg * float(self._rng.uniform(0.7, 1.1)), 0.0)
        elif self._stage == 2 and celsius > plan.target - 14.0:
            self._stage = 3
            self.set_damper(fire, DamperName.INTAKE, plan.intake)
        elif self._stage == 2 and fire.seconds - self.split_at > 1080.0:
            self.feed(fire, plan.split_kg, 0.0)

    def _relight(self, fire: Tended) -> None:
        """Bring a fire back that has gone out: kindling, lighters, air."""
        kg = round(0.9 + 0.9 * self.plan.split_kg, 2)
        fire.pull_dead_wood()
        fire.light(kg)
        self._write(fire.seconds, Lit(time=self.epoch, kg=kg), always=True)
        self.set_damper(fire, DamperName.INTAKE, max(fire.intake, 0.75))
        self.split_at = fire.seconds

    def _wants_split(self, fire: Tended, celsius: float) -> float:
        now, plan = fire.seconds, self.plan
        since, short = now - self.split_at, plan.target - celsius
        kg = plan.split_kg
        if self.style is Style.CLOCKWORK:
            if now < self._next_split:
                return 0.0
            self._next_split = now + 60.0 * float(np.clip(32.0 - 0.8 * short, 18.0, 48.0))
            return kg * float(np.clip(1.0 + 0.03 * short, 0.6, 1.5))
        if self.style is Style.REACTIVE:
            return kg * float(np.clip(1.0 - 0.02 * self._trim, 0.5, 1.2)) if short > 6.0 and since > 720.0 else 0.0
        coming = celsius + 10.0 * min(0.0, self._slope()) + self._trim
        low = (
            fire.wood_left() < 0.75 * kg or coming < plan.target - 7.0
        )  # a skilful cook looks at the wood, not only at the thermometer
        if since > 840.0 and low and coming < plan.target - 1.0:
            return kg * float(np.clip(1.0 + 0.03 * (plan.target - coming) - 0.02 * self._trim, 0.5, 1.3))
        return 0.0

    def _tend_dampers(self, fire: Tended, celsius: float) -> None:
        now, short, slope = fire.seconds, self.plan.target - celsius, self._slope()
        wait = 900.0 if self.style is Style.SKILFUL else 600.0
        if short < -22.0 and slope > -0.3 and fire.intake > 0.16 and now - self.damper_at > 240.0:
            self.set_damper(fire, DamperName.INTAKE, max(MARK, fire.intake - 2.0 * MARK))
        elif now - self.damper_at < wait:
            return
        elif fire.intake < _CLEAN - 0.01 and short > -12.0:
            self.set_damper(fire, DamperName.INTAKE, _CLEAN)
        elif short < -8.0 and slope > -0.2 and fire.intake > _CLEAN + 0.01:
            self.set_damper(fire, DamperName.INTAKE, max(_CLEAN, fire.intake - MARK))
        elif short > 7.0 and slope < 0.3 and fire.intake < 0.99 and now - self.split_at > 300.0:
            self.set_damper(fire, DamperName.INTAKE, min(1.0, fire.intake + MARK))

    def _look_inside(self, now: float) -> None:
        open_for = float(self._rng.uniform(25.0, 100.0))
        self._next_look = now + float(self._rng.uniform(2700.0, 5400.0))
        self._deeds.append((now + 5.0, lambda f: self._door(f, wide=True)))
        self._deeds.append((now + 5.0 + open_for, lambda f: self._door(f, wide=False)))

    def _delay(self) -> float:
        if self.style is Style.CLOCKWORK:
            return float(self._rng.uniform(0.0, 60.0))
        return float(min(900.0, self._rng.exponential(100.0)))

    # --- doing and writing -------------------------------------------------------------------------

    def _lay(self, fire: Tended, kg: float, written_kg: float | None, moisture: float | None) -> None:
        fire.lay_split(
            kg, self.plan.moisture if moisture is None else moisture, roughness=float(self._rng.uniform(1.05, 1.3))
        )
        fire.set_door(DoorName.FIREBOX, wide=False)
        said = kg * float(np.exp(self.logging.weight_error * self._rng.standard_normal()))
        said = said if written_kg is None else written_kg
        unweighed = self._rng.random() < self.logging.unweighed
        entry = Split(time=self.epoch, kg=None if unweighed else round(said, 2), moisture=self.plan.moisture)
        self._write(fire.seconds, entry)
        self.split_at = fire.seconds

    def _door(self, fire: Tended, *, wide: bool) -> None:
        fire.set_door(DoorName.COOK, wide=wide)
        self._write(fire.seconds, Door(time=self.epoch, door=DoorName.COOK, open=wide), always=True)
        if not wide:
            return
        if self.plan.meat_kg > 0.0 and not self._meat_on:
            self._meat_on = True
            fire.put_meat(self.plan.meat_kg)
            self._write(fire.seconds, MeatOn(time=self.epoch), always=True)
        else:
            self._write(fire.seconds, Spritz(time=self.epoch), always=True)

    def _write(self, seconds: float, entry: Entry, *, always: bool = False) -> None:
        if not always and self._rng.random() < self.logging.missed:
            return
        late = 3.0 if isinstance(entry, Door) else 2.0 + float(self._rng.exponential(self.logging.late))
        when = seconds + late
        happened = self.epoch + timedelta(seconds=seconds) if late > 60.0 else None
        stamped = replace(entry, time=self.epoch + timedelta(seconds=when), at=happened)
        self._entries.append((when, stamped))
        self._entries.sort(key=lambda pair: pair[0])
