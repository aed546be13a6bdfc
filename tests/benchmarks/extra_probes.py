"""What a second probe at the grate is worth: the outlook of the same cook, heard by one probe and by two.

    python -m tests.benchmarks.extra_probes              # three pits of each kind, some ten minutes
    python -m tests.benchmarks.extra_probes --pits 1

The leading probe is noisy, prints whole or quarter degrees, and falls silent now and then for minutes; the other hangs at
another place with a lag and an offset of its own. A third, at one end of the
chamber, is as bad as probes come: it must not hurt.
"""

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Final

if __package__ in {None, ""}:
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np
from numpy.typing import NDArray

from firebox.practice.build import draw
from firebox.practice.cooks import GOOD_LOG, Hand, Plan, Style
from firebox.practice.fire import Fire
from firebox.practice.gauges import Gauge, Panel
from firebox.practice.weather import SKIES, Weather
from firebox.records import Reading, Record
from tests.benchmarks import forecast_cooks
from tests.benchmarks.forecast_cooks import HORIZONS, START, Origin, Spec
from tests.benchmarks.forecast_under_test import through_filter
from tests.benchmarks.layered_pits import LayeredPit

WAYS: Final = ("one probe", "two probes", "two probes, the second anywhere")

OTHERS: Final = ((), ("grate2",), ("grate3",))

Errors = NDArray[np.float64]


def played(family: str, seed: int, hours: float) -> tuple[list[Record], list[Origin]]:
    """Return the records of a cook with three probes at the grate, and the truth at the first one's place."""
    rng = np.random.Generator(np.random.Philox(key=seed + 88_000))
    sky = list(SKIES)[int(rng.integers(len(SKIES)))]
    fire: Fire | LayeredPit
    if family == "practice":
        build = draw(seed)
        fire, kg, litres = Fire(build, Weather(SKIES[sky], seed, 17.0)), build.usual_split_kg, build.litres
    else:
        fire = LayeredPit(seed, SKIES[sky])
        kg, litres = fire.usual_split_kg, fire.build.litres
    plan = Plan(split_kg=kg, intake=float(rng.uniform(0.3, 0.5)), meat_kg=4.0)

    def grate(name: str, place: float, noise: float, lag: float, step: float) -> Gauge:
        offset = float(1.5 * rng.standard_normal())
        return Gauge(name=name, place=place, lag=lag, offset=offset, noise=noise, step=step, spikes=0.002, gaps=0.02)

    gauges = (
        grate(
            "grate", float(rng.uniform(0.3, 0.7)), float(rng.uniform(0.4, 0.9)), 45.0, float(rng.choice([0.25, 1.0]))
        ),
        grate(
            "grate2", float(rng.uniform(0.3, 0.7)), float(rng.uniform(0.1, 0.5)), float(rng.uniform(25.0, 70.0)), 0.1
        ),
        grate("grate3", float(rng.choice([0.0, 1.0])), 1.0, 110.0, 1.0),
    )
    spec = Spec(family=family, seed=seed, hours=hours)
    hand = Hand(Style.SKILFUL, GOOD_LOG, plan, seed, START)
    player = forecast_cooks._Player(spec, fire, hand, Panel(gauges, fire, seed), rng)  # type: ignore[arg-type]  # a layered pit has the same handles
    player.warm_up(0.0)
    told: dict[str, object] = {"chamber_litres": round(litres), "usual_split_kg": kg}
    return player.play(plan, told, cold=True)


def errors(records: Sequence[Record], origins: Sequence[Origin], probes: frozenset[str]) -> Errors:
    """Return the absolute errors of the median where only some probes are heard, (instants, horizons). [K]

    While another probe leads it is its place that is foreseen: those instants are nan.
    """
    heard = [record for record in records if not isinstance(record, Reading) or record.probe in probes]
    run = through_filter(heard, [origin.seconds for origin in origins])
    rows = [
        np.full(len(HORIZONS), np.nan) if row is None or lead != "grate" else [one[3] for one in row]
        for row, lead in zip(run.quantiles, run.leads, strict=True)
    ]
    missed: Errors = np.abs(np.array(rows) - np.array([origin.truth for origin in origins]))
    return missed


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the benchmark and print it."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--pits", type=int, default=3, help="pits of each family (3)")
    parser.add_argument("--first", type=int, default=500, help="number of the first pit (500)")
    parser.add_argument("--hours", type=float, default=5.0)
    chosen = parser.parse_args(arguments)
    print(f"{'mean absolute error, K':42}" + "".join(f"{minutes:>7d}'" for minutes in HORIZONS))
    for family in ("practice", "layered"):
        found: dict[str, list[Errors]] = {way: [] for way in WAYS}
        for seed in range(chosen.first, chosen.first + chosen.pits):
            records, origins = played(family, seed, chosen.hours)
            each = [errors(records, origins, frozenset({"grate", *others})) for others in OTHERS]
            # Only the instants that all of them speak of.
            spoken = np.all(np.isfinite(each), axis=(0, 2))
            for way, missed in zip(WAYS, each, strict=True):
                found[way].append(missed[spoken])
        for way, all_of in found.items():
            mean = np.mean(np.concatenate(all_of), axis=0)
            count = sum(len(missed) for missed in all_of)
            print(f"{family + ', ' + way:42}" + "".join(f"{value:8.2f}" for value in mean) + f"  {count}", flush=True)


if __name__ == "__main__":
    main()
