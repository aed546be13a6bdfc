"""What the alarms are judged by, and what they remember of the cook so far."""

from datetime import datetime
from statistics import median

from msgspec import Struct

from firebox.cooklog import CookLog
from firebox.estimate.forecast import FireView, Forecast
from firebox.estimate.track import ProbeTrack
from firebox.records import Clock, Meat, Move, Resumed, Trouble
from firebox.setup import Setup
from firebox.warn.nearness import Nearness
from firebox.warn.said import Said


class Situation(Struct, frozen=True, kw_only=True):
    """All that the alarms are judged by.

    `troubles` are those that are on; `resumed` is the newest resumption of the watch, `clock` the newest setting of its
    clock; `fire` and `forecast` are the newest of the estimate, and may be half a minute old; `meats` is what was last
    told of each piece of meat.
    """

    seconds: float
    time: datetime
    setup: Setup
    log: CookLog
    tracks: dict[str, ProbeTrack]
    lead: str | None
    forecast: Forecast | None
    fire: FireView
    troubles: tuple[Trouble, ...] = ()
    resumed: Resumed | None = None
    clock: Clock | None = None
    meats: tuple[Meat, ...] = ()
    move: Move | None = None
    """The newest advice."""

    @property
    def pit(self) -> ProbeTrack | None:
        """Return the track that stands for the pit."""
        return self.tracks.get(self.lead) if self.lead else None

    @property
    def level(self) -> float | None:
        """Return what the lead probe reads, robustly: the middle of its last three raw readings. [degC]

        No model is in it: hard limits are held against this. One wild reading does not move it, two do. None until
        there are three.
        """
        pit = self.pit
        if pit is None or len(pit.heard) < 3:
            return None
        return median(celsius for _, celsius in pit.heard[-3:])


class Course(Struct, frozen=True, kw_only=True):
    """What the alarms remember of the cook.

    Attributes
    ----------
    up : bool
        The pit has been up to temperature, so that a cold pit is news.
    up_by : float or None
        When a pit that is on its way up counts as up in any case. [s]
    coming_down : bool
        The pit is hot only because the target was lowered.
    down_by : float
        When that excuse ends in any case. [s]
    watching_since : float
        Since when the records come without a gap. [s]
    """

    up: bool = False
    been_up: bool = False
    up_since: float = 0.0
    """When it came up. [s]"""
    up_by: float | None = None
    coming_down: bool = False
    down_by: float = 0.0
    lowest: float = 0.0
    said: Said | None = None
    """The log in short, as of the newest look."""
    evaluated: float | None = None
    pace: float = 1.0
    """Usual time between two looks. [s]"""
    watching_since: float = 0.0
    resumed: datetime | None = None
    resumed_at: float | None = None
    troubles: tuple[tuple[str, float], ...] = ()
    """Since when each trouble is known. [s]"""
    clock: datetime | None = None
    clock_at: float | None = None
    """When the clock was last set, by the instant it was set to and in logical time. [s]"""
    been_hot: tuple[str, ...] = ()
    """Probes whose meat has been at hot holding."""
    cold: Nearness = Nearness()
    """How near the lower limit is foretold to be, against what is usual."""
    hot: Nearness = Nearness()
    """How near the upper limit is at the present rise, against what is usual."""
    fed_at: float | None = None
    """The split that the next two are about. [s]"""
    fed_low: float = 0.0
    """How low the pit came since. [degC]"""
    fed_lift: float = 0.0
    """How far it rose again from there. [K]"""
    leap: float = 0.0
    """See `firebox.warn.change.leap`. [K in 90 s]"""
    leaps: tuple[float, float] | None = None
    """When a leap worth an alarm began, and how large it became; until it is known what came of it. [s], [K]"""
    harmless: float = 0.0
    """The largest leap after which no limit was crossed. [K in 90 s]"""
    plunge: float | None = None
    """See `firebox.warn.change.plunge`. [K/min]"""
    dip: tuple[float, float, float] | None = None
    """The newest plunge: when it was last seen, from where, and how low it came. [s], [degC]"""
    harmless_fall: float = 0.0
    """The deepest plunge that nobody wrote down and that did not end under the limit. [K]"""
    lids: int = 0
    """Plunges that ended as those of an open lid do, and that nobody wrote down."""
