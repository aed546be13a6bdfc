"""Conditions of cold: under the lower limit, on the way there, and why."""

from typing import Final

from firebox.estimate.track import ProbeTrack
from firebox.records import Phase
from firebox.warn.ahead import chance_above, minutes_to
from firebox.warn.catalogue import CATALOGUE
from firebox.warn.view import Finding, View

DYING_MINUTES: Final = 20
DYING_CHANCE: Final = 0.6
"""Waking and walking take a few minutes, a split on coals some 15 to give heat (from memory). Looking further ahead
would call every fire dying that is about to get its next split, for a forecast knows of no deed to come."""

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

SPLIT_DIP_SECONDS: Final = 720.0
SPLIT_RISE_SECONDS: Final = 1500.0
"""A fresh split first takes heat for up to 12 min; one that has not turned the fall within 25 min has not caught. [s]"""

DOOR_LIKE_FALL: Final = 8.0
DOOR_LIKE_SECONDS: Final = 480.0
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
    """Tell of a fire that will leave the pit cold: by the forecast, by the fire's phase, or by a rule without a model."""
    level = view.level
    if level is None or level < view.said.low:
        return None
    by_model = _dying_by_forecast(view, level)
    return by_model if by_model is not None else _dying_by_rule(view, level)


def _dying_by_forecast(view: View, level: float) -> Finding | None:
    now, forecast = view.now, view.now.forecast
    if forecast is None or view.since_split < SPLIT_DIP_SECONDS:
        return None
    target, band = view.said.target, view.said.band
    chance = 1.0 - chance_above(forecast, view.said.low, DYING_MINUTES)
    standing = view.standing("fire-dying")
    foretold = chance >= (0.6 * DYING_CHANCE if standing else DYING_CHANCE)
    if not standing and level > target - band / 2.0:
        return None
    phase = now.fire.phase is Phase.DYING and level < target - band and chance >= 0.6 * DYING_CHANCE
    if not foretold and not phase:
        return None
    return Finding(
        text="The fire is dying: left alone, the pit will fall under its lower limit.",
        probe=now.lead,
        first=_first_of_cold(view),
        minutes_until=minutes_to(forecast, view.said.low),
        lasting=DOOR_LIKE_SECONDS if now.pit and _fell_like_a_door(now.pit, now.seconds) else None,
    )


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
