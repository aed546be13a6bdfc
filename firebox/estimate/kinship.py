"""Whether probes that hang in the same air go together, and by vote which of them does not.

No two places in a chamber are equally hot, and the gap between them grows and shrinks with the fire. So the colder of
two probes is held against the line that has so far led from the hotter one to it, and a pair stands apart when the
distance from that line is more than it has usually been. The line is learned from readings a quarter of an
hour old, so that a drift does not bend it while it is still in doubt. A probe that stands apart from more of the others
than any other does is the odd one out; of two alone nobody can tell, and the one that leads keeps its place.
"""

import math
from itertools import combinations
from typing import Final

from msgspec.structs import replace

from firebox.estimate.track import Around, Finding, Kin, ProbeTrack, moved
from firebox.records import Health
from firebox.setup import Role

CENTRE: Final = 100.0
"""Readings are summed above this, for the sake of the digits. [degC]"""

MEMORY: Final = 7200.0
"""Memory of how a pair goes together: several splits, so that no single hump decides. [s]"""

MEAN_SECONDS: Final = 900.0
"""Memory of the mean distance: about a hump, which comes and goes while a drift stays. [s]"""

SLOPE_DOUBT: Final = 2000.0
"""How firmly the line is taken to be parallel until the readings say otherwise. [K^2] The slope lies within 1 +- 0.2;
the line holds to 2 K; what is 30 s apart is one reading in twenty that is new: 20 x 4 / 0.04."""

KNOWN: Final = 120.0
"""Looks, of half a minute each, after which a pair is known: an hour, more than a hump."""

APART: Final = 8.0
"""Never apart for less. [K] A probe in use is right to 2-3 K each (class 2 thermocouple and its amplifier), a draught
at one of two places adds as much."""

UNKNOWN_APART: Final = 15.0
"""Nor for less than this while the pair is not known: hot and cold end answer a split differently. [K]"""

APART_SHARE: Final = 1.0
"""This share of what both move within a quarter of an hour is no distance: as a pit comes up, its hot end rises up to
twice as fast as its cold one."""

KNOWN_SHARE: Final = 0.3
"""How much of that is still allowed once the pair is known: its line explains the rest."""

DRIFTED: Final = 5.0
"""The mean over a quarter of an hour is not apart for less. [K] Twice the error of a good probe."""

UNUSUAL: Final = 4.5
"""And none for less than so many of its own standard deviations: once in 150 000 for a bell curve; fires have fatter tails."""

OUTLIER: Final = 9.0
"""A distance beyond three standard deviations teaches no more than one of three. [-] So a drift that begins hardly
makes itself usual."""

WARM: Final = 45.0
"""In a pit colder than this there is nothing to compare. [degC]"""

APART_SECONDS: Final = 240.0
"""Longer than a gust or a door takes to even out. [s] With the minute that readings take to show it, five minutes."""

LEARNED_AFTER: Final = 900.0
"""How old a reading is when the line takes it in. [s]"""

BACK: Final = 0.6
"""A pair comes together again below this share of what told it apart; a deadband."""

_FAMILY: Final = frozenset({Role.GRATE, Role.STACK})
_COMPARED: Final = frozenset({Health.GOOD, Health.DISAGREEING})


def compare(around: Around) -> tuple[dict[str, ProbeTrack], dict[str, Finding]]:
    """Return the tracks with each pair's ways brought up to date, and what the vote finds: probe -> finding.

    The probe in the stack hangs behind the grates in the same gas: it has a vote.
    """
    tracks = dict(around.tracks)
    family = [
        track
        for _, track in sorted(tracks.items())
        if track.role in _FAMILY and track.trail and track.health in _COMPARED
    ]
    kins: dict[tuple[str, str], Kin] = {}
    for one, other in combinations(family, 2):
        before = tracks[one.name].kin.get(other.name)
        kin = _look(before, one, other, around.seconds)
        if kin is not before and kin is not None:
            tracks[one.name] = replace(tracks[one.name], kin={**tracks[one.name].kin, other.name: kin})
        if kin is not None:
            kins[one.name, other.name] = kin
    apart = {pair: kin for pair, kin in kins.items() if _lasted(kin, around.seconds) >= APART_SECONDS}
    return tracks, _vote([track.name for track in family], apart, kins, around) if apart else {}


def _lasted(kin: Kin, seconds: float) -> float:
    return 0.0 if kin.apart_since is None else seconds - kin.apart_since


def _vote(
    family: list[str], apart: dict[tuple[str, str], Kin], kins: dict[tuple[str, str], Kin], around: Around
) -> dict[str, Finding]:
    """Return the odd ones out. Whoever has most against it goes first, then the rest is counted anew."""
    found: dict[str, Finding] = {}
    left = dict(apart)
    while left:
        odd = max(family, key=lambda name: _against(name, left, kins, around))
        pairs = [pair for pair in left if odd in pair]
        # among three or more, two must speak against one: a probe that is wrong is so beside everyone
        if len(pairs) > 1 or len(family) - len(found) == 2:
            others = sorted({name for pair in pairs for name in pair} - {odd})
            tail = "" if len(others) > 1 else "; one of them is wrong"
            found[odd] = (Health.DISAGREEING, f"moves apart from {' and '.join(others)}{tail}")
        left = {pair: kin for pair, kin in left.items() if odd not in pair}
    return found


def _against(
    name: str, apart: dict[tuple[str, str], Kin], kins: dict[tuple[str, str], Kin], around: Around
) -> tuple[int, bool, float, bool, bool]:
    """Return what speaks against a probe, the weightiest first: the pairs apart that it is in, that it is doubted
    already, how far it is from all others, and that it does not stand for the pit.
    """  # fmt: skip
    track = around.tracks[name]
    far = sum(abs(kin.mean) for pair, kin in kins.items() if name in pair)
    leads = around.pit is not None and around.pit.name == name
    votes = sum(name in pair for pair in apart)
    return votes, track.health is Health.DISAGREEING, round(far, 1), not leads, track.role is not Role.GRATE


# --- one pair ------------------------------------------------------------------------------------


def _look(kin: Kin | None, one: ProbeTrack, other: ProbeTrack, seconds: float) -> Kin | None:
    """Return the pair after a look at both; the same where there is nothing new."""
    at = min(one.trail[-1][0], other.trail[-1][0])
    if kin is not None and at <= kin.at:
        return kin
    then = at - LEARNED_AFTER
    old = _value(one, then), _value(other, then)
    kin = Kin(at=at) if kin is None else kin
    if kin.weight > 0.0:
        kin = _judged(kin, one, other, at, seconds)
    if old[0] is None or old[1] is None or max(old[0], old[1]) < WARM or kin.apart_since is not None:
        return replace(kin, at=at)
    return _taken_in(kin, old[0] - CENTRE, old[1] - CENTRE, at)


def _value(track: ProbeTrack, seconds: float) -> float | None:
    """Return what a probe read about then. [degC]"""
    if track.trail[0][0] > seconds + 30.0:
        return None
    return next(value for at, value in track.trail if at > seconds - 30.0)


def _judged(kin: Kin, one: ProbeTrack, other: ProbeTrack, at: float, seconds: float) -> Kin:
    """Return the pair with what it is apart now, and what it usually is."""
    known = kin.weight >= KNOWN
    off = _unexplained(kin, one, other, seconds, known=known)
    mean = kin.mean + min(1.0, (at - kin.at) / MEAN_SECONDS) * (off - kin.mean)
    far = max(APART if known else UNKNOWN_APART, UNUSUAL * math.sqrt(kin.spread))
    drifted = max(DRIFTED, UNUSUAL * math.sqrt(kin.mean_spread))
    share = 1.0 if kin.apart_since is None else BACK
    if abs(off) > share * far or (known and abs(mean) > share * drifted):
        return replace(kin, mean=mean, apart_since=at if kin.apart_since is None else kin.apart_since)
    few = 1.0 / min(kin.weight + KNOWN, MEMORY / 30.0)
    return replace(
        kin,
        spread=kin.spread + few * (min(off * off, OUTLIER * kin.spread) - kin.spread),
        mean=mean,
        mean_spread=kin.mean_spread + few * (min(mean * mean, OUTLIER * kin.mean_spread) - kin.mean_spread),
        apart_since=None,
    )


def _unexplained(kin: Kin, one: ProbeTrack, other: ProbeTrack, seconds: float, *, known: bool) -> float:
    """Return how far a pair is from its line beyond what both share of a rise or fall just now. [K]"""
    off = _off(kin, one.trail[-1][1] - CENTRE, other.trail[-1][1] - CENTRE)
    shared = min(abs(moved(one, seconds, 900.0)), abs(moved(other, seconds, 900.0)))
    allowed = (KNOWN_SHARE if known else APART_SHARE) * shared
    return math.copysign(max(0.0, abs(off) - allowed), off)


def _off(kin: Kin, x: float, y: float) -> float:
    """Return how far the colder probe of a pair lies from the line over the hotter one. [K]"""
    n = kin.weight
    mx, my = kin.one / n, kin.other / n
    together = kin.one_other - n * mx * my + SLOPE_DOUBT
    if mx >= my:
        return y - my - together / (kin.one_one - n * mx * mx + SLOPE_DOUBT) * (x - mx)
    return x - mx - together / (kin.other_other - n * my * my + SLOPE_DOUBT) * (y - my)


def _taken_in(kin: Kin, x: float, y: float, at: float) -> Kin:
    fade = math.exp(-max(0.0, at - kin.at) / MEMORY)
    return replace(
        kin,
        at=at,
        weight=fade * kin.weight + 1.0,
        one=fade * kin.one + x,
        other=fade * kin.other + y,
        one_one=fade * kin.one_one + x * x,
        one_other=fade * kin.one_other + x * y,
        other_other=fade * kin.other_other + y * y,
    )
