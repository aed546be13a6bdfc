"""One simulated cook at one simulated pit for a night: the pit, the weather, the hands, and the score.

Every cook takes over the same fire, warmed by a skilful hand, in the same weather. Hands are late and clumsy: some
minutes from decision to deed, splits off by a quarter, dampers by half a mark. Whoever lets his fire go out lights it
again, which counts as a rescue.
"""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Final, Protocol

import numpy as np
from msgspec import Struct

from firebox import watch
from firebox.practice.cooks import GOOD_LOG, Hand, Plan, Style
from firebox.practice.gauges import Gauge, Panel, true_celsius
from firebox.records import (
    Acknowledge,
    Alarm,
    AlarmState,
    Awake,
    Damper,
    DamperName,
    DoorName,
    Entry,
    Lit,
    Move,
    Outlook,
    Priority,
    Reading,
    Sleep,
    Split,
    Tick,
)
from firebox.setup import PitBuild, Setup
from tests.benchmarks.closed_loop_pits import litres, pit, smoulders

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

BED: Final = (4.0 * 3600.0, 9.0 * 3600.0)
"""From midnight to five in the morning, in seconds from the start."""

LATE: Final = (60.0, 300.0)
PROMPT: Final = (0.0, 90.0)
"""s from decision to deed."""

GAUGE: Final = Gauge(name="grate", place=0.5, lag=45.0)


class Wish(Struct, frozen=True, kw_only=True):
    """What a cook decides to do on the next walk to the pit."""

    kg: float | None = None
    intake: float | None = None


class Cook(Protocol):
    """Decides from what can be seen; asked every ten seconds while no walk is under way.

    `delay` is from decision to deed [s]; `clumsy` hands miss weight and opening; a `watched` cook has the watch beside him.
    """

    delay: tuple[float, float]
    clumsy: bool
    watched: bool

    def wish(self, night: "Night") -> Wish | None:
        """Return what to walk to the pit for; None: nothing."""
        ...

    def arrive(self, night: "Night", wish: Wish) -> Wish:
        """Return what is still wanted when the pit is reached."""
        ...


class Score(Struct, frozen=True, kw_only=True):
    """How a pit was kept: shares in percent, temperatures in kelvin off the target, wood in kg/h, times in minutes."""

    in_band: float
    mean: float
    below: float
    lowest: float
    highest: float
    wood: float
    visits: float
    rescues: float
    smoulder: float
    rest: float
    """The longest undisturbed stretch."""
    asleep: float | None = None
    """In band from midnight to five, where the cook slept."""
    calls: float | None = None
    """How often he was called meanwhile."""
    flaps: float | None = None
    """How often an hour the watch turned its advice without saying why, where nothing had been done."""


class Night:
    """One cook at one pit for some hours."""

    def __init__(self, family: str, seed: int, make: Callable[[int], Cook]) -> None:
        self.cook = make(seed)
        self.fire, self.usual, sky = pit(family, seed)
        self.panel = Panel((GAUGE,), self.fire, seed)
        self._warm(seed)
        self.begun = self.fire.seconds
        self.split_at = self.begun - 1200.0
        self.intake_at = self.begun
        self.told_intake = round(self.fire.intake * 8.0) / 8.0
        self.hands = np.random.Generator(np.random.Philox(key=seed + 60_000))
        self.move: Move | None = None
        self.ringing: set[str] = set()
        self.asleep = False
        self.calls = 0
        self.lines: list[str] = []
        self.trace: list[tuple[float, float, float]] = []
        self.deeds: list[tuple[float, str, float]] = []
        self.advice: list[Move] = []
        self._flaps = self._news = 0
        self._drift = 0.0
        self.about = f"{family} {seed}, {sky}, {self.usual} kg"
        self._walk: tuple[float, Wish] | None = None
        self._shut_at: float | None = None
        self._wood, self._rescues, self._smoulder = 0.0, 0, 0.0
        self._visits: list[float] = []
        self._state = watch.begin(self._setup(family)) if self.cook.watched else None

    def _setup(self, family: str) -> Setup:
        build = PitBuild(chamber_litres=round(litres(self.fire)), wall_mm=6.0, usual_split_kg=self.usual)
        return Setup(
            time=START,
            pit=family,
            target_celsius=TARGET,
            band=BAND,
            build=build,
            intake_open=self.told_intake,
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

    # --- what a cook sees ------------------------------------------------------------------------

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

    def slope(self, minutes: float = 5.0) -> float:
        """Return the fall or rise over the last minutes. [K/min]"""
        count = round(60.0 * minutes / EVERY)
        if len(self.trace) <= count:
            return 0.0
        return (self.trace[-1][1] - self.trace[-1 - count][1]) / minutes

    # --- the night -------------------------------------------------------------------------------

    def keep(self, hours: float) -> Score:
        """Keep the pit and return how it went."""
        while self.seconds < 3600.0 * hours:
            self.fire.run(EVERY)
            self.panel.follow(self.fire)
            self._tell()
            self._act()
            self._smoulder += EVERY / 60.0 if smoulders(self.fire) else 0.0
            self.trace.append((self.seconds, self.felt, true_celsius(self.fire, GAUGE) - TARGET))
        return self._score(hours)

    def _score(self, hours: float) -> Score:
        off = np.array([row[2] for row in self.trace])
        when = np.array([row[0] for row in self.trace])
        bed = off[(when >= BED[0]) & (when < BED[1])]
        slept = self.asleep or self.calls > 0 or any(what == "asleep" for _, what, _ in self.deeds)
        return Score(
            in_band=100.0 * float(np.mean(np.abs(off) <= BAND)),
            mean=float(np.mean(np.abs(off))),
            below=100.0 * float(np.mean(off < -FAR_BELOW)),
            lowest=float(off.min()),
            highest=float(off.max()),
            wood=self._wood / hours,
            visits=len(self._visits) / hours,
            rescues=self._rescues,
            smoulder=self._smoulder,
            rest=float(np.max(np.diff([0.0, *self._visits, 3600.0 * hours]))) / 60.0,
            asleep=100.0 * float(np.mean(np.abs(bed) <= BAND)) if slept and bed.size else None,
            calls=float(self.calls) if slept else None,
            flaps=self._flaps / hours if self.cook.watched else None,
        )

    def hear(self, record: Reading | Entry | Tick) -> None:
        """Let the watch hear a record, where there is one, and take in what it says."""
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
                self._ring(out)

    def _ring(self, alarm: Alarm) -> None:
        loud = alarm.state is AlarmState.UNACKNOWLEDGED and alarm.priority is not Priority.LOW
        (self.ringing.add if loud else self.ringing.discard)(alarm.alarm)
        said = f" | {alarm.text} {alarm.first}" if alarm.state is AlarmState.UNACKNOWLEDGED else ""
        self._line(f"ALARM {alarm.alarm} {alarm.state}{said}")

    def answer_call(self) -> None:
        """Acknowledge everything that rings."""
        for alarm in sorted(self.ringing):
            self.hear(Acknowledge(time=self.time, alarm=alarm))
        self.ringing.clear()

    def go_to_bed(self) -> None:
        self.asleep = True
        self.deeds.append((self.seconds, "asleep", 0.0))
        self.hear(Sleep(time=self.time))

    def get_up(self) -> None:
        self.asleep = False
        self.hear(Awake(time=self.time))

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
            self.advice.append(move)
        self._flaps += flapped(self.move, move) and self._news == len(self.deeds)
        self._news = len(self.deeds)
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
        sample = self.panel.sample(GAUGE)
        if sample is not None:
            self.hear(Reading(time=self.time, probe="grate", celsius=sample.celsius, status=sample.status))
        if round(self.seconds) % round(TICK) == 0:
            self.hear(Tick(time=self.time))

    # --- the hands -------------------------------------------------------------------------------

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
                self._walk = (now + float(self.hands.uniform(*self.cook.delay)), wanted)

    def _rescue(self) -> None:
        kg = round(0.9 + 0.9 * self.usual, 2)
        self.fire.pull_dead_wood()
        self.fire.light(kg)
        self.told_intake = max(self.told_intake, 0.75)
        self.fire.set_damper(DamperName.INTAKE, max(self.fire.intake, 0.75))
        self.hear(Lit(time=self.time, kg=kg))
        self.hear(Damper(time=self.time, damper=DamperName.INTAKE, open=self.fire.intake))
        self._line("RESCUE")
        self.deeds.append((self.seconds, "rescue", kg))
        self.split_at, self.intake_at, self._walk = self.fire.seconds, self.fire.seconds, None
        self._rescues += 1
        self._visits.append(self.seconds)
        self._wood += kg

    def _do(self, wish: Wish) -> None:
        if wish.kg is None and wish.intake is None:
            return
        self._visits.append(self.seconds)
        clumsy = 1.0 if self.cook.clumsy else 0.0
        if wish.intake is not None:
            opening = min(1.0, max(0.0, wish.intake + clumsy * float(self.hands.uniform(-1.0, 1.0)) / 16.0))
            self.fire.set_damper(DamperName.INTAKE, opening)
            self.told_intake, self.intake_at = wish.intake, self.fire.seconds
            self.hear(Damper(time=self.time, damper=DamperName.INTAKE, open=wish.intake))
            self._line(f"DONE intake {opening:.2f}")
            self.deeds.append((self.seconds, "intake", opening))
        if wish.kg is not None:
            kg = wish.kg * (1.0 + clumsy * float(self.hands.uniform(-0.25, 0.25)))
            self.fire.set_door(DoorName.FIREBOX, wide=True)
            self._shut_at = self.seconds + DOOR
            self.fire.lay_split(kg, 0.18, roughness=1.15)
            self.hear(Split(time=self.time, kg=round(wish.kg, 2)))
            self._line(f"DONE split {kg:.2f} kg")
            self.deeds.append((self.seconds, "split", kg))
            self.split_at = self.fire.seconds
            self._wood += kg


def flapped(before: Move | None, move: Move) -> bool:
    """Tell whether a move asks for other wood, or for wood or air at another time, than the one before, without a reason."""
    if before is None or "said before" in move.reason or "thought over" in move.reason or "for now" in move.reason:
        return False
    if (before.split is None) != (move.split is None):
        due = before.split or move.split
        return due is not None and due.in_minutes < 10.0
    if before.split is not None and move.split is not None:
        moved = abs(before.split.in_minutes - move.split.in_minutes) > 3.0
        if moved or before.split.kg != move.split.kg:
            return True
    return before.intake is not None and move.intake is not None and before.intake != move.intake
