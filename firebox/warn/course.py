"""What the alarms remember of the cook so far: whether the pit was up to temperature, and since when somebody watches."""

from typing import Final

from msgspec.structs import replace

from firebox.records import Trouble
from firebox.warn.change import LEAP, leap, plunge
from firebox.warn.foretold import follow_cold, follow_hot, may_leap
from firebox.warn.remembered import Course, Situation
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

LEAP_FROM: Final = 0.75
"""A leap is news from so many bands above the target: under that the pit only comes back. [-]"""

LEAP_SECONDS: Final = 900.0
"""A leap after which no limit was crossed for so long was harmless. [s]"""

LID_SECONDS: Final = 360.0
"""A plunge of which half is made good within this was a lid. [s]"""


def follow(course: Course, situation: Situation) -> Course:
    """Return the course one look further on; its `said` is never None."""
    seen = course.evaluated
    passed = 0.0 if seen is None else min(GAP_SECONDS, max(0.0, situation.seconds - seen))
    course = follow_cold(_follow_watch(course, situation), situation, passed)
    course = follow_hot(course, situation, passed)
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
