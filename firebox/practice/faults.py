"""Faults that can befall a practice pit, its probes and its watch: for scenes to practise on, tests and benchmarks.

=========  ======================================================================================================
sort       what it is
=========  ======================================================================================================
`FIRE`     befalls the fire: `befall(mishap)` is called once, at the moment it begins; `mend(mishap)` ends it
`PROBE`    befalls probes: `wrong(truth, rng)` gives, for each probe that is hit, what it says from then on
`WATCH`    befalls the watch itself: `arrives(reading, since)` is the reading as the watch gets it, None where it is lost
=========  ======================================================================================================

No fault is written down in the cook's log, except what a hand in good faith writes of its own doing. All amounts are
set so that a usual case carries an ordinary pit over its limits in about the time that such a thing takes: a runaway in
ten minutes, burning grease in three or four, a door ajar in seven; no source.

>>> sorted(FIRE)
['ash', 'door ajar', 'dying asleep', 'flare', 'forgotten intake', 'wet wood']
"""

import math
from collections.abc import Callable, Mapping
from datetime import timedelta
from types import MappingProxyType
from typing import Final, Protocol

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from firebox.practice.cooks import Hand, Tended
from firebox.records import DamperName, Reading, Status

ASLEEP: Final = 6.0 * 3600.0
"""Nobody sleeps longer through a fault. [s]"""


# --- the fire ------------------------------------------------------------------------------------


class Exposed(Tended, Protocol):
    """What a fault can touch of a pit, besides what a hand can."""

    def flare(self, kg: float) -> None:
        """Let so much grease catch fire."""

    def leave_ajar(self, share: float) -> None:
        """Let the cook door stand ajar by a share of its opening."""

    def choke(self, rooms: float) -> None:
        """Let ash gather, in multiples of what halves the air through the grate."""


class Mishap(Struct, frozen=True, kw_only=True):
    """Where a fire fault befalls, and how badly.

    Attributes
    ----------
    fire : Exposed
    hand : Hand or None
        Who tends it; None: the person at the keys alone.
    split_kg : float
        What a usual split weighs. [kg]
    size : float
        1 is the usual case, 0.7 a mild one, 1.4 a severe one.
    """

    fire: Exposed
    hand: Hand | None
    split_kg: float
    size: float = 1.0


class FireFault(Struct, frozen=True, kw_only=True):
    """Something that befalls the fire.

    Attributes
    ----------
    name, brief : str
        The name it goes by, and what happens, in words for the cook after the event.
    rises : bool
        It carries the pit over its upper limit, not under its lower one.
    """

    name: str
    brief: str
    rises: bool
    befall: Callable[[Mishap], None]
    mend: Callable[[Mishap], None] | None
    """Ends it; None: it burns itself out."""


def _sleep(mishap: Mishap) -> None:
    if mishap.hand is not None:
        mishap.hand.held_until = mishap.fire.seconds + ASLEEP


def _wake(mishap: Mishap) -> None:
    if mishap.hand is not None:
        mishap.hand.held_until = mishap.fire.seconds


def _forget_intake(mishap: Mishap) -> None:
    """Lay a split too large, written down as a usual one, with the intake left open; then sleep."""
    fire, kg = mishap.fire, (1.0 + 0.5 * mishap.size) * mishap.split_kg
    if mishap.hand is None:
        fire.lay_split(kg, 0.15, roughness=1.2)
    else:
        mishap.hand.feed(fire, kg, 0.0, written_kg=mishap.split_kg)
    fire.set_damper(DamperName.INTAKE, min(1.0, max(fire.intake, 0.4 + 0.6 * mishap.size)))
    _sleep(mishap)


def _close_intake(mishap: Mishap) -> None:
    mishap.fire.set_damper(DamperName.INTAKE, 0.25)
    _wake(mishap)


def _lay_wet(mishap: Mishap) -> None:
    """Lay a wet split, written down as a usual one, and sleep."""
    moisture, kg = 0.75 * mishap.size, 1.2 * mishap.split_kg
    if mishap.hand is None:
        mishap.fire.lay_split(kg, moisture, roughness=1.1)
        return
    mishap.hand.feed(mishap.fire, kg, 0.0, written_kg=mishap.split_kg, moisture=moisture)
    _sleep(mishap)


def _pull_wet(mishap: Mishap) -> None:
    mishap.fire.pull_dead_wood()
    _wake(mishap)


FIRE: Final[Mapping[str, FireFault]] = MappingProxyType(
    {
        fault.name: fault
        for fault in (
            FireFault(
                name="forgotten intake",
                brief="The intake was left wide open over a split that was too large.",
                rises=True,
                befall=_forget_intake,
                mend=_close_intake,
            ),
            FireFault(
                name="flare",
                brief="Grease that had gathered on the floor of the chamber caught fire.",
                rises=True,
                befall=lambda m: m.fire.flare(0.02 * m.size * m.split_kg),
                mend=None,
            ),
            FireFault(
                name="door ajar",
                brief="The cook door did not close after a look at the meat.",
                rises=False,
                befall=lambda m: m.fire.leave_ajar(0.2 * m.size),
                mend=lambda m: m.fire.leave_ajar(0.0),
            ),
            FireFault(
                name="dying asleep",
                brief="The cook fell asleep and the fire burned down.",
                rises=False,
                befall=_sleep,
                mend=_wake,
            ),
            FireFault(
                name="wet wood",
                brief="A wet split went on, smothered the coals and gave no flame.",
                rises=False,
                befall=_lay_wet,
                mend=_pull_wet,
            ),
            FireFault(
                name="ash",
                brief="Ash had filled the grate, and the coals got no air.",
                rises=False,
                befall=lambda m: m.fire.choke(4.0 * m.size),
                mend=lambda m: m.fire.choke(-4.0 * m.size),
            ),
        )
    }
)
"""Name -> what befalls the fire."""


# --- probes --------------------------------------------------------------------------------------


class Held(float):
    """A reading without noise: what a converter that hangs repeats."""


Heard = float | Status | None
"""What a probe says: a temperature [degC], a bad status, or nothing."""

Truth = Callable[[str, float], float]
"""(probe, seconds since the fault began) -> what that probe's tip feels [degC]."""

Wrong = Callable[[float], Heard]
"""Seconds since the fault began -> what the probe says instead of the truth."""


class ProbeFault(Struct, frozen=True, kw_only=True):
    """Something that befalls a probe, and for swapped plugs another one.

    Attributes
    ----------
    wrong : callable
        (probe, other, truth, rng) -> what each probe that is hit says.
    """

    name: str
    brief: str
    wrong: Callable[[str, str, Truth, np.random.Generator], dict[str, Wrong]]


def _status(status: Status | None) -> Callable[[str, str, Truth, np.random.Generator], dict[str, Wrong]]:
    return lambda probe, _other, _truth, _rng: {probe: lambda _since: status}


def _stuck(probe: str, _other: str, truth: Truth, _rng: np.random.Generator) -> dict[str, Wrong]:
    last = Held(round(truth(probe, 0.0), 1))
    return {probe: lambda _since: last}


def _drifting(probe: str, _other: str, truth: Truth, rng: np.random.Generator) -> dict[str, Wrong]:
    rate = float(rng.choice([-1.0, 1.0])) / 60.0  # 1 K a minute
    return {probe: lambda since: truth(probe, since) + rate * since}


def _swapped(probe: str, other: str, truth: Truth, _rng: np.random.Generator) -> dict[str, Wrong]:
    """Both plugs out for a minute, then each in the other's place."""

    def says(theirs: str) -> Wrong:
        return lambda since: Status.OPEN if since < 60.0 else truth(theirs, since)

    return {probe: says(other), other: says(probe)}


def _noisy(probe: str, _other: str, truth: Truth, rng: np.random.Generator) -> dict[str, Wrong]:
    """A loose screw or a wet plug: every reading somewhere within fifteen degrees, on either side."""
    return {probe: lambda since: truth(probe, since) + 15.0 * float(rng.standard_normal())}


def _reversed(probe: str, _other: str, truth: Truth, _rng: np.random.Generator) -> dict[str, Wrong]:
    """Both wires of a thermocouple in each other's place: it reads as far under its cold end as it should over it."""
    cold_end = 25.0
    return {probe: lambda since: 2.0 * cold_end - truth(probe, since)}


PROBE: Final[Mapping[str, ProbeFault]] = MappingProxyType(
    {
        fault.name: fault
        for fault in (
            ProbeFault(name="open", brief="Its plug worked loose.", wrong=_status(Status.OPEN)),
            ProbeFault(name="shorted", brief="Its wire was pinched.", wrong=_status(Status.SHORTED)),
            ProbeFault(name="silent", brief="It fell silent.", wrong=_status(None)),
            ProbeFault(name="stuck", brief="Its converter hung.", wrong=_stuck),
            ProbeFault(name="drifting", brief="It drifted away from the truth.", wrong=_drifting),
            ProbeFault(name="swapped", brief="Its plug was swapped with another's.", wrong=_swapped),
            ProbeFault(name="noisy", brief="Its plug was wet.", wrong=_noisy),
            ProbeFault(name="reversed", brief="Its two wires were swapped.", wrong=_reversed),
        )
    }
)
"""Name -> what befalls a probe."""


# --- the watch -----------------------------------------------------------------------------------


class WatchFault(Struct, frozen=True, kw_only=True):
    """Something that befalls the way from the probes to the watch.

    Attributes
    ----------
    arrives : callable
        (reading, seconds since the fault began) -> the reading as it arrives; None: it is lost.
    """

    name: str
    brief: str
    arrives: Callable[[Reading, float], Reading | None]


def _out_for(seconds: float) -> Callable[[Reading, float], Reading | None]:
    return lambda reading, since: None if since < seconds else reading


def _clock_set(seconds: float) -> Callable[[Reading, float], Reading | None]:
    return lambda reading, _since: replace(reading, time=reading.time + timedelta(seconds=seconds))


WATCH: Final[Mapping[str, WatchFault]] = MappingProxyType(
    {
        fault.name: fault
        for fault in (
            WatchFault(name="node unplugged", brief="The probe node lost its power.", arrives=_out_for(math.inf)),
            WatchFault(name="broker down", brief="The broker was away for five minutes.", arrives=_out_for(300.0)),
            WatchFault(name="clock jump", brief="The clock was set an hour forward.", arrives=_clock_set(3600.0)),
        )
    }
)
"""Name -> what befalls the watch."""
