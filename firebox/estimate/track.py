"""What is known of one probe: its readings of late, its filter, its usual ways, and whether it is trusted."""

from typing import Final

from msgspec import Struct

from firebox.cooklog import CookLog
from firebox.estimate.lagfilter import Belief, Wander
from firebox.records import Health, Signal
from firebox.setup import Role

LAG_SECONDS: Final = {
    Role.GRATE: 40.0,
    Role.FIREBOX: 90.0,
    Role.STACK: 40.0,
    Role.AMBIENT: 60.0,
    Role.MEAT: 10.0,
}
"""Usual time constants. [s] A 3 mm sheathed thermocouple in slow air has 20-60 s, a 6 mm one, as the heat of a firebox
asks for, 60-180 s (from memory, order of magnitude). In meat the sensor touches what it measures: a few seconds."""

WANDER: Final = {
    Role.GRATE: Wander(level=1e-3, slope=1.5e-6),
    Role.FIREBOX: Wander(level=1e-1, slope=1.5e-4),
    Role.STACK: Wander(level=1e-2, slope=1.5e-5),
    Role.AMBIENT: Wander(level=1e-4, slope=1e-8),
    Role.MEAT: Wander(level=1e-5, slope=3e-9),
}
"""By orders of magnitude, no source: the slope of a pit turns by about 70 K/h within five minutes when a split catches;
of a firebox by ten times that; of meat by 7 K/h within twenty minutes. Air flutters by about 0.1 K in 10 s at the
grate, 1 K in the flames."""

UNKNOWN_NOISE: Final = 0.5
"""Standard deviation taken until the readings have shown their own. [K] The usual of a thermocouple amplifier beside
a fire is a few tenths; no source."""


SIGNAL: Final = {
    Health.WAITING: Signal.FAILURE,
    Health.GOOD: Signal.GOOD,
    Health.OPEN: Signal.FAILURE,
    Health.SHORTED: Signal.FAILURE,
    Health.FAILED: Signal.FAILURE,
    Health.SILENT: Signal.FAILURE,
    Health.STUCK: Signal.OUT_OF_SPECIFICATION,
    Health.IMPLAUSIBLE: Signal.OUT_OF_SPECIFICATION,
    Health.DISAGREEING: Signal.MAINTENANCE_REQUIRED,
    Health.CHECKED: Signal.FUNCTION_CHECK,
}
"""The status signal of each health. The signals are those of NAMUR NE 107 (verified); which health gives which is the
project's own: no data is a failure; a stale value, or one that cannot be true where it is measured, is out of
specification; one that has drifted from its neighbours asks for maintenance."""


class Still(Struct, frozen=True):
    """A run of readings that do not move beyond their own resolution."""

    since: float
    low: float
    high: float
    count: int


class Kin(Struct, frozen=True, kw_only=True):
    """How two probes go together: sums over the readings of both, which fade, and how well the line through them holds.

    Attributes
    ----------
    at : float
        When both were last looked at. [s]
    weight, one, other, one_one, one_other, other_other : float
        Count, and sums of both probes' degC above `kinship.CENTRE` and of their products.
    spread : float
        Variance of the distance from the line. [K^2]
    mean, mean_spread : float
        That distance over the last quarter of an hour [K], and the variance of this mean [K^2].
    apart_since : float or None
        Since when they have moved apart more than the line explains. [s]
    """

    at: float
    weight: float = 0.0
    one: float = 0.0
    other: float = 0.0
    one_one: float = 0.0
    one_other: float = 0.0
    other_other: float = 0.0
    spread: float = 9.0
    mean: float = 0.0
    mean_spread: float = 4.0
    apart_since: float | None = None


class ProbeTrack(Struct, frozen=True, kw_only=True):
    """One probe as the watch knows it. A value, replaced by `hear` and `settle`.

    Attributes
    ----------
    celsius : float or None
        Temperature around the sensor, filtered, its lag undone; None: not trusted, or never heard. [degC]
    drift_per_hour : float or None
        Its slope. [K/h]
    noise : float or None
        Standard deviation of a reading about a smooth course, at least that of its resolution. [K]
    last_heard : float or None
        When the probe last said anything, good or bad. [s]
    last_celsius : float or None
        The newest good reading, raw. [degC]
    since : float
        When the present health began. [s]
    lag_seconds : float or None
        Time constant of the sensor as configured; None: the usual one of the role.
    heard : tuple of (float, float)
        Good readings, (seconds, degC): those not yet settled, after the last few that are.
    fresh : int
        How many of `heard` are not yet settled.
    trail : tuple of (float, float)
        (seconds, median) each half minute over the last quarter of an hour, trusted or not.
    """

    name: str
    role: Role
    health: Health = Health.WAITING
    celsius: float | None = None
    drift_per_hour: float | None = None
    noise: float | None = None
    last_heard: float | None = None
    last_celsius: float | None = None
    since: float = 0.0
    lag_seconds: float | None = None
    heard: tuple[tuple[float, float], ...] = ()
    fresh: int = 0
    trail: tuple[tuple[float, float], ...] = ()
    belief: Belief | None = None
    interval: float | None = None
    """Usual time between two readings. [s]"""
    variance: float | None = None
    """Of a reading about a smooth course, as seen; without the floor of the resolution. [K^2]"""
    variance_weight: float = 0.0
    """Readings that `variance` rests on."""
    step: float | None = None
    """Smallest change ever seen between two readings: the resolution of a quantised probe. [K]"""
    still: Still | None = None
    fault: Health | None = None
    """What a bad status says, not yet confirmed or confirmed."""
    fault_since: float = 0.0
    fault_count: int = 0
    good_since: float | None = None
    """Good readings in a row since a confirmed fault began here."""
    good_count: int = 0
    doubted: tuple[tuple[float, float], ...] = ()
    """Readings that the filter has refused so far, in a row."""
    suspect: Health | None = None
    """What the judges of trust think, not yet long enough to be the health, or not yet over."""
    suspect_since: float = 0.0
    suspect_seen: float = 0.0
    why: str = ""
    """The finding behind the suspicion, in plain words."""
    kin: dict[str, Kin] = {}
    """Other probe, later by name -> how the two go together."""
    welcomed: float | None = None
    """When it was trusted again after it had not been. [s]"""
    ordered: float | None = None
    """When it last stood in its place in the order of heat. [s]"""

    @property
    def lag(self) -> float:
        """Return the time constant of the sensor in seconds."""
        return LAG_SECONDS[self.role] if self.lag_seconds is None else self.lag_seconds

    @property
    def signal(self) -> Signal:
        """Return the status signal that goes with the health."""
        return SIGNAL[self.health]


Finding = tuple[Health, str]
"""What a judge thinks of a probe, and why, in plain words."""


class Around(Struct, frozen=True, kw_only=True):
    """What a probe is judged against."""

    tracks: dict[str, ProbeTrack]
    seconds: float
    log: CookLog
    pit: ProbeTrack | None
    """The lead probe."""


def moved(track: ProbeTrack, seconds: float, over: float) -> float:
    """Return how far a probe has moved over the last `over` seconds. [K]"""
    early = next((value for at, value in track.trail if at >= seconds - over), None)
    return 0.0 if early is None else track.trail[-1][1] - early
