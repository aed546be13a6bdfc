"""What a cook does without a word: how soon the watch asks about it, and how often it asks for nothing.

Run it from the repository's root::

    python -m tests.benchmarks.silent_deeds                     # three pits of each family, some ten minutes
    python -m tests.benchmarks.silent_deeds --family layered --pits 1

A skilful hand with a good log tends a pit for three hours. Then the fire is copied for each deed, which is done to the
copy without a word, and the hand leaves it alone for twenty minutes. The hours before, in which everything was told, say
how often the watch asks for nothing; the cook answers each of these questions with no.
"""

import argparse
import sys
import time
from collections.abc import Callable, Sequence
from copy import deepcopy
from datetime import timedelta
from pathlib import Path
from typing import Final

if __package__ in {None, ""}:
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np
from msgspec import Struct

from firebox.cooklog import CookLog, enter
from firebox.estimate import pitfilter, probes
from firebox.estimate.asking import Question
from firebox.estimate.probes import ProbeTrack
from firebox.practice.build import draw
from firebox.practice.cooks import GOOD_LOG, Hand, Plan, Style
from firebox.practice.fire import Fire
from firebox.practice.gauges import Gauge, Panel
from firebox.practice.weather import SKIES, Weather
from firebox.records import Answer, DamperName, DoorName, Pit
from firebox.setup import Setup
from tests.benchmarks.forecast_cooks import START
from tests.benchmarks.layered_pits import LayeredPit
from tests.benchmarks.strange_pits import StrangePit

EVERY: Final = 10.0
MARK: Final = 0.125
QUIET: Final = 20 * 60.0
"""s in which the hand leaves the fire alone after the deed."""

HOT: Final = 105.0
"""degC that a pit has reached when something is done: what does not burn does not miss its air."""

AnyPit = Fire | LayeredPit | StrangePit


def _intake(shift: float) -> Callable[[AnyPit], None]:
    return lambda fire: fire.set_damper(DamperName.INTAKE, min(1.0, max(0.0, fire.intake + shift)))


def _ajar(fire: AnyPit, share: float) -> None:
    if isinstance(fire, StrangePit):
        fire.set_door(DoorName.COOK, wide=True)  # it knows no half
    else:
        fire.leave_ajar(share)


DEEDS: Final[dict[str, tuple[str, Callable[[AnyPit], None]]]] = {
    "intake a mark down": ("intake", _intake(-MARK)),
    "intake two marks down": ("intake", _intake(-2.0 * MARK)),
    "intake shut": ("intake", _intake(-1.0)),
    "intake a mark up": ("intake", _intake(MARK)),
    "intake two marks up": ("intake", _intake(2.0 * MARK)),
    "cook door ajar": ("door-cook", lambda fire: _ajar(fire, 0.2)),
    "cook door open": ("door-cook", lambda fire: fire.set_door(DoorName.COOK, wide=True)),
    "firebox door open": ("door-firebox", lambda fire: fire.set_door(DoorName.FIREBOX, wide=True)),
    "nothing": ("", lambda _: None),
}
"""Each deed, and how the name of the question about it begins."""


class Watched(Struct, frozen=True, kw_only=True):
    """A cook as heard so far."""

    setup: Setup
    log: CookLog = CookLog()
    tracks: dict[str, ProbeTrack] = {}
    estimate: pitfilter.Estimate
    asked: tuple[str, ...] = ()


class Night:
    """A fire, its hand and its probe, and what the estimate makes of them."""

    def __init__(self, family: str, seed: int) -> None:
        rng = np.random.Generator(np.random.Philox(key=seed + 77_000))
        sky = list(SKIES)[int(rng.integers(len(SKIES)))]
        self.fire, told = _pit(family, seed, sky)
        plan = Plan(split_kg=told.usual_split_kg or 1.0, intake=float(rng.choice([0.375, 0.5, 0.625])), meat_kg=4.0)
        self.hand = Hand(Style.SKILFUL, GOOD_LOG, plan, seed, START)
        gauge = Gauge(
            name="grate",
            place=float(rng.uniform(0.3, 0.7)),
            lag=float(np.exp(rng.uniform(np.log(20.0), np.log(90.0)))),
            offset=float(1.5 * rng.standard_normal()),
            noise=float(rng.uniform(0.1, 0.6)),
            step=0.1,
        )
        self.panel = Panel((gauge,), self.fire, seed)
        setup = Setup(time=START)
        self.watched = Watched(setup=setup, estimate=pitfilter.begin(setup), log=enter(CookLog(), told, 0.0, START))
        self.hand.light(self.fire)

    def run(self, until: float, asked: list[tuple[float, str]], *, true: str | None = None) -> None:
        """Let the fire burn until a second, and note the questions that come.

        The cook says no to those that do not begin with `true`; None: to all of them.
        """
        state = self.watched
        log, tracks, estimate = state.log, dict(state.tracks), state.estimate
        known = {name for _, name in asked}
        while self.fire.seconds < until:
            self.fire.run(EVERY)
            now = self.fire.seconds
            self.panel.follow(self.fire)
            self.hand.look(self.fire, self.panel.felt("grate"))
            for entry in self.hand.entries(now):
                revised = log.revised
                log = enter(log, entry, now, START)
                if revised is not None and (log.revised is None or log.revised > revised):
                    log = _with(log, revised)
            sample = self.panel.sample(self.panel.gauges[0])
            if sample is not None:
                track = tracks.get("grate") or ProbeTrack(name="grate", role=self.panel.gauges[0].role)
                tracks["grate"] = probes.hear(track, now, sample.celsius, sample.status)
            tracks, cell = probes.settle(tracks, now, log, state.setup)
            lead = probes.lead(tracks, state.setup)
            estimate = pitfilter.advance(estimate, now, cell, log, state.setup, lead)
            log = _with(log, None)
            for question in pitfilter.questions(estimate, log, state.setup):
                if question.name not in known:
                    known.add(question.name)
                    asked.append((now, question.name))
                    if true is None or not question.name.startswith(true):
                        log = enter(log, _no(question, now), now, START)
        self.watched = Watched(setup=state.setup, log=log, tracks=tracks, estimate=estimate)

    def fork(self) -> "Night":
        """Return a night that goes its own way from here."""
        other = object.__new__(Night)
        other.fire, other.watched = self.fire.copy(), self.watched
        other.hand, other.panel = deepcopy(self.hand), deepcopy(self.panel)
        return other


def _no(question: Question, now: float) -> Answer:
    about = question.name.split("-")[0]
    return Answer(
        time=START + timedelta(seconds=now),
        at=START + timedelta(seconds=question.seconds),
        question=question.name,
        about="split" if about == "split" else "door" if about == "door" else "damper",
        yes=False,
    )


def _with(log: CookLog, revised: float | None) -> CookLog:
    return CookLog(
        deeds=log.deeds,
        undone=log.undone,
        undos=log.undos,
        revised=revised,
        changes=log.changes,
        denied=log.denied,
    )


def _pit(family: str, seed: int, sky: str) -> tuple[AnyPit, Pit]:
    if family == "practice":
        build = draw(seed)
        told = Pit(
            time=START,
            chamber_litres=round(build.litres),
            wall_mm=round(build.wall * 1e3, 1),
            firebox_insulated=build.insulation is not None,
            usual_split_kg=build.usual_split_kg,
        )
        return Fire(build, Weather(SKIES[sky], seed, 17.0)), told
    if family == "layered":
        pit = LayeredPit(seed, SKIES[sky])
        told = Pit(
            time=START,
            chamber_litres=round(pit.build.litres),
            wall_mm=round(pit.build.wall * 1e3, 1),
            firebox_insulated=pit.build.insulated,
            usual_split_kg=pit.usual_split_kg,
        )
        return pit, told
    strange = StrangePit(seed, SKIES[sky], start_hour=17.0)
    kg = strange.usual_split_kg
    return strange, Pit(time=START, chamber_litres=round(600.0 * kg), usual_split_kg=kg)


def free(night: Night) -> bool:
    """Tell whether the hand has nothing begun, and a pit is hot on wood that was not laid just now."""
    hand, fire = night.hand, night.fire
    begun = bool(hand._deeds or hand._entries)
    return not begun and fire.seconds - hand.split_at > 600.0 and night.panel.felt("grate") > HOT


def tried(family: str, seed: int, hours: float) -> tuple[list[tuple[float, str]], dict[str, list[tuple[float, str]]]]:
    """Return what was asked in the told hours, and after each silent deed: (seconds since it, question)."""
    night, before = Night(family, seed), list[tuple[float, str]]()
    night.run(hours * 3600.0, before)
    while not free(night):
        night.run(night.fire.seconds + 10.0, before)
    at, found = night.fire.seconds, dict[str, list[tuple[float, str]]]()
    for name, (about, deed) in DEEDS.items():
        branch, asked = night.fork(), [(0.0, name) for _, name in before]
        branch.hand.held_until = at + QUIET
        deed(branch.fire)
        branch.run(at + QUIET, asked, true=about or None)
        found[name] = [(when - at, what) for when, what in asked[len(before) :]]
    return before, found


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the benchmark and print it."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--family", choices=["practice", "layered", "strange", "all"], default="all")
    parser.add_argument("--pits", type=int, default=3)
    parser.add_argument("--first", type=int, default=300, help="number of the first pit (300)")
    parser.add_argument("--hours", type=float, default=3.0, help="told hours before the deed (3)")
    chosen = parser.parse_args(arguments)
    families = ["practice", "layered", "strange"] if chosen.family == "all" else [chosen.family]
    began = time.process_time()
    for family in families:
        hours, asked = 0.0, 0
        right: dict[str, list[float]] = {name: [] for name in DEEDS}
        wrong = dict.fromkeys(DEEDS, 0)
        for seed in range(chosen.first, chosen.first + chosen.pits):
            before, found = tried(family, seed, chosen.hours)
            hours, asked = hours + chosen.hours, asked + len(before)
            print(f"{family} {seed}: asked of what was told {[f'{at / 60.0:.0f} {what}' for at, what in before]}")
            for name, questions in found.items():
                about = DEEDS[name][0]
                hits = [at for at, what in questions if about and what.startswith(about)]
                right[name] += hits[:1]
                wrong[name] += len(questions) - len(hits[:1])
                print(f"    {name:24} {[f'{at / 60.0:.1f} {what}' for at, what in questions]}", flush=True)
        print(f"== {family}: {asked} questions in {hours:g} told hours, {12.0 * asked / hours:.2f} in 12 h")
        for name, times in right.items():
            when = f"after {np.median(times) / 60.0:.1f} min" if times else ""
            print(f"  {name:24} asked in {len(times)} of {chosen.pits} {when}; {wrong[name]} other questions")
    print(f"{time.process_time() - began:.0f} s of computing")


if __name__ == "__main__":
    main()
