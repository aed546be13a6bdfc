"""A practice session: a fire, its probes, a simulated hand and what befalls them, played out as records."""

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from firebox.practice.cooks import Hand
from firebox.practice.fire import STEP, Fire
from firebox.practice.gauges import Panel, Sample
from firebox.records import Damper, Door, DoorName, Entry, Lit, MeatOn, Rake, Reading, Split, Status
from firebox.setup import Role

LEAVE_ALONE: Final = 900.0
"""s; so long the simulated hand keeps off the fire after the person at the keys has fed it."""

SHAVING: Final = 0.01
"""kg; what is lighter burns up between two steps of the fire, and counts as no wood laid."""

_LOOK: Final = 10.0  # s between two looks of the hand
_DOOR: Final = 25.0  # s the firebox door stands open for a split that a person puts on


class Event(Struct, frozen=True, kw_only=True):
    """Something that befalls the session `seconds` after its beginning."""

    seconds: float
    befall: Callable[["Session"], None]


class Session:
    """A fire played out in logical time, from the first call of `advance` on.

    Parameters
    ----------
    fire : Fire
    panel : Panel
    hand : Hand or None
        None: nobody tends the fire but the person at the keys.
    events : sequence of Event
        In any order.
    split_kg : float
        What a split weighs when its entry does not say. [kg]
    """

    def __init__(
        self, fire: Fire, panel: Panel, hand: Hand | None, events: Sequence[Event] = (), *, split_kg: float = 1.4
    ) -> None:
        self.fire, self.panel, self.hand = fire, panel, hand
        self.split_kg = split_kg
        self._events = sorted(events, key=lambda event: event.seconds)
        self._begun_at = fire.seconds
        self._start: datetime | None = None
        self._next_look = fire.seconds
        self._door_until: float | None = None
        self._count = 0

    @property
    def seconds(self) -> float:
        """How long the session has run. [s]"""
        return self.fire.seconds - self._begun_at

    def advance(self, time: datetime) -> list[Reading | Entry]:
        """Play on to an instant; return what was written down on the way and what the probes say at the end.

        The first call only marks the beginning. An instant before the present one changes nothing.
        """
        if self._start is None:
            self._start = time
        until = self._begun_at + (time - self._start).total_seconds()
        records: list[Reading | Entry] = []
        while self.fire.seconds + STEP <= until:
            self._play(STEP)
            records.extend(self._written())
        return [*records, *self._readings(time)]

    def later(self, event: Event) -> None:
        """Let one more thing befall the session."""
        self._events = sorted([*self._events, event], key=lambda one: one.seconds)

    def act(self, entry: Entry) -> None:
        """Let an entry of the person at the keys happen to the fire; entries that touch no fire pass.

        So does one that says what happened earlier (`at`): it only tells of what the fire knows already.
        """
        if entry.at is not None:
            return
        perform(self.fire, entry, self.split_kg)
        if isinstance(entry, Split):
            self._door_until = self.fire.seconds + _DOOR
            self._leave_alone()
        elif isinstance(entry, Damper):
            self._leave_alone(0.5 * LEAVE_ALONE)
        elif isinstance(entry, Lit):
            self._leave_alone()

    def _leave_alone(self, seconds: float = LEAVE_ALONE) -> None:
        if self.hand is not None:
            self.hand.held_until = max(self.hand.held_until, self.fire.seconds + seconds)

    def _play(self, seconds: float) -> None:
        fire = self.fire
        while self._events and self._events[0].seconds <= self.seconds:
            self._events.pop(0).befall(self)
        if self._door_until is not None and fire.seconds >= self._door_until:
            fire.set_door(DoorName.FIREBOX, wide=False)
            self._door_until = None
        fire.run(seconds)
        self.panel.follow(fire)
        if self.hand is not None and fire.seconds >= self._next_look:
            self._next_look = fire.seconds + _LOOK
            grates = [g for g in self.panel.gauges if g.role is Role.GRATE]
            self.hand.look(fire, self.panel.felt(grates[0].name))

    def _written(self) -> list[Entry]:
        if self.hand is None or self._start is None:
            return []
        shift = self._start - timedelta(seconds=self._begun_at) - self.hand.epoch
        written = [_moved(entry, shift) for entry in self.hand.entries(self.fire.seconds)]
        named = [replace(entry, id=f"hand-{self._count + number}") for number, entry in enumerate(written, 1)]
        self._count += len(named)
        return named

    def _readings(self, time: datetime) -> list[Reading]:
        samples: list[tuple[str, Sample | None]] = [(g.name, self.panel.sample(g)) for g in self.panel.gauges]
        return [
            Reading(time=time, probe=name, celsius=sample.celsius, status=sample.status)
            for name, sample in samples
            if sample is not None
        ]


def perform(fire: Fire, entry: Entry, split_kg: float) -> None:
    """Let an entry happen to a fire; entries that touch no fire pass. The firebox door that a split needs stays open."""
    match entry:
        case Split():
            fire.set_door(DoorName.FIREBOX, wide=True)
            kg = split_kg if entry.kg is None else entry.kg
            if kg >= SHAVING:
                fire.lay_split(kg, 0.18 if entry.moisture is None else entry.moisture)
        case Damper():
            fire.set_damper(entry.damper, entry.open)
        case Door():
            fire.set_door(entry.door, wide=entry.open)
        case Lit():
            fire.light(1.5 if entry.kg is None else max(0.2, entry.kg))
        case Rake():
            fire.rake()
        case MeatOn():
            fire.put_meat(6.0 if entry.on else 0.0)


def _moved(entry: Entry, shift: timedelta) -> Entry:
    return replace(entry, time=entry.time + shift, at=None if entry.at is None else entry.at + shift)


def plug_out(name: str, status: Status = Status.OPEN) -> Callable[[Session], None]:
    """Return the mishap of a probe's plug that works loose."""

    def befall(session: Session) -> None:
        session.panel.loose[name] = status

    return befall


def plug_in(name: str) -> Callable[[Session], None]:
    """Return the end of that mishap."""

    def befall(session: Session) -> None:
        session.panel.loose.pop(name, None)

    return befall
