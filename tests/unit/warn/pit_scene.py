"""A pit in a few lines: readings and entries in, alarms out, without the rest of the watch."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any

from firebox.cooklog import CookLog, enter
from firebox.estimate import probes
from firebox.estimate.forecast import HORIZONS, LEVELS, FireView, Forecast
from firebox.estimate.probes import ProbeTrack
from firebox.records import Alarm, AlarmState, Clock, Entry, Meat, Phase, Resumed, Status, Trouble
from firebox.setup import Setup, role_of
from firebox.warn import alarms
from firebox.warn.alarms import Situation

START = datetime(2026, 5, 2, 22, 0, tzinfo=UTC)
SPREAD = (-2.05, -1.28, -0.67, 0.0, 0.67, 1.28, 2.05)
"""Standard normal quantiles of `LEVELS`."""


def forecast_of(now: float, later: dict[int, float], sd: float = 3.0) -> Forecast:
    """A forecast whose median runs through the given points, with a normal spread."""
    minutes = tuple(HORIZONS)
    known = [(0, now), *sorted(later.items())]

    def middle(minute: int) -> float:
        for (m0, c0), (m1, c1) in pairwise(known):
            if m0 <= minute <= m1:
                return c0 + (c1 - c0) * (minute - m0) / (m1 - m0)
        return known[-1][1]

    rows = tuple(tuple(middle(minute) + sd * z for z in SPREAD) for minute in minutes)
    assert len(SPREAD) == len(LEVELS)
    first = known[1]
    return Forecast(
        probe="grate",
        celsius=now,
        drift_per_hour=60.0 * (first[1] - now) / first[0],
        minutes=minutes,
        quantiles=rows,
    )


class Scene:
    """Probes at given temperatures, second by second."""

    def __init__(
        self, setup: Setup | None = None, *, every: float = 1.0, names: tuple[str, ...] = ("grate",)
    ) -> None:
        self.setup = setup or Setup(time=START)
        self.every = every
        self.seconds = 0.0
        self.tracks = {name: ProbeTrack(name=name, role=role_of(name, self.setup)) for name in names}
        self.log = CookLog()
        self.state = alarms.begin()
        self.forecast: Forecast | None = None
        self.fire = FireView(phase=Phase.UNKNOWN)
        self.troubles: tuple[Trouble, ...] = ()
        self.resumed: Resumed | None = None
        self.clock: Clock | None = None
        self.meats: tuple[Meat, ...] = ()
        self.out: list[tuple[float, Alarm]] = []

    @property
    def time(self) -> datetime:
        return START + timedelta(seconds=self.seconds)

    def situation(self) -> Situation:
        return Situation(
            seconds=self.seconds,
            time=self.time,
            setup=self.setup,
            log=self.log,
            tracks=self.tracks,
            lead=probes.lead(self.tracks, self.setup),
            forecast=self.forecast,
            fire=self.fire,
            troubles=self.troubles,
            resumed=self.resumed,
            clock=self.clock,
            meats=self.meats,
        )

    def look(self) -> list[Alarm]:
        self.state, raised = alarms.evaluate(self.state, self.situation())
        self.out += [(self.seconds, alarm) for alarm in raised]
        return list(raised)

    def order(self, entry: Any) -> list[Alarm]:
        self.state, raised = alarms.order(self.state, entry, self.situation())
        self.out += [(self.seconds, alarm) for alarm in raised]
        return list(raised)

    def log_entry(self, entry: Entry) -> None:
        self.log = enter(self.log, entry, self.seconds, START)

    def hold(self, minutes: float, **probe: Any) -> None:
        """Let time pass; each probe reads a number, a line (from, to), a Status, or None for nothing."""
        steps = round(60.0 * minutes / self.every)
        for count in range(1, steps + 1):
            before = self.seconds
            self.seconds = round(before + self.every, 6)
            for name, course in probe.items():
                value: Any = course
                if isinstance(course, tuple):
                    value = course[0] + (course[1] - course[0]) * count / steps
                if value is None:
                    continue
                good = not isinstance(value, Status)
                self.tracks[name] = probes.hear(
                    self.tracks[name],
                    self.seconds,
                    _noisy(value, count) if good else None,
                    Status.GOOD if good else value,
                )
            if self.seconds // 10.0 > before // 10.0:
                self.tracks, _ = probes.settle(self.tracks, 10.0 * (self.seconds // 10.0), self.log, self.setup)
            self.look()

    def skip(self, minutes: float) -> None:
        """Let time pass in which nobody watches."""
        before = self.seconds
        self.seconds += 60.0 * minutes
        due = 10.0 * (before // 10.0) + 10.0
        while due <= self.seconds:
            self.tracks, _ = probes.settle(self.tracks, due, self.log, self.setup)
            due += 10.0

    def told(self, *states: AlarmState) -> list[str]:
        """The alarms that came into one of the states (unacknowledged when none is named), in order."""
        wanted = states or (AlarmState.UNACKNOWLEDGED,)
        known: dict[str, AlarmState] = {}
        came = []
        for _, alarm in self.out:
            if alarm.state in wanted and known.get(alarm.alarm) is not alarm.state:
                came.append(alarm.alarm)
            known[alarm.alarm] = alarm.state
        return came

    def first(self, alarm: str) -> tuple[float, Alarm]:
        return next((seconds, record) for seconds, record in self.out if record.alarm == alarm)


def _noisy(celsius: float, count: int) -> float:
    """A reading with a small repeatable noise, to a tenth of a degree."""
    return round(celsius + (0.3, -0.2, 0.1, -0.3, 0.2, 0.0, -0.1)[count % 7], 1)
