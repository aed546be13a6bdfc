"""How near the limits are by what is foretold, followed from look to look: the lower one by the forecast, the upper one
by the pit's own slope.
"""

from typing import Final

from msgspec.structs import replace

from firebox.estimate.track import ProbeTrack
from firebox.warn import nearness
from firebox.warn.ahead import chance_above, minutes_to
from firebox.warn.change import back
from firebox.warn.remembered import Course, Situation

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

UP_SECONDS: Final = 600.0
"""A pit that has just come up runs on for so long. [s]"""

SHUT_SECONDS: Final = 300.0
"""So long after a door was shut a leap is the air coming back. [s]"""


def follow_cold(course: Course, situation: Situation, passed: float) -> Course:
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


def follow_hot(course: Course, situation: Situation, passed: float) -> Course:
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
