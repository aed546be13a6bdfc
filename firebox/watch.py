"""The reducer: everything the program thinks, as one pure function over records.

Live watch, replay, demo, benchmark and the JSON stream call the same `step`. It learns the time from the records and
from nowhere else; the same records in give the same records out, bit for bit.

==================  ==============================================================================================
on every record     logical seconds move on; due grid steps are taken (every 10 s: probes judged, estimate advanced)
a reading           its probe hears it
an entry            the cook log, the alarm orders or the clock take it
at least each 10 s  alarms are looked at; each 1 s while the pit is outside its hard limits
a tick              forecast (when 30 s old or something changed), next move, fire, meat, questions that come or go,
                    and the closing tick
==================  ==============================================================================================
"""

from datetime import datetime, timedelta
from functools import cache
from typing import Any, Final

import msgspec
import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from firebox.advise import moves
from firebox.cooklog import CookLog, Deed, enter
from firebox.estimate import pitfilter, probes
from firebox.estimate.forecast import FireView, Forecast
from firebox.estimate.fork import Fork, Plans
from firebox.estimate.pitfilter import Estimate
from firebox.estimate.probes import ProbeTrack
from firebox.meat import follow, outlook, telling
from firebox.meat.follow import Followed
from firebox.plan import live
from firebox.records import (
    Acknowledge,
    Alarm,
    AlarmState,
    Answer,
    Clock,
    Damper,
    DamperName,
    Entry,
    Fire,
    Health,
    Meat,
    Move,
    Outlook,
    Phase,
    ProbeHealth,
    Question,
    Reading,
    Record,
    Resumed,
    Service,
    Shelve,
    Split,
    Tick,
    Trouble,
)
from firebox.setup import Role, Setup, high_limit, low_limit, role_of
from firebox.warn import alarms
from firebox.warn.alarms import Situation, WarnState

GRID: Final = 10.0
"""Logical seconds between two steps of the estimate: a few times faster than any probe's lag or door."""

FORECAST_EVERY: Final = 30.0
"""Logical seconds after which a forecast is made anew: the pit moves by a degree or so in that time."""

ALARMS_EVERY: Final = 10.0
"""Logical seconds between two looks at the alarms while nothing is over a limit: judgements rest on grid steps."""

HOT_ALARMS_EVERY: Final = 1.0
"""The same while the newest pit reading is outside the hard limits, so that these are on screen within two seconds."""

FINE_STEPS: Final = 360
"""After a gap only the last hour is stepped finely; what came before is one long step."""

DRIFT_SECONDS: Final = 330.0
DRIFT_POINTS: Final = 6
"""The drift told is over five minutes of half-minute medians, of which a few may be missing: a split's hump lasts
three times as long, a door's dip a third."""

UNDER_THE_MOVE: Final = "the recommended move is made"


class WatchState(Struct, frozen=True, kw_only=True):
    """All that the watch knows. A value: never changed, only replaced; `freeze` and `thaw` carry it over a restart."""

    setup: Setup
    epoch: datetime | None = None
    """The instant that logical second 0 is called by the present reckoning."""
    seconds: float = 0.0
    grid: float = 0.0
    """The newest grid step taken."""
    tracks: dict[str, ProbeTrack] = {}
    log: CookLog = CookLog()
    estimate: Estimate
    meats: dict[str, Followed] = {}
    """By the name of the probe in it."""
    plan: live.Standing = live.Standing()
    warn: WarnState
    advice: moves.AdviceState
    lead: str | None = None
    forecast: Forecast | None = None
    planned: Forecast | None = None
    """The forecast under the recommended move."""
    planned_for: tuple[Deed, ...] = ()
    forecast_at: float = -1e9
    forecast_key: tuple[int, str | None] = (0, None)
    fire: FireView = FireView(phase=Phase.UNKNOWN)
    move: Move | None = None
    warned_at: float = -1e9
    troubles: dict[str, Trouble] = {}
    asked: dict[str, Question] = {}
    """Questions that are open, by their names."""
    resumed: Resumed | None = None
    clock: Clock | None = None
    """The newest setting of the wall clock."""
    meats_told: tuple[Meat, ...] = ()
    """What was last told of each piece of meat."""


class Step(Struct, frozen=True):
    """The state after a record, and the records that came out of it."""

    state: WatchState
    out: tuple[Record, ...] = ()


def begin(setup: Setup) -> WatchState:
    """Return a watch that has seen nothing yet."""
    tracks = {probe.name: _fresh(probe.name, setup) for probe in setup.probes}
    return WatchState(
        setup=setup,
        tracks=tracks,
        estimate=pitfilter.begin(setup),
        warn=alarms.begin(),
        advice=moves.begin(),
    )


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
            state, more = _answer(state, record.time)
            return Step(state, (*out, *more, record))
        case _:
            return Step(state, out)
    out = (*out, *more)
    since = state.seconds - state.warned_at
    if since >= ALARMS_EVERY or (since >= HOT_ALARMS_EVERY and _outside(state, record)):
        state, raised = _warn(state, record.time)
        out = (*out, *raised)
    return Step(state, out)


# --- time ----------------------------------------------------------------------------------------


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
    return state, _health_changes(before, tracks, seconds, time)


# --- records in ----------------------------------------------------------------------------------


def _fresh(name: str, setup: Setup) -> ProbeTrack:
    return ProbeTrack(name=name, role=role_of(name, setup), lag_seconds=_lag(name, setup))


def _lag(name: str, setup: Setup) -> float | None:
    return next((probe.lag_seconds for probe in setup.probes if probe.name == name), None)


def _hear(state: WatchState, reading: Reading) -> tuple[WatchState, tuple[Record, ...]]:
    name = reading.probe
    before = state.tracks.get(name) or _fresh(name, state.setup)
    after = probes.hear(before, state.seconds, reading.celsius, reading.status)
    state = replace(state, tracks={**state.tracks, name: after})
    if after.health is before.health:
        return state, ()
    return state, (_health(after, state.seconds, reading.time),)


def _set_up(state: WatchState, setup: Setup) -> WatchState:
    """Take a changed setup: known probes keep their history unless their role changed."""
    tracks = {
        name: track if track.role is role_of(name, setup) else _fresh(name, setup)
        for name, track in state.tracks.items()
    }
    for probe in setup.probes:
        tracks.setdefault(probe.name, _fresh(probe.name, setup))
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


# --- alarms --------------------------------------------------------------------------------------


def _outside(state: WatchState, record: Record) -> bool:
    """Tell whether a record is a reading of the pit outside the hard limits."""
    if not isinstance(record, Reading) or record.celsius is None:
        return False
    track = state.tracks.get(record.probe)
    if track is None or track.role is not Role.GRATE:
        return False
    target, _ = state.log.target(state.seconds, state.setup)
    return not low_limit(state.setup, target) <= record.celsius <= high_limit(state.setup, target)


def situation(state: WatchState, time: datetime) -> Situation:
    """Return all that the alarms are judged by."""
    return Situation(
        seconds=state.seconds,
        time=time,
        setup=state.setup,
        log=state.log,
        tracks=state.tracks,
        lead=state.lead,
        forecast=state.forecast,
        fire=state.fire,
        troubles=tuple(state.troubles.values()),
        resumed=state.resumed,
        clock=state.clock,
        meats=state.meats_told,
        move=state.move,
    )


def _warn(state: WatchState, time: datetime) -> tuple[WatchState, tuple[Alarm, ...]]:
    warn, raised = alarms.evaluate(state.warn, situation(state, time))
    return replace(state, warn=warn, warned_at=state.seconds), raised


# --- the answer to a tick ------------------------------------------------------------------------


def _answer(state: WatchState, time: datetime) -> tuple[WatchState, tuple[Record, ...]]:
    drift = _drift(state)
    state = _look_ahead(state, drift, time)
    state, raised = _warn(state, time)
    out: list[Record] = [_outlook(forecast, drift, time) for forecast in (state.forecast, state.planned) if forecast]
    if state.move is not None:
        out.append(state.move)
    out.append(_fire(state.fire, time))
    moment = follow.moment(state.seconds, state.tracks, state.lead, state.log, state.setup, time=time)
    state = replace(state, meats=outlook.look(state.meats, moment))
    told = tuple(
        telling.tell(state.meats.get(name), track, moment, time)
        for name, track in sorted(state.tracks.items())
        if track.role is Role.MEAT
    )
    plan, timetable = live.remake(state.plan, moment, state.meats, state.fire)
    planned = () if timetable is None else (timetable,)
    asked, questions = _asked(state, time)
    return replace(state, meats_told=told, plan=plan, asked=asked), (*out, *told, *planned, *questions, *raised)


def _asked(state: WatchState, time: datetime) -> tuple[dict[str, Question], tuple[Question, ...]]:
    """Return the questions that are open now, and those that have come or gone since the last tick."""
    assert state.epoch is not None
    now: dict[str, Question] = {}
    for one in pitfilter.questions(state.estimate, state.log, state.setup):
        at = state.epoch + timedelta(seconds=round(one.seconds))
        now[one.name] = state.asked.get(one.name) or Question(
            time=time, question=one.name, text=one.text, open=True, suggests=replace(one.entry, time=at, at=at)
        )
    if now == state.asked:
        return state.asked, ()
    come = tuple(one for name, one in now.items() if name not in state.asked)
    gone = tuple(replace(one, time=time, open=False) for name, one in state.asked.items() if name not in now)
    return now, (*gone, *come)


def _look_ahead(state: WatchState, drift: float | None, time: datetime) -> WatchState:
    key = (state.log.changes, state.lead)
    fresh = key == state.forecast_key and state.seconds - state.forecast_at < FORECAST_EVERY

    weighed: dict[tuple[tuple[float | None, float], ...], Forecast | None] = {}

    @cache
    def alone() -> Any:  # what `foresee` takes
        return pitfilter.alone(state.estimate, state.seconds, state.log, state.setup)

    def foresee(plan: tuple[Deed, ...]) -> Forecast | None:
        under = pitfilter.foresee(
            state.estimate, state.seconds, state.log, state.setup, plan, state.forecast, alone()
        )
        weighed[_outline(plan)] = under
        return under

    def look(plans: Plans, minutes: tuple[float, ...]) -> Fork | None:
        return pitfilter.fork(state.estimate, state.seconds, state.log, state.setup, plans, minutes)

    if not fresh:
        state = replace(
            state,
            forecast=pitfilter.foresee(state.estimate, state.seconds, state.log, state.setup),
            fire=pitfilter.fire_view(state.estimate, state.seconds, state.log, state.setup),
            forecast_at=state.seconds,
            forecast_key=key,
        )
    lead = state.tracks.get(state.lead) if state.lead else None
    advice, move = moves.advise(
        state.advice,
        state.seconds,
        time,
        state.setup,
        state.log,
        state.forecast,
        state.fire,
        lead.celsius if lead else None,
        foresee,
        drift=drift,
        alarms=_shown(state),
        look=look,
    )
    plan = _plan(move, state.seconds, time)
    planned = state.planned
    if not plan:
        planned = None
    elif not fresh or _sizes(plan) != _sizes(state.planned_for):
        # Advice has mostly just looked at what it then advises.
        under = weighed[_outline(plan)] if _outline(plan) in weighed else foresee(plan)
        planned = under and replace(under, assumes=UNDER_THE_MOVE)
    return replace(state, advice=advice, move=move, planned=planned, planned_for=plan)


def _shown(state: WatchState) -> frozenset[str]:
    """Return the alarms that stand before the cook's eyes."""
    live = (AlarmState.UNACKNOWLEDGED, AlarmState.ACKNOWLEDGED)
    return frozenset(alarm.alarm for alarm in alarms.standing(state.warn) if alarm.state in live)


def _plan(move: Move, seconds: float, time: datetime) -> tuple[Deed, ...]:
    """Return the deeds that following a move would add to the log."""
    deeds: list[Deed] = []
    for damper, opening in ((DamperName.INTAKE, move.intake), (DamperName.STACK, move.stack)):
        if opening is not None and not move.hold:
            deeds.append(Deed(seconds=seconds, entry=Damper(time=time, damper=damper, open=opening)))
    if move.split is not None:
        wood = Split(time=time, kg=move.split.kg)
        deeds.append(Deed(seconds=seconds + 60.0 * move.split.in_minutes, entry=wood))
    return tuple(deeds)


def _sizes(plan: tuple[Deed, ...]) -> tuple[float | None, ...]:
    return tuple(
        deed.entry.kg if isinstance(deed.entry, Split) else getattr(deed.entry, "open", None) for deed in plan
    )


def _outline(plan: tuple[Deed, ...]) -> tuple[tuple[float | None, float], ...]:
    """Return a plan's sizes and minutes, as exactly as a move tells them."""
    sizes = [None if size is None else round(size, 2) for size in _sizes(plan)]
    return tuple((size, round(deed.seconds / 6.0)) for size, deed in zip(sizes, plan, strict=True))


def _drift(state: WatchState) -> float | None:
    """Return the lead probe's slope over the last minutes, by least squares. [K/h]

    A slope of now would jump with every gust and door; the cook wants to know which way the pit has been going.
    """
    track = state.tracks.get(state.lead or "")
    points = [point for point in track.trail if state.seconds - point[0] <= DRIFT_SECONDS] if track else []
    if len(points) < DRIFT_POINTS:
        return None
    middle = sum(seconds for seconds, _ in points) / len(points)
    spread = sum((seconds - middle) ** 2 for seconds, _ in points)
    return 3600.0 * sum((seconds - middle) * celsius for seconds, celsius in points) / spread


def _outlook(forecast: Forecast, drift: float | None, time: datetime) -> Outlook:
    return Outlook(
        time=time,
        probe=forecast.probe,
        celsius=round(forecast.celsius, 2),
        drift_per_hour=round(forecast.drift_per_hour if drift is None else drift, 2),
        minutes=forecast.minutes,
        p10=tuple(round(value, 2) for value in forecast.at(0.1)),
        p50=tuple(round(value, 2) for value in forecast.at(0.5)),
        p90=tuple(round(value, 2) for value in forecast.at(0.9)),
        assumes=forecast.assumes,
    )


def _fire(view: FireView, time: datetime) -> Fire:
    def rounded(value: float | None, digits: int) -> float | None:
        return None if value is None else round(value, digits)

    return Fire(
        time=time,
        phase=view.phase,
        heat_watts=rounded(view.heat_watts, 0),
        wood_left_kg=rounded(view.wood_left_kg, 2),
        coal_kg=rounded(view.coal_kg, 2),
        smoulder_risk=rounded(view.smoulder_risk, 2),
        need_watts=rounded(view.need_watts, 0),
        splits=view.splits,
    )


def _health_changes(
    before: dict[str, ProbeTrack], after: dict[str, ProbeTrack], seconds: float, time: datetime
) -> tuple[Record, ...]:
    return tuple(
        _health(track, seconds, time)
        for name, track in sorted(after.items())
        if _told(track) != (_told(before[name]) if name in before else (Health.WAITING, ""))
    )


def _told(track: ProbeTrack) -> tuple[Health, str]:
    """Return what is told of a probe; what is only suspected of a good one is not."""
    return track.health, "" if track.health is Health.GOOD else track.why


def _health(track: ProbeTrack, seconds: float, time: datetime) -> ProbeHealth:
    return ProbeHealth(
        time=time,
        probe=track.name,
        health=track.health,
        role=track.role,
        text=probes.describe(track, seconds),
        signal=track.signal,
    )


# --- over a restart ------------------------------------------------------------------------------


def freeze(state: WatchState) -> bytes:
    """Return the state as bytes; equal states give equal bytes."""
    return _encoder.encode(state)


def thaw(frozen: bytes) -> WatchState:
    """Return the state that `freeze` was given.

    Raises
    ------
    msgspec.DecodeError
        The bytes are no state of this version; the journal has to be replayed instead.
    """
    return _decoder.decode(frozen)


def _array_to_plain(value: Any) -> Any:  # msgspec's hook is untyped
    if isinstance(value, np.ndarray):
        return {"shape": value.shape, "dtype": value.dtype.str, "data": value.tobytes()}
    raise NotImplementedError(f"{type(value).__name__} in the watch state")


def _array_from_plain(_kind: type, value: Any) -> Any:  # msgspec's hook is untyped
    array = np.frombuffer(value["data"], dtype=value["dtype"]).reshape(value["shape"])
    array.setflags(write=False)
    return array


_encoder: Final = msgspec.msgpack.Encoder(enc_hook=_array_to_plain)
_decoder: Final = msgspec.msgpack.Decoder(WatchState, dec_hook=_array_from_plain)
