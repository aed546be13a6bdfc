"""What a first cook is worth to a second: the outlook of a second night's first two hours, with and without.

    .venv/bin/python -m tests.benchmarks.second_cook            # six pits of each family, about ten minutes
    .venv/bin/python -m tests.benchmarks.second_cook --pits 2   # a taste

Every pit is cooked on twice, in other weather and with another hand's luck. What `firebox.study` makes of the first
night (six hours) begins the second; beside it stands a second night that begins with nothing, and one that begins with
what was learned on another pit of the same size, as if this one had been rebuilt. The truth is the forecast benchmark's:
the same pit in the same weather, touched no more.
"""

import argparse
import sys
from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path
from typing import Final

if __package__ in {None, ""}:
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from firebox.setup import KnownPit, PitBuild, Setup
from firebox.study import study
from tests.benchmarks.forecast_cooks import HORIZONS, Cook
from tests.benchmarks.forecast_under_test import through_filter
from tests.benchmarks.second_cook_nights import Night, fetch

FIRST_HOURS: Final = 6.0
LOOKED_AT: Final = 7200.0
"""s of the second night that count."""

OTHER: Final = 100
"""Added to a pit's number: another pit of its size."""

APART: Final = timedelta(days=14)

WAYS: Final = ("nothing known", "first cook known", "another pit taken for it")


def learned(cook: Cook, told: PitBuild) -> KnownPit | None:
    """Return what a cook teaches of its pit."""
    return study([Setup(time=cook.records[0].time, build=told), *cook.records])


def errors(cook: Cook, told: PitBuild, known: KnownPit | None) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Return (absolute errors of the median, whether the 80 % band held), each of shape (instants, horizons)."""
    began = cook.records[0].time
    if known is not None:
        known = replace(known, learned=began - APART)
    origins = [origin for origin in cook.origins if origin.seconds <= LOOKED_AT]
    setup = Setup(time=began, build=told, known=known)
    run = through_filter(cook.records, [origin.seconds for origin in origins], setup=setup)
    rows = np.array([np.full((len(HORIZONS), 7), np.nan) if row is None else row for row in run.quantiles])
    truth = np.array([origin.truth for origin in origins])
    return np.abs(rows[:, :, 3] - truth), (rows[:, :, 1] <= truth) & (truth <= rows[:, :, 5])


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the benchmark and print it."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--pits", type=int, default=6, help="pits of each family (6)")
    parser.add_argument("--first", type=int, default=21, help="number of the first pit (21): others are fresh")
    chosen = parser.parse_args(arguments)
    for family in ("practice", "strange"):
        print(f"\n== {family} pits: second night, first two hours; mean absolute error, K ==")
        print(f"{'':34}" + "".join(f"{minutes:>7d}'" for minutes in HORIZONS))
        pooled: dict[str, list[tuple[NDArray[np.float64], NDArray[np.bool_]]]] = {way: [] for way in WAYS}
        for pit in range(chosen.first, chosen.first + chosen.pits):
            _one(family, pit, pooled)
        for way, found in pooled.items():
            error = np.concatenate([each for each, _ in found])
            held = np.concatenate([each for _, each in found])
            _line(way, np.nanmean(error, axis=0))
            _line("    80 % band holds", 100.0 * held.mean(axis=0))
        for way in WAYS[1:]:
            pairs = zip(pooled[way], pooled[WAYS[0]], strict=True)
            better = np.array([np.nanmean(one, axis=0) < np.nanmean(other, axis=0) for (one, _), (other, _) in pairs])
            ratio = _mean(pooled[way]) / _mean(pooled[WAYS[0]])
            _line(f"{way}: ratio", ratio)
            _line("    better on so many pits", better.sum(axis=0))


def _one(family: str, pit: int, pooled: dict[str, list[tuple[NDArray[np.float64], NDArray[np.bool_]]]]) -> None:
    second, told = fetch(Night(family=family, pit=pit, night=2, hours=3.0))
    own = learned(*fetch(Night(family=family, pit=pit, night=1, hours=FIRST_HOURS)))
    other = learned(*fetch(Night(family=family, pit=pit + OTHER, night=1, hours=FIRST_HOURS, like=pit)))
    for way, known in zip(WAYS, (None, own, other), strict=True):
        found = errors(second, told, known)
        pooled[way].append(found)
        _line(f"  {pit} {second.about.split(',')[0]}: {way}"[:34], np.nanmean(found[0], axis=0))


def _mean(found: list[tuple[NDArray[np.float64], NDArray[np.bool_]]]) -> NDArray[np.float64]:
    mean: NDArray[np.float64] = np.nanmean(np.concatenate([each for each, _ in found]), axis=0)
    return mean


def _line(text: str, values: NDArray[np.float64]) -> None:
    print(f"{text:34}" + "".join(f"{value:8.2f}" for value in values), flush=True)


if __name__ == "__main__":
    main()
