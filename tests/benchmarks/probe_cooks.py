"""Long cooks as seven probes feel them, on varied pits, in varied weather, under varied hands: for judging the probes."""

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from firebox.cooklog import CookLog, enter
from firebox.estimate.probes import ProbeTrack, hear, settle
from firebox.practice.build import draw
from firebox.practice.cooks import GOOD_LOG, SLOPPY_LOG, Hand, Plan, Style
from firebox.practice.fire import STEP, Fire
from firebox.practice.gauges import Gauge, Panel
from firebox.practice.weather import SKIES, Weather
from firebox.records import Entry, Health, Status
from firebox.setup import Probe, Role, Setup

EPOCH: Final = datetime(2026, 1, 1, tzinfo=UTC)


class Held(float):
    """A reading without noise: what a converter that hangs repeats."""


Heard = float | Status | None
Wrong = Callable[[float, float], Heard]
"""(seconds since the fault began, degC of the tip) -> what the probe says instead."""


class Told(Struct, frozen=True):
    """A cook as it went: what every tip felt each two seconds [degC], and what was written down when [s]."""

    setup: Setup
    gauges: tuple[Gauge, ...]
    felt: dict[str, NDArray[np.float64]]
    entries: tuple[tuple[float, Entry], ...]
    hours: float

    def at(self, name: str, seconds: float) -> float:
        """Return what a tip felt. [degC]"""
        place = seconds / STEP
        low = min(int(place), len(self.felt[name]) - 2)
        one, other = self.felt[name][low], self.felt[name][low + 1]
        return float(one + (place - low) * (other - one))


def cook(seed: int, hours: float) -> Told:
    """Return the cook of a seed: the seed decides the pit, the weather, the hand, its log, and the probes' make."""
    build = draw(seed)
    rng = np.random.Generator(np.random.Philox(key=seed + 77))
    sky = sorted(SKIES)[seed % len(SKIES)]
    fire = Fire(build, Weather(SKIES[sky], seed, 18.0))
    step = float(rng.choice([0.01, 0.1, 0.25, 1.0]))

    def lag(usual: float) -> float:
        return usual * float(np.exp(0.4 * rng.standard_normal()))

    gauges = (
        Gauge(name="grate", place=0.35, lag=lag(40.0), offset=float(rng.normal(0.0, 2.0)), step=step),
        Gauge(name="grate2", place=0.7, lag=lag(40.0), offset=float(rng.normal(0.0, 2.0)), step=0.25, spikes=0.001),
        Gauge(name="grate3", place=0.95, lag=lag(40.0), offset=float(rng.normal(0.0, 2.0)), gaps=0.02),
        Gauge(name="firebox", role=Role.FIREBOX, lag=lag(90.0), noise=1.0, step=0.25),
        Gauge(name="stack", role=Role.STACK, lag=lag(40.0), step=step),
        Gauge(name="ambient", role=Role.AMBIENT, lag=lag(60.0), noise=0.1, step=0.0625),
        Gauge(name="flat", role=Role.MEAT, lag=lag(10.0), noise=0.1, step=step),
    )
    plan = Plan(split_kg=build.usual_split_kg, meat_kg=6.0, target=float(rng.uniform(107.0, 135.0)))
    hand = Hand(list(Style)[seed % 3], SLOPPY_LOG if seed % 2 else GOOD_LOG, plan, seed, EPOCH)
    panel = Panel(gauges, fire, seed)
    hand.light(fire)
    kept: dict[str, list[float]] = {gauge.name: [] for gauge in gauges}
    steps = int(hours * 3600.0 / STEP)
    for count in range(steps):
        for name, values in kept.items():
            values.append(panel.felt(name))
        fire.run(STEP)
        panel.follow(fire)
        if count % 5 == 0:
            hand.look(fire, panel.felt("grate"))
    stamped = [(entry, (entry.time - EPOCH).total_seconds()) for entry in hand.entries(hours * 3600.0)]
    setup = Setup(time=EPOCH, probes=tuple(Probe(name=gauge.name, role=gauge.role) for gauge in gauges))
    return Told(
        setup=setup,
        gauges=gauges,
        felt={name: np.array(values) for name, values in kept.items()},
        entries=tuple((when, entry) for entry, when in stamped),
        hours=hours,
    )


class Change(Struct, frozen=True):
    """A probe's health or signal changed."""

    seconds: float
    probe: str
    health: Health
    text: str


def play(
    told: Told,
    probes: tuple[str, ...],
    begin: float,
    end: float,
    seed: int,
    *,
    every: float = 2.0,
    fault_at: float = 1e18,
    wrong: dict[str, Wrong] | None = None,
    until: Callable[[dict[str, ProbeTrack]], bool] | None = None,
) -> tuple[list[Change], dict[str, ProbeTrack]]:
    """Return every change of health from `begin` to `end` [s], where `wrong` befalls some probes at `fault_at`."""
    rng = np.random.Generator(np.random.Philox(key=seed + 5_000))
    gauges = [gauge for gauge in told.gauges if gauge.name in probes]
    tracks = {gauge.name: ProbeTrack(name=gauge.name, role=gauge.role) for gauge in gauges}
    log, coming = CookLog(), list(told.entries)
    changes: list[Change] = []
    now, due = begin, begin + 10.0
    while now < end:
        now += every
        while coming and coming[0][0] <= now:
            when, entry = coming.pop(0)
            log = enter(log, entry, when, EPOCH)
        before = tracks
        while due < now:
            tracks, _ = settle(tracks, due, log, told.setup)
            due += 10.0
        for gauge in gauges:
            said = _says(told, gauge, now, rng, now - fault_at, (wrong or {}).get(gauge.name))
            if said is not None:
                status = said if isinstance(said, Status) else Status.GOOD
                value = None if isinstance(said, Status) else said
                tracks = {**tracks, gauge.name: hear(tracks[gauge.name], now, value, status)}
        for name, track in tracks.items():
            if track.health is not before[name].health:
                changes.append(Change(now, name, track.health, track.why))
        if until is not None and now > fault_at and until(tracks):
            break
    return changes, tracks


def _says(told: Told, gauge: Gauge, now: float, rng: np.random.Generator, since: float, wrong: Wrong | None) -> Heard:
    missing, spiking, noise, size = rng.random(), rng.random(), rng.standard_normal(), rng.uniform(-120.0, 120.0)
    said: Heard = told.at(gauge.name, now)
    if wrong is not None and since >= 0.0:
        assert isinstance(said, float)
        said = wrong(since, said)
    if missing < gauge.gaps or said is None:
        return None
    if isinstance(said, Status | Held):
        return said
    said += gauge.noise * noise + (size if spiking < gauge.spikes else 0.0)
    return round(round(said / gauge.step) * gauge.step, 3)
