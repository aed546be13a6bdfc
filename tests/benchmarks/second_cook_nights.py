"""Several nights at the same pit, for judging what a first cook is worth to a second.

The pit, its probes and what its owner tells of it are drawn by one seed; weather, wood, hand and luck by the night. They
are kept as the forecast benchmark keeps its own.
"""

import pickle
from pathlib import Path
from typing import Final

import numpy as np
from msgspec import Struct

from firebox.practice.build import draw
from firebox.practice.cooks import GOOD_LOG, Hand, Plan, Style
from firebox.practice.fire import Fire
from firebox.practice.gauges import Panel
from firebox.practice.weather import SKIES, Weather
from firebox.setup import PitBuild
from tests.benchmarks import forecast_cooks
from tests.benchmarks.forecast_cooks import START, Cook, Spec, keep, store
from tests.benchmarks.strange_pits import StrangePit

LITRES: Final = (235.0, 420.0, 700.0, 950.0, 1400.0, 1890.0)


class Night(Struct, frozen=True, kw_only=True):
    """One cook: `pit` draws the pit, `night` everything else.

    `like` is the pit whose size it has (None: its own): a pit that was changed is as large as it was.
    """

    family: str
    pit: int
    night: int
    hours: float
    like: int | None = None

    @property
    def name(self) -> str:
        return f"{self.family}-pit{self.pit}-night{self.night}"


def fetch(night: Night) -> tuple[Cook, PitBuild]:
    """Return a cook and what its owner tells of the pit, from the store where it has been played before."""
    path: Path = store() / f"{night.name}-{night.like}-{night.hours:g}h.second"
    if path.exists():
        kept: tuple[Cook, PitBuild] = pickle.loads(path.read_bytes())
        return kept
    played = _played(night)
    keep(path, played)
    return played


def _played(night: Night) -> tuple[Cook, PitBuild]:
    luck = np.random.Generator(np.random.Philox(key=7_000_000 + 1_000 * night.pit + night.night))
    sky = list(SKIES)[int(luck.integers(len(SKIES)))]
    fire, told = _pit(night, sky)
    plan = Plan(
        split_kg=told.usual_split_kg or 1.0,
        target=float(luck.choice([107.0, 121.0, 121.0, 135.0])),
        moisture=float(luck.uniform(0.12, 0.28)),
        intake=float(luck.uniform(0.25, 0.55)),
        meat_kg=0.0 if luck.random() < 0.3 else float(luck.uniform(2.0, 9.0)),
    )
    seed = 100 * night.pit + night.night
    spec = Spec(family=night.family, seed=night.pit, hours=night.hours)
    gauges = forecast_cooks._gauges(spec, np.random.Generator(np.random.Philox(key=night.pit)))
    hand = Hand(list(Style)[night.pit % 3], GOOD_LOG, plan, seed, START)
    player = forecast_cooks._Player(spec, fire, hand, Panel(gauges, fire, seed), luck)
    cold = luck.random() < 0.5
    player.warm_up(0.0 if cold else 5400.0)
    records, origins = player.play(plan, {}, cold=cold)
    about = f"{told.chamber_litres:.0f} l, {sky}, {'cold' if cold else 'warm'} start"
    return Cook(name=night.name, spec=spec, about=about, records=tuple(records), origins=tuple(origins)), told


def _pit(night: Night, sky: str) -> tuple[Fire | StrangePit, PitBuild]:
    litres = LITRES[(night.pit if night.like is None else night.like) % len(LITRES)]
    seed = 100 * night.pit + night.night
    if night.family == "practice":
        build = draw(night.pit, litres)
        told = PitBuild(
            chamber_litres=round(build.litres),
            wall_mm=round(build.wall * 1e3, 1),
            firebox_insulated=build.insulation is not None,
            usual_split_kg=build.usual_split_kg,
        )
        return Fire(build, Weather(SKIES[sky], seed, 17.0)), told
    pit = StrangePit(night.pit, SKIES[sky], start_hour=17.0)
    pit.weather = Weather(SKIES[sky], seed + 5, 17.0)
    pit.wander = Weather(pit.wander.sky, seed + 6)
    told = PitBuild(
        chamber_litres=round(600.0 * pit.usual_split_kg),
        wall_mm=6.0,
        firebox_insulated=False,
        usual_split_kg=pit.usual_split_kg,
    )
    return pit, told
