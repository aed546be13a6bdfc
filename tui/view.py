"""What the dashboard knows: one frozen value, and the pure fold of records into it.

Everything is placed by logical seconds since the first record seen, like the watch itself does it: when the wall
clock is set (`Clock`), only `epoch` moves, and every earlier point, mark and entry is told in the new reckoning.
"""

from datetime import UTC, datetime, timedelta
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from firebox.cooklog import CookLog, enter
from firebox.records import (
    Alarm,
    AlarmState,
    Answer,
    Awake,
    Clock,
    Damper,
    Door,
    Entry,
    Feel,
    Fire,
    Health,
    Hush,
    Lit,
    Meat,
    MeatOn,
    Move,
    Note,
    Out,
    Outlook,
    Picture,
    Priority,
    ProbeHealth,
    Question,
    Rake,
    Reading,
    Record,
    Resumed,
    Serving,
    Signal,
    Sleep,
    Split,
    Spritz,
    Status,
    Target,
    Timetable,
    Trouble,
    Turn,
    Undo,
    Weigh,
    Wrap,
)
from firebox.setup import Role, Setup, role_of

NOTHING_MORE: Final = "nothing more is done"
"""The `assumes` of the outlook that the interface promises at every tick."""

TRAIL_SECONDS: Final = 20.0
"""Logical seconds between two kept points of a probe: finer than one chart column at any span."""

TRAIL_POINTS: Final = 4320
"""Kept points of a probe: 24 h."""

HEAT_SECONDS: Final = 60.0
"""Logical seconds between two kept answers about the fire: as the journal keeps them."""

HEAT_POINTS: Final = 1440
"""Kept answers about the fire: 24 h."""

EARLIER_ALARMS: Final = 60
OLD_ANSWER_SECONDS: Final = 120.0
"""An outlook or a move that was not renewed for so long (logical) is no longer shown."""

PLAN_SECONDS: Final = 6.0 * 3600.0
"""So long after its hour a plan is still shown (logical); a broker keeps the last one for ever."""

UNDOABLE: Final = (
    Split,
    Damper,
    Door,
    Target,
    Lit,
    Out,
    Rake,
    Spritz,
    Wrap,
    MeatOn,
    Feel,
    Turn,
    Weigh,
    Picture,
    Hush,
    Serving,
    Sleep,
    Awake,
    Answer,
    Note,
)

_EARLIEST: Final = datetime(2, 1, 1, tzinfo=UTC)
_LATEST: Final = datetime(9998, 1, 1, tzinfo=UTC)

_URGENCY: Final = {Priority.CRITICAL: 0, Priority.HIGH: 1, Priority.MEDIUM: 2, Priority.LOW: 3}
_RINGING: Final = (AlarmState.UNACKNOWLEDGED, AlarmState.RETURNED)
_QUIET: Final = (AlarmState.SHELVED, AlarmState.SUPPRESSED, AlarmState.OUT_OF_SERVICE)

Trail = tuple[tuple[float, float], ...]
"""(logical seconds, value), in order."""

FireTrail = tuple[tuple[float, Fire], ...]
"""(logical seconds, the fire as it was estimated then), in order."""


class ProbeView(Struct, frozen=True, kw_only=True):
    """One probe as last told; `celsius` is its newest reading, None where that was not good."""

    name: str
    role: Role
    health: Health = Health.WAITING
    signal: Signal | None = None
    words: str = ""
    celsius: float | None = None
    heard: float | None = None
    trail: Trail = ()

    @property
    def trusted_celsius(self) -> float | None:
        """The temperature, or None while the probe is not trusted."""
        return self.celsius if self.health is Health.GOOD else None


class Line(Struct, frozen=True, kw_only=True):
    """One entry in the log: when it happened and when it was entered."""

    entry: Entry
    seconds: float
    entered: float


class AlarmView(Struct, frozen=True, kw_only=True):
    """An alarm as last told, and when it last changed."""

    alarm: Alarm
    seconds: float


class ViewState(Struct, frozen=True, kw_only=True):
    """All that the dashboard shows; made by `fold` and never changed."""

    setup: Setup | None = None
    epoch: datetime | None = None
    seconds: float = 0.0
    """Logical time of the newest record."""
    probes: dict[str, ProbeView] = {}
    outlook: Outlook | None = None
    outlook_at: float = 0.0
    promise: Outlook | None = None
    """The outlook under the recommended move."""
    promise_at: float = 0.0
    move: Move | None = None
    move_at: float = 0.0
    fire: Fire | None = None
    heat: FireTrail = ()
    """The fire once a minute, as far as its heat was known."""
    meats: dict[str, Meat] = {}
    plan: Timetable | None = None
    alarms: dict[str, AlarmView] = {}
    """Every alarm that is not normal."""
    earlier_alarms: tuple[AlarmView, ...] = ()
    """Changes of state, oldest first."""
    cook: CookLog = CookLog()
    lines: tuple[Line, ...] = ()
    """The cook's entries in the order they were entered, undone ones included."""
    undone: frozenset[str] = frozenset()
    undos: dict[str, str] = {}
    gaps: tuple[tuple[float, float], ...] = ()
    """(from, to) of the times in which nobody watched."""
    troubles: dict[str, Trouble] = {}
    questions: dict[str, Question] = {}
    """What the watch would like to know, by name, oldest first."""


def fold(view: ViewState, record: Record) -> ViewState:
    """Return the view after one more record; records of unknown kind only move the time on."""
    view, seconds = _at(view, record.time)
    match record:
        case Reading():
            return _hear(view, record, seconds)
        case Outlook():
            return _look(view, record, seconds)
        case Move():
            return replace(view, move=record, move_at=seconds)
        case Fire():
            return _burn(view, record, seconds)
        case Meat():
            return replace(view, meats={**view.meats, record.probe: record})
        case Timetable():
            return replace(view, plan=record)
        case Alarm():
            return _alarm(view, record, seconds)
        case ProbeHealth():
            return _judge(view, record)
        case Question():
            return _ask(view, record)
        case Setup():
            return _set_up(view, record)
        case Entry():
            return _enter(view, record, seconds)
        case _:
            return view


# --- time ----------------------------------------------------------------------------------------


def instant(view: ViewState, seconds: float) -> datetime:
    """Return what the clock says at a logical second by the present reckoning, in UTC."""
    return _moved(view.epoch or _EARLIEST, seconds)


def _moved(time: datetime, seconds: float) -> datetime:
    try:
        return min(max(time + timedelta(seconds=seconds), _EARLIEST), _LATEST)
    except OverflowError:
        return _LATEST if seconds > 0 else _EARLIEST


def _at(view: ViewState, time: datetime) -> tuple[ViewState, float]:
    """Return the view moved on to a record, and the record's logical seconds (never before the first record)."""
    if view.epoch is None:
        return replace(view, epoch=_moved(time.astimezone(UTC), 0.0)), 0.0
    seconds = max(0.0, (time - view.epoch).total_seconds())
    return (replace(view, seconds=seconds) if seconds > view.seconds else view), seconds


# --- what the watch says -------------------------------------------------------------------------


def _probe(view: ViewState, name: str) -> ProbeView:
    return view.probes.get(name) or ProbeView(name=name, role=role_of(name, view.setup))


def _with_probe(view: ViewState, probe: ProbeView) -> ViewState:
    return replace(view, probes={**view.probes, probe.name: probe})


def _hear(view: ViewState, reading: Reading, seconds: float) -> ViewState:
    probe = _probe(view, reading.probe)
    if probe.heard is not None and seconds < probe.heard:
        return view
    if reading.status is not Status.GOOD or reading.celsius is None:
        return _with_probe(view, replace(probe, heard=seconds, celsius=None))
    trail = probe.trail
    if not trail or seconds - trail[-1][0] >= TRAIL_SECONDS:
        trail = (*trail[-TRAIL_POINTS:], (seconds, reading.celsius))
    return _with_probe(view, replace(probe, celsius=reading.celsius, heard=seconds, trail=trail))


def _judge(view: ViewState, judged: ProbeHealth) -> ViewState:
    probe = _probe(view, judged.probe)
    return _with_probe(view, replace(probe, health=judged.health, signal=judged.signal, words=judged.text))


def _look(view: ViewState, outlook: Outlook, seconds: float) -> ViewState:
    if role_of(outlook.probe, view.setup) is not Role.GRATE:
        return view
    if outlook.assumes == NOTHING_MORE:
        # A promise is told in the same breath as its outlook; without one, no move is recommended any more.
        promise = view.promise if view.promise_at == seconds else None
        return replace(view, outlook=outlook, outlook_at=seconds, promise=promise)
    return replace(view, promise=outlook, promise_at=seconds)


def _burn(view: ViewState, fire: Fire, seconds: float) -> ViewState:
    heat = view.heat
    if fire.heat_watts is not None and (not heat or seconds - heat[-1][0] >= HEAT_SECONDS):
        heat = (*heat[1 - HEAT_POINTS :], (seconds, fire))
    return replace(view, fire=fire, heat=heat)


def _alarm(view: ViewState, alarm: Alarm, seconds: float) -> ViewState:
    told = AlarmView(alarm=alarm, seconds=seconds)
    standing = {name: other for name, other in view.alarms.items() if name != alarm.alarm}
    if alarm.state is not AlarmState.NORMAL:
        standing[alarm.alarm] = told
    return replace(view, alarms=standing, earlier_alarms=(*view.earlier_alarms[-EARLIER_ALARMS:], told))


def _ask(view: ViewState, question: Question) -> ViewState:
    others = {name: other for name, other in view.questions.items() if name != question.question}
    return replace(view, questions={**others, question.question: question} if question.open else others)


def _set_up(view: ViewState, setup: Setup) -> ViewState:
    probes = {name: replace(probe, role=role_of(name, setup)) for name, probe in view.probes.items()}
    for told in setup.probes:
        probes.setdefault(told.name, ProbeView(name=told.name, role=told.role))
    return replace(view, setup=setup, probes=probes)


# --- what the cook says --------------------------------------------------------------------------


def _enter(view: ViewState, entry: Entry, seconds: float) -> ViewState:
    if isinstance(entry, Clock):
        shift = (entry.to - entry.time).total_seconds()
        return replace(view, epoch=_moved(view.epoch or entry.to, shift))
    if isinstance(entry, Trouble):
        key = f"{entry.what} {entry.name}"
        troubles = {name: other for name, other in view.troubles.items() if name != key}
        return replace(view, troubles={**troubles, key: entry} if entry.on else troubles)
    if isinstance(entry, Resumed):
        view = replace(view, gaps=(*view.gaps, (seconds - entry.gap_seconds, seconds)))
    if isinstance(entry, Undo):
        view = _undo(view, entry)
    happened = seconds
    if entry.at is not None and view.epoch is not None:
        happened = min(seconds, max(0.0, (entry.at - view.epoch).total_seconds()))
    line = Line(entry=entry, seconds=happened, entered=seconds)
    return replace(view, cook=enter(view.cook, entry, seconds, view.epoch), lines=(*view.lines, line))


def _undo(view: ViewState, undo: Undo) -> ViewState:
    undos = view.undos if undo.id is None else {**view.undos, undo.id: undo.of}
    aim = view.undos.get(undo.of)
    if aim is not None:
        return replace(view, undos=undos, undone=view.undone - {aim})
    return replace(view, undos=undos, undone=view.undone | {undo.of})


def is_undone(view: ViewState, entry: Entry) -> bool:
    """Tell whether an entry was taken back."""
    return entry.id is not None and entry.id in view.undone


def undoable(view: ViewState) -> tuple[Line, ...]:
    """Return the entries that can still be taken back, oldest first by when they were entered."""
    return tuple(
        line
        for line in view.lines
        if isinstance(line.entry, UNDOABLE) and line.entry.id is not None and line.entry.id not in view.undone
    )


def undo_of(view: ViewState, entry_id: str) -> str | None:
    """Return the id of the undo that took an entry back; None where it stands."""
    if entry_id not in view.undone:
        return None
    return next((undo for undo, of in reversed(view.undos.items()) if of == entry_id), None)


# --- questions the screen asks -------------------------------------------------------------------


def target(view: ViewState) -> tuple[float, float] | None:
    """Return (target in degC, band in K); None before the watch has told its setup."""
    return view.cook.target(view.seconds, view.setup) if view.setup else None


def lead(view: ViewState) -> ProbeView | None:
    """Return the probe that stands for the pit: the outlook's, else the first trusted one at the grate."""
    outlook = fresh_outlook(view)
    if outlook is not None and outlook.probe in view.probes:
        probe = view.probes[outlook.probe]
        if probe.health is Health.GOOD:
            return probe
    at_the_grate = [probe for probe in view.probes.values() if probe.role is Role.GRATE]
    trusted = [probe for probe in at_the_grate if probe.health is Health.GOOD]
    return next(iter(trusted or at_the_grate), None)


def pit_celsius(view: ViewState) -> float | None:
    """Return the pit's temperature; None while no probe at the grate is trusted."""
    probe = lead(view)
    if probe is None or probe.trusted_celsius is None:
        return None
    outlook = fresh_outlook(view)
    if outlook is not None and outlook.probe == probe.name and outlook.celsius is not None:
        return outlook.celsius
    return probe.trusted_celsius


def standing_plan(view: ViewState) -> Timetable | None:
    """Return the plan as last told; None once the hour it is for was taken back, or is long past."""
    told = any(isinstance(line.entry, Serving) for line in view.lines)
    stands = any(isinstance(deed.entry, Serving) for deed in view.cook.deeds)
    if view.plan is None or (told and not stands):  # seen from afar, no entries are told
        return None
    return view.plan if (instant(view, view.seconds) - view.plan.serve).total_seconds() < PLAN_SECONDS else None


def fresh_outlook(view: ViewState) -> Outlook | None:
    """Return the outlook if nothing more is done; None once it is old or its probe is trusted no more."""
    return _fresh(view, view.outlook, view.outlook_at)


def fresh_promise(view: ViewState) -> Outlook | None:
    """Return the outlook under the recommended move; None once it is old or its probe is trusted no more."""
    return _fresh(view, view.promise, view.promise_at)


def _fresh(view: ViewState, outlook: Outlook | None, told: float) -> Outlook | None:
    if outlook is None or view.seconds - told > OLD_ANSWER_SECONDS:
        return None
    probe = view.probes.get(outlook.probe)
    return outlook if probe is None or probe.health in {Health.GOOD, Health.WAITING} else None


def fresh_move(view: ViewState) -> Move | None:
    """Return the recommended move, unless it was not renewed lately."""
    return view.move if view.seconds - view.move_at <= OLD_ANSWER_SECONDS else None


def standing(view: ViewState) -> tuple[AlarmView, ...]:
    """Return the alarms that count: neither shelved nor suppressed nor out of service; the most urgent first."""
    alarms = [told for told in view.alarms.values() if told.alarm.state not in _QUIET]
    return tuple(sorted(alarms, key=_urgency))


def set_aside(view: ViewState) -> tuple[AlarmView, ...]:
    """Return the alarms that are shelved, suppressed or out of service."""
    alarms = [told for told in view.alarms.values() if told.alarm.state in _QUIET]
    return tuple(sorted(alarms, key=_urgency))


def ringing(view: ViewState) -> tuple[AlarmView, ...]:
    """Return the alarms that nobody has acknowledged, the most urgent first."""
    return tuple(told for told in standing(view) if told.alarm.state in _RINGING)


def calling(view: ViewState) -> tuple[AlarmView, ...]:
    """Return the alarms that hold, cannot wait, and that nobody has acknowledged."""
    urgent = {Priority.CRITICAL, Priority.HIGH}
    return tuple(
        told
        for told in ringing(view)
        if told.alarm.priority in urgent and told.alarm.state is AlarmState.UNACKNOWLEDGED
    )


def call_of(told: AlarmView) -> tuple[str, str]:
    """Return what tells one call from another: an alarm that has become worse calls anew."""
    return told.alarm.alarm, str(told.alarm.priority)


def _urgency(told: AlarmView) -> tuple[bool, int, float, str]:
    """Order by what still has to be seen, then priority, then age."""
    alarm = told.alarm
    return (alarm.state is not AlarmState.UNACKNOWLEDGED, _URGENCY[alarm.priority], told.seconds, alarm.alarm)
