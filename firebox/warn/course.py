"""What the alarms remember of the cook so far: whether the pit was up to temperature, and since when somebody watches."""

from datetime import datetime
from statistics import median
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from firebox.cooklog import CookLog
from firebox.estimate.forecast import FireView, Forecast
from firebox.estimate.track import ProbeTrack
from firebox.records import Clock, Meat, Resumed, Trouble
from firebox.setup import Setup
from firebox.warn.said import Said, key_of, read

RELIT_SECONDS: Final = 3600.0
"""A fire lit again has an hour to bring the pit up before a cold pit is an alarm again; no source. [s]"""

RAISED_SECONDS: Final = 5400.0
"""So long may a pit take to climb to a raised target; a steel pit climbs 30 K in 20-40 min; no source. [s]"""

LOWERED_SECONDS: Final = 3600.0
"""So long may a pit take to come down to a lowered target; its steel gives off half its excess in half an hour. [s]"""

GAP_SECONDS: Final = 90.0
"""A pause in the records longer than this, and than a few usual ones, was not watched by anybody. [s]"""

HOT_CELSIUS: Final = 57.2
"""135 degF: hot holding by the FDA Food Code, 3-501.16; what has been there and is no longer is held too cool. [degC]"""

TURNED: Final = 5.0
"""A pit on its way down that rises by so much from its lowest is no longer on its way down. [K]"""


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


def follow(course: Course, situation: Situation) -> Course:
    """Return the course one look further on; its `said` is never None."""
    course = _follow_watch(course, situation)
    level = situation.level
    if course.said is None or course.said.key != key_of(situation.log, situation.setup):
        said = read(situation.log, situation.setup, situation.seconds)
        course = replace(_follow_orders(course, said, situation.seconds, level), said=said)
    return course if level is None and course.up_by is None else _follow_level(course, situation.seconds, level)


def trouble_key(trouble: Trouble) -> str:
    """Return what tells one trouble from another."""
    return f"{trouble.what} {trouble.name}"


def _follow_watch(course: Course, situation: Situation) -> Course:
    seconds = situation.seconds
    since = course.watching_since
    pace = course.pace
    if course.evaluated is not None and seconds > course.evaluated:
        pause = seconds - course.evaluated
        if pause > max(GAP_SECONDS, 3.0 * pace):
            since = seconds
        pace += 0.2 * (min(pause, 3.0 * pace) - pace)
    course = _follow_clock_and_meat(course, situation)
    resumed, resumed_at = course.resumed, course.resumed_at
    if situation.resumed is not None and situation.resumed.time != resumed:
        resumed, resumed_at, since = situation.resumed.time, seconds, seconds
    troubles = course.troubles
    if troubles or situation.troubles:
        known = dict(troubles)
        troubles = tuple((key, known.get(key, seconds)) for key in map(trouble_key, situation.troubles))
    return replace(
        course,
        evaluated=seconds,
        pace=pace,
        watching_since=since,
        resumed=resumed,
        resumed_at=resumed_at,
        troubles=troubles,
    )


def _follow_clock_and_meat(course: Course, situation: Situation) -> Course:
    clock = situation.clock
    if clock is not None and clock.to != course.clock:
        course = replace(course, clock=clock.to, clock_at=situation.seconds)
    hot = {meat.probe for meat in situation.meats if meat.celsius is not None and meat.celsius >= HOT_CELSIUS}
    new = hot.difference(course.been_hot)
    return replace(course, been_hot=tuple(sorted({*course.been_hot, *new}))) if new else course


def _follow_orders(course: Course, said: Said, seconds: float, level: float | None) -> Course:
    """Take in what the cook ordered: a new target, a fire lit anew."""
    before = course.said
    if before is not None and said.target != before.target and level is not None:
        if level < said.low:
            course = replace(course, up=False, up_by=seconds + RAISED_SECONDS if course.been_up else None)
        if level > said.high:
            course = replace(course, coming_down=True, down_by=seconds + LOWERED_SECONDS, lowest=level)
    lit_anew = said.lit is not None and (before is None or said.lit != before.lit)
    if lit_anew and (level is None or level < said.target - said.band):
        course = replace(course, up=False, up_by=seconds + RELIT_SECONDS if course.been_up else None)
    return course


def _follow_level(course: Course, seconds: float, level: float | None) -> Course:
    said = course.said
    assert said is not None
    if not course.up:
        if level is not None and level >= said.target - said.band:
            course = replace(course, up=True, been_up=True, up_by=None)
        elif course.up_by is not None and seconds >= course.up_by:
            course = replace(course, up=True, up_by=None)
    if course.coming_down and level is not None:
        over = level <= said.high or level > course.lowest + TURNED or seconds >= course.down_by
        course = replace(course, coming_down=not over, lowest=min(course.lowest, level))
    return course
