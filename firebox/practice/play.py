"""A round as it is played: the fire, its probes and a watch that thinks about them, on one clock.

Time passes only in `run`. Readings come at a fixed pace of the fire, so the same deeds at the same seconds give the same
round, however fast it is played.
"""

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from typing import Final

from msgspec.structs import replace

from firebox.lessons import Choice
from firebox.practice.fire import Fire
from firebox.practice.rounds import SCENARIOS, stage
from firebox.practice.score import EVERY, Ledger, Sample
from firebox.practice.sight import see
from firebox.records import (
    Acknowledge,
    Alarm,
    AlarmState,
    Damper,
    Door,
    DoorName,
    Entry,
    Lit,
    MeatOn,
    Outlook,
    Priority,
    Rake,
    Record,
    Split,
    Tick,
)

Mind = Callable[[Record], Sequence[Record]]
"""Takes a record and returns what the watch answers to it."""

AT_THE_PIT: Final = (Split, Damper, Door, Lit, Rake, MeatOn)
"""What is done at the pit, and done to the fire."""

LEFT_ALONE: Final = "nothing more is done"
"""What the outlook assumes that says where the pit goes by itself."""

SAME_ALARM: Final = 600.0
"""s within which an alarm that is told once more is the same one."""

_PLACE: Final = 0.5  # of the true temperature that counts: the middle of the grate


class Play:
    """One round, from `begin` on.

    Parameters
    ----------
    choice : Choice
    mind : callable
        The watch; `firebox.practice` knows nothing of what it thinks.
    start : datetime
        What the clock says when the round begins.
    tick : float
        Seconds between two questions to the watch.
    """

    def __init__(self, choice: Choice, mind: Mind, start: datetime, *, tick: float = 10.0) -> None:
        staged = stage(choice, start)
        self.choice, self.start = choice, start
        self.scenario = SCENARIOS[choice.scenario]
        self.session, self.setup = staged.session, staged.setup
        self.moisture, self.lit_kg = staged.moisture, staged.lit_kg
        self.ledger = Ledger(staged.setup.target_celsius, staged.setup.band, warm=self.scenario.warm)
        self.lead = staged.lead
        self._mind, self._tick = mind, tick
        self.outlook: Outlook | None = None
        self._rung: dict[str, float] = {}
        self._up: set[str] = set()
        self._gone: set[str] = set()
        self._ticked = self._sampled = 0.0

    @property
    def fire(self) -> Fire:
        """The fire itself, which no watch sees."""
        return self.session.fire

    @property
    def seconds(self) -> float:
        """How long the round has run. [s]"""
        return self.session.seconds

    @property
    def time(self) -> datetime:
        """What the clock says."""
        return self.start + timedelta(seconds=self.seconds)

    @property
    def celsius(self) -> float:
        """What the first probe at the grate feels. [degC]"""
        return self.session.panel.felt("grate")

    def expected(self, minutes: float) -> float | None:
        """Return where the watch sees the pit in so many minutes, if it is left alone; None: it does not say. [degC]"""
        outlook = self.outlook
        if outlook is None or minutes not in outlook.minutes:
            return None
        return outlook.p50[outlook.minutes.index(int(minutes))]

    def begin(self) -> list[Record]:
        """Tell the watch what went before; return the records of it, and its first answer."""
        records: list[Record] = []
        for record in (self.setup, *self.lead, Tick(time=self.start)):
            records += self._hear(record)
        for name in sorted(self._gone):  # whoever kept the fire until now has seen them
            records += self._hear(Acknowledge(time=self.start, alarm=name))
        self.session.advance(self.start)
        return records

    def run(self, until: float, *, every: float = EVERY) -> list[Record]:
        """Let the fire burn up to a second of the round; return what was read and answered.

        Parameters
        ----------
        until : float
            [s]; rounded down to whole steps of `every`.
        every : float
            Seconds between two readings; a whole number of the fire's steps.
        """
        records: list[Record] = []
        while self.seconds + every <= until + 1e-6:
            now = self.start + timedelta(seconds=self.seconds + every)
            for record in self.session.advance(now):
                records += self._hear(record)
            if self.seconds - self._sampled >= EVERY - 1e-6:
                self._sampled = self.seconds
                self._sample()
            if self.seconds - self._ticked >= self._tick - 1e-6:
                self._ticked = self.seconds
                records += self._hear(Tick(time=now))
        return records

    def done(self, entry: Entry) -> Entry:
        """Return an entry as it happens to this fire: now, with this pile's wood and a usual lighting.

        One that says what happened earlier (`at`) is only told to the watch.
        """
        entry = replace(entry, time=self.time)
        if entry.at is not None:
            return entry
        if isinstance(entry, Split):
            kg = self.session.split_kg if entry.kg is None else entry.kg
            return replace(entry, kg=kg, moisture=self.moisture)
        if isinstance(entry, Lit) and entry.kg is None:
            return replace(entry, kg=self.lit_kg)
        return entry

    def act(self, entry: Entry) -> list[Record]:
        """Let an entry happen to the fire, and tell the watch of it; return the records of that."""
        entry = self.done(entry)
        if entry.at is not None:
            return self._hear(entry)
        if isinstance(entry, AT_THE_PIT):
            self.ledger.visit(self.seconds)
        if isinstance(entry, Split | Lit) and entry.kg is not None:
            self.ledger.lay(self.seconds, entry.kg)
        befall(self.session.act, self.fire, entry)
        return self._hear(entry)

    def _hear(self, record: Record) -> list[Record]:
        out = self._mind(record)
        for told in out:
            if isinstance(told, Outlook) and told.assumes == LEFT_ALONE:
                self.outlook = told
            if isinstance(told, Alarm):
                self._alarm(told)
        return [record, *(told for told in out if told is not record)]

    def _alarm(self, told: Alarm) -> None:
        """Count an alarm as it comes up, unless it only flaps; one that stood before the round is none of the player's."""
        name = told.alarm
        if told.state is AlarmState.RETURNED:
            self._gone.add(name)
        else:
            self._gone.discard(name)
        if told.state not in {AlarmState.UNACKNOWLEDGED, AlarmState.ACKNOWLEDGED}:
            self._up.discard(name)
            return
        if name in self._up or told.priority is Priority.LOW:
            return
        self._up.add(name)
        if self.seconds > 0.0 and self.seconds - self._rung.get(name, -1e9) > SAME_ALARM:
            self.ledger.alarms.append(self.seconds)
        self._rung[name] = self.seconds

    def _sample(self) -> None:
        celsius = self.fire.grate(_PLACE) - 273.15
        self.ledger.samples.append(Sample(self.seconds, celsius, see(self.fire).smoke))


def befall(act: Callable[[Entry], None], fire: Fire, entry: Entry) -> None:
    """Let an entry happen to a fire through `act`, with what a person at the pit does besides.

    Whoever lights a fire again first takes out what does not burn; whoever shuts the cook door shuts it firmly.
    """
    if isinstance(entry, Lit):
        fire.pull_dead_wood()
    if isinstance(entry, Door) and entry.door is DoorName.COOK and not entry.open:
        fire.leave_ajar(0.0)
    act(entry)
