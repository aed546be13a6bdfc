"""How soon each fault of a probe is found, and how often a good probe is doubted, on varied pits.

Run: python tests/benchmarks/probe_faults.py [--hours 12] [--pits 8] [--each 24]

Every fault befalls a probe in the middle of a cook, at a time and on a pit drawn by lot. The limits are the delays that
the watch promises; a fault counts as found when its probe is no longer trusted.
"""

import argparse
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Final

import numpy as np
from msgspec import Struct

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from firebox.records import Health, Status
from tests.benchmarks.probe_cooks import Heard, Held, Told, Wrong, cook, play

PROBES: Final = ("grate", "grate2", "grate3", "firebox", "stack", "ambient", "flat")
PAIR: Final = ("grate", "grate2", "firebox", "ambient", "flat")
BEFORE: Final = 6000.0


class Case(Struct, frozen=True):
    """A fault: who has it, among whom, what it makes of the truth, and how soon it must be found [s]."""

    name: str
    probe: str
    probes: tuple[str, ...]
    limit: float
    make: Callable[[Told, float, np.random.Generator], dict[str, Wrong]]
    expected: frozenset[Health]


def _always(probe: str, said: Heard) -> Callable[[Told, float, np.random.Generator], dict[str, Wrong]]:
    return lambda _told, _at, _rng: {probe: lambda _since, _true: said}


def _stuck(told: Told, at: float, _rng: np.random.Generator) -> dict[str, Wrong]:
    gauge = next(one for one in told.gauges if one.name == "grate2")
    held = round(told.at("grate2", at) / gauge.step) * gauge.step
    # what hangs is the converter: it repeats its last word, without noise
    return {"grate2": lambda _since, _true: Held(held)}


def _drift(probe: str) -> Callable[[Told, float, np.random.Generator], dict[str, Wrong]]:
    def make(_told: Told, _at: float, rng: np.random.Generator) -> dict[str, Wrong]:
        rate = float(rng.choice([-1.0, 1.0])) / 60.0  # 1 K a minute
        return {probe: lambda since, true: true + rate * since}

    return make


def _apart(probe: str) -> Callable[[Told, float, np.random.Generator], dict[str, Wrong]]:
    def make(_told: Told, _at: float, rng: np.random.Generator) -> dict[str, Wrong]:
        by = float(rng.choice([-1.0, 1.0])) * float(rng.uniform(25.0, 45.0))
        return {probe: lambda since, true: true + by * (1.0 - float(np.exp(-since / 30.0)))}

    return make


def _swapped(one: str, other: str) -> Callable[[Told, float, np.random.Generator], dict[str, Wrong]]:
    """Both plugs out for a minute, then each in the other's place."""

    def make(told: Told, at: float, _rng: np.random.Generator) -> dict[str, Wrong]:
        def says(theirs: str) -> Wrong:
            return lambda since, _true: Status.OPEN if since < 60.0 else told.at(theirs, at + since)

        return {one: says(other), other: says(one)}

    return make


def _exchanged(one: str, other: str) -> Callable[[Told, float, np.random.Generator], dict[str, Wrong]]:
    """Each in the other's place from one reading to the next, as where a node's channels are renamed."""

    def make(told: Told, at: float, _rng: np.random.Generator) -> dict[str, Wrong]:
        return {
            one: lambda since, _true: told.at(other, at + since),
            other: lambda since, _true: told.at(one, at + since),
        }

    return make


def _reversed(probe: str) -> Callable[[Told, float, np.random.Generator], dict[str, Wrong]]:
    def make(told: Told, at: float, _rng: np.random.Generator) -> dict[str, Wrong]:
        return {probe: lambda since, true: 2.0 * told.at("ambient", at + since) - true}

    return make


def _slips(_told: Told, _at: float, _rng: np.random.Generator) -> dict[str, Wrong]:
    return {"flat": lambda since, true: true - 15.0 * (1.0 - float(np.exp(-since / 400.0)))}


def _ice(told: Told, at: float, _rng: np.random.Generator) -> dict[str, Wrong]:
    begin = told.at("grate2", at)
    return {"grate2": lambda since, _true: 0.2 + (begin - 0.2) * float(np.exp(-since / 12.0))}


DOUBT: Final = frozenset({Health.DISAGREEING, Health.IMPLAUSIBLE})
WRONG: Final = frozenset({Health.IMPLAUSIBLE})
CASES: Final = (
    Case("open", "grate2", PROBES, 30.0, _always("grate2", Status.OPEN), frozenset({Health.OPEN})),
    Case("shorted", "flat", PROBES, 30.0, _always("flat", Status.SHORTED), frozenset({Health.SHORTED})),
    Case("silent", "grate2", PROBES, 60.0, _always("grate2", None), frozenset({Health.SILENT})),
    Case("stuck", "grate2", PROBES, 600.0, _stuck, frozenset({Health.STUCK, *DOUBT})),
    Case("apart, of two", "grate2", PAIR, 300.0, _apart("grate2"), DOUBT),
    Case("apart, of three", "grate2", PROBES, 300.0, _apart("grate2"), DOUBT),
    Case("apart, the lead", "grate", PROBES, 300.0, _apart("grate"), DOUBT),
    Case("drift, of two", "grate2", PAIR, 1800.0, _drift("grate2"), DOUBT),
    Case("drift, of three", "grate3", PROBES, 1800.0, _drift("grate3"), DOUBT),
    Case("drift, the lead", "grate", PROBES, 1800.0, _drift("grate"), DOUBT),
    Case("plugs grate firebox", "grate", PROBES, 420.0, _swapped("grate", "firebox"), WRONG),
    Case("plugs grate ambient", "grate", PROBES, 420.0, _swapped("grate", "ambient"), WRONG),
    Case("plugs grate flat", "grate2", PAIR, 900.0, _swapped("grate2", "flat"), DOUBT),
    Case("named grate firebox", "grate", PROBES, 420.0, _exchanged("grate", "firebox"), DOUBT),
    Case(
        "named grate flat", "grate", PROBES, 900.0, _exchanged("grate", "flat"), frozenset({*DOUBT, Health.CHECKED})
    ),
    Case("reversed grate", "grate2", PROBES, 300.0, _reversed("grate2"), frozenset({*WRONG, Health.CHECKED})),
    Case("reversed firebox", "firebox", PROBES, 300.0, _reversed("firebox"), frozenset({*WRONG, Health.CHECKED})),
    Case("meat slips out", "flat", PROBES, 900.0, _slips, WRONG),
    Case("ice bath", "grate2", PROBES, 300.0, _ice, frozenset({Health.CHECKED})),
)


def find(case: Case, told: Told, seed: int) -> tuple[float | None, str, str]:
    """Return (delay until found [s], the words then, who was doubted besides) for one instance of a fault."""
    rng = np.random.Generator(np.random.Philox(key=seed + 31))
    at = float(rng.uniform(2.8 * 3600.0, told.hours * 3600.0 - 2500.0))
    changes, _ = play(
        told, case.probes, at - BEFORE, at + 2.0 * case.limit + 120.0, seed, fault_at=at,
        wrong=case.make(told, at, rng), until=lambda tracks: tracks[case.probe].health in case.expected,
    )  # fmt: skip
    hit = next((c for c in changes if c.seconds >= at and c.probe == case.probe and c.health in case.expected), None)
    wronged = case.make(told, at, rng)
    others = sorted({
        f"{c.probe} {c.health}" for c in changes
        if c.seconds >= at and c.probe not in wronged and c.health is not Health.GOOD
    })  # fmt: skip
    return (None if hit is None else hit.seconds - at), ("" if hit is None else hit.text), ", ".join(others)


def delays(cooks: list[Told], each: int, cases: tuple[Case, ...] = CASES) -> list[str]:
    """Return a table: each fault, its limit, and the delays with which its instances were found."""
    rows = [f"{'fault':<22}{'limit':>6}{'found':>8}{'in time':>8}{'median':>8}{'worst':>8}  others doubted; words"]
    for case in cases:
        results = [find(case, cooks[n % len(cooks)], 100 + n) for n in range(each)]
        found = sorted(delay for delay, _, _ in results if delay is not None)
        in_time = sum(delay <= case.limit + 10.0 for delay in found)  # the grid looks every ten seconds
        wrong = sum(bool(others) for _, _, others in results)
        words = max({text for _, text, _ in results}, key=[text for _, text, _ in results].count)
        middle, worst = (found[len(found) // 2], found[-1]) if found else (float("nan"), float("nan"))
        rows.append(
            f"{case.name:<22}{case.limit:>6.0f}{len(found):>5}/{each:<2}{in_time:>8}{middle:>8.0f}{worst:>8.0f}"
            f"  {wrong}; {words}"
        )
    return rows


def false_changes(cooks: list[Told]) -> list[str]:
    """Return what befell good probes over whole cooks: seven probes, each cook once as two at the grate as well."""
    rows, count, hours = [], 0, 0.0
    for number, told in enumerate(cooks):
        for probes in (PROBES, PAIR):
            every = (2.0, 10.0, 5.0)[number % 3]
            changes, _ = play(told, probes, 0.0, told.hours * 3600.0, 900 + number, every=every)
            bad = [c for c in changes if c.health not in {Health.GOOD, Health.WAITING}]
            count += len(bad)
            hours += told.hours
            rows += [
                f"  cook {number + 1}, {len(probes)} probes: {c.seconds / 3600.0:5.2f} h {c.probe} {c.health}: {c.text}"
                for c in bad
            ]
    return [f"health lost on good probes: {count} in {hours:.0f} h, {12.0 * count / hours:.2f} per 12 h", *rows]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--hours", type=float, default=12.0)
    parser.add_argument("--pits", type=int, default=8)
    parser.add_argument("--each", type=int, default=24)
    chosen = parser.parse_args()
    begin = time.perf_counter()
    cooks = [cook(seed, chosen.hours) for seed in range(1, chosen.pits + 1)]
    print("\n".join(false_changes(cooks)))
    print("\n".join(delays(cooks, chosen.each)))
    print(f"{time.perf_counter() - begin:.0f} s")


if __name__ == "__main__":
    main()
