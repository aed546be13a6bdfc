"""When each alarm's condition holds: pure predicates on the situation, each with its reason.

Every predicate returns a `Finding` while its condition holds and None while it does not. The limits themselves depend
on no model; what is foretold does, and has a rule without a model behind it.
"""

from collections.abc import Callable
from typing import Final

from firebox.estimate.forecast import Forecast
from firebox.estimate.track import ProbeTrack
from firebox.records import Phase, Priority
from firebox.warn.catalogue import CATALOGUE, Hush
from firebox.warn.faults import blind, probe_faults, readings_stale, troubles
from firebox.warn.said import Said
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

RUNAWAY_MINUTES: Final = 15
RUNAWAY_CHANCE: Final = 0.7
"""Closing the intake acts within minutes, so a quarter of an hour ahead is early enough to act and late enough to be
sure. Two chances in three and more, since every split's rise looks like a runaway for a while."""

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

DOOR_SECONDS: Final = 240.0
"""A door open for longer than this was forgotten. [s]"""

DOOR_EXCUSE_SECONDS: Final = 900.0
DOOR_RECOVERY_SECONDS: Final = 480.0
"""An open door excuses a cold pit for a quarter of an hour, a closed one for eight minutes: the air is back at the
temperature of the steel by then. [s]"""

DOOR_LIKE_FALL: Final = 8.0
DOOR_LIKE_SECONDS: Final = 480.0
"""A fall this steep within a minute and a half is a door that nobody logged, not a fire: over a fire gone out at once
even a thin pit, 100 K above the air with a time constant of half an hour, falls by 5 K in that time. [K]"""

RESUMED_GAP: Final = 60.0
RESUMED_SECONDS: Final = 600.0
"""A gap longer than a minute is told, for ten minutes. [s]"""


def survey(view: View) -> dict[str, Finding]:
    """Return every condition that holds: alarm id -> finding."""
    found = dict(probe_faults(view))
    found.update(troubles(view))
    for alarm, condition in _SINGLE.items():
        finding = condition(view)
        if finding is not None:
            found[alarm] = finding
    return found


def hushes(view: View) -> frozenset[Hush]:
    """Return the reasons for suppression by design that hold now."""
    reasons = []
    if view.said.let_out:
        reasons.append(Hush.LET_OUT)
    if not view.course.up:
        reasons.append(Hush.NOT_UP)
    if view.course.coming_down:
        reasons.append(Hush.NEW_TARGET)
    if door_excuses(view.said, view.now.seconds):
        reasons.append(Hush.DOOR)
    return frozenset(reasons)


def door_excuses(said: Said, seconds: float) -> bool:
    """Tell whether a door explains a cold pit: open, but not for ever, or closed a few minutes ago."""
    for door in said.doors:
        if door.open_since is not None and seconds - door.open_since < DOOR_EXCUSE_SECONDS:
            return True
        if (
            door.open_since is None
            and door.closed_at is not None
            and seconds - door.closed_at < DOOR_RECOVERY_SECONDS
        ):
            return True
    return False


# --- the pit itself ------------------------------------------------------------------------------


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
    """Return what is left to do about a pit that is too hot once the intake was moved; None: what the catalogue says."""
    at = view.said.intake_at
    if at is not None and view.now.seconds - at < SETTLING:
        return "The intake was just moved: wait, add no wood, keep both doors shut. No water on burning grease."
    return None


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


def _jumped(pit: ProbeTrack, level: float) -> bool:
    """Tell whether a probe rose faster than any flame could make its sensor rise."""
    belief = pit.belief
    if belief is None or not pit.heard:
        return False
    since = max(1.0, pit.heard[-1][0] - belief.seconds)
    return level - belief.element > (FLAME_CELSIUS - belief.element) / max(pit.lag, 1.0) * (since + 1.0)


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


def _fell_like_a_door(pit: ProbeTrack, seconds: float) -> bool:
    """Tell whether the probe fell steeply within the last ten minutes."""
    trail = [point for point in pit.trail if seconds - point[0] <= 600.0]
    return any(
        before - after >= DOOR_LIKE_FALL and now - then <= 95.0
        for place, (then, before) in enumerate(trail)
        for now, after in trail[place + 1 : place + 4]
    )


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
    chance = _chance_above(forecast, view.said.high, RUNAWAY_MINUTES)
    if chance < (0.6 * RUNAWAY_CHANCE if view.standing("running-away") else RUNAWAY_CHANCE):
        return None
    if forecast.drift_per_hour <= 0.0 or level < target:
        return None
    return Finding(
        text="The fire is running away: left alone, the pit will cross its upper limit.",
        probe=now.lead,
        first=_first_of_heat(view),
        minutes_until=_minutes_to(forecast, view.said.high),
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
    chance = 1.0 - _chance_above(forecast, view.said.low, DYING_MINUTES)
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
        minutes_until=_minutes_to(forecast, view.said.low),
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


def _chance_above(forecast: Forecast, celsius: float, minutes: int) -> float:
    """Return the chance to stand above a temperature so many minutes ahead, between the horizons by straight lines."""
    later = next((horizon for horizon in forecast.minutes if horizon >= minutes), forecast.minutes[-1])
    sooner = max((horizon for horizon in forecast.minutes if horizon <= minutes), default=later)
    then = forecast.probability_above(celsius, later)
    if sooner == later:
        return then
    share = (minutes - sooner) / (later - sooner)
    return (1.0 - share) * forecast.probability_above(celsius, sooner) + share * then


def _minutes_to(forecast: Forecast, celsius: float) -> float | None:
    """Return when the median crosses a temperature, by straight lines between the horizons; None: not in sight."""
    then, before = 0.0, forecast.celsius
    for minutes, middle in zip(forecast.minutes, forecast.at(0.5), strict=True):
        if (before - celsius) * (middle - celsius) <= 0.0 and middle != before:
            return then + (minutes - then) * (celsius - before) / (middle - before)
        then, before = float(minutes), middle
    return None


# --- doors and the watch -------------------------------------------------------------------------


def door_left_open(view: View) -> Finding | None:
    """Tell of a door that was opened and, as far as logged, forgotten."""
    words = [
        f"the {door.door} door"
        for door in view.said.doors
        if door.open_since is not None and view.now.seconds - door.open_since > DOOR_SECONDS
    ]
    if not words:
        return None
    verb = "have" if len(words) > 1 else "has"
    return Finding(text=f"{' and '.join(words)} {verb} been open for over four minutes.".capitalize())


def watch_resumed(view: View) -> Finding | None:
    """Tell that nobody watched for a while."""
    at, resumed = view.course.resumed_at, view.now.resumed
    if at is None or resumed is None or resumed.gap_seconds <= RESUMED_GAP:
        return None
    if view.now.seconds - at > RESUMED_SECONDS:
        return None
    minutes = max(1, round(resumed.gap_seconds / 60.0))
    return Finding(text=f"The watch was interrupted; nobody watched for about {minutes} min.")


_SINGLE: Final[dict[str, Callable[[View], Finding | None]]] = {
    "readings-stale": readings_stale,
    "blind": blind,
    "pit-too-hot": pit_too_hot,
    "rising-fast": rising_fast,
    "running-away": running_away,
    "pit-too-cold": pit_too_cold,
    "fire-dying": fire_dying,
    "door-left-open": door_left_open,
    "watch-resumed": watch_resumed,
}
