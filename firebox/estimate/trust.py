"""Whether a probe can be believed: silent, stuck, implausible, or at odds with its neighbours.

Each rule has a physical or statistical reason, stands alone, and gives a finding in plain words. A finding has to last
before it becomes the health of the probe, and to be gone for a while before the probe is trusted again.
"""

import math
from statistics import median
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from firebox.cooklog import CookLog
from firebox.estimate.track import ProbeTrack
from firebox.records import Door, DoorName, Health, MeatOn, Spritz, Wrap
from firebox.setup import Role

SILENT_SECONDS: Final = 60.0
"""No reading for so long is silence, for a probe that speaks at least every 17 s. [s]"""

SILENT_INTERVALS: Final = 3.5
"""A slower probe may miss three of its own intervals."""

STUCK_SECONDS: Final = 600.0
"""A standstill worth a thought: two time constants of the steel, in which a wood fire is never still. [s]"""

STUCK_LOG_CHANCE: Final = -9.0
"""Log10 of the chance that honest noise stands still so long by luck; one in 10^9 never comes in a life of nights."""

STUCK_WHILE_OTHERS_MOVE: Final = 5.0
"""What another probe of the same role must have moved meanwhile. [K] Well beyond the noise of any probe in use."""

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

EXCUSED_SECONDS: Final = 1200.0
"""For so long after an open door, a spritz or a wrap a cooling probe needs no other reason. [s]"""

APART: Final = 12.0
"""Two grate probes may change apart by so much: hot and cold end of a chamber answer a split differently. [K]"""

APART_SHARE: Final = 0.5
"""And by this share of what they move together."""

APART_SECONDS: Final = 300.0
"""Longer than a gust or a door takes to even out. [s]"""

OFFSET_SECONDS: Final = 1800.0
"""Memory of the usual distance between two grate probes. [s]"""

CLEAR_SECONDS: Final = 60.0
"""A finding has to be gone for so long before the probe is trusted again. [s]"""

LASTING: Final = {Health.IMPLAUSIBLE: 15.0, Health.STUCK: 0.0, Health.DISAGREEING: APART_SECONDS}
"""How long a finding must last before it is the probe's health. [s]"""

_HOT: Final = frozenset({Role.GRATE, Role.FIREBOX, Role.STACK})
Finding = tuple[Health, str]


class _Around(Struct, frozen=True, kw_only=True):
    """What a probe is judged against."""

    tracks: dict[str, ProbeTrack]
    seconds: float
    log: CookLog
    pit: ProbeTrack | None
    """The lead probe."""


def become(track: ProbeTrack, health: Health, seconds: float) -> ProbeTrack:
    """Return the track with another health; a probe that is not good has no temperature."""
    if health is track.health:
        return track
    if health is Health.GOOD:
        belief = track.belief
        return replace(track, health=health, since=seconds, celsius=belief.value if belief else track.celsius)
    return replace(track, health=health, since=seconds, celsius=None, drift_per_hour=None)


def judge(tracks: dict[str, ProbeTrack], seconds: float, log: CookLog, lead: str | None) -> dict[str, ProbeTrack]:
    """Return the tracks with the health that their readings deserve."""
    around = _Around(tracks=tracks, seconds=seconds, log=log, pit=tracks.get(lead) if lead else None)
    apart = _apart(around)
    judged: dict[str, ProbeTrack] = {}
    for name, track in tracks.items():
        learned, finding = apart.get(name, (track, None))
        judged[name] = _judge(learned, around, finding)
    return judged


def silence_limit(track: ProbeTrack) -> float:
    """Return how long this probe may say nothing; longer while its own interval is not known. [s]"""
    if track.interval is None:
        return SILENT_INTERVALS * SILENT_SECONDS
    return max(SILENT_SECONDS, SILENT_INTERVALS * track.interval)


def _judge(track: ProbeTrack, around: _Around, apart: Finding | None) -> ProbeTrack:
    if track.last_heard is None:
        return track
    if around.seconds - track.last_heard >= silence_limit(track):
        quiet = replace(track, suspect=None, why="", fault=None, fault_count=0)
        return become(quiet, Health.SILENT, around.seconds)
    if track.health in (Health.OPEN, Health.SHORTED, Health.FAILED, Health.SILENT):
        return track
    return _weigh(track, _implausible(track, around) or _stuck(track, around) or apart, around.seconds)


def _weigh(track: ProbeTrack, finding: Finding | None, seconds: float) -> ProbeTrack:
    """Return the track with a finding taken into its suspicion, and the suspicion into its health."""
    if finding is None:
        if track.suspect is None or seconds - track.suspect_seen < CLEAR_SECONDS:
            return track
        return become(replace(track, suspect=None, why=""), Health.GOOD, seconds)
    health, why = finding
    since = track.suspect_since if track.suspect is health else seconds
    track = replace(track, suspect=health, suspect_since=since, suspect_seen=seconds, why=why)
    return become(track, health, seconds) if seconds - since >= LASTING[health] else track


# --- implausible ---------------------------------------------------------------------------------


def _implausible(track: ProbeTrack, around: _Around) -> Finding | None:
    why = _out_of_range(track) or _too_quick(track) or _erratic(track)
    if why is None and track.role is Role.MEAT:
        why = _cooling_meat(track, around)
    if why is None and track.role in _HOT:
        why = _reversed(track, around)
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
        return "reads colder than can be; are its two wires swapped?"
    return None


def _too_quick(track: ProbeTrack) -> str | None:
    if len(track.trail) < 3:
        return None
    (then, before), (now, after) = track.trail[-3], track.trail[-1]
    if now - then > 90.0 or abs(after - before) <= CHANGE_A_MINUTE[track.role] * (now - then) / 60.0:
        return None
    return "changed faster than heat can; was it moved?"


def _erratic(track: ProbeTrack) -> str | None:
    if track.noise is None or track.variance_weight < 20.0 or track.noise <= ERRATIC[track.role]:
        return None
    return "jumps about; look for a loose plug"


def _cooling_meat(track: ProbeTrack, around: _Around) -> str | None:
    pit = around.pit
    if pit is None or pit.celsius is None or not track.trail or len(track.trail) < 20:
        return None
    newest = track.trail[-1][1]
    if max(value for _, value in track.trail[-20:]) - newest < MEAT_FALL or pit.celsius < newest + HOTTER:
        return None
    if _excused(around.log, around.seconds):
        return None
    return "falls while the pit around it is hot; has it slipped out?"


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


def _reversed(track: ProbeTrack, around: _Around) -> str | None:
    """Return the finding of swapped wires: it falls below the cold while every other hot probe rises.

    A thermocouple with its wires swapped reads as far below the temperature of its plug as the tip is above it.
    """
    if len(track.trail) < 10 or track.trail[-1][1] > 0.0 or _moved(track, around.seconds) > -STUCK_WHILE_OTHERS_MOVE:
        return None
    others = [
        other
        for other in around.tracks.values()
        if other.name != track.name and other.role in _HOT and other.health is Health.GOOD and other.trail
    ]
    if others and all(_moved(other, around.seconds) > STUCK_WHILE_OTHERS_MOVE for other in others):
        return "falls while the others rise; are its two wires swapped?"
    return None


def _moved(track: ProbeTrack, seconds: float, over: float = STUCK_SECONDS) -> float:
    """Return how far a probe has moved over the last while. [K]"""
    early = next((value for at, value in track.trail if at >= seconds - over), None)
    return 0.0 if early is None else track.trail[-1][1] - early


# --- stuck ---------------------------------------------------------------------------------------


def _stuck(track: ProbeTrack, around: _Around) -> Finding | None:
    still = track.still
    if still is None or around.seconds - still.since < STUCK_SECONDS:
        return None
    if _standstill_by_chance(track) < STUCK_LOG_CHANCE:
        return Health.STUCK, "has not moved at all for ten minutes, which its own noise rules out"
    for other in around.tracks.values():
        if other.name == track.name or other.role is not track.role or track.role is Role.MEAT:
            continue
        span = [value for at, value in other.trail if at >= still.since]
        if other.health is Health.GOOD and span and max(span) - min(span) > STUCK_WHILE_OTHERS_MOVE:
            return Health.STUCK, f"has not moved for ten minutes while {other.name} did"
    return None


def _standstill_by_chance(track: ProbeTrack) -> float:
    """Return log10 of the chance that honest noise would keep the readings within one step as long as they have.

    One reading falls into a window of width w, best placed, with chance erf(w / (sqrt(8) sd)). Readings closer than
    10 s may be smoothed by their source and count as one.
    """
    still = track.still
    if still is None or track.variance is None or track.variance_weight < 20.0 or track.variance <= 0.0:
        return 0.0
    window = still.high - still.low + (track.step or 0.0)
    if (track.step or 0.0) < 1e-3:
        window = still.high - still.low + 1e-3
    chance = math.erf(window / (math.sqrt(8.0) * math.sqrt(track.variance)))
    independent = min(still.count, STUCK_SECONDS / 10.0)
    return independent * math.log10(chance) if chance > 0.0 else -math.inf


# --- disagreeing ---------------------------------------------------------------------------------


def _apart(around: _Around) -> dict[str, tuple[ProbeTrack, Finding | None]]:
    """Return the grate probes with their usual distance from the others brought up to date, and what is found.

    Each probe but the lead is held against the median of the other trusted ones. Not the distance itself counts,
    for no two places at a grate are equally hot, but its change. With two probes nobody can tell which one is right:
    the lead keeps its place and the text names both.
    """
    grates = [
        track
        for track in around.tracks.values()
        if track.role is Role.GRATE and track.trail and track.health in (Health.GOOD, Health.DISAGREEING)
    ]
    if len(grates) < 2:
        return {}
    found: dict[str, tuple[ProbeTrack, Finding | None]] = {}
    for track in grates:
        others = [other for other in grates if other is not track and other.health is Health.GOOD]
        leads = around.pit is not None and track.name == around.pit.name
        if not others or (leads and len(grates) < 3):
            continue
        found[track.name] = _against(track, others, around.seconds)
    return found


def _against(track: ProbeTrack, others: list[ProbeTrack], seconds: float) -> tuple[ProbeTrack, Finding | None]:
    distance = track.trail[-1][1] - median(other.trail[-1][1] for other in others)
    if track.offset is None:
        return replace(track, offset=distance), None
    moves = [abs(_moved(one, seconds, 900.0)) for one in (track, *others)]
    if abs(distance - track.offset) > APART + APART_SHARE * min(moves):
        names = " and ".join(sorted(other.name for other in others))
        return track, (Health.DISAGREEING, f"moves apart from {names}; one of them is wrong")
    return replace(track, offset=track.offset + 10.0 / OFFSET_SECONDS * (distance - track.offset)), None
