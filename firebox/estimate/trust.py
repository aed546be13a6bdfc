"""Whether a probe can be believed: silent, stuck, implausible, being checked, or at odds with its neighbours.

Each rule has a physical or statistical reason, stands alone, and gives a finding in plain words. A finding has to last
before it becomes the health of the probe, and to be gone for a while before the probe is trusted again.

============  ================================================
rules         module
============  ================================================
`plausible`   what a single probe can read where it hangs
`order`       which of two roles is the hotter
`kinship`     agreement of probes in the same air, and the vote
this module   silent and stuck; from a finding to a health
============  ================================================
"""

import math
from typing import Final

from msgspec.structs import replace

from firebox.cooklog import CookLog
from firebox.estimate import kinship, order, plausible
from firebox.estimate.track import Around, Finding, ProbeTrack
from firebox.records import Health
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

CLEAR_SECONDS: Final = 60.0
"""A finding has to be gone for so long before the probe is trusted again. [s]"""

LASTING: Final = {Health.IMPLAUSIBLE: 15.0, Health.CHECKED: 15.0, Health.STUCK: 0.0, Health.DISAGREEING: 0.0}
"""How long a finding must last before it is the probe's health. [s] Pairs apart have lasted before they are found."""


def become(track: ProbeTrack, health: Health, seconds: float) -> ProbeTrack:
    """Return the track with another health; a probe that is not good has no temperature."""
    if health is track.health:
        return track
    if health is Health.GOOD:
        belief = track.belief
        return replace(
            track,
            health=health,
            since=seconds,
            celsius=belief.value if belief else track.celsius,
            welcomed=None if track.health is Health.WAITING else seconds,
        )
    return replace(track, health=health, since=seconds, celsius=None, drift_per_hour=None)


def judge(tracks: dict[str, ProbeTrack], seconds: float, log: CookLog, lead: str | None) -> dict[str, ProbeTrack]:
    """Return the tracks with the health that their readings deserve."""
    around = Around(tracks=tracks, seconds=seconds, log=log, pit=tracks.get(lead) if lead else None)
    compared, apart = kinship.compare(around)
    compared, swapped = order.place(replace(around, tracks=compared))
    around = replace(around, tracks=compared)
    return {name: _judge(track, around, swapped.get(name), apart.get(name)) for name, track in compared.items()}


def silence_limit(track: ProbeTrack) -> float:
    """Return how long this probe may say nothing; longer while its own interval is not known. [s]"""
    if track.interval is None:
        return SILENT_INTERVALS * SILENT_SECONDS
    return max(SILENT_SECONDS, SILENT_INTERVALS * track.interval)


def _judge(track: ProbeTrack, around: Around, swapped: Finding | None, apart: Finding | None) -> ProbeTrack:
    if track.last_heard is None:
        return track
    if around.seconds - track.last_heard >= silence_limit(track):
        quiet = replace(track, suspect=None, why="", fault=None, fault_count=0)
        return become(quiet, Health.SILENT, around.seconds)
    if track.health in (Health.OPEN, Health.SHORTED, Health.FAILED, Health.SILENT):
        return track
    return _weigh(track, swapped or plausible.doubt(track, around) or _stuck(track, around) or apart, around.seconds)


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


# --- stuck ---------------------------------------------------------------------------------------


def _stuck(track: ProbeTrack, around: Around) -> Finding | None:
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
    if track.step is None:
        return 0.0  # it has never moved but for spikes: a coarse probe in something steady
    window = still.high - still.low + track.step
    if track.step < 1e-3:
        window = still.high - still.low + 1e-3
    chance = math.erf(window / (math.sqrt(8.0) * math.sqrt(track.variance)))
    independent = min(still.count, STUCK_SECONDS / 10.0)
    return independent * math.log10(chance) if chance > 0.0 else -math.inf
