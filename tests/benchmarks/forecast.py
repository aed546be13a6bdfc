"""The forecast benchmark: the outlook against what would have come, beside general forecasters.

Run it from the repository's root::

    python -m tests.benchmarks.forecast --quick          # a taste, about a minute
    python -m tests.benchmarks.forecast                  # eighteen pits of three kinds, good and sloppy logs
    python -m tests.benchmarks.forecast --ablation       # what each part of the estimate buys
    python -m tests.benchmarks.forecast --bare           # estimate alone, without advice and alarms: quicker
    python -m tests.benchmarks.forecast --recorded       # open recorded series too

The first run plays the cooks and lets the yardsticks forecast; both are kept under the system's temporary directory
and used again until their sources change, so that a later run costs only the forecaster's own time.
"""

import argparse
import json
import pickle
import sys
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

if __package__ in {None, ""}:
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np
from numpy.typing import NDArray

from firebox.records import Reading, Record, Status
from tests.benchmarks import forecast_ablation, forecast_recorded
from tests.benchmarks.forecast_cooks import (
    FAMILIES,
    HORIZONS,
    REGIMES,
    Cook,
    Spec,
    fetch,
    fingerprint,
    keep,
    specs,
    store,
)
from tests.benchmarks.forecast_score import Table, mean
from tests.benchmarks.forecast_under_test import Run, through_filter, through_watch
from tests.benchmarks.yardsticks import by_the_minute, yardsticks

US: Final = "outlook"


def options(arguments: Sequence[str] | None = None) -> argparse.Namespace:
    """Return the options of a command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--pits", type=int, default=6, help="pits of each family (6)")
    parser.add_argument("--seeds", type=int, default=1, help="nights at each pit (1)")
    parser.add_argument("--first-seed", type=int, default=1, help="number of the first night (1): others are fresh")
    parser.add_argument("--hours", type=float, default=8.0, help="length of a cook (8)")
    parser.add_argument("--logging", choices=["good", "sloppy", "both"], default="both")
    parser.add_argument("--family", choices=[*FAMILIES, "all"], default="all")
    parser.add_argument("--hands", choices=["mixed", "skilful"], default="mixed", help="who tends the fires")
    parser.add_argument("--quick", action="store_true", help="two pits of each family, five hours, good logs")
    parser.add_argument("--bare", action="store_true", help="probes and estimate alone, not the whole reducer")
    parser.add_argument("--without", choices=sorted(forecast_ablation.PARTS), help="leave a part of the estimate out")
    parser.add_argument("--ablation", action="store_true", help="a table of what each part buys; implies --bare")
    parser.add_argument("--recorded", action="store_true", help="open recorded series as well")
    parser.add_argument("--only", help="cooks whose name holds this text")
    parser.add_argument("--yardsticks-only", action="store_true", help="do not run the forecaster under test")
    parser.add_argument("--json", action="store_true", help="figures as JSON on standard output")
    chosen = parser.parse_args(arguments)
    if chosen.quick:
        chosen.pits, chosen.seeds, chosen.hours, chosen.logging = 2, 1, 5.0, "good"
    return chosen


# --- forecasting -----------------------------------------------------------------------------------


def lead_readings(records: Sequence[Record], probe: str = "grate") -> tuple[list[float], list[float]]:
    """Return (seconds, degC) of the good readings of one probe."""
    epoch = records[0].time
    good = [r for r in records if isinstance(r, Reading) and r.probe == probe and r.status is Status.GOOD]
    return [(r.time - epoch).total_seconds() for r in good], [r.celsius for r in good if r.celsius is not None]


def yardstick_tables(cook: Cook) -> dict[str, Table]:
    """Return the scores of the general forecasters on a cook, from the store where they stand there."""
    mark = fingerprint([Path(__file__).with_name("yardsticks.py"), Path(__file__).with_name("forecast_score.py")])
    spec = cook.spec
    path = store() / f"{spec.name}-{spec.hours:g}h-{spec.every_minutes:g}-{mark}.yardsticks"
    if path.exists():
        kept: dict[str, Table] = pickle.loads(path.read_bytes())
        return kept
    seconds, celsius = lead_readings(cook.records)
    tables = {}
    for yardstick in yardsticks():
        rows = []
        learned = 0.0
        for origin in cook.origins:
            while learned + 600.0 < origin.seconds:
                learned += 600.0
                past = by_the_minute(seconds, celsius, learned)
                if len(past) > 2:
                    yardstick.learn(past, HORIZONS)
            rows.append(yardstick.forecast(by_the_minute(seconds, celsius, origin.seconds), HORIZONS).quantiles)
        tables[yardstick.name] = Table(rows, truths(cook))
    keep(path, tables)
    return tables


def truths(cook: Cook) -> NDArray[np.float64]:
    """Return what came if nothing more was done; shape (n_origins, n_horizons). [degC]"""
    return np.array([origin.truth for origin in cook.origins])


def under_test(cook: Cook, *, bare: bool, without: str | None = None) -> tuple[Table, Run]:
    """Return the scores of the forecaster under test on a cook, with a part of it left out if so wished."""
    origins = [origin.seconds for origin in cook.origins]
    with forecast_ablation.left_out(without):
        records = forecast_ablation.told(cook.records, without)
        run = (through_filter if bare else through_watch)(records, origins)
    return Table(run.quantiles, truths(cook)), run


def floor_error(cooks: Sequence[Cook], mask: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Return the error of the true pit in the mean wind: nobody can do better who does not know the wind. [K]"""
    windless = np.array([origin.windless for cook in cooks for origin in cook.origins])
    return mean(np.abs(windless - np.concatenate([truths(cook) for cook in cooks])), mask)


# --- figures ---------------------------------------------------------------------------------------


def regimes(cook: Cook) -> dict[str, NDArray[np.bool_]]:
    """Return which origins of a cook belong to which regime."""
    words = np.array([origin.regime for origin in cook.origins])
    return {"all": np.ones(len(words), dtype=bool), **{word: words == word for word in REGIMES}}


def pooled(tables: Sequence[Table]) -> Table:
    """Return the scores of several cooks as one."""
    whole = Table([], np.zeros((0, len(HORIZONS))))
    whole.error = np.concatenate([table.error for table in tables])
    whole.crps = np.concatenate([table.crps for table in tables])
    whole.inside = np.concatenate([table.inside for table in tables])
    return whole


def figures(cooks: Sequence[Cook], scores: Sequence[dict[str, Table]]) -> dict[str, Any]:  # plain JSON values
    """Return every figure of a group of cooks: forecaster -> regime -> measure -> value at each horizon."""
    masks = {word: np.concatenate([regimes(cook)[word] for cook in cooks]) for word in ("all", *REGIMES)}
    out: dict[str, Any] = {"cooks": len(cooks)}
    tables = {name: pooled([score[name] for score in scores]) for name in scores[0]}
    if US in tables:
        # pairs only: where the forecaster under test knew nothing yet, the yardsticks are not counted either
        silent = np.isnan(tables[US].error[:, 0])
        out["without outlook"] = int(np.sum(silent))
        masks = {word: mask & ~silent for word, mask in masks.items()}
    out["floor"] = {word: floor_error(cooks, mask).tolist() for word, mask in masks.items()}
    out["origins"] = {word: int(np.sum(mask)) for word, mask in masks.items()}
    for name, table in tables.items():
        out[name] = {
            word: {
                "error": mean(table.error, mask).tolist(),
                "coverage": mean(table.inside, mask).tolist(),
                "crps": mean(table.crps, mask).tolist(),
            }
            for word, mask in masks.items()
        }
    return out


def report(title: str, group: dict[str, Any], cooks: Sequence[Cook], scores: Sequence[dict[str, Table]]) -> None:
    """Print the figures of a group of cooks."""
    print(f"\n== {title}: {group['cooks']} cooks, {group['origins']['all']} forecasts ==")
    print(f"{'mean absolute error, K':34}" + "".join(f"{m:>7d}'" for m in HORIZONS) + "   n")
    names = [name for name in scores[0] if name != US]
    if group.get("without outlook"):
        print(
            f"{group['without outlook']} forecasts are missing and left out, with the yardsticks' of those instants"
        )
    for word in ("all", *REGIMES):
        if not group["origins"][word]:
            continue
        best = np.nanmin([group[name][word]["error"] for name in names], axis=0)
        _line(f"{word}: best yardstick", best, group["origins"][word])
        _line("    true pit, mean wind", group["floor"][word])
        if US in group:
            ours = group[US][word]
            _line(f"{word}: outlook", ours["error"], group["origins"][word])
            _line("    ratio to the best", np.array(ours["error"]) / best)
            _line("    80 % band holds", 100.0 * np.array(ours["coverage"]))
            crps_best = np.nanmin([group[name][word]["crps"] for name in names], axis=0)
            _line("    CRPS ratio to the best", np.array(ours["crps"]) / crps_best)
    for name in names:
        _line(f"yardstick {name}", group[name]["all"]["error"])
        _line("    80 % band holds", 100.0 * np.array(group[name]["all"]["coverage"]))
        _line("    CRPS", group[name]["all"]["crps"])
    if US in group:
        _line("outlook CRPS", group[US]["all"]["crps"])
        _worst(cooks, scores, names)


def _line(text: str, values: Sequence[float] | NDArray[np.float64], count: int | None = None) -> None:
    print(f"{text:34}" + "".join(f"{v:8.2f}" for v in values) + (f"  {count}" if count is not None else ""))


def _worst(cooks: Sequence[Cook], scores: Sequence[dict[str, Table]], names: Sequence[str]) -> None:
    print("by cook: outlook error, then its ratio to that cook's best yardstick")
    for cook, score in zip(cooks, scores, strict=True):
        mask = regimes(cook)["all"]
        ours = mean(score[US].error, mask)
        best = np.nanmin([mean(score[name].error, mask) for name in names], axis=0)
        figures_text = "".join(f"{v:6.1f}" for v in ours) + "  |" + "".join(f"{v:6.2f}" for v in ours / best)
        print(f"  {cook.name:24}{figures_text}  {cook.about}")


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the benchmark and print it."""
    chosen = options(arguments)
    if chosen.ablation:
        forecast_ablation.report(_cooks_of(chosen), lambda cook, part: under_test(cook, bare=True, without=part)[0])
        return
    kinds = ["good", "sloppy"] if chosen.logging == "both" else [chosen.logging]
    everything: dict[str, Any] = {}
    for kind in kinds:
        nights = range(chosen.first_seed, chosen.first_seed + chosen.seeds)
        wanted = specs(pits=chosen.pits, nights=nights, hours=chosen.hours, logging=kind, hands=chosen.hands)
        for family in FAMILIES:
            if chosen.family not in {family, "all"}:
                continue
            names = [s for s in wanted if s.family == family and (not chosen.only or chosen.only in s.name)]
            if names:
                title = f"{family} pits, {kind} log"
                everything[title] = _group(title, names, chosen)
    if chosen.recorded:
        everything["recorded"] = forecast_recorded.report(say=_say(chosen))
    if chosen.json:
        print(json.dumps(everything))


def _cooks_of(chosen: argparse.Namespace) -> list[Cook]:
    """Return the cooks that an ablation is run over: with good logs, unless sloppy ones are asked for."""
    nights = range(chosen.first_seed, chosen.first_seed + chosen.seeds)
    kind = "sloppy" if chosen.logging == "sloppy" else "good"
    wanted = specs(pits=chosen.pits, nights=nights, hours=chosen.hours, logging=kind, hands=chosen.hands)
    return [fetch(spec) for spec in wanted if _asked_for(spec, chosen)]


def _asked_for(spec: Spec, chosen: argparse.Namespace) -> bool:
    return chosen.family in {spec.family, "all"} and (not chosen.only or chosen.only in spec.name)


def _group(title: str, wanted: Sequence[Any], chosen: argparse.Namespace) -> dict[str, Any]:
    cooks, scores, costs = [], [], Counter[str]()
    for spec in wanted:
        cook = fetch(spec)
        score = yardstick_tables(cook)
        if not chosen.yardsticks_only:
            table, run = under_test(cook, bare=chosen.bare, without=chosen.without)
            score = {US: table, **score}
            costs.update({"seconds": round(1000 * run.seconds), "advances": run.advances, "asked": run.asked})
        print(f"{cook.name}: {cook.about}", file=sys.stderr)
        cooks.append(cook)
        scores.append(score)
    group = figures(cooks, scores)
    if not chosen.json:
        report(title, group, cooks, scores)
        if costs["advances"]:
            each = costs["seconds"] / costs["advances"]
            print(
                f"forecaster: {costs['seconds'] / 1000:.1f} s of computing, {each:.2f} ms a grid step of ten seconds"
            )
    return group


def _say(chosen: argparse.Namespace) -> Any:  # print, or a sink
    return (lambda _text: None) if chosen.json else print


if __name__ == "__main__":
    main()
