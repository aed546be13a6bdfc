"""An invented cook for the dashboard's tests: plausible records, and a link that plays them.

The pit, its fire and its figures are made up; nothing here is a model of anything.
"""

import math
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta

from firebox.errors import JournalError
from firebox.ports import KeeperStatus, Kind, SourceHealth
from firebox.records import (
    Alarm,
    AlarmState,
    Burning,
    Damper,
    DamperName,
    Entry,
    Expected,
    Fire,
    Health,
    Lit,
    Meat,
    MeatOn,
    Move,
    NextSplit,
    Outlook,
    Phase,
    Priority,
    ProbeHealth,
    Reading,
    Record,
    Split,
    Stage,
    Tick,
)
from firebox.setup import PitBuild, Probe, Role, Setup, Wood

START = datetime(2026, 5, 2, 21, 0, tzinfo=UTC)
SPLIT_EVERY = 2520.0
WEIGHTS = (1.4, 2.0, 0.9)

SETUP = Setup(
    time=START,
    pit="North pit",
    target_celsius=121.1,
    band=8.3,
    probes=(
        Probe(name="grate", role=Role.GRATE, position="left, at the grate"),
        Probe(name="grate2", role=Role.GRATE, position="right, at the grate"),
        Probe(name="firebox", role=Role.FIREBOX),
        Probe(name="flat", role=Role.MEAT, point_celsius=77.0),
        Probe(name="ambient", role=Role.AMBIENT),
    ),
    wood=Wood(small_kg=0.9, medium_kg=1.4, large_kg=2.0),
    build=PitBuild(usual_split_kg=1.4),
    intake_open=0.5,
    stack_open=1.0,
)


def instant(seconds: float) -> datetime:
    return START + timedelta(seconds=seconds)


def hump(seconds: float) -> float:
    """A split's part in the pit's warmth: a small dip, a rise, a long fall."""
    if seconds <= 0:
        return 0.0
    x = seconds / 1100.0
    return -3.0 * math.exp(-((seconds - 120.0) ** 2) / 9000.0) + 30.0 * x**1.4 * math.exp(1.4 * (1.0 - x))


def split_times(until: float) -> list[float]:
    return [1500.0 + SPLIT_EVERY * count for count in range(max(0, math.floor((until - 1500.0) / SPLIT_EVERY) + 1))]


def pit(seconds: float, *, splits_until: float | None = None) -> float:
    base = 15.0 + 82.0 * (1.0 - math.exp(-seconds / 1500.0))
    until = seconds if splits_until is None else min(seconds, splits_until)
    waver = 0.8 * math.sin(seconds / 71.0) + 0.5 * math.sin(seconds / 23.0)
    return base + sum(hump(seconds - at) for at in split_times(until)) + waver


NEED = 12_000.0


def burning(seconds: float) -> tuple[Burning, ...]:
    """What each split gives: little while it dries, most in flames, long in coals."""
    found = []
    for at, kg in zip(split_times(seconds), WEIGHTS * 20, strict=False):
        age = (seconds - at) / 60.0
        if not 0.0 <= age < 110.0:
            continue
        stage = Stage.DRYING if age < 6.0 else Stage.FLAMING if age < 28.0 else Stage.COALS
        watts = 6_600.0 * kg * (age / 16.0) * math.exp(1.0 - age / 16.0)
        found.append(Burning(minutes=round(age, 1), kg=kg, stage=stage, watts=round(watts)))
    return tuple(found)


def fire(seconds: float, *, time: datetime | None = None) -> Fire:
    splits = burning(seconds)
    kindling = 1500.0 + 9000.0 * math.exp(-seconds / 2400.0) * min(1.0, seconds / 300.0)
    return Fire(
        time=time or instant(seconds),
        phase=Phase.STEADY,
        heat_watts=round(kindling + sum(split.watts for split in splits)),
        need_watts=NEED,
        wood_left_kg=0.8,
        coal_kg=1.9,
        smoulder_risk=0.05,
        splits=splits,
    )


def answers(seconds: float) -> Iterator[Record]:
    """What the watch would say at a tick; like the watch, it makes a new forecast every half minute."""
    time = instant(seconds)
    seconds = seconds // 30.0 * 30.0
    minutes = (5, 15, 30, 45, 60)
    here = pit(seconds)
    middles = [pit(seconds + 60.0 * m, splits_until=seconds) for m in minutes]
    spreads = [1.5 + 0.14 * m for m in minutes]
    drift = (pit(seconds + 300.0, splits_until=seconds) - here) * 12.0
    yield Outlook(
        time=time,
        probe="grate",
        celsius=round(here, 2),
        drift_per_hour=round(drift, 1),
        minutes=minutes,
        p10=tuple(m - s for m, s in zip(middles, spreads, strict=True)),
        p50=tuple(middles),
        p90=tuple(m + s for m, s in zip(middles, spreads, strict=True)),
        assumes="nothing more is done",
    )
    now = (time - START).total_seconds()
    planned = [pit(seconds + 60.0 * m) for m in minutes]
    yield Outlook(
        time=time,
        probe="grate",
        celsius=round(here, 2),
        drift_per_hour=round(drift, 1),
        minutes=minutes,
        p10=tuple(m - s for m, s in zip(planned, spreads, strict=True)),
        p50=tuple(planned),
        p90=tuple(m + s for m, s in zip(planned, spreads, strict=True)),
        assumes="the recommended move is made",
    )
    due = next(at for at in split_times(now + 2 * SPLIT_EVERY) if at > now)
    yield Move(
        time=time,
        split=NextSplit(in_minutes=(due - now) / 60.0, kg=1.4),
        intake=0.5,
        stack=1.0,
        hold=False,
        expected=Expected(minutes=30, celsius=122.4),
        reason="The coals carry it until then; left alone it would fall out of the band within the hour.",
    )
    yield fire(now, time=time)
    yield Meat(time=time, probe="flat", celsius=72.9, drift_per_hour=1.1, stage="on the plateau")
    yield Tick(time=time)


def readings(seconds: float) -> Iterator[Record]:
    time = instant(seconds)
    values = {
        "grate": pit(seconds),
        "grate2": pit(seconds) - 4.0,
        "firebox": 380.0 + 2.0 * pit(seconds) / 3.0,
        "flat": 4.0 + 69.0 * (1.0 - math.exp(-seconds / 7000.0)),
        "ambient": 11.8,
    }
    for name, celsius in values.items():
        yield Reading(time=time, probe=name, celsius=round(celsius, 1))


def deeds(until: float) -> Iterator[Entry]:
    yield Lit(time=instant(0.0), id="lit-1", kg=2.5)
    for count, at in enumerate(split_times(until)):
        yield Split(time=instant(at), id=f"split-{count}", kg=WEIGHTS[count % 3], species="oak", moisture=0.18)
    if until > 4000.0:
        yield MeatOn(time=instant(3600.0), id="meat-1")
    if until > 5400.0:
        yield Damper(time=instant(5300.0), id="damper-1", damper=DamperName.INTAKE, open=0.5)


def history(seconds: float = 4.6 * 3600.0, *, step: float = 10.0) -> list[Record]:
    """The first news of a link: the cook so far, thinned."""
    records: list[Record] = [SETUP]
    records += (
        ProbeHealth(time=START, probe=probe.name, health=Health.GOOD, role=probe.role, text="good")
        for probe in SETUP.probes
    )
    waiting = sorted(deeds(seconds), key=lambda entry: entry.time)
    at = 0.0
    while at <= seconds:
        while waiting and waiting[0].time <= instant(at):
            records.append(waiting.pop(0))
        records.extend(readings(at))
        if at % 60.0 == 0.0:
            records.append(fire(at))
        at += step
    records.extend(answers(seconds))
    return records


def alarm(
    name: str = "fire-dying",
    *,
    seconds: float = 4.6 * 3600.0,
    state: AlarmState = AlarmState.UNACKNOWLEDGED,
    priority: Priority = Priority.HIGH,
    text: str = "The fire is dying: falling 34 an hour with no wood left.",
) -> Alarm:
    return Alarm(
        time=instant(seconds),
        alarm=name,
        state=state,
        priority=priority,
        probe="grate",
        text=text,
        first="Put a small split on the coals and open the intake fully.",
        minutes_until=18.0,
    )


class CannedLink:
    """A link whose news are laid into it by the test; entries left in it are remembered, and echoed if wanted."""

    def __init__(
        self,
        records: Sequence[Record] = (),
        *,
        kind: Kind = Kind.LIVE,
        rate: float = 1.0,
        alive: bool = True,
        echoes: bool = True,
        refuses: str = "",
    ) -> None:
        self._news: list[Record] = list(records)
        self.alive, self.echoes, self.refuses = alive, echoes, refuses
        self.kind, self.rate = kind, rate
        self.left: list[Entry] = []
        self.closed = False

    def tell(self, *records: Record) -> None:
        self._news.extend(records)

    def news(self) -> Sequence[Record]:
        news, self._news = self._news, []
        return news

    def status(self) -> KeeperStatus:
        return KeeperStatus(
            alive=self.alive,
            pit="North pit",
            kind=self.kind,
            rate=self.rate,
            pid=4242,
            sources={
                "node on ttyUSB0": SourceHealth(connected=True, lines=16560, bad_lines=3, last_problem="half a line")
            },
        )

    def leave(self, entry: Entry) -> None:
        if self.refuses:
            raise JournalError(self.refuses)
        self.left.append(entry)
        if self.echoes:
            self._news.append(entry)

    def close(self) -> None:
        self.closed = True
