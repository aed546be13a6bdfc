"""What a single probe can read where it hangs, by the physics of what it measures."""

from statistics import median
from typing import Final

from firebox.cooklog import CookLog
from firebox.estimate.track import Around, Finding, ProbeTrack, moved
from firebox.records import Door, DoorName, Health, MeatOn, Spritz, Wrap
from firebox.setup import Role

RANGE: Final = {
    Role.GRATE: (-40.0, 600.0),
    Role.FIREBOX: (-40.0, 1300.0),
    Role.STACK: (-40.0, 900.0),
    Role.AMBIENT: (-50.0, 65.0),
    Role.MEAT: (-30.0, 115.0),
}
"""What can be read where. [degC] A wood flame stays under 1300; a grease fire at the grate must still be seen as one;
wet meat cannot pass the boiling point by much; shade in the open stays within the records of weather."""

CHANGE_A_MINUTE: Final = {
    Role.GRATE: 120.0,
    Role.FIREBOX: 600.0,
    Role.STACK: 300.0,
    Role.AMBIENT: 30.0,
    Role.MEAT: 60.0,
}
"""More than this in one minute is a probe that was moved, or a wire, not the fire. [K] An opened door takes 40-80 K
from a thin probe in the chamber. Meat of a kilogram moves by 2 K a minute at the very most (order of magnitude), but
its probe may hang in the air while the pit comes up."""

ERRATIC: Final = {
    Role.GRATE: 8.0,
    Role.FIREBOX: 60.0,
    Role.STACK: 20.0,
    Role.AMBIENT: 6.0,
    Role.MEAT: 4.0,
}
"""A standard deviation beyond this is a loose contact, not air. [K] Ten times and more what the flutter of air leaves
behind the lag of a sheathed sensor."""

MEAT_FALL: Final = 5.0
"""Meat does not cool by this much in ten minutes in a chamber 20 K hotter. [K] Evaporation alone holds it level."""

HOTTER: Final = 20.0
"""How much hotter than the meat the pit must be for that rule. [K]"""

OPENED: Final = 10.0
"""The chamber falls so far within a minute and a half only when it is opened, logged or not. [K] A fire that dies lets
it fall by 1-3 K a minute."""

EXCUSED_SECONDS: Final = 1200.0
"""For so long after an open door, a spritz or a wrap a cooling probe needs no other reason. [s]"""

ICE: Final = 2.0
"""A probe in ice water reads 0 within this. [K] An ordinary thermocouple and its amplifier are right to as much."""

DROPPED: Final = 20.0
"""A probe that was this much warmer minutes ago was put into the bath; a pit never gets there so soon. [K]"""

DROP_SECONDS: Final = 180.0
"""How soon: five time constants of a sheathed probe in water and more. [s]"""

BELOW_AIR: Final = 10.0
"""A probe in a pit with fire in it is never so much colder than the air outside. [K] Beyond what shade, dew and the
errors of both probes add up to."""

MIRRORED: Final = 5.0
"""What the others rise, and it falls, within ten minutes, to be taken for a mirror image. [K]"""

MIRROR_SECONDS: Final = 600.0

LOOSE: Final = "look for a loose plug"
SWAPPED: Final = "are its two wires swapped?"
"""How the words for a noisy and for a reversed probe end; their alarms are told by it."""

_HOT: Final = frozenset({Role.GRATE, Role.FIREBOX, Role.STACK})


def doubt(track: ProbeTrack, around: Around) -> Finding | None:
    """Return what cannot be true of a probe's readings, or who is at it; None where nothing is wrong."""
    if track.role is not Role.AMBIENT and (track.role is not Role.MEAT or track.health is Health.CHECKED):
        checked = _in_ice(track)
        if checked is not None:
            return Health.CHECKED, checked
    why = _turned(track, around) or _out_of_range(track)
    if why is not None:
        return Health.IMPLAUSIBLE, why
    if _fell_too_quickly(track):
        return Health.CHECKED, "falls faster than a pit can; is it being moved?"
    return _implausible(track, around)


def _implausible(track: ProbeTrack, around: Around) -> Finding | None:
    why = _too_quick(track)
    if why is None and not (track.role is Role.MEAT and _was_touched(around)):
        why = _erratic(track)
    if why is None and track.role is Role.MEAT:
        why = _cooling_meat(track, around)
    return None if why is None else (Health.IMPLAUSIBLE, why)


def _out_of_range(track: ProbeTrack) -> str | None:
    if not track.heard:
        return None
    newest = median(celsius for _, celsius in track.heard[-3:])
    low, high = RANGE[track.role]
    if newest > high and track.role is Role.MEAT:
        return "reads hotter than meat can be; is it out of the meat?"
    if newest > high:
        return "reads hotter than can be where it hangs"
    if newest < low:
        return f"reads colder than can be; {SWAPPED}"
    return None


def _in_ice(track: ProbeTrack) -> str | None:
    """Return that a probe is in ice water: it fell to 0 degC as quickly as only a bath can cool it, and stays there.

    A line that has gone dead says 0 as well, but says it without a tremor and from one reading to the next: that is
    left to the other rules.
    """
    if len(track.trail) < 3 or track.step is None or track.still is None:
        return None
    at, newest = track.trail[-1]
    if abs(newest) > ICE or abs(track.trail[-2][1]) > ICE or track.still.low == track.still.high == 0.0:
        return None
    if track.health is Health.CHECKED:
        return "seems to be in ice water; being checked"
    cold_since = next((when for when, value in reversed(track.trail) if abs(value) > ICE), at)
    before = [value for when, value in track.trail if cold_since - DROP_SECONDS <= when <= cold_since]
    if at - cold_since < 2.0 * DROP_SECONDS and before and max(before) > DROPPED:
        return "seems to be in ice water; being checked"
    return None


def _change_a_minute(track: ProbeTrack) -> float:
    """Return how quickly a probe has moved over the last minute. [K/min]"""
    if len(track.trail) < 3:
        return 0.0
    (then, before), (now, after) = track.trail[-3], track.trail[-1]
    return (after - before) * 60.0 / (now - then) if now - then <= 90.0 else 0.0


def _fell_too_quickly(track: ProbeTrack) -> bool:
    return track.role in _HOT and _change_a_minute(track) < -CHANGE_A_MINUTE[track.role]


def _too_quick(track: ProbeTrack) -> str | None:
    if abs(_change_a_minute(track)) <= CHANGE_A_MINUTE[track.role]:
        return None
    return "changed faster than heat can; was it moved?"


def _erratic(track: ProbeTrack) -> str | None:
    if track.noise is None or track.variance_weight < 20.0 or track.noise <= ERRATIC[track.role]:
        return None
    return f"jumps about; {LOOSE}"


def _cooling_meat(track: ProbeTrack, around: Around) -> str | None:
    pit = around.pit
    if pit is None or pit.celsius is None or not track.trail or len(track.trail) < 20:
        return None
    newest = track.trail[-1][1]
    if max(value for _, value in track.trail[-20:]) - newest < MEAT_FALL or pit.celsius < newest + HOTTER:
        return None
    if _was_touched(around):
        return None
    return "falls while the pit around it is hot; has it slipped out?"


def _was_touched(around: Around) -> bool:
    """Tell whether the meat may have been touched of late: somebody wrote it down, or the chamber shows it."""
    return _excused(around.log, around.seconds) or (around.pit is not None and _was_opened(around.pit))


def _excused(log: CookLog, seconds: float) -> bool:
    """Tell whether the cook was at the meat of late, as far as logged."""
    for deed in reversed(log.deeds):
        if deed.seconds > seconds:
            continue
        if seconds - deed.seconds > EXCUSED_SECONDS:
            break
        if isinstance(deed.entry, Spritz | Wrap | MeatOn):
            return True
        if isinstance(deed.entry, Door) and deed.entry.door is DoorName.COOK:
            return True
    return log.door_open(DoorName.COOK, seconds)


def _was_opened(pit: ProbeTrack) -> bool:
    """Tell whether the chamber's own probe shows that a door or the lid stood open within the last quarter of an hour."""
    trail = pit.trail
    return any(
        before - after > OPENED and now - then <= 90.0
        for (then, before), (now, after) in zip(trail, trail[2:], strict=False)
    )


def _turned(track: ProbeTrack, around: Around) -> str | None:
    """Return the finding of swapped wires: colder than the air, or falling away from it as the other hot probes rise.

    A thermocouple with its wires swapped reads as far below the temperature of its plug as the tip is above it.
    """
    if track.role not in _HOT or len(track.trail) < 10:
        return None
    newest, air = track.trail[-1][1], _air(around)
    below = newest < min(0.0, 0.0 if air is None else air) - BELOW_AIR
    hot = [
        other
        for other in around.tracks.values()
        if other.name != track.name and other.role in _HOT and other.health is Health.GOOD and other.trail
    ]
    if not hot:
        return None
    # in a bath or outdoors a probe is cold as well, but neither falls as the fire rises
    if below and air is not None and all(other.trail[-1][1] > air + HOTTER for other in hot):
        return f"reads colder than the air while the pit is hot; {SWAPPED}"
    if (
        newest > (track.trail[0][1] if air is None else air)
        or moved(track, around.seconds, MIRROR_SECONDS) > -MIRRORED
    ):
        return None
    if all(moved(other, around.seconds, MIRROR_SECONDS) > MIRRORED for other in hot):
        return f"falls while the others rise; {SWAPPED}"
    return None


def _air(around: Around) -> float | None:
    return next(
        (
            track.trail[-1][1]
            for _, track in sorted(around.tracks.items())
            if track.role is Role.AMBIENT and track.health is Health.GOOD and track.trail
        ),
        None,
    )
