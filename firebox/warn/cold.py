"""Conditions of cold: under the lower limit, on the way there, and why."""

from typing import Final

from firebox.estimate.track import ProbeTrack
from firebox.warn.ahead import minutes_to
from firebox.warn.catalogue import CATALOGUE
from firebox.warn.change import HARMLESS, PLUNGE_SECONDS, back
from firebox.warn.foretold import may_leap
from firebox.warn.view import Finding, View

SETTLING: Final = 480.0
JUST_LAID: Final = 480.0
NOT_CAUGHT: Final = 600.0
"""What was just done is given so long before the same is asked again: the intake moved, wood laid, wood given air. [s]"""

RISEN: Final = 1.0
"""A cold pit that rises by so much in five minutes has fire enough to wait for. [K]"""

DYING_FALL: Final = -12.0
DYING_LINE_MINUTES: Final = 20.0
DYING_LASTING: Final = 300.0
"""Rule without a model: below the band, falling at least this fast for five minutes, at the limit within twenty."""

SPLIT_RISE_SECONDS: Final = 1500.0
"""A split that has not turned the fall within 25 min has not caught. [s]"""

AJAR_MINUTES: Final = 8.0
"""A plunge counts when it would cross the limit within this time. [min]"""

AJAR_SPLIT_SECONDS: Final = 600.0
"""For so long after wood went in the firebox door, the cold wood and the air it takes explain a fall. [s]"""

AJAR_LASTING: Final = 20.0
LID_LASTING: Final = 90.0
"""How long a plunge must last to count: where doors are written down as a rule, and where a lid may have been opened
without a word. A look at the meat takes half a minute to a minute and a half, and the fall begins to be seen as one
half a minute after the lid was lifted. [s]"""

DEEPEST: Final = 13.0
"""However deep a pit has plunged without harm, a plunge of so much is told. [K]"""

MADE_GOOD: Final = 1.5
STILL_FALLS: Final = 1.0
"""A plunge of which so much is made good is over, or that has lost less than that within two minutes. [K]"""

STALLED_FROM: Final = 480.0
STALLED_UNTIL: Final = 2400.0
"""Between so long after it was laid a split that has not lifted the pit is what is wrong with it; before, it dries;
later, it has burnt. [s]"""

STALLED_RISE: Final = 3.0
"""A lift of less than that is none: the air that comes back after the door was shut gives as much. [K]"""

ASH_AFTER: Final = 5400.0
"""Ash of less than an hour and a half of burning chokes no fire: it is 1 % of the wood. [s]"""

ASH_FED: Final = 3600.0
"""Two splits within so long, and no heat of them: it is not the wood. [s]"""

SMOULDERS: Final = 0.8
SMOULDER_SPLIT: Final = 3600.0
"""Risk from which wood is taken to smoulder, and how long after it was laid there is wood to do so. [-], [s]"""

DOOR_LIKE_FALL: Final = 8.0
DOOR_LIKE_SECONDS: Final = 240.0
"""A fall this steep within a minute and a half is a door that nobody logged, not a fire: over a fire gone out at once
even a thin pit, 100 K above the air with a time constant of half an hour, falls by 5 K in that time. [K]"""


def pit_too_cold(view: View) -> Finding | None:
    """Tell of a pit under its lower limit, whatever any model thinks."""
    now, level = view.now, view.level
    if level is None or now.pit is None:
        return None
    if level >= view.said.low + (CATALOGUE["pit-too-cold"].deadband if view.standing("pit-too-cold") else 0.0):
        return None
    drift = now.pit.drift_per_hour
    still = " and still falling" if drift is not None and drift < DYING_FALL else ""
    return Finding(
        text=f"The pit is under its lower limit{still}.",
        probe=now.lead,
        first=_first_of_cold(view),
        lasting=DOOR_LIKE_SECONDS if _fell_like_a_door(now.pit, now.seconds) else None,
    )


def fire_dying(view: View) -> Finding | None:
    """Tell of a fire that will leave the pit cold: by the forecast, or by a rule without a model."""
    level = view.level
    if level is None or level < view.said.low:
        return None
    if _foretold(view) == "fire-dying":
        return _cold_finding(view, "The fire is dying: left alone, the pit will fall under its lower limit.")
    return _dying_by_rule(view, level)


def split_stalled(view: View) -> Finding | None:
    """Tell of a split that has not lifted the pit, where the forecast carries it under its limit."""
    if _foretold(view) != "split-stalled":
        return None
    return _cold_finding(view, f"The split laid {view.since_split / 60.0:.0f} min ago has not lifted the pit.")


def ash_choking(view: View) -> Finding | None:
    """Tell of a fire that goes down although it is fed, on a grate that was not raked for long."""
    if _foretold(view) != "ash-choking":
        return None
    return _cold_finding(view, "The fire was fed more than once, and the pit goes down all the same.")


def _cold_finding(view: View, text: str) -> Finding:
    forecast = view.now.forecast
    minutes = None if forecast is None else minutes_to(forecast, view.said.low)
    return Finding(text=text, probe=view.now.lead, first=_first_of_cold(view), minutes_until=minutes)


def _foretold(view: View) -> str | None:
    """Return the alarm that says why the pit is foretold to fall under its limit; None: it is not.

    What stands already keeps its name, so that one cause is one alarm.
    """
    level, cold = view.level, view.course.cold
    if level is None or view.now.pit is None or level < view.said.low:
        return None
    for alarm in ("ash-choking", "split-stalled", "fire-dying"):
        if view.standing(alarm):
            return alarm if cold.still_tells else None
    if not cold.tells:
        return None
    if not STALLED_FROM <= view.since_split <= STALLED_UNTIL or view.course.fed_lift > STALLED_RISE:
        return "fire-dying"
    raked, before = view.said.raked, view.said.splits[-2:-1]
    fed_twice = bool(before) and view.now.seconds - before[0] <= ASH_FED
    long_ago = raked is not None and view.now.seconds - raked >= ASH_AFTER
    return "ash-choking" if fed_twice and long_ago else "split-stalled"


def _dying_by_rule(view: View, level: float) -> Finding | None:
    now = view.now
    target, band = view.said.target, view.said.band
    drift = now.pit.drift_per_hour if now.pit else None
    if drift is None or drift > DYING_FALL or level > target - band:
        return None
    minutes = 60.0 * (level - view.said.low) / -drift
    if minutes > DYING_LINE_MINUTES or view.since_split < SPLIT_RISE_SECONDS:
        return None
    return Finding(
        text="The pit is falling steadily and no split of late explains it.",
        probe=now.lead,
        first=_first_of_cold(view),
        minutes_until=minutes,
        lasting=DYING_LASTING,
    )


def _first_of_cold(view: View) -> str | None:
    """Return what is left to do about a fire that is dying once wood was laid; None: what the catalogue says."""
    moved = view.said.intake_at is not None and view.now.seconds - view.said.intake_at < SETTLING
    if view.since_split < JUST_LAID:
        return "Wood was just laid: wait for its flames before anything else."
    if _rises_again(view):
        return "It is rising again: let the fire build up before more wood."
    if view.since_split < NOT_CAUGHT:
        return "The last split has not caught: " + ("wait for its flames." if moved else "open the intake by a mark.")
    return None


def _rises_again(view: View) -> bool:
    """Tell whether the pit has risen over the last minutes."""
    trail = view.now.pit.trail if view.now.pit else ()
    before = [celsius for at, celsius in trail if 270.0 <= view.now.seconds - at <= 330.0]
    return bool(before) and view.level is not None and view.level - before[-1] > RISEN


def _fell_like_a_door(pit: ProbeTrack, seconds: float) -> bool:
    """Tell whether the probe fell steeply within the last ten minutes."""
    trail = [point for point in pit.trail if seconds - point[0] <= 600.0]
    return any(
        before - after >= DOOR_LIKE_FALL and now - then <= 95.0
        for place, (then, before) in enumerate(trail)
        for now, after in trail[place + 1 : place + 4]
    )


def door_ajar(view: View) -> Finding | None:
    """Tell of a pit that plunges as through an open door, where none is known to be open."""
    now, level = view.now, view.level
    if level is None or now.pit is None or level < view.said.low or view.said.doors_open(now.seconds):
        return None
    speed = _plunges(view, level)
    if speed is None or level > view.said.target - view.said.band / 2.0:
        return None
    dip = view.course.dip
    known = min(HARMLESS * view.course.harmless_fall, DEEPEST)
    if not view.standing("door-ajar") and dip is not None and dip[1] - level < known:
        return None
    minutes = (level - view.said.low) / speed
    if not view.standing("door-ajar") and (
        level > view.said.target - view.said.band + 1.0
        or view.since_split < AJAR_SPLIT_SECONDS
        or minutes > AJAR_MINUTES
        or not may_leap(view.course, now.seconds)
    ):
        return None
    trusted = bool(view.said.doors) and view.course.lids == 0
    return Finding(
        text="The pit falls as fast as through an open door, and no door was logged as open.",
        probe=now.lead,
        minutes_until=round(minutes, 1),
        lasting=AJAR_LASTING if trusted else LID_LASTING,
    )


def _plunges(view: View, level: float) -> float | None:
    """Return how fast the pit plunges, or did until a moment ago without making any of it good [K/min]; else None."""
    if view.course.plunge is not None:
        return view.course.plunge
    dip, seconds = view.course.dip, view.now.seconds
    if dip is None or seconds - dip[0] > PLUNGE_SECONDS or level > dip[2] + MADE_GOOD:
        return None
    assert view.now.pit is not None
    then, lately = back(view.now.pit, seconds, PLUNGE_SECONDS), back(view.now.pit, seconds, 120.0)
    if then is None or lately is None or level > lately - STILL_FALLS:
        return None
    return max(STILL_FALLS, then - level) / (PLUNGE_SECONDS / 60.0)


def smouldering(view: View) -> Finding | None:
    """Tell of wood that lies on the fire without flames."""
    risk, level = view.now.fire.smoulder_risk, view.level
    if risk is None or level is None or view.since_split > SMOULDER_SPLIT or level > view.said.target:
        return None
    if risk < SMOULDERS * (0.7 if view.standing("smouldering") else 1.0):
        return None
    return Finding(text="Wood lies on the fire and hardly burns.", probe=view.now.lead)
