"""Simulated cooks at simulated pits: how well the pit is kept by clockwork, by reaction, and by following the advice.

Every cook takes over the same fire, warmed by a skilful hand, in the same weather, and keeps it for some hours with the
same late and clumsy hands: 1-5 min from decision to deed, splits off by a quarter, dampers by half a mark. The follower
does what the watch advises and nothing else; he lets a tenth of it pass. Whoever lets his fire go out lights it again,
which counts as a rescue.

Run it with ``python -m tests.benchmarks.closed_loop [--hours 6] [--pits 3] [--only follower] [--trace FILE]``.
"""

import argparse
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final, Protocol

import numpy as np
from msgspec import Struct

from firebox import watch
from firebox.practice.build import draw
from firebox.practice.cooks import GOOD_LOG, Hand, Plan, Style
from firebox.practice.fire import Fire
from firebox.practice.gauges import Gauge, Panel, true_celsius
from firebox.practice.weather import SKIES, Weather
from firebox.records import (
    Alarm,
    AlarmState,
    Damper,
    DamperName,
    DoorName,
    Entry,
    Lit,
    Move,
    Outlook,
    Reading,
    Split,
    Tick,
)
from firebox.setup import PitBuild, Setup
from tests.benchmarks.strange_pits import StrangePit

START: Final = datetime(2026, 1, 10, 20, 0, tzinfo=UTC)
EVERY: Final = 10.0
"""s between readings."""

TICK: Final = 30.0
"""s between two looks at the advice."""

TARGET: Final = 121.0
BAND: Final = 8.0
FAR_BELOW: Final = 25.0
WARM: Final = 2.0 * 3600.0
DOOR: Final = 25.0
"""s the firebox door stands open for a split."""

_SIZES: Final = (950.0, 420.0, 1400.0, 700.0)
_GAUGE: Final = Gauge(name="grate", place=0.5, lag=45.0)


class Wish(Struct, frozen=True, kw_only=True):
    """What a cook decides to do on the next walk to the pit."""

    kg: float | None = None
    intake: float | None = None


class Cook(Protocol):
    """Decides from what can be seen; asked every ten seconds while no walk is under way."""

    def wish(self, pit: "Keeping") -> Wish | None:
        """Return what to walk to the pit for; None: nothing."""
        ...

    def arrive(self, pit: "Keeping", wish: Wish) -> Wish:
        """Return what is still wanted when the pit is reached."""
        ...


class Clockwork:
    """A usual split every 45 min."""

    def wish(self, pit: "Keeping") -> Wish | None:
        return Wish(kg=pit.usual) if pit.since_split >= 45.0 * 60.0 else None

    def arrive(self, pit: "Keeping", wish: Wish) -> Wish:
        return wish


class Reactive:
    """A usual split whenever the thermometer is 8 K under."""

    def wish(self, pit: "Keeping") -> Wish | None:
        return Wish(kg=pit.usual) if pit.felt < TARGET - BAND and pit.since_split >= 12.0 * 60.0 else None

    def arrive(self, pit: "Keeping", wish: Wish) -> Wish:
        return wish


class Follower:
    """Does what the watch advises, unless it is let pass."""

    def __init__(self, seed: int) -> None:
        self._rng = np.random.Generator(np.random.Philox(key=seed + 70_000))
        self._deaf_until = 0.0

    def wish(self, pit: "Keeping") -> Wish | None:
        wanted = _asked(pit.move, soon=0.5)
        if wanted is None or pit.seconds < self._deaf_until:
            return None
        if self._rng.random() < 0.1:
            self._deaf_until = pit.seconds + 900.0
            return None
        return wanted

    def arrive(self, pit: "Keeping", wish: Wish) -> Wish:
        return _asked(pit.move, soon=3.0) or Wish()


def _asked(move: Move | None, *, soon: float) -> Wish | None:
    """Return what a move asks for within so many minutes; None: nothing."""
    if move is None:
        return None
    kg = move.split.kg if move.split is not None and move.split.in_minutes <= soon else None
    if kg is None and move.intake is None:
        return None
    return Wish(kg=kg, intake=move.intake)


class Score(Struct, frozen=True, kw_only=True):
    """How a pit was kept."""

    in_band: float
    mean: float
    below: float
    lowest: float
    highest: float
    wood: float
    visits: float
    rescues: float


class Keeping:
    """One cook at one pit for some hours."""

    def __init__(self, family: str, seed: int, make: Callable[[int], Cook], *, watched: bool) -> None:
        self.cook = make(seed)
        self.fire, self.usual, sky = _pit(family, seed)
        self.panel = Panel((_GAUGE,), self.fire, seed)
        self._warm(seed)
        self.begun = self.fire.seconds
        self.split_at = self.begun - 1200.0
        self.hands = np.random.Generator(np.random.Philox(key=seed + 60_000))
        self.move: Move | None = None
        self.lines: list[str] = []
        self._drift = 0.0
        self.about = f"{family} {seed}, {sky}, {self.usual} kg"
        self._walk: tuple[float, Wish] | None = None
        self._shut_at: float | None = None
        self._wood, self._visits, self._rescues = 0.0, 0, 0
        self._state = watch.begin(self._setup(family)) if watched else None

    def _setup(self, family: str) -> Setup:
        litres = self.fire.build.litres if isinstance(self.fire, Fire) else 600.0 * self.usual
        build = PitBuild(chamber_litres=round(litres), wall_mm=6.0, usual_split_kg=self.usual)
        return Setup(
            time=START,
            pit=family,
            target_celsius=TARGET,
            band=BAND,
            build=build,
            intake_open=round(self.fire.intake * 8.0) / 8.0,
            stack_open=self.fire.stack,
        )

    def _warm(self, seed: int) -> None:
        plan = Plan(target=TARGET, split_kg=self.usual, doors=False)
        hand = Hand(Style.SKILFUL, GOOD_LOG, plan, seed, START)
        hand.light(self.fire)
        while self.fire.seconds < WARM:
            self.fire.run(EVERY)
            self.panel.follow(self.fire)
            hand.look(self.fire, self.panel.felt("grate"))

    @property
    def seconds(self) -> float:
        return self.fire.seconds - self.begun

    @property
    def time(self) -> datetime:
        return START + timedelta(seconds=self.seconds)

    @property
    def felt(self) -> float:
        return self.panel.felt("grate")

    @property
    def since_split(self) -> float:
        return self.fire.seconds - self.split_at

    def keep(self, hours: float) -> Score:
        """Keep the pit and return how it went."""
        off: list[float] = []
        while self.seconds < 3600.0 * hours:
            self.fire.run(EVERY)
            self.panel.follow(self.fire)
            self._tell()
            self._act()
            off.append(true_celsius(self.fire, _GAUGE) - TARGET)
        size = np.abs(off)
        return Score(
            in_band=100.0 * float(np.mean(size <= BAND)),
            mean=float(np.mean(size)),
            below=100.0 * float(np.mean(np.asarray(off) < -FAR_BELOW)),
            lowest=min(off),
            highest=max(off),
            wood=self._wood / hours,
            visits=self._visits / hours,
            rescues=self._rescues,
        )

    def _hear(self, record: Reading | Entry | Tick) -> None:
        if self._state is None:
            return
        step = watch.step(self._state, record)
        self._state = step.state
        for out in step.out:
            if isinstance(out, Outlook) and out.drift_per_hour is not None:
                self._drift = out.drift_per_hour
            if isinstance(out, Move):
                self._note(out)
            if isinstance(out, Alarm):
                raised = out.state is AlarmState.UNACKNOWLEDGED
                self._line(f"ALARM {out.alarm} {out.state}" + (f" | {out.text} {out.first}" if raised else ""))

    def _note(self, move: Move) -> None:
        def essence(one: Move | None) -> tuple[object, ...]:
            if one is None:
                return ()
            size = one.split and (one.split.kg, one.split.in_minutes < 0.6)
            return size, one.intake, one.stack, one.hold, one.reason

        if essence(move) != essence(self.move):
            wood = f"{move.split.kg:.2f} kg in {move.split.in_minutes:.0f} min" if move.split else "no wood"
            air = f", intake {move.intake:.3f}" if move.intake is not None else ""
            self._line(f"{'hold' if move.hold else 'DO  '} {wood}{air} | {move.reason}")
        self.move = move

    def _line(self, text: str) -> None:
        minutes, drift = self.seconds / 60.0, self._drift
        self.lines.append(
            f"{minutes:5.1f} min {self.felt:6.1f} C {drift:+5.0f}/h in {self.fire.intake:.2f} {self._coals()} {text}"
        )

    def _coals(self) -> str:
        coal = self._state.fire.coal_kg if self._state else None
        return "" if coal is None else f"coals {coal:.1f}"

    def _tell(self) -> None:
        sample = self.panel.sample(_GAUGE)
        if sample is not None:
            self._hear(Reading(time=self.time, probe="grate", celsius=sample.celsius, status=sample.status))
        if round(self.seconds) % round(TICK) == 0:
            self._hear(Tick(time=self.time))

    def _act(self) -> None:
        now = self.seconds
        if self._shut_at is not None and now >= self._shut_at:
            self.fire.set_door(DoorName.FIREBOX, wide=False)
            self._shut_at = None
        if self.felt < TARGET - 28.0 and self.fire.flame_watts() < 1500.0 and self.since_split > 420.0:
            self._rescue()
        elif self._walk is not None:
            if now >= self._walk[0]:
                wish, self._walk = self.cook.arrive(self, self._walk[1]), None
                self._do(wish)
        else:
            wanted = self.cook.wish(self)
            if wanted is not None:
                self._walk = (now + float(self.hands.uniform(60.0, 300.0)), wanted)

    def _rescue(self) -> None:
        kg = round(0.9 + 0.9 * self.usual, 2)
        self.fire.pull_dead_wood()
        self.fire.light(kg)
        self.fire.set_damper(DamperName.INTAKE, max(self.fire.intake, 0.75))
        self._hear(Lit(time=self.time, kg=kg))
        self._hear(Damper(time=self.time, damper=DamperName.INTAKE, open=self.fire.intake))
        self._line("RESCUE")
        self.split_at, self._walk = self.fire.seconds, None
        self._rescues += 1
        self._visits += 1
        self._wood += kg

    def _do(self, wish: Wish) -> None:
        if wish.kg is None and wish.intake is None:
            return
        self._visits += 1
        if wish.intake is not None:
            opening = min(1.0, max(0.0, wish.intake + float(self.hands.uniform(-1.0, 1.0)) / 16.0))
            self.fire.set_damper(DamperName.INTAKE, opening)
            self._hear(Damper(time=self.time, damper=DamperName.INTAKE, open=wish.intake))
            self._line(f"DONE intake {opening:.2f}")
        if wish.kg is not None:
            kg = wish.kg * float(self.hands.uniform(0.75, 1.25))
            self.fire.set_door(DoorName.FIREBOX, wide=True)
            self._shut_at = self.seconds + DOOR
            self.fire.lay_split(kg, 0.18, roughness=1.15)
            self._hear(Split(time=self.time, kg=round(wish.kg, 2)))
            self._line(f"DONE split {kg:.2f} kg")
            self.split_at = self.fire.seconds
            self._wood += kg


def _pit(family: str, seed: int) -> tuple[Fire | StrangePit, float, str]:
    sky = list(SKIES)[seed % len(SKIES)]
    if family == "practice":
        build = draw(seed, _SIZES[seed % len(_SIZES)])
        return Fire(build, Weather(SKIES[sky], seed, 20.0)), build.usual_split_kg, sky
    pit = StrangePit(seed, SKIES[sky], start_hour=20.0)
    return pit, pit.usual_split_kg, sky


COOKS: Final[dict[str, Callable[[int], Cook]]] = {
    "clockwork": lambda seed: Clockwork(),
    "reactive": lambda seed: Reactive(),
    "follower": Follower,
}

_HEAD: Final = "in band %  mean K  below %  lowest  highest  kg/h  visits/h  rescues"


def row(score: Score) -> str:
    """Return a score as a line of the table."""
    return (
        f"{score.in_band:9.1f} {score.mean:7.1f} {score.below:8.1f} {score.lowest:7.1f} {score.highest:8.1f}"
        f" {score.wood:5.2f} {score.visits:9.1f} {score.rescues:8.1f}"
    )


def mean(scores: list[Score]) -> Score:
    """Return the mean of scores; of the excursions the worst."""
    rows = {name: [getattr(score, name) for score in scores] for name in Score.__struct_fields__}
    worst = {"lowest": min(rows["lowest"]), "highest": max(rows["highest"])}
    return Score(**{name: worst.get(name, float(np.mean(values))) for name, values in rows.items()})


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--hours", type=float, default=6.0)
    parser.add_argument("--pits", type=int, default=3, help="of either family")
    parser.add_argument("--first", type=int, default=300, help="first seed")
    parser.add_argument("--family", choices=("practice", "strange"))
    parser.add_argument("--only", choices=tuple(COOKS))
    parser.add_argument("--trace", type=Path, help="file for what the follower was told and did")
    given = parser.parse_args()
    table: dict[str, list[Score]] = {}
    trace: list[str] = []
    print(f"{'':34s}{_HEAD}", flush=True)
    for family in [given.family] if given.family else ["practice", "strange"]:
        for seed in range(given.first, given.first + given.pits):
            for name in [given.only] if given.only else list(COOKS):
                keeping = Keeping(family, seed, COOKS[name], watched=name == "follower")
                score = keeping.keep(given.hours)
                table.setdefault(name, []).append(score)
                print(f"{name:10s}{keeping.about:24.24s}{row(score)}", flush=True)
                trace += [f"--- {name}, {keeping.about}", *keeping.lines] if name == "follower" else []
            if given.trace:
                given.trace.write_text("\n".join(trace) + "\n", encoding="utf-8")
    for name, scores in table.items():
        print(f"{name:10s}{'all':24s}{row(mean(scores))}", flush=True)


if __name__ == "__main__":
    main()
