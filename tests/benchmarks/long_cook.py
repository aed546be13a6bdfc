"""A long invented cook with eight probes at 1 Hz, as records: the load that the budgets are measured under."""

import math
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

from firebox.records import Damper, DamperName, Lit, Reading, Record, Split, Tick
from firebox.setup import PitBuild, Probe, Role, Setup

START = datetime(2026, 3, 7, 18, 0, tzinfo=UTC)
PROBES = {
    "grate": Role.GRATE, "grate2": Role.GRATE, "firebox": Role.FIREBOX, "stack": Role.STACK, "ambient": Role.AMBIENT,
    "flat": Role.MEAT, "thick end": Role.MEAT, "shoulder": Role.MEAT,
}  # fmt: skip
SPLIT_EVERY = 2700.0


def setup() -> Setup:
    """Return the pit of the cook."""
    return Setup(
        time=START,
        pit="long cook",
        build=PitBuild(chamber_litres=950.0, wall_mm=6.0, firebox_insulated=False, usual_split_kg=1.4),
        probes=tuple(Probe(name=name, role=role) for name, role in PROBES.items()),
        intake_open=0.4,
        stack_open=1.0,
    )


def records(hours: float, *, ticks: float | None = 5.0) -> Iterator[Record]:
    """Yield the cook in order; `ticks` is the logical seconds between two of them, None for none."""
    yield Lit(time=START, kg=2.5)
    yield Damper(time=START, damper=DamperName.INTAKE, open=0.4)
    for second in range(int(hours * 3600)):
        time = START + timedelta(seconds=second)
        if second and second % SPLIT_EVERY == 0:
            yield Split(time=time, kg=1.4, moisture=0.18)
        for number, (name, role) in enumerate(PROBES.items()):
            yield Reading(time=time, probe=name, celsius=round(_celsius(role, second, number), 2))
        if ticks and second % ticks == 0:
            yield Tick(time=time)


def _celsius(role: Role, second: int, number: int) -> float:
    since = second % SPLIT_EVERY / 60.0
    hump = 14.0 * (since / 15.0) * math.exp(1.0 - since / 15.0) - 6.0 * math.exp(-since / 3.0)
    warm = 1.0 - math.exp(-second / 1500.0)
    flutter = 0.3 * math.sin(second * 0.7 + number) + 0.2 * math.sin(second * 0.13 + 2 * number)
    match role:
        case Role.GRATE:
            return 12.0 + warm * (105.0 + hump - number) + flutter
        case Role.FIREBOX:
            return 12.0 + warm * (380.0 + 9.0 * hump) + 5.0 * flutter
        case Role.STACK:
            return 12.0 + warm * (95.0 + 0.8 * hump) + flutter
        case Role.AMBIENT:
            return 12.0 - 4.0 * math.sin(second / 27_000.0) + 0.3 * flutter
        case Role.MEAT:
            return 5.0 + 88.0 * (1.0 - math.exp(-second / (18_000.0 + 2_000.0 * number))) + 0.1 * flutter
