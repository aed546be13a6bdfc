"""One record after another."""

from datetime import datetime, timedelta
from typing import Final

from msgspec.structs import replace

from firebox.cooklog import enter
from firebox.estimate import pitfilter, probes
from firebox.meat import follow
from firebox.records import (
    Acknowledge,
    Answer,
    Clock,
    Entry,
    Question,
    Reading,
    Record,
    Resumed,
    Service,
    Shelve,
    Tick,
    Trouble,
)
from firebox.setup import Role, Setup, high_limit, low_limit, role_of
from firebox.warn import alarms
from firebox.watch.alarming import judge, situation
from firebox.watch.answer import full_answer
from firebox.watch.state import Step, WatchState, fresh_track
from firebox.watch.told import health_changes, health_record

GRID: Final = 10.0
"""Logical seconds between two steps of the estimate: a few times faster than any probe's lag or door."""

ALARMS_EVERY: Final = 10.0
"""Logical seconds between two looks at the alarms while nothing is over a limit: judgements rest on grid steps."""

HOT_ALARMS_EVERY: Final = 1.0
"""The same while the newest pit reading is outside the hard limits, so that these are on screen within two seconds."""

FINE_STEPS: Final = 360
"""After a gap only the last hour is stepped finely; what came before is one long step."""


def step(state: WatchState, record: Record) -> Step:
    """Return the watch after one more record.

    Parameters
    ----------
    state : WatchState
    record : Record
        A reading, an entry, a setup or a tick, in the order of time. A record from before the newest one counts as
        of now. Records out are no input and change nothing.

    Returns
    -------
    Step
        Alarms and changes of a probe's health come out when they happen; outlook, move, fire and meat at a tick,
        which is itself the last record of its answer.

    Notes
    -----
    Never raises on a record that decoded.
    """
    state = _at(state, record)
    state, out = _grid_steps(state, record.time, including=isinstance(record, Tick))
    match record:
        case Reading():
            state, more = _hear(state, record)
        case Setup():
            state, more = _set_up(state, record), ()
        case Entry():
            state, more = _enter(state, record)
        case Tick():
            state, more = full_answer(state, record.time)
            return Step(state, (*out, *more, record))
        case _:
            return Step(state, out)
    out = (*out, *more)
    since = state.seconds - state.warned_at
    if since >= ALARMS_EVERY or (since >= HOT_ALARMS_EVERY and _outside(state, record)):
        state, raised = judge(state, record.time)
        out = (*out, *raised)
    return Step(state, out)


def _at(state: WatchState, record: Record) -> WatchState:
    if state.epoch is None:
        return replace(state, epoch=record.time)
    seconds = (record.time - state.epoch).total_seconds()
    return replace(state, seconds=seconds) if seconds > state.seconds else state


def _grid_steps(state: WatchState, time: datetime, *, including: bool) -> tuple[WatchState, tuple[Record, ...]]:
    """Take the grid steps that are due; a step at the record's own instant waits for a tick to close the cell."""
    due = int(state.seconds // GRID)
    if not including and due * GRID == state.seconds:
        due -= 1
    done = round(state.grid / GRID)
    if due <= done:
        return state, ()
    before = state.tracks
    lead, tracks, estimate, meats = state.lead, state.tracks, state.estimate, state.meats
    seconds = state.grid
    for count in range(max(done + 1, due - FINE_STEPS), due + 1):
        seconds = count * GRID
        tracks, cell = probes.settle(tracks, seconds, state.log, state.setup)
        lead = probes.lead(tracks, state.setup)
        estimate = pitfilter.advance(estimate, seconds, cell, state.log, state.setup, lead)
        meats = follow.keep(meats, follow.moment(seconds, tracks, lead, state.log, state.setup), tracks)
    log = replace(state.log, revised=None) if state.log.revised is not None else state.log
    state = replace(state, grid=seconds, tracks=tracks, estimate=estimate, lead=lead, log=log, meats=meats)
    return state, health_changes(before, tracks, seconds, time)


def _hear(state: WatchState, reading: Reading) -> tuple[WatchState, tuple[Record, ...]]:
    name = reading.probe
    before = state.tracks.get(name) or fresh_track(name, state.setup)
    after = probes.hear(before, state.seconds, reading.celsius, reading.status)
    state = replace(state, tracks={**state.tracks, name: after})
    if after.health is before.health:
        return state, ()
    return state, (health_record(after, state.seconds, reading.time),)


def _set_up(state: WatchState, setup: Setup) -> WatchState:
    """Take a changed setup: known probes keep their history unless their role changed."""
    tracks = {
        name: track if track.role is role_of(name, setup) else fresh_track(name, setup)
        for name, track in state.tracks.items()
    }
    for probe in setup.probes:
        tracks.setdefault(probe.name, fresh_track(probe.name, setup))
    estimate = state.estimate if state.tracks or state.log.deeds else pitfilter.begin(setup)
    return replace(state, setup=setup, tracks=tracks, estimate=estimate)


def _enter(state: WatchState, entry: Entry) -> tuple[WatchState, tuple[Record, ...]]:
    match entry:
        case Clock():
            shift: timedelta = entry.to - entry.time
            assert state.epoch is not None
            return replace(state, epoch=state.epoch + shift, clock=entry, warned_at=-1e9), ()
        case Acknowledge() | Shelve() | Service():
            warn, raised = alarms.order(state.warn, entry, situation(state, entry.time))
            return replace(state, warn=warn), raised
        case Trouble():
            troubles = {key: value for key, value in state.troubles.items() if key != _trouble_key(entry)}
            if entry.on:
                troubles[_trouble_key(entry)] = entry
            return replace(state, troubles=troubles, warned_at=-1e9), ()
        case Resumed():
            return replace(state, resumed=entry, warned_at=-1e9), ()
        case Answer(yes=True):
            asked = state.asked.get(entry.question)
            return (state, ()) if asked is None else _enter(state, _confirmed(entry, asked))
        case _:
            log = enter(state.log, entry, state.seconds, state.epoch)
            earlier = state.log.revised
            if log is not state.log and earlier is not None:
                log = replace(log, revised=earlier if log.revised is None else min(earlier, log.revised))
            return replace(state, log=log), ()


def _confirmed(answer: Answer, question: Question) -> Entry:
    """Return the entry that a yes stands for; it is taken back by the answer's own id."""
    return replace(question.suggests, time=answer.time, id=answer.id, at=question.suggests.at)


def _trouble_key(trouble: Trouble) -> str:
    return f"{trouble.what} {trouble.name}"


def _outside(state: WatchState, record: Record) -> bool:
    """Tell whether a record is a reading of the pit outside the hard limits."""
    if not isinstance(record, Reading) or record.celsius is None:
        return False
    track = state.tracks.get(record.probe)
    if track is None or track.role is not Role.GRATE:
        return False
    target, _ = state.log.target(state.seconds, state.setup)
    return not low_limit(state.setup, target) <= record.celsius <= high_limit(state.setup, target)
