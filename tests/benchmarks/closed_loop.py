"""Simulated cooks at simulated pits: how well the pit is kept by clock, by reaction, by skill, and by the advice.

The follower does what the watch advises and nothing else, and lets a tenth of it pass; the sleeper does so from his bed
between midnight and five. The oracle, who knows the true pit, is slow and has to be asked for (`--only oracle`). Pits are those of the practice fire, strange ones, which are no fires at all, and layered ones,
at which forecasts err about as much as at those that the goals are given for.

Run it with ``python -m tests.benchmarks.closed_loop [--hours 10] [--pits 3] [--first SEED] [--only follower ...]``;
``--trace FILE`` writes down what the watched cooks were told and did, ``--plot DIRECTORY`` the trace of the last pit as
SVG, one file a cook (needs matplotlib).
"""

import argparse
from collections.abc import Callable
from itertools import chain
from pathlib import Path
from typing import Final

import numpy as np

from tests.benchmarks.closed_loop_cooks import COOKS as SEEING
from tests.benchmarks.closed_loop_night import Cook, Night, Score
from tests.benchmarks.closed_loop_oracle import Oracle
from tests.benchmarks.closed_loop_pits import FAMILIES

COOKS: Final[dict[str, Callable[[int], Cook]]] = {**SEEING, "oracle": lambda _: Oracle()}

HEAD: Final = (
    "in band %  mean K  below %  lowest  highest  kg/h  visits/h  rescues  smoulder  rest  flaps/h  asleep %  calls"
)


def row(score: Score) -> str:
    """Return a score as a line of the table."""
    flaps = " " * 8 if score.flaps is None else f"{score.flaps:8.1f}"
    slept = "" if score.asleep is None or score.calls is None else f"{score.asleep:9.1f} {score.calls:6.1f}"
    return (
        f"{score.in_band:9.1f} {score.mean:7.1f} {score.below:8.1f} {score.lowest:7.1f} {score.highest:8.1f}"
        f" {score.wood:5.2f} {score.visits:9.1f} {score.rescues:8.1f} {score.smoulder:9.1f} {score.rest:5.0f}{flaps} {slept}"
    )


def mean(scores: list[Score]) -> Score:
    """Return the mean of scores; of the excursions the worst."""
    rows = {name: [getattr(score, name) for score in scores] for name in Score.__struct_fields__}
    told = {name: [value for value in values if value is not None] for name, values in rows.items()}
    worst = {"lowest": min(rows["lowest"]), "highest": max(rows["highest"])}
    means = {name: float(np.mean(values)) if values else None for name, values in told.items()}
    return Score(**{**means, **worst})


def paired(ours: list[Score], theirs: list[Score]) -> str:
    """Return how two cooks compare seed by seed, in points of time in band."""
    gain = np.array([a.in_band - b.in_band for a, b in zip(ours, theirs, strict=True)])
    error = float(gain.std(ddof=1) / np.sqrt(gain.size)) if gain.size > 1 else float("nan")
    return (
        f"{gain.mean():+6.1f} +- {error:4.1f} points in band, better on {int((gain > 0).sum())} of {gain.size} pits"
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--hours", type=float, default=10.0)
    parser.add_argument("--pits", type=int, default=3, help="of each family")
    parser.add_argument("--first", type=int, default=300, help="first seed")
    parser.add_argument("--family", choices=FAMILIES)
    parser.add_argument("--only", choices=tuple(COOKS), nargs="+", default=list(SEEING))
    parser.add_argument("--trace", type=Path, help="file for what the watched cooks were told and did")
    parser.add_argument("--plot", type=Path, help="directory for a plot of each cook at the last pit")
    given = parser.parse_args()
    table: dict[str, dict[str, list[Score]]] = {}
    trace: list[str] = []
    print(f"{'':40s}{HEAD}", flush=True)
    for family in [given.family] if given.family else FAMILIES:
        for seed in range(given.first, given.first + given.pits):
            for name in given.only:
                night = Night(family, seed, COOKS[name])
                score = night.keep(given.hours)
                table.setdefault(name, {}).setdefault(family, []).append(score)
                print(f"{name:16s}{night.about:24.24s}{row(score)}", flush=True)
                trace += [f"--- {name}, {night.about}", *night.lines] if night.cook.watched else []
                if given.plot:
                    from tests.benchmarks.closed_loop_plots import draw  # noqa: PLC0415  the table needs no matplotlib

                    draw(night, name, given.plot / f"cook_{family}_{name.split(',')[0]}.svg")
            if given.trace:
                given.trace.write_text("\n".join(trace) + "\n", encoding="utf-8")
    for name, families in table.items():
        for family, scores in families.items():
            print(f"{name:16s}{family + ', mean':24s}{row(mean(scores))}", flush=True)
    for name in ("clockwork", "reactive", "skilled"):
        if name in table and "follower" in table:
            ours, theirs = (list(chain(*table[each].values())) for each in ("follower", name))
            print(f"follower against {name}: {paired(ours, theirs)}", flush=True)


if __name__ == "__main__":
    main()
