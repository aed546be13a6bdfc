"""Cooks for judging alarms: normal ones, and ones that a fault befalls, on pits of three families.

A fault befalls a pit that is up to temperature and near its target, at an instant and with a size drawn by lot: the
size is searched on copies of the pit until the limit is crossed about as soon as such a fault takes on the whole. Nobody
heeds any alarm. The truth is what a perfect probe would show where the leading one hangs.

Cooks are kept under the system's temporary directory, named by a hash of the sources that make them.
"""

import copy
import pickle
from collections.abc import Callable
from datetime import timedelta
from itertools import pairwise
from pathlib import Path
from statistics import median
from typing import Final

import numpy as np
from msgspec import Struct

from firebox.practice.build import draw
from firebox.practice.cooks import GOOD_LOG, SLOPPY_LOG, Hand, Plan, Style
from firebox.practice.faults import FIRE, Mishap
from firebox.practice.fire import Fire
from firebox.practice.gauges import Panel, true_celsius
from firebox.practice.weather import SKIES, Weather
from firebox.records import Damper, DamperName, Entry, Pit, Reading, Record, Target
from firebox.setup import LIMIT_KELVIN
from tests.benchmarks import forecast_cooks
from tests.benchmarks.alarm_pits import TroubledPit
from tests.benchmarks.grate_gauges import Makes, drawn
from tests.benchmarks.layered_pits import LayeredPit

START: Final = forecast_cooks.START
EVERY: Final = 10.0
"""s between readings."""

FAULTS: Final = tuple(FIRE)

FAMILIES: Final = ("layered", "practice", "strange")
"""Forecasts err on layered pits about as much as on those that the goals are given for: they are judged on first."""

CROSSES: Final = {"forgotten intake": 10.0, "flare": 3.5, "door ajar": 7.0, "ash": 40.0}
"""Minutes from the cause to the crossing that such a fault takes in the middle; spread by a factor of 1.4."""

_MAKES: Final = Makes(lag=(20.0, 80.0), offset=1.0, noise=(0.1, 0.6), spikes=0.001, gaps=0.01, second=(0.1, 0.9))

_SIZES: Final = (235.0, 420.0, 700.0, 950.0, 1400.0, 1890.0)
_LONGEST: Final = {"ash": 150.0, "dying asleep": 120.0, "wet wood": 120.0}
"""Minutes in which a fault has to lead to a crossing; 40 for those not named."""

LID_SECONDS: Final = 300.0
"""So long after a lid was shut the air is not yet what it was. [s]"""

_LIKE: Final = 2.5
"""What takes so many times longer or shorter than drawn is another fault. [-]"""

_TRIED_AGAIN: Final = 1200.0
"""Where no size would do, the next moment is waited for after so long. [s]"""

_LASTING: Final = 6  # steps that the truth stays beyond a limit to have crossed it

_AFTER: Final = 300.0  # s that are played after the crossing


class Case(Struct, frozen=True, kw_only=True):
    """A cook to be played: a normal one (`fault` empty) of `hours`, or one that a fault befalls."""

    family: str
    seed: int
    fault: str = ""
    hours: float = 12.0
    kept: bool = True
    """Whether the cook keeps the log and the pit well; else the log is clumsy and the hand one of three."""

    @property
    def name(self) -> str:
        what = self.fault.replace(" ", "-") or f"normal-{self.hours:g}h"
        return f"{self.family}-{self.seed}-{what}-{'kept' if self.kept else 'clumsy'}"


class Played(Struct, frozen=True, kw_only=True):
    """A cook as the watch hears it, and what was true.

    Attributes
    ----------
    began : float or None
        When the fault befell. [s after `START`]
    crossed : tuple of (float, bool)
        When the truth left the limits, and whether over the upper one; the first is that of the fault.
    truth : tuple of float
        Each `EVERY` seconds. [degC]
    """

    case: Case
    about: str
    target: float
    records: tuple[Record, ...]
    began: float | None
    crossed: tuple[tuple[float, bool], ...]
    truth: tuple[float, ...]
    shut: tuple[float, ...]
    """How long all doors have been shut beside each truth. [s]"""
    laid: tuple[float, ...]
    """When wood went in, whether written down or not. [s]"""


def fetch(case: Case) -> Played | None:
    """Return a cook, from the store where it was played before; None where no size of the fault crosses a limit."""
    path = store() / f"{case.name}.alarm"
    if path.exists():
        kept: Played | None = pickle.loads(path.read_bytes())
        return kept
    played = play(case)
    forecast_cooks.keep(path, played)
    return played


def store() -> Path:
    """Return the directory of the cooks that the present sources make."""
    here = Path(__file__).resolve()
    pits = [here.with_name(name) for name in ("alarm_pits.py", "grate_gauges.py", "layered_pits.py")]
    sources = [here, *pits, forecast_cooks.ROOT / "firebox" / "practice" / "faults.py"]
    path = forecast_cooks.store() / f"alarms-{forecast_cooks.fingerprint(sources)}"
    path.mkdir(parents=True, exist_ok=True)
    return path


def play(case: Case) -> Played | None:
    """Play a cook."""
    return _Player(case).play()


AnyPit = Fire | TroubledPit | LayeredPit


def _pit(case: Case, sky: str) -> tuple[AnyPit, float, str, dict[str, object]]:
    """Return a cold pit, its usual split [kg], what it is in words, and what the cook tells of it."""
    if case.family == "strange":
        strange = TroubledPit(case.seed, SKIES[sky], start_hour=17.0)
        return strange, strange.usual_split_kg, "strange", {}
    fire: Fire | LayeredPit
    if case.family == "layered":
        fire = LayeredPit(case.seed, SKIES[sky], start_hour=17.0)
        usual, litres, wall = fire.usual_split_kg, fire.build.litres, fire.build.wall
    else:
        build = draw(case.seed, _SIZES[case.seed % len(_SIZES)])
        fire = Fire(build, Weather(SKIES[sky], case.seed, 17.0))
        usual, litres, wall = build.usual_split_kg, build.litres, build.wall
    about = f"{case.family}, {litres:.0f} l, {wall * 1e3:.1f} mm"
    return fire, usual, about, {"chamber_litres": round(litres), "wall_mm": round(wall * 1e3, 1)}


class _Player:
    """One cook, stepped ten seconds at a time."""

    def __init__(self, case: Case) -> None:
        self.case = case
        rng = np.random.Generator(np.random.Philox(key=_key(case)))
        self.rng = rng
        sky = list(SKIES)[int(rng.integers(len(SKIES)))]
        self.fire, self.usual, about, self.told = _pit(case, sky)
        if rng.random() < 0.7:
            self.told["usual_split_kg"] = self.usual
        style = Style.SKILFUL if case.kept else list(Style)[int(rng.integers(3))]
        self.plan = Plan(
            split_kg=self.usual,
            target=float(rng.choice([107.0, 121.0, 121.0, 135.0])),
            moisture=float(rng.uniform(0.12, 0.26)),
            intake=float(rng.uniform(0.3, 0.5)),
            meat_kg=0.0 if rng.random() < 0.3 else float(rng.uniform(2.0, 8.0)),
        )
        self.hand = Hand(style, GOOD_LOG if case.kept else SLOPPY_LOG, self.plan, case.seed, START)
        self.panel = Panel(tuple(drawn(_MAKES, rng)), self.fire, case.seed)
        self.about = f"{about}, {sky}, {style}, aim {self.plan.target:.0f}"
        self.begun = 0.0
        self.laid: list[float] = []
        self.truth: list[float] = []
        self.shut: list[float] = []
        self.records: list[Record] = []

    def play(self) -> Played | None:
        self._warm_up(float(self.rng.uniform(0.0, 2.0)) * 3600.0 if self.rng.random() < 0.5 else 0.0)
        if not self.case.fault:
            while self._now() < self.case.hours * 3600.0:
                self._step()
            return self._played(None)
        begin = float(self.rng.uniform(1.8, 2.8)) * 3600.0
        last, size = begin + 3.0 * 3600.0, None
        while size is None:
            self._step()
            if self._now() > last:
                return None
            if self._now() >= begin and self._is_ripe():
                size = self._size()
                begin = max(begin, self._now() + _TRIED_AGAIN) if size is None else begin
        began = self._now()
        self._befall(self.fire, self.hand, size)
        longest = began + 60.0 * _LONGEST.get(self.case.fault, 40.0)
        while self._now() < longest and not self._crossed_after(began):
            self._step()
        if not self._crossed_after(began):
            return None
        for _ in range(round(_AFTER / EVERY)):
            self._step()
        return self._played(began)

    def _played(self, began: float | None) -> Played:
        crossed = self._crossings()
        return Played(
            case=self.case,
            about=self.about,
            target=self.plan.target,
            records=tuple(self.records),
            began=began,
            crossed=tuple(one for one in crossed if began is None or one[0] >= began),
            truth=tuple(self.truth),
            shut=tuple(self.shut),
            laid=tuple(self.laid),
        )

    # --- time ------------------------------------------------------------------------------------

    def _now(self) -> float:
        return self.fire.seconds - self.begun

    def _warm_up(self, seconds: float) -> None:
        self.hand.light(self.fire)
        while self.fire.seconds < seconds:
            self._run()
        if seconds > 0.0:
            self.hand.entries(self.fire.seconds + 3600.0)
        self.begun = self.fire.seconds
        self.hand.epoch = START - timedelta(seconds=self.begun)
        self.laid = []
        self.records = [
            Pit(time=START, **self.told),  # type: ignore[arg-type]
            Target(time=START, celsius=self.plan.target, band=8.0),
        ]
        for damper, opening in ((DamperName.INTAKE, self.fire.intake), (DamperName.STACK, self.fire.stack)):
            self.records.append(Damper(time=START, damper=damper, open=round(opening, 3)))

    def _run(self) -> None:
        wood = self.fire.wood_left()
        self.fire.run(EVERY)
        self.panel.follow(self.fire)
        self.hand.look(self.fire, self.panel.felt("grate"))
        if self.fire.wood_left() > wood + 0.1 * self.usual:
            self.laid.append(self._now())

    def _step(self) -> None:
        self._run()
        time = START + timedelta(seconds=self._now())
        self.truth.append(true_celsius(self.fire, self.panel.gauges[0]))
        wide = self.fire.cook_door or self.fire.firebox_door
        self.shut.append(0.0 if wide else (self.shut[-1] if self.shut else 1e6) + EVERY)
        entries: list[Entry] = self.hand.entries(self.fire.seconds)
        self.records.extend(entries)
        for gauge in self.panel.gauges:
            sample = self.panel.sample(gauge)
            if sample is not None:
                self.records.append(
                    Reading(time=time, probe=gauge.name, celsius=sample.celsius, status=sample.status)
                )

    # --- the fault -------------------------------------------------------------------------------

    def _is_ripe(self) -> bool:
        """Tell whether the fault could befall now: near the target, and at the moment of the cook's round it needs."""
        if len(self.truth) < 60 or self.shut[-1] <= LID_SECONDS:
            return False
        lately = self.truth[-60:]
        if max(lately) > self.plan.target + 12.0 or min(lately) < self.plan.target - 12.0:
            return False
        since = self._now() - self.laid[-1] if self.laid else 1e9
        if self.case.fault == "forgotten intake":
            return since > 0.75 * self._rhythm() and lately[-1] < self.plan.target + 2.0
        if self.case.fault == "wet wood":
            return since > 0.75 * self._rhythm() and lately[-1] < self.plan.target
        return since > 300.0

    def _rhythm(self) -> float:
        """Return how long this cook waits between two splits of late: the middle of the last few waits. [s]"""
        waits = [later - sooner for sooner, later in pairwise(self.laid[-8:])]
        return median(waits) if waits else 1600.0

    def _befall(self, fire: AnyPit, hand: Hand, size: float) -> None:
        FIRE[self.case.fault].befall(Mishap(fire=fire, hand=hand, split_kg=self.usual, size=size))

    def _size(self) -> float | None:
        """Return the size with which the fault crosses its limit about as soon as drawn; None: it does not from here."""
        middle = CROSSES.get(self.case.fault)
        if middle is None:
            return float(self.rng.uniform(0.85, 1.25))
        if self._takes(None, 2.0 * middle):
            return None
        wish = middle * float(np.exp(np.log(1.4) * self.rng.standard_normal()))
        known: dict[float, float] = {}
        smaller = 0.1  # a size that takes too long, or crosses nothing
        for size in np.exp(np.linspace(np.log(0.15), np.log(6.0), 11)).tolist():
            minutes = self._takes(size, 2.0 * middle)
            if minutes is None and not known:
                smaller = size
            elif minutes is not None:
                known[size] = minutes
        for _ in range(
            4 if known else 0
        ):  # between it and the smallest that crosses the time runs from one to the other
            size = float(np.sqrt(smaller * min(known)))
            minutes = self._takes(size, 2.0 * middle)
            if minutes is None:
                smaller = size
            else:
                known[size] = minutes
        off, size = min(((abs(np.log(minutes / wish)), size) for size, minutes in known.items()), default=(9.0, 0.0))
        return size if off < np.log(_LIKE) else None

    def _takes(self, size: float | None, longest: float) -> float | None:
        """Return how many minutes a copy of the pit takes to its limit with a fault of this size; None: too long.

        Without a size nothing befalls it: what crosses its limit anyway shows no fault.
        """
        fire = self.fire.copy()
        assert isinstance(fire, AnyPit)
        hand = copy.deepcopy(self.hand)
        if size is not None:
            self._befall(fire, hand, size)
        rises, truth, shut = FIRE[self.case.fault].rises, self.truth[-1:], self.shut[-1:]
        for _ in range(round(60.0 * longest / EVERY)):
            fire.run(EVERY)
            truth.append(true_celsius(fire, self.panel.gauges[0]))
            shut.append(0.0 if fire.cook_door or fire.firebox_door else shut[-1] + EVERY)
            hand.look(fire, truth[-1])
        crossed = [when for when, over in crossings(truth, shut, self.plan.target) if over is rises]
        return (crossed[0] - EVERY) / 60.0 if crossed else None

    def _crossed_after(self, began: float) -> bool:
        rises = FIRE[self.case.fault].rises
        return any(when >= began and over is rises for when, over in self._crossings())

    def _crossings(self) -> list[tuple[float, bool]]:
        """Return when the truth left the limits for a minute and more, once up to temperature, and not by an open lid."""
        return crossings(self.truth, self.shut, self.plan.target)


def crossings(truth: list[float], shut: list[float], target: float) -> list[tuple[float, bool]]:
    """Return when the truth left the limits, and whether over the upper one.

    `shut` says how long all doors have been shut [s] beside each truth: what an open lid does counts for nothing, nor
    does what is over within a minute.
    """
    out, up, run = [], False, 0
    for count, (celsius, since) in enumerate(zip(truth, shut, strict=True), 1):
        up = up or celsius > target - 8.0
        run = run + 1 if up and abs(celsius - target) > LIMIT_KELVIN and since > LID_SECONDS else 0
        if run == _LASTING:
            out.append(((count - _LASTING + 1) * EVERY, celsius > target))
    return out


def _key(case: Case) -> int:
    words = (case.family, case.fault, "kept" if case.kept else "clumsy")
    return case.seed + 1000 * sum(
        ord(letter) * (1, 7, 49, 343, 2401, 16807, 117649)[place % 7]
        for word in words
        for place, letter in enumerate(word)
    )


def cases(
    *,
    each: int,
    first: int,
    kept: Callable[[int], bool] = lambda number: number // 3 % 3 != 2,
    families: tuple[str, ...] = FAMILIES,
) -> list[Case]:
    """Return the faulty cooks: `each` instances of every fault, on pits of the families in turn."""
    return [
        Case(family=families[number % len(families)], seed=first + number, fault=fault, kept=kept(number))
        for fault in FAULTS
        for number in range(each)
    ]


def normal(*, count: int, first: int, hours: float = 12.0, families: tuple[str, ...] = FAMILIES) -> list[Case]:
    """Return normal cooks, half of them kept well, half of them clumsily, on pits of the families in turn."""
    return [
        Case(
            family=families[number % len(families)],
            seed=first + number,
            hours=hours,
            kept=number // len(families) % 2 == 0,
        )
        for number in range(count)
    ]
