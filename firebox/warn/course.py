"""What the alarms remember of the cook so far: whether the pit was up to temperature, and since when somebody watches."""

from datetime import datetime
from statistics import median
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from firebox.cooklog import CookLog
from firebox.estimate.forecast import FireView, Forecast
from firebox.estimate.track import ProbeTrack
from firebox.records import Clock, Meat, Move, Resumed, Trouble
from firebox.setup import Setup
from firebox.warn import nearness
from firebox.warn.ahead import chance_above, minutes_to
from firebox.warn.change import LEAP, back, leap, plunge
from firebox.warn.nearness import Nearness
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


RISING_FROM: Final = 0.75
"""So many bands above the target it must stand already: under that one split's rise is not yet told from another."""

LINE_SECONDS: Final = 180.0
"""A rise is that of so long, drawn on in a straight line: a forecast made before the air was forgotten open, or from a
log that knows nothing of it, foresees a hump that settles. [s]"""

RUNS_ON: Final = ((5, 0.1), (15, 0.1))
"""(minutes ahead, chance to stand above the limit then) of which the forecast has to grant one at least."""

COMES_BACK: Final = 8.0
"""A pit that stood so far under its target within eight minutes comes back from a lid, logged or not. [K]"""

DIP_SECONDS: Final = 480.0
"""So long after a door was shut its dip is no course of the fire's. [s]"""

FANNED_SECONDS: Final = 720.0
"""And so long the rise out of it is not: the fire was fanned meanwhile, overshoots, and settles. [s]"""

FRESH: Final = (480.0, 1200.0)
"""So long after a split its wood has dried at the surface and flames. [s]"""

SETTLES_SECONDS: Final = 1800.0
"""A pit that has just come up overshoots and falls back until its dampers are set: so long nothing is foretold; the hard
limits stand. [s] No source; the steel of a middling pit takes about as long to warm through."""

SPLIT_DIP_SECONDS: Final = 720.0
"""A fresh split first takes heat for up to 12 min. [s]"""

LEAP_FROM: Final = 0.75
"""A leap is news from so many bands above the target: under that the pit only comes back. [-]"""

UP_SECONDS: Final = 600.0
"""A pit that has just come up runs on for so long. [s]"""

SHUT_SECONDS: Final = 300.0
"""So long after a door was shut a leap is the air coming back. [s]"""

LEAP_SECONDS: Final = 900.0
"""A leap after which no limit was crossed for so long was harmless. [s]"""

LID_SECONDS: Final = 360.0
"""A plunge of which half is made good within this was a lid. [s]"""


def follow(course: Course, situation: Situation) -> Course:
    """Return the course one look further on; its `said` is never None."""
    seen = course.evaluated
    passed = 0.0 if seen is None else min(GAP_SECONDS, max(0.0, situation.seconds - seen))
    course = _follow_cold(_follow_watch(course, situation), situation, passed)
    course = _follow_hot(course, situation, passed)
    level = situation.level
    if course.said is None or course.said.key != key_of(situation.log, situation.setup):
        said = read(situation.log, situation.setup, situation.seconds)
        course = replace(_follow_orders(course, said, situation.seconds, level), said=said)
    course = course if level is None and course.up_by is None else _follow_level(course, situation.seconds, level)
    course = _follow_split(course, level)
    return _follow_changes(course, situation, level)


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


def _follow_cold(course: Course, situation: Situation, passed: float) -> Course:
    """Weigh whether the fire is left to die."""
    said, forecast, level, seconds = course.said, situation.forecast, situation.level, situation.seconds
    if said is None or forecast is None or level is None:
        return course
    if level < said.low or not has_settled(course, seconds) or said.doors_open(seconds, DIP_SECONDS):
        return replace(course, cold=nearness.excused(course.cold, crossed=level < said.low))
    since = None if said.split_at is None else seconds - said.split_at
    dries = since is not None and since < FRESH[0]
    fed = since is not None and FRESH[0] <= since <= FRESH[1]
    minutes = minutes_to(forecast, said.low)
    return replace(course, cold=nearness.follow(course.cold, minutes, passed, nearness.COLD, just_fed=dries, fed=fed))


def _follow_hot(course: Course, situation: Situation, passed: float) -> Course:
    """Weigh whether the fire runs away."""
    said, pit, level, seconds = course.said, situation.pit, situation.level, situation.seconds
    if said is None or pit is None or level is None:
        return course
    lowest = min((celsius for at, celsius in pit.trail if seconds - at <= DIP_SECONDS), default=level)
    from_below = lowest < said.target - COMES_BACK and level - lowest > 2.0 * said.band
    if level > said.high or from_below or not may_leap(course, seconds) or said.doors_open(seconds, FANNED_SECONDS):
        return replace(course, hot=nearness.excused(course.hot, crossed=level > said.high))
    rising = level > said.target + RISING_FROM * said.band
    minutes = _line(pit, level, said.high, seconds) if rising else None
    return replace(course, hot=nearness.follow(course.hot, minutes, passed, nearness.HOT))


def has_settled(course: Course, seconds: float) -> bool:
    """Tell whether the pit has been up for long enough that what is foretold of it counts."""
    return course.up and seconds - course.up_since >= SETTLES_SECONDS


def may_leap(course: Course, seconds: float) -> bool:
    """Tell whether a leap or a plunge would be news: not while the pit comes up, nor when a door was shut just now."""
    shut = course.said is None or not course.said.doors_open(seconds, SHUT_SECONDS)
    return course.up and seconds - course.up_since >= UP_SECONDS and shut


def _line(pit: ProbeTrack, level: float, limit: float, seconds: float) -> float | None:
    """Return in how many minutes the course of the last three reaches a limit in a straight line; None: it does not."""
    then = back(pit, seconds, LINE_SECONDS)
    if then is None or (level - then) * (limit - level) <= 0.0:
        return None
    return (limit - level) / (level - then) * LINE_SECONDS / 60.0


def may_run_on(situation: Situation, high: float) -> bool:
    """Tell whether the forecast grants that the pit rises over its limit; without a forecast it may."""
    forecast = situation.forecast
    return forecast is None or any(chance_above(forecast, high, minutes) >= chance for minutes, chance in RUNS_ON)


def _follow_split(course: Course, level: float | None) -> Course:
    """Look how far the last split has lifted the pit."""
    said = course.said
    if said is None or level is None:
        return course
    if said.split_at != course.fed_at:
        return replace(course, fed_at=said.split_at, fed_low=level, fed_lift=0.0)
    low = min(course.fed_low, level)
    lift = max(course.fed_lift, level - low)
    return course if (low, lift) == (course.fed_low, course.fed_lift) else replace(course, fed_low=low, fed_lift=lift)


def _follow_changes(course: Course, situation: Situation, level: float | None) -> Course:
    """Look for leaps and plunges, and for what came of them."""
    pit, said, seconds = situation.pit, course.said, situation.seconds
    if pit is None or level is None or said is None or not course.up:
        return course if course.leap == 0.0 and course.plunge is None else replace(course, leap=0.0, plunge=None)
    size = leap(pit, level, seconds)
    counts = level >= said.target + LEAP_FROM * said.band and may_leap(course, seconds)
    leaps, harmless = _leaps(course, size if counts else 0.0, seconds, over=level > said.high)
    falling = plunge(pit, level, seconds)
    dip, lids = _dip(course, falling, level, situation)
    fall = course.harmless_fall
    if course.dip is not None and dip is None and course.dip[2] > said.low:
        fall = max(fall, course.dip[1] - course.dip[2])
    return replace(
        course,
        leap=size,
        leaps=leaps,
        harmless=harmless,
        plunge=falling,
        dip=dip,
        lids=lids,
        harmless_fall=fall,
    )


def _leaps(course: Course, size: float, seconds: float, *, over: bool) -> tuple[tuple[float, float] | None, float]:
    """Return the leap of which it is not yet known what comes of it, and the largest that was harmless."""
    known = course.leaps
    if known is not None and not over and seconds - known[0] > LEAP_SECONDS:
        return None, max(course.harmless, known[1])
    if over or size < LEAP:
        return None if over else known, course.harmless
    return (seconds, size) if known is None else (known[0], max(known[1], size)), course.harmless


def _dip(
    course: Course, falling: float | None, level: float, situation: Situation
) -> tuple[tuple[float, float, float] | None, int]:
    """Return the plunge that goes on or is being made good, and how many lids were opened without a word."""
    said, pit, seconds, dip = course.said, situation.pit, situation.seconds, course.dip
    assert said is not None
    assert pit is not None
    if falling is not None and not said.doors_open(seconds):
        if dip is None:
            return (seconds, max(celsius for _, celsius in pit.trail), level), course.lids
        return (seconds, dip[1], min(dip[2], level)), course.lids
    if dip is None:
        return None, course.lids
    lowest = min(dip[2], level)
    if level > lowest + 0.5 * (dip[1] - lowest):
        return None, course.lids + 1
    return (None if seconds - dip[0] > LID_SECONDS else (dip[0], dip[1], lowest)), course.lids


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
            course = replace(course, up=True, been_up=True, up_by=None, up_since=seconds)
        elif course.up_by is not None and seconds >= course.up_by:
            course = replace(course, up=True, up_by=None, up_since=seconds)
    if course.coming_down and level is not None:
        over = level <= said.high or level > course.lowest + TURNED or seconds >= course.down_by
        course = replace(course, coming_down=not over, lowest=min(course.lowest, level))
    return course
