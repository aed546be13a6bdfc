"""Small cooks for the estimator's tests: a surrogate pit's readings and log, fed as the watch feeds them."""

from datetime import UTC, datetime, timedelta
from functools import cache

import numpy as np

from firebox.cooklog import CookLog, enter
from firebox.estimate import pitfilter
from firebox.records import Damper, DamperName, Door, DoorName, Lit, Split
from firebox.setup import PitBuild, Setup
from tests.unit.estimate import surrogate_pits

EPOCH = datetime(2026, 1, 10, 18, tzinfo=UTC)
MINUTES = (5, 15, 30, 45, 60)


@cache
def played(seed, hours=3.0):
    return surrogate_pits.run(seed, hours=hours)


def setup_of(cook):
    build = cook.build
    return Setup(
        time=EPOCH,
        build=PitBuild(
            chamber_litres=build.litres,
            wall_mm=1000.0 * build.wall,
            firebox_insulated=build.insulated,
            usual_split_kg=build.usual,
        ),
    )


def entry(deed):
    seconds, kind, value = deed
    time = EPOCH + timedelta(seconds=seconds)
    if kind == "lit":
        return Lit(time=time, kg=value)
    if kind == "split":
        return Split(time=time, kg=round(value, 2))
    if kind in {"intake", "stack"}:
        return Damper(time=time, damper=DamperName(kind), open=value)
    return Door(time=time, door=DoorName.COOK if kind == "cook" else DoorName.FIREBOX, open=bool(value))


def feed(cook, deeds=None, until=None):
    """Yield (seconds, estimate, log) at every grid step of ten seconds."""
    setup, log = setup_of(cook), CookLog()
    estimate = pitfilter.begin(setup)
    waiting = list(cook.deeds if deeds is None else deeds)
    for seconds, reading in zip(cook.times.tolist(), cook.readings.tolist(), strict=True):
        if until is not None and seconds > until:
            return
        while waiting and waiting[0][0] < seconds:
            log = enter(log, entry(waiting[0]), waiting[0][0], EPOCH)
            waiting.pop(0)
        cell = {"grate": reading} if np.isfinite(reading) else {}
        estimate = pitfilter.advance(estimate, seconds, cell, log, setup, "grate")
        yield seconds, estimate, log


def last(cook, deeds=None, until=None):
    return list(feed(cook, deeds, until))[-1]
