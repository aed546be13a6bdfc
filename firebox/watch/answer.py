"""The answer to a tick."""

from datetime import datetime, timedelta
from typing import Final

from msgspec.structs import replace

from firebox.estimate import pitfilter
from firebox.meat import follow, outlook, telling
from firebox.plan import live
from firebox.records import Question, Record
from firebox.setup import Role
from firebox.watch.ahead import look_ahead
from firebox.watch.alarming import judge
from firebox.watch.state import WatchState
from firebox.watch.told import fire_record, outlook_record

DRIFT_SECONDS: Final = 330.0
DRIFT_POINTS: Final = 6
"""The drift told is over five minutes of half-minute medians, of which a few may be missing: a split's hump lasts
three times as long, a door's dip a third."""


def full_answer(state: WatchState, time: datetime) -> tuple[WatchState, tuple[Record, ...]]:
    """Return the state after a tick, and all that is told then but the tick itself."""
    drift = _drift(state)
    state = look_ahead(state, drift, time)
    state, raised = judge(state, time)
    out: list[Record] = [
        outlook_record(forecast, drift, time) for forecast in (state.forecast, state.planned) if forecast
    ]
    if state.move is not None:
        out.append(state.move)
    out.append(fire_record(state.fire, time))
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
