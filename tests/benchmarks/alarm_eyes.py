"""How soon the watch tells what befalls its own eyes: the probe node, the broker, the clock, and a lid left open.

Every fault befalls the watch of a normal cook an hour in; from then on there are ticks, as a keeper makes them, and
whatever readings still arrive. A node or a broker that is gone is looked at twice: as a keeper reports it, and without
any report, when silence alone has to tell it.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Final

from msgspec import Struct

from firebox import watch
from firebox.practice.faults import WATCH
from firebox.records import Alarm, Clock, Door, DoorName, Entry, Reading, Record, Tick, Trouble
from firebox.setup import Setup
from firebox.warn.states import LIVE
from tests.benchmarks.alarm_cooks import EVERY, START, Case, Played, fetch

AT: Final = 3600.0
"""When it befalls. [s after `START`]"""

JUMP: Final = 3600.0


class Eye(Struct, frozen=True, kw_only=True):
    """Something that befalls the watch, and how it has to be told.

    Attributes
    ----------
    fault : str
        The name in `WATCH`; empty: nothing befalls the readings.
    reported : str
        What the keeper reports a second later: "source", "clock", "door", or nothing.
    alarms : tuple of str
        Beginnings of the alarms that tell it.
    goal : float
        Within so many seconds.
    """

    name: str
    fault: str
    reported: str
    alarms: tuple[str, ...]
    goal: float


EYES: Final = (
    Eye(
        name="node unplugged, reported", fault="node unplugged", reported="source", alarms=("source-away",), goal=60.0
    ),
    Eye(name="node unplugged, silent", fault="node unplugged", reported="", alarms=("readings-stale",), goal=60.0),
    Eye(name="broker down, reported", fault="broker down", reported="source", alarms=("source-away",), goal=60.0),
    Eye(name="broker down, silent", fault="broker down", reported="", alarms=("readings-stale",), goal=60.0),
    Eye(name="clock set an hour on", fault="clock jump", reported="clock", alarms=("clock-jumped",), goal=30.0),
    Eye(name="lid left open", fault="", reported="door", alarms=("door-left-open",), goal=240.0),
)


class Told(Struct, frozen=True, kw_only=True):
    """How long after its beginning it was told, None: never; and what else was raised. [s]"""

    delay: float | None
    besides: tuple[str, ...]


def watched(played: Played) -> tuple[watch.WatchState, tuple[Record, ...]]:
    """Return the watch of a cook when it befalls, and the records that are still to come."""
    begin = START + timedelta(seconds=AT)
    state = watch.begin(Setup(time=START, target_celsius=played.target))
    for record in played.records:
        if record.time < begin:
            state = watch.step(state, record).state
    return state, tuple(record for record in played.records if record.time >= begin)


def told(eye: Eye, state: watch.WatchState, coming: tuple[Record, ...]) -> Told:
    """Return how soon the watch tells what befalls it."""
    delay: float | None = None
    besides: list[str] = []
    for since, record in _records(eye, coming, until=eye.goal + 30.0):
        state, out = (answer := watch.step(state, record)).state, answer.out
        for one in out:
            if not isinstance(one, Alarm) or one.state not in LIVE:
                continue
            if one.alarm.startswith(eye.alarms):
                delay = since if delay is None else delay
            elif one.alarm not in besides:
                besides.append(one.alarm)
    return Told(delay=delay, besides=tuple(besides))


def _records(eye: Eye, coming: tuple[Record, ...], *, until: float) -> Iterator[tuple[float, Record]]:
    """Yield (seconds since the beginning, record) of everything that the watch gets."""
    begin = START + timedelta(seconds=AT)
    shifted = timedelta(seconds=JUMP if eye.fault == "clock jump" else 0.0)
    if eye.reported:
        yield 0.0, _report(eye.reported, begin)
    due = EVERY
    for record in coming:
        since = (record.time - begin).total_seconds()
        if since > until:
            return
        while due < since:
            yield due, Tick(time=begin + timedelta(seconds=due) + shifted)
            due += EVERY
        if not isinstance(record, Reading):
            continue
        arrived = WATCH[eye.fault].arrives(record, since) if eye.fault else record
        if arrived is not None:
            yield since, arrived


def _report(what: str, time: datetime) -> Entry:
    match what:
        case "clock":
            return Clock(time=time, to=time + timedelta(seconds=JUMP))
        case "door":
            return Door(time=time, door=DoorName.COOK, open=True)
    return Trouble(time=time, what="source", name="node", on=True, text="it does not answer")


def table(first: int, cooks: int = 2) -> list[str]:
    """Return a row each fault: its goal, how many of the cooks told it in time, the latest, and what else was raised."""
    played = [fetch(Case(family="layered", seed=seed, hours=1.5)) for seed in range(first, first + cooks)]
    found = [watched(one) for one in played if one is not None]
    rows = [f"{'what befalls the watch':<26}{'goal':>6}{'in time':>9}{'latest':>8}   besides"]
    for eye in EYES:
        seen = [told(eye, state, coming) for state, coming in found]
        in_time = sum(one.delay is not None and one.delay <= eye.goal + EVERY for one in seen)
        latest = max((one.delay for one in seen if one.delay is not None), default=float("nan"))
        besides = ", ".join(sorted({name for one in seen for name in one.besides}))
        rows.append(f"{eye.name:<26}{eye.goal:>4.0f} s{in_time:>6}/{len(seen):<2}{latest:>6.0f} s   {besides}")
    return rows
