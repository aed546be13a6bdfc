"""Which of two probes must be the hotter: the firebox than the chamber, the chamber than the air, air than meat.

Plugs are easily swapped, and each of the two then tells the other's temperature. That is found where the order has
never been right, or where both jumped at once, each to where the other was. An order that merely turns in time is the
fire: one that has died leaves a firebox colder than its chamber, and grease that burns makes the chamber the hottest.
"""

from collections.abc import Iterator
from typing import Final

from msgspec.structs import replace

from firebox.estimate.track import Around, Finding, ProbeTrack
from firebox.records import Health
from firebox.setup import Role

MARGIN: Final = {
    (Role.FIREBOX, Role.GRATE): 60.0,
    (Role.GRATE, Role.AMBIENT): 25.0,
    (Role.GRATE, Role.MEAT): 20.0,
}
"""Hotter, colder -> how far the order must be upside down. [K] A bed of coals beneath a starved flame is still 100 K
hotter than its chamber; sun on a probe, and a pit still cold from the night, add up to 20 K; a probe in the meat is
never hotter than the hottest air by more than both are wrong, however long it cooks."""

LIT: Final = {Role.GRATE: 100.0, Role.AMBIENT: 50.0, Role.MEAT: 60.0}
"""There is fire in the pit, and the plugs are swapped, where the probe that should be the colder reads more. [degC]"""

UPSIDE_DOWN_SECONDS: Final = 240.0
"""How long. [s] Doors are shut again by then; with the 15 s that a finding lasts, within five minutes."""

EXCHANGED_SECONDS: Final = 60.0
"""How long after both were seen to jump into each other's place. [s] As long as a finding has to be gone."""

MEAT_CELSIUS: Final = 100.0
"""Meat is wet: it stays below the boiling point of its water."""

MEAT_POINTS: Final = 16
"""Points of the trail, half a minute each, over which meat and air are told apart: a good part of a hump."""

MEAT_MOVES: Final = 4.0
"""What a probe in meat moves meanwhile at most [K]: 0.5 K a minute for thin cuts, an order of magnitude."""

AIR_MOVES: Final = 2.0
MEAT_SHARE: Final = 2.0
"""Air moves by this at least [K], and by so many times more than meat in it: the skin and a layer of wet meat lie
between."""

EXCHANGE_SHARE: Final = 0.2
"""After an exchange each reads what the other read within this share of their distance."""

_HEALTHS: Final = frozenset({Health.GOOD, Health.IMPLAUSIBLE, Health.DISAGREEING, Health.CHECKED})


def place(around: Around) -> tuple[dict[str, ProbeTrack], dict[str, Finding]]:
    """Return the tracks, with when each last stood in its place, and the findings: probe -> finding."""
    tracks = dict(around.tracks)
    found: dict[str, Finding] = {}
    right: set[str] = set()
    for hot, cold in _pairs(around):
        if hot.trail[-1][1] > cold.trail[-1][1] + 0.5 * MARGIN[hot.role, cold.role]:
            right |= {hot.name, cold.name}
        elif (_never_right(hot, cold) and _upside_down(hot, cold, UPSIDE_DOWN_SECONDS)) or (
            _exchanged(hot, cold) and _upside_down(hot, cold, EXCHANGED_SECONDS)
        ):
            first, second = sorted((hot, cold), key=lambda one: (one.role is not Role.GRATE, one.name))
            text = f"{first.name} and {second.name} seem to be swapped"
            found[hot.name] = found[cold.name] = (Health.IMPLAUSIBLE, text)
    for name, track in tracks.items():
        if name in found:
            tracks[name] = replace(track, ordered=None)  # until the order is right again
        elif name in right:
            tracks[name] = replace(track, ordered=around.seconds)
    return tracks, found


def _pairs(around: Around) -> Iterator[tuple[ProbeTrack, ProbeTrack]]:
    """Yield the pairs that must be in order, the hotter first; of several at the grate the one to be doubted."""
    known = [track for _, track in sorted(around.tracks.items()) if track.trail and track.health in _HEALTHS]
    for hot_role, cold_role in MARGIN:
        hots = [track for track in known if track.role is hot_role]
        colds = [track for track in known if track.role is cold_role]
        if not hots or not colds:
            continue
        if hot_role is Role.GRATE:
            hots = [min(hots, key=lambda track: track.trail[-1][1])]
        else:
            colds = [max(colds, key=lambda track: track.trail[-1][1])]
        yield from ((hot, cold) for hot in hots for cold in colds)


def _upside_down(hot: ProbeTrack, cold: ProbeTrack, over: float) -> bool:
    """Tell whether the order has been upside down all the while, by more than chance and weather do."""
    margin, now = MARGIN[hot.role, cold.role], cold.trail[-1][0]
    theirs = [value for at, value in cold.trail if at >= now - over]
    mine = [value for at, value in hot.trail if at >= now - over]
    if not mine or not theirs or now - min(hot.trail[0][0], cold.trail[0][0]) < over:
        return False
    if min(theirs) < LIT[cold.role] or min(theirs) < max(mine) + margin:
        return False
    return cold.role is not Role.MEAT or _moves_like_meat(hot, cold)


def _moves_like_meat(hot: ProbeTrack, cold: ProbeTrack) -> bool:
    """Tell whether what should be air moves as slowly as meat, and what should be meat as quickly as air."""
    slow, quick = _range(hot), _range(cold)
    return hot.trail[-1][1] < MEAT_CELSIUS and slow < MEAT_MOVES and quick > max(AIR_MOVES, MEAT_SHARE * slow)


def _range(track: ProbeTrack) -> float:
    values = [value for _, value in track.trail[-MEAT_POINTS:]]
    return max(values) - min(values)


def _never_right(hot: ProbeTrack, cold: ProbeTrack) -> bool:
    return hot.ordered is None or cold.ordered is None


def _exchanged(hot: ProbeTrack, cold: ProbeTrack) -> bool:
    """Tell whether both probes jumped at once within the trail, each to where the other was."""
    for (then, hot_was), (now, hot_is) in zip(hot.trail, hot.trail[2:], strict=False):
        cold_was = next((value for at, value in reversed(cold.trail) if at <= then), None)
        cold_is = next((value for at, value in cold.trail if at >= now), None)
        if cold_was is None or cold_is is None or hot_was <= cold_was:
            continue
        near = EXCHANGE_SHARE * (hot_was - cold_was)
        if abs(hot_is - cold_was) < near and abs(cold_is - hot_was) < near:
            return True
    return False
