"""All that the watch knows, as a value."""

from datetime import datetime

from msgspec import Struct

from firebox.advise import moves
from firebox.cooklog import CookLog, Deed
from firebox.estimate import pitfilter
from firebox.estimate.forecast import FireView, Forecast
from firebox.estimate.pitfilter import Estimate
from firebox.estimate.probes import ProbeTrack
from firebox.meat.follow import Followed
from firebox.plan import live
from firebox.records import Clock, Meat, Move, Phase, Question, Record, Resumed, Trouble
from firebox.setup import Setup, role_of
from firebox.warn import alarms
from firebox.warn.alarms import WarnState


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
    tracks = {probe.name: fresh_track(probe.name, setup) for probe in setup.probes}
    return WatchState(
        setup=setup,
        tracks=tracks,
        estimate=pitfilter.begin(setup),
        warn=alarms.begin(),
        advice=moves.begin(),
    )


def fresh_track(name: str, setup: Setup) -> ProbeTrack:
    return ProbeTrack(name=name, role=role_of(name, setup), lag_seconds=_lag(name, setup))


def _lag(name: str, setup: Setup) -> float | None:
    return next((probe.lag_seconds for probe in setup.probes if probe.name == name), None)
