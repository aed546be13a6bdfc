"""What the alarms are judged by, and their judgement."""

from datetime import datetime

from msgspec.structs import replace

from firebox.records import Alarm
from firebox.warn import alarms
from firebox.warn.alarms import Situation
from firebox.watch.state import WatchState


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


def judge(state: WatchState, time: datetime) -> tuple[WatchState, tuple[Alarm, ...]]:
    """Return the state with the alarms looked at now, and those that changed."""
    warn, raised = alarms.evaluate(state.warn, situation(state, time))
    return replace(state, warn=warn, warned_at=state.seconds), raised
