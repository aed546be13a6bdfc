"""Conditions of heat: over the upper limit, on the way there, and faster than wood can do it."""

from typing import Final

from firebox.estimate.track import ProbeTrack
from firebox.records import Priority
from firebox.warn.ahead import minutes_to
from firebox.warn.catalogue import CATALOGUE
from firebox.warn.change import HARMLESS, LEAP
from firebox.warn.course import LEAP_FROM
from firebox.warn.foretold import may_leap, may_run_on
from firebox.warn.view import Finding, View

CLEAR_EXCESS: Final = 5.0
"""So far over the upper limit no noise or flutter explains it: critical, and without delay. [K]"""

FLAME_CELSIUS: Final = 1000.0
"""Hottest gas that could reach a grate probe. [degC] A sensor of lag t can rise by (this - T) / t a second, no faster:
a quicker jump is a wire, and waits for the probe to be judged."""

JUMP_SECONDS: Final = 60.0
"""How long such a jump waits. [s]"""

CATCHES_SECONDS: Final = 900.0
CATCHES: Final = 1.6
"""A split may catch all at once so long after it was laid [s]: a leap has to be so much larger then."""

LARGEST: Final = 1.6
"""However high a pit has leapt without harm, so many times the usual bound is told. [-]"""

MADE_GOOD: Final = 1.5
MADE_GOOD_SECONDS: Final = 10.0
"""A firebox door that is opened for a split lets the fire leap for as long as it stands open, half a minute; a leap that
has lost so much again within so long is over. [K], [s]"""

FALLEN: Final = 3.0
FALLEN_SECONDS: Final = 300.0
FALLING: Final = -30.0
"""A pit that has lost so much within five minutes and loses so much an hour is on its way down. [K], [s], [K/h]"""

SPLIT_RISE_SECONDS: Final = 1500.0
"""So long after wood went in a rise is its own. [s]"""

SETTLING: Final = 480.0
"""The intake that was just moved is given so long before it is to be moved again. [s]"""


def pit_too_hot(view: View) -> Finding | None:
    """Tell of a pit over its upper limit, whatever any model thinks."""
    now, level = view.now, view.level
    if level is None or now.pit is None:
        return None
    over = level - view.said.high
    if over <= (-CATALOGUE["pit-too-hot"].deadband if view.standing("pit-too-hot") else 0.0):
        return None
    if over <= max(CLEAR_EXCESS, 3.0 * (now.pit.noise or 0.0)):
        return Finding(text="The pit is over its upper limit.", probe=now.lead, first=_first_of_heat(view))
    return Finding(
        text="The pit is well over its upper limit.",
        probe=now.lead,
        first=_first_of_heat(view),
        priority=Priority.CRITICAL,
        lasting=JUMP_SECONDS if _jumped(now.pit, level) else 0.0,
    )


def _first_of_heat(view: View) -> str | None:
    """Return what is left to do about a pit that is too hot, by the course it takes; None: what the catalogue says."""
    at, now, level = view.said.intake_at, view.now, view.level
    if level is not None and now.pit is not None and _falls(now.pit, level, now.seconds):
        return "It is coming down already: leave the intake as it is, add no wood, keep both doors shut."
    if at is not None and now.seconds - at < SETTLING:
        return "The intake was just moved: wait, add no wood, keep both doors shut. No water on burning grease."
    return None


def _jumped(pit: ProbeTrack, level: float) -> bool:
    """Tell whether a probe rose faster than any flame could make its sensor rise."""
    belief = pit.belief
    if belief is None or not pit.heard:
        return False
    since = max(1.0, pit.heard[-1][0] - belief.seconds)
    return level - belief.element > (FLAME_CELSIUS - belief.element) / max(pit.lag, 1.0) * (since + 1.0)


def flare(view: View) -> Finding | None:
    """Tell of a rise that only burning grease makes: faster than wood, above all of late, and soon over the limit."""
    now, level, course = view.now, view.level, view.course
    if level is None or now.pit is None:
        return None
    if view.standing("flare"):
        lasts = course.leap > 0.5 * LEAP or (level > view.said.high and not _falls(now.pit, level, now.seconds))
        return _flare(view, level) if lasts else None
    if not view.said.target + LEAP_FROM * view.said.band <= level <= view.said.high:
        return None
    bound = max(LEAP, min(HARMLESS * course.harmless, LARGEST * LEAP))
    if view.since_split < CATCHES_SECONDS:
        bound *= CATCHES
    if not may_leap(course, now.seconds):
        return None
    return _flare(view, level) if course.leap >= bound and _still_rises(now.pit, level, now.seconds) else None


def _flare(view: View, level: float) -> Finding:
    minutes = 1.5 * (view.said.high - level) / max(view.course.leap, LEAP)
    return Finding(
        text="The pit leaps up faster than wood can heat it: grease may be burning.",
        probe=view.now.lead,
        priority=Priority.CRITICAL,
        minutes_until=round(minutes, 1) if minutes > 0.0 else None,
        first=_first_of_flare(view),
    )


def _still_rises(pit: ProbeTrack, level: float, seconds: float) -> bool:
    """Tell whether a leap goes on, and is none of a wire."""
    top = max((celsius for at, celsius in pit.heard if seconds - at <= MADE_GOOD_SECONDS), default=level)
    return level > top - MADE_GOOD and not _jumped(pit, level)


def _first_of_flare(view: View) -> str | None:
    """Return what is left to do about burning grease once the intake was closed; None: what the catalogue says."""
    at = view.said.intake_at
    if at is not None and view.now.seconds - at < SETTLING:
        return "Keep both doors shut until it has burned out. No water on burning grease."
    return None


def _falls(pit: ProbeTrack, level: float, seconds: float) -> bool:
    """Tell whether the pit is on its way down."""
    drift = pit.drift_per_hour
    top = max((celsius for at, celsius in pit.trail if seconds - at <= FALLEN_SECONDS), default=level)
    return drift is not None and drift < FALLING and level < top - FALLEN


def rising_fast(view: View) -> Finding | None:
    """Tell of a rise that no split explains and that crosses the upper limit soon."""
    return _rises_over(view, "rising-fast", "The pit is rising fast, and no split explains it.")


def running_away(view: View) -> Finding | None:
    """Tell of a split's rise that does not settle and that crosses the upper limit soon."""
    return _rises_over(
        view, "running-away", "The fire is running away: left alone, the pit will cross its upper limit."
    )


def _rises_over(view: View, alarm: str, text: str) -> Finding | None:
    """Return what is found of a rise to the limit, under the one name that it has: what stands already keeps its own."""
    level, hot = view.level, view.course.hot
    if level is None or level > view.said.high or view.live(_OTHER[alarm]):
        return None
    if view.standing(alarm):
        holds = hot.still_tells
    else:
        explained = view.since_split < SPLIT_RISE_SECONDS
        holds = hot.tells and explained is (alarm == "running-away") and may_run_on(view.now, view.said.high)
    if not holds:
        return None
    minutes = None if view.now.forecast is None else minutes_to(view.now.forecast, view.said.high)
    return Finding(text=text, probe=view.now.lead, first=_first_of_heat(view), minutes_until=minutes)


_OTHER: Final = {"rising-fast": "running-away", "running-away": "rising-fast"}
