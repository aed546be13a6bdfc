"""A pit that asks for advice: temperature, drift and log in, the next move out."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import numpy as np

from firebox.advise import moves
from firebox.advise.moment import Moment
from firebox.cooklog import CookLog, Deed, enter
from firebox.estimate.forecast import HORIZONS, FireView, Forecast
from firebox.estimate.fork import Fork, Plans
from firebox.records import Damper, DamperName, Entry, Move, Phase, Split
from firebox.setup import Setup

START = datetime(2026, 5, 2, 22, 0, tzinfo=UTC)
SPREAD = (-2.05, -1.28, -0.67, 0.0, 0.67, 1.28, 2.05)


def straight(now: float, drift: float, sd: float = 2.0) -> Forecast:
    """A forecast along a straight line, its spread growing with time."""
    rows = tuple(
        tuple(now + drift * minutes / 60.0 + (sd + minutes / 20.0) * z for z in SPREAD) for minutes in HORIZONS
    )
    return Forecast(probe="grate", celsius=now, drift_per_hour=drift, minutes=HORIZONS, quantiles=rows)


def lift(minutes: float, kg: float) -> float:
    """What a split of so many kilograms has added to the pit after a while. [K]"""
    if minutes < 8.0:
        return -3.0 * minutes / 8.0
    return -3.0 + 24.0 * kg / 1.3 * min(1.0, (minutes - 8.0) / 25.0)


class Talk:
    """One pit, one cook. `plans` says whether the forecast knows what a split or a damper would do."""

    def __init__(self, *, plans: bool = True, setup: Setup | None = None) -> None:
        self.setup = setup or Setup(time=START, intake_open=0.5, stack_open=1.0)
        self.seconds = 7200.0
        self.log = CookLog()
        self.celsius: float | None = 121.0
        self.drift = 0.0
        self.fire = FireView(phase=Phase.STEADY)
        self.plans = plans
        self.state = moves.begin()
        self.asked = 0
        self.most_asked = 0
        self.moves: list[Move] = []
        self.alarms: frozenset[str] = frozenset()
        self.bend = 0.0
        """How much steeper the forecast is than the drift. [K/h]"""
        self.foresee: Callable[[tuple[Deed, ...]], Forecast | None] = self._foresee

    @property
    def time(self) -> datetime:
        return START + timedelta(seconds=self.seconds)

    def ahead(self, celsius: float) -> Forecast:
        """The forecast if nothing is done."""
        return straight(celsius, self.drift + self.bend)

    def _foresee(self, plan: tuple[Deed, ...]) -> Forecast | None:
        self.asked += 1
        if self.celsius is None:
            return None
        base = self.ahead(self.celsius)
        if not self.plans:
            return base
        rows = []
        for minutes, row in zip(base.minutes, base.quantiles, strict=True):
            more = 0.0
            for deed in plan:
                since = minutes - (deed.seconds - self.seconds) / 60.0
                if since > 0.0 and isinstance(deed.entry, Split):
                    more += lift(since, deed.entry.kg or 1.3)
                if since > 0.0 and isinstance(deed.entry, Damper):
                    now = self.log.damper_open(DamperName.INTAKE, self.seconds, self.setup) or 0.5
                    more += 60.0 * (deed.entry.open - now) * min(1.0, since / 20.0)
            rows.append(tuple(celsius + more for celsius in row))
        return Forecast(
            probe="grate",
            celsius=base.celsius,
            drift_per_hour=base.drift_per_hour,
            minutes=base.minutes,
            quantiles=tuple(rows),
        )

    def look(self, plans: Plans, minutes: tuple[float, ...], intake: float | None) -> Fork | None:
        """The courses of a model that knows what wood does; None where it knows of none."""
        if not self.plans or self.celsius is None:
            return None
        rows = []
        for plan in plans:
            gained = [
                sum(
                    lift(ahead - (deed.seconds - self.seconds) / 60.0, deed.entry.kg or 1.3)
                    for deed in plan
                    if isinstance(deed.entry, Split) and 60.0 * ahead > deed.seconds - self.seconds
                )
                for ahead in minutes
            ]
            fall = (self.drift + self.bend) / 60.0
            now = self.log.damper_open(DamperName.INTAKE, self.seconds, self.setup) or 0.5
            air = 0.0 if intake is None else 24.0 * (intake - now)
            rows.append(
                [
                    self.celsius + fall * ahead + more + air * min(1.0, ahead / 20.0)
                    for ahead, more in zip(minutes, gained, strict=True)
                ]
            )
        return Fork(np.array([rows]), np.ones(1))

    def ask(self) -> Move:
        before = self.asked
        forecast = None if self.celsius is None else self.ahead(self.celsius)
        self.state, move = moves.advise(
            self.state,
            self.seconds,
            self.time,
            self.setup,
            self.log,
            forecast,
            self.fire,
            self.celsius,
            self.foresee,
            drift=self.drift,
            alarms=self.alarms,
            look=self.look,
        )
        self.most_asked = max(self.most_asked, self.asked - before)
        self.moves.append(move)
        return move

    def wait(self, minutes: float, *, every: float = 10.0, drift: float | None = None) -> Move:
        """Let time pass along the drift, asking each so many seconds; return the last move."""
        if drift is not None:
            self.drift = drift
        for _ in range(max(1, round(60.0 * minutes / every))):
            self.seconds += every
            if self.celsius is not None:
                self.celsius += self.drift * every / 3600.0
            self.ask()
        return self.moves[-1]

    def do(self, entry: Entry) -> None:
        self.log = enter(self.log, entry, self.seconds, START)


def moment_of(talk: Talk) -> Moment:
    """The moment as the advice sees it."""
    forecast = None if talk.celsius is None else talk.ahead(talk.celsius)
    _, moment = moves.gather(
        talk.state,
        talk.seconds,
        talk.time,
        talk.setup,
        talk.log,
        forecast,
        talk.fire,
        talk.celsius,
        talk.drift,
        talk.alarms,
    )
    return moment
