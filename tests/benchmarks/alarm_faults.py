"""How early the alarms are, how often for nothing, and how that compares with a fixed limit and with a slope.

Run: python -m tests.benchmarks.alarm_faults [--quick] [--each 23] [--hours 200] [--first 9000] [--family layered]

Limits stand at target +-25 degC, and the truth is what a perfect probe would show; see `alarm_cooks`. For each fault:
the median lead before the truth crosses its limit, the share told before that, the share not told at all, and how long
after the beginning of the fault it was told. For normal cooks: alarms about the pit that did not come true within an
hour, and alarms of any kind in well-kept cooks. Beside it two yardsticks on the same cooks: a limit at +-20 degC, and the
slope of five minutes drawn on for twenty. Layered pits stand first, since forecasts err on them about as much as on those
that the goals are given for; how wild the normal cooks are tells the rate of the fixed limit. Last come the faults of
probes and of the watch itself.
"""

import argparse
import pickle
import time
from collections import Counter
from collections.abc import Callable
from statistics import median

from msgspec import Struct

from firebox.records import Alarm
from tests.benchmarks import alarm_eyes, forecast_cooks, probe_cooks, probe_faults
from tests.benchmarks.alarm_cooks import FAMILIES, FAULTS, Case, Played, cases, fetch, normal, store
from tests.benchmarks.alarm_score import Lead, Raised, fixed, is_normal, lead, raised, slope, vain
from tests.benchmarks.alarm_watch import observe

GOALS = {"forgotten intake": 5.0, "door ajar": 3.0, "dying asleep": 20.0, "wet wood": 25.0, "ash": 30.0}
"""Median lead aimed at. [min] A flare is to be told within two minutes of its start."""


class Watched(Struct, frozen=True, kw_only=True):
    """A cook, and what each of the three raised in it."""

    played: Played
    watch: list[Raised]
    fixed: list[Raised]
    slope: list[Raised]


def watched(case: Case) -> Watched | None:
    """Return a cook with its alarms; None where the fault never crosses a limit on that pit."""
    played = fetch(case)
    if played is None:
        return None
    end = len(played.truth) * 10.0
    path = store() / f"{case.name}-{_version()}.raised"
    if path.exists():
        alarms: list[tuple[float, Alarm]] = pickle.loads(path.read_bytes())
    else:
        alarms = [(seconds, alarm) for seconds, _, out in observe(played) for alarm in out]
        forecast_cooks.keep(path, alarms)
    return Watched(played=played, watch=raised(alarms, end), fixed=fixed(played), slope=slope(played))


def _version() -> str:
    """Return what tells one state of the watch's sources from another."""
    root = forecast_cooks.ROOT / "firebox"
    parts = ("warn", "estimate", "pit")
    return forecast_cooks.fingerprint(sorted(p for part in parts for p in (root / part).glob("*.py")))


def faults(each: int, first: int, families: tuple[str, ...]) -> list[str]:
    """Return the table of the faults, a row each."""
    rows = [
        (
            f"{'fault':<17}{'n':>3}  {'crosses':>7}  {'lead':>6}{'goal':>6}  {'before':>6}{'missed':>7}{'told after':>11}"
            f"{'| +-20 lead':>12}{'before':>7}{'| slope lead':>13}{'before':>7}   told by"
        )
    ]
    every = cases(each=each, first=first, families=families)
    for fault in FAULTS:
        seen = [one for case in every if case.fault == fault and (one := watched(case)) is not None]
        if not seen:
            rows.append(f"{fault:<17}  0  no size of it crosses a limit on these pits")
            continue
        ours = [lead(one.played, one.watch) for one in seen]
        limit = [lead(one.played, one.fixed) for one in seen]
        drawn = [lead(one.played, one.slope) for one in seen]
        delays = [one.delay for one in ours if one.delay is not None]
        goal = f"{GOALS[fault]:.0f}" if fault in GOALS else "2 min"
        by = ", ".join(f"{name} {count}" for name, count in Counter(one.by for one in ours if one.by).most_common(4))
        rows.append(
            f"{fault:<17}{len(seen):>3}  {median(one.took for one in ours):>5.1f} m  {_lead(ours):>6.1f}{goal:>6}  "
            f"{_before(ours):>6.0%}{sum(one.lead is None for one in ours):>7}{median(delays or [0.0]):>9.1f} m"
            f"{_lead(limit):>12.1f}{_before(limit):>7.0%}{_lead(drawn):>13.1f}{_before(drawn):>7.0%}   {by}"
        )
        if fault == "flare":
            soon = sum(one.delay is not None and one.delay <= 2.0 for one in ours)
            rows.append(f"{'':<17}told within 2 min of its start: {soon} of {len(ours)}")
    return rows


def _lead(leads: list[Lead]) -> float:
    """Return the median lead; one that was missed counts as five minutes late. [min]"""
    return median(-5.0 if one.lead is None else one.lead for one in leads) if leads else float("nan")


def _before(leads: list[Lead]) -> float:
    return sum(one.lead is not None and one.lead > 0.0 for one in leads) / max(1, len(leads))


def normals(hours: float, first: int, families: tuple[str, ...]) -> list[str]:
    """Return what was raised for nothing in normal cooks of at least so many hours together, by family and in all."""
    seen: list[Watched] = []
    tried = 0
    for case in normal(count=400, first=first, families=families):
        played = fetch(case)
        tried += 1
        if played is None or not is_normal(played):
            continue
        one = watched(case)
        assert one is not None
        seen.append(one)
        if _hours(seen) >= hours:
            break
    rows = [
        f"normal cooks: {len(seen)} of {tried} kept within their limits; per 12 h, goal 0.2 for nothing, 1 of any kind"
    ]
    groups = {family: [one for one in seen if one.played.case.family == family] for family in families}
    for name, group in {**groups, "all": seen}.items():
        kept = [one for one in group if one.played.case.kept]
        any_kind = 12.0 * sum(len(one.watch) for one in kept) / max(1.0, _hours(kept))
        vainly = Counter(one.alarm for each in group for one in vain(each.played, each.watch))
        rows.append(
            f"  {name:<9}{_hours(group):>5.0f} h  for nothing {_rate(group, 'watch'):.2f}  +-20 {_rate(group, 'fixed'):.2f}"
            f"  slope {_rate(group, 'slope'):.1f}  any kind, well kept {any_kind:.2f}   {_words(vainly)}"
        )
    return [*rows, f"  all that was raised: {_words(Counter(one.alarm for each in seen for one in each.watch))}"]


def _hours(seen: list[Watched]) -> float:
    return sum(len(one.played.truth) for one in seen) / 360.0


def eyes(first: int) -> list[str]:
    """Return how soon faults of probes and of the watch itself are told."""
    cooks = [probe_cooks.cook(seed, 6.0) for seed in (first, first + 1)]
    return [*probe_faults.delays(cooks, 4), *alarm_eyes.table(first)]


def _rate(seen: list[Watched], which: str) -> float:
    return 12.0 * sum(len(vain(one.played, getattr(one, which))) for one in seen) / max(1.0, _hours(seen))


def _words(names: Counter[str]) -> str:
    return ", ".join(f"{name} {count}" for name, count in names.most_common())


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--quick", action="store_true", help="4 of each fault and 24 h: a taste")
    parser.add_argument("--each", type=int, default=23, help="instances of each fault")
    parser.add_argument("--hours", type=float, default=200.0, help="hours of normal cooks")
    parser.add_argument("--first", type=int, default=9000, help="first seed")
    parser.add_argument("--only", choices=("faults", "normal", "eyes"), help="one part of it")
    parser.add_argument("--family", choices=FAMILIES, help="pits of one kind only")
    chosen = parser.parse_args()
    begin = time.perf_counter()
    each, hours = (4, 24.0) if chosen.quick else (chosen.each, chosen.hours)
    families = FAMILIES if chosen.family is None else (chosen.family,)
    parts: dict[str, Callable[[], list[str]]] = {
        "faults": lambda: faults(each, chosen.first, families),
        "normal": lambda: normals(hours, chosen.first, families),
        "eyes": lambda: eyes(chosen.first),
    }
    for name, part in parts.items():
        if chosen.only in (None, name):
            print("\n".join(part()), flush=True)
    print(f"{time.perf_counter() - begin:.0f} s")


if __name__ == "__main__":
    main()
