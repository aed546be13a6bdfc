"""The look ahead at a tick: forecast, next move, and the forecast under it."""

from datetime import datetime
from functools import cache
from typing import Any, Final

from msgspec.structs import replace

from firebox.advise import moves
from firebox.cooklog import Deed
from firebox.estimate import pitfilter
from firebox.estimate.forecast import Forecast
from firebox.estimate.fork import Fork, Plans
from firebox.records import AlarmState, Damper, DamperName, Move, Split
from firebox.warn import alarms
from firebox.watch.state import WatchState

FORECAST_EVERY: Final = 30.0
"""Logical seconds after which a forecast is made anew: the pit moves by a degree or so in that time."""

UNDER_THE_MOVE: Final = "the recommended move is made"


def look_ahead(state: WatchState, drift: float | None, time: datetime) -> WatchState:
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

    def look(plans: Plans, minutes: tuple[float, ...], intake: float | None) -> Fork | None:
        return pitfilter.fork(state.estimate, state.seconds, state.log, state.setup, plans, minutes, intake)

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
