"""The shipped watch over the cooks of the alarm benchmark, without its advice, which no alarm looks at."""

from collections.abc import Iterator
from typing import Final

from msgspec.structs import replace

from firebox import watch
from firebox.estimate import pitfilter
from firebox.records import Alarm, Reading, Record
from firebox.setup import Setup
from firebox.warn.alarms import Situation
from tests.benchmarks.alarm_cooks import EVERY, START, Played

FORESEEN_EVERY: Final = 3
"""Rounds of readings between two forecasts: as often as the watch makes one."""


def rounds(played: Played) -> Iterator[tuple[float, list[Record]]]:
    """Yield (seconds, records) of each round of readings, entries in their place."""
    due, waiting = EVERY, list[Record]()
    for record in played.records:
        seconds = (record.time - START).total_seconds()
        if seconds > due:
            yield due, waiting
            waiting = []
            due += EVERY * max(1, round((seconds - due) / EVERY))
        waiting.append(record)
    yield due, waiting


def observe(played: Played) -> Iterator[tuple[float, Situation, tuple[Alarm, ...]]]:
    """Yield what the watch knew and what it raised, each ten seconds."""
    state = watch.begin(Setup(time=START, target_celsius=played.target))
    for count, (seconds, records) in enumerate(rounds(played)):
        raised: list[Alarm] = []
        for record in sorted(records, key=lambda one: (one.time, isinstance(one, Reading))):
            state, out = (answer := watch.step(state, record)).state, answer.out
            raised += [one for one in out if isinstance(one, Alarm)]
        if count % FORESEEN_EVERY == 0:
            state = replace(
                state,
                forecast=pitfilter.foresee(state.estimate, state.seconds, state.log, state.setup),
                fire=pitfilter.fire_view(state.estimate, state.seconds, state.log, state.setup),
            )
        yield seconds, watch.situation(state, records[-1].time), tuple(raised)
