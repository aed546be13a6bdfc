"""Conditions of heat: over the upper limit, on the way there, and faster than wood can do it."""

from typing import Final

from firebox.estimate.track import ProbeTrack
from firebox.records import Priority
from firebox.warn.ahead import chance_above, minutes_to
from firebox.warn.catalogue import CATALOGUE
from firebox.warn.change import HARMLESS, LEAP
from firebox.warn.course import LEAP_FROM, RUNAWAY, may_leap, runs_away
from firebox.warn.view import Finding, View

CLEAR_EXCESS: Final = 5.0
"""So far over the upper limit no noise or flutter explains it: critical, and without delay. [K]"""

FLAME_CELSIUS: Final = 1000.0
"""Hottest gas that could reach a grate probe. [degC] A sensor of lag t can rise by (this - T) / t a second, no faster:
a quicker jump is a wire, and waits for the probe to be judged."""

JUMP_SECONDS: Final = 60.0
"""How long such a jump waits. [s]"""

FAST_KELVIN: Final = 8.0
FAST_SECONDS: Final = 120.0
"""A rise by so much in two minutes that has no split to explain it. An intake left open with too big a split takes a
pit over its limit in about ten minutes, burning grease in about four: this is between the two."""

FAST_MINUTES: Final = 10.0
"""A fast rise counts when it would cross the limit within this time. [min]"""

NEW_HIGH: Final = 5.0
"""Above everything of the last quarter of an hour by so much: else it only comes back from a door or a gust. [K]"""

RUNAWAY_STAYS: Final = 0.4
"""A runaway that was told is over when the chance of it is less than so much, at either horizon."""

CATCHES_SECONDS: Final = 900.0
CATCHES: Final = 1.6
"""A split may catch all at once so long after it was laid [s]: a leap has to be so much larger then."""

LARGEST: Final = 1.6
"""However high a pit has leapt without harm, so many times the usual bound is told. [-]"""

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
    return _flare(view, level) if course.leap >= bound and not _jumped(now.pit, level) else None


def _flare(view: View, level: float) -> Finding:
    minutes = 1.5 * (view.said.high - level) / max(view.course.leap, LEAP)
    return Finding(
        text="The pit leaps up faster than wood can heat it: grease may be burning.",
        probe=view.now.lead,
        priority=Priority.CRITICAL,
        minutes_until=round(minutes, 1) if minutes > 0.0 else None,
        first=_first_of_flare(view),
    )


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
    """Tell of a rise that no split explains and that would cross the upper limit soon.

    Every split makes a pit rise as fast for a few minutes, and so does a door that is closed. So it counts only where
    no split was logged of late, where the pit stands above its band and above all of the last quarter of an hour, and
    where it did not come out of a trough, as it does when a split went in that nobody logged.
    """
    now, level = view.now, view.level
    if level is None or now.pit is None or level > view.said.high:
        return None
    target, band = view.said.target, view.said.band
    standing = view.standing("rising-fast")
    if level < target + (0.0 if standing else band):
        return None
    before = [celsius for at, celsius in now.pit.trail if FAST_SECONDS < now.seconds - at <= 900.0]
    then = next((celsius for at, celsius in now.pit.trail if now.seconds - at <= FAST_SECONDS + 30.0), level)
    rise = level - then
    minutes = FAST_SECONDS / 60.0 * (view.said.high - level) / rise if rise > 0.0 else FAST_MINUTES + 1.0
    if rise < FAST_KELVIN * (0.3 if standing else 1.0) or minutes > FAST_MINUTES:
        return None
    if not standing:
        if view.since_split < SPLIT_RISE_SECONDS or len(before) < 4:
            return None
        if level < max(before) + NEW_HIGH or min(before) < target - band / 2.0:
            return None
    return Finding(
        text="The pit is rising fast, and no split explains it.",
        probe=now.lead,
        minutes_until=round(minutes, 1),
        first=_first_of_heat(view),
    )


def running_away(view: View) -> Finding | None:
    """Tell of a pit that the forecast carries over its upper limit."""
    now, forecast, level = view.now, view.now.forecast, view.level
    if forecast is None or level is None or level > view.said.high:
        return None
    target = view.said.target
    if view.standing("running-away"):
        holds = any(chance_above(forecast, view.said.high, minutes) >= RUNAWAY_STAYS for minutes, _ in RUNAWAY)
    else:
        holds = runs_away(view.course, now)
    if not holds:
        return None
    if forecast.drift_per_hour <= 0.0 or level < target:
        return None
    return Finding(
        text="The fire is running away: left alone, the pit will cross its upper limit.",
        probe=now.lead,
        first=_first_of_heat(view),
        minutes_until=minutes_to(forecast, view.said.high),
    )
