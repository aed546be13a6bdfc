"""A cold pit brought up by somebody who does exactly what the advice says, some minutes late, and nothing else.

Run it with ``python -m tests.benchmarks.from_cold [--minutes 90]``: practice pits in two weathers, and strange ones.
"""

import argparse
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Final, Protocol, cast

from msgspec import Struct

from firebox import watch
from firebox.practice.build import Build
from firebox.practice.fire import Fire
from firebox.practice.gauges import Gauge, Panel
from firebox.practice.rounds import BUILDS, WOODS
from firebox.practice.session import perform
from firebox.practice.weather import SKIES, Weather
from firebox.records import Damper, DamperName, DoorName, Entry, Lit, Move, Reading, Record, Split, Tick
from firebox.setup import PitBuild, Setup
from tests.benchmarks.strange_pits import StrangePit, strange

START: Final = datetime(2026, 1, 10, 9, 0, tzinfo=UTC)
TARGET: Final = 121.0
BAND: Final = 14.0
EVERY, TICK, DOOR = 10.0, 30.0, 25.0
"""s between readings, between looks at the advice, and that a split keeps the firebox open."""

GAUGE: Final = Gauge(name="grate", place=0.5, lag=45.0)


class Came(Struct, frozen=True, kw_only=True):
    """How a pit came up: minutes into the band (None: not), highest above the target [K], share in band from then on."""

    into: float | None
    highest: float
    held: float
    lit: int
    pieces: tuple[tuple[float, float], ...]
    """When each went on [min] and which share of a usual split it weighed."""


class Case(Protocol):
    """Makes a cold pit of a seed and what the watch is told of it."""

    def __call__(self) -> tuple[Fire | StrangePit, Setup, float]: ...


def practice(pit: str, sky: str, wood: str, seed: int) -> Case:
    """Return a practice pit; the wood as on its pile."""

    def make() -> tuple[Fire | StrangePit, Setup, float]:
        build: Build = BUILDS[pit][1]
        fire = Fire(build, Weather(SKIES[sky], seed, 9.0), intake=1.0)
        return fire, _setup(build.litres, build.usual_split_kg), WOODS[wood][1]

    return make


def other(sky: str, seed: int) -> Case:
    """Return a strange pit."""

    def make() -> tuple[Fire | StrangePit, Setup, float]:
        pit = strange(seed, SKIES[sky])
        pit.set_damper(DamperName.INTAKE, 1.0)
        return pit, _setup(600.0 * pit.usual_split_kg, pit.usual_split_kg), 0.18

    return make


def _setup(litres: float, usual: float) -> Setup:
    build = PitBuild(chamber_litres=round(litres), wall_mm=6.0, usual_split_kg=usual)
    return Setup(
        time=START, pit="cold", target_celsius=TARGET, band=BAND, build=build, intake_open=1.0, stack_open=1.0
    )


class Follower:
    """One pit, and whoever follows the advice `delay` seconds after it asks for something.

    `lines` holds what was done and why.
    """

    def __init__(self, case: Case, seed: int, delay: float) -> None:
        self.fire, self.setup, self.moisture = case()
        self.usual = self.setup.build.usual_split_kg or 1.3
        self.panel = Panel((GAUGE,), self.fire, seed)
        self.delay = delay
        self.state = watch.step(watch.begin(self.setup), self.setup).state
        self.move: Move | None = None
        self.lit, self.pieces = 0, list[tuple[float, float]]()
        self.lines: list[str] = []
        self._goes: float | None = None
        self._shut: float | None = None

    def come_up(self, minutes: float) -> Came:
        """Follow for so many minutes."""
        felt: list[float] = []
        while self.fire.seconds < 60.0 * minutes:
            self._pass()
            felt.append(self.panel.felt("grate"))
            if self.fire.seconds % TICK == 0.0:
                self._tell(Tick(time=self.time))
                self._look()
        place = next((k for k, celsius in enumerate(felt) if celsius >= TARGET - BAND), None)
        later = [] if place is None else felt[place:]
        held = sum(abs(celsius - TARGET) <= BAND for celsius in later) / max(1, len(later))
        into = None if place is None else (place + 1) * EVERY / 60.0
        return Came(into=into, highest=max(felt) - TARGET, held=held, lit=self.lit, pieces=tuple(self.pieces))

    @property
    def time(self) -> datetime:
        return START + timedelta(seconds=self.fire.seconds)

    def _pass(self) -> None:
        self.fire.run(EVERY)
        self.panel.follow(self.fire)
        if self._shut is not None and self.fire.seconds >= self._shut:
            self.fire.set_door(DoorName.FIREBOX, wide=False)
            self._shut = None
        sample = self.panel.sample(GAUGE)
        if sample is not None:
            self._tell(Reading(time=self.time, probe="grate", celsius=sample.celsius))

    def _tell(self, record: Record) -> None:
        step = watch.step(self.state, record)
        self.state = step.state
        self.move = next((one for one in reversed(step.out) if isinstance(one, Move)), self.move)

    def _look(self) -> None:
        move, now = self.move, self.fire.seconds
        if move is None:
            return
        if self._goes is None and self._wanted(move):
            self._goes = now + self.delay
        if self._goes is not None and now >= self._goes:
            self._goes = None
            for entry in self._wanted(move):
                self.lines.append(f"{now / 60.0:5.1f} {self.panel.felt('grate'):6.1f} {entry} {move.reason}")
                self._do(entry)

    def _wanted(self, move: Move) -> list[Entry]:
        """Return what the advice asks to be done now, in order."""
        if move.light and move.split is None:
            return [Lit(time=self.time, kg=round(0.9 + 0.9 * self.usual, 2))]
        wanted: list[Entry] = [
            Damper(time=self.time, damper=name, open=opening)
            for name, opening in ((DamperName.INTAKE, move.intake), (DamperName.STACK, move.stack))
            if opening is not None
        ]
        if move.split is not None and move.split.in_minutes <= 0.5:
            wanted.append(Split(time=self.time, kg=move.split.kg, moisture=self.moisture))
        return wanted

    def _do(self, entry: Entry) -> None:
        if isinstance(entry, Lit):
            self.fire.pull_dead_wood()
            self.lit += 1
        if isinstance(entry, Split) and entry.kg is not None:
            self._shut = self.fire.seconds + DOOR
            self.pieces.append((self.fire.seconds / 60.0, entry.kg / self.usual))
        perform(cast("Fire", self.fire), entry, self.usual)  # a strange pit has the same handles
        self._tell(entry)


CASES: Final[tuple[tuple[str, Callable[[], Case], int, float], ...]] = (
    *(
        (f"{pit}, {sky}, {wood}, {seed}", lambda p=pit, s=sky, w=wood, n=seed: practice(p, s, w, n), seed, delay)
        for pit in BUILDS
        for sky, wood, seed, delay in (
            ("calm", "dry", 1, 0.0),
            ("calm", "seasoned", 2, 180.0),
            ("windy night", "seasoned", 1, 0.0),
            ("windy night", "seasoned", 2, 300.0),
        )
    ),
    *(
        (f"strange, {sky}, {seed}", lambda s=sky, n=seed: other(s, n), seed, delay)
        for sky, seed, delay in (
            ("calm", 2, 180.0),
            ("breezy", 3, 300.0),
            ("windy night", 4, 0.0),
            ("calm", 5, 300.0),
        )
    ),
)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--minutes", type=float, default=90.0)
    given = parser.parse_args()
    for about, case, seed, delay in CASES:
        came = Follower(case(), seed, delay).come_up(given.minutes)
        into = "never" if came.into is None else f"{came.into:.0f} min"
        print(
            f"{about:34s}{delay / 60.0:2.0f} min late: into the band {into:>7s}, highest {came.highest:+5.0f} K,"
            f" held {came.held:4.0%}, lit {came.lit}, pieces {len(came.pieces)}",
            flush=True,
        )


if __name__ == "__main__":
    main()
