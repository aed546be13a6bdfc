"""Sudden changes of the pit, without any model of the fire: a leap up, a plunge down.

Both are read off the half-minute medians of the leading probe. What they are held against is what wood can do: it has
to dry and char before it burns, so its heat grows over minutes, and most of it goes through steel; burning grease and
cold air act on the gas around the probe at once.
"""

from statistics import median
from typing import Final

from firebox.estimate.track import ProbeTrack

WINDOWS: Final = ((60.0, 0.85), (90.0, 1.0), (120.0, 1.2))
"""Stretches over which a leap is looked for [s], and how much of it is to be expected in each against 90 s: what begins
slowly shows in the longer ones."""

LEAP: Final = 5.0
"""A leap of so much in 90 s is not wood's doing. [K] Slopes in a fed pit turn by about 1 K/min within five minutes
(`firebox.estimate.track.WANDER`); a split that catches all at once raises a thin pit by 3-4 K/min. Grease of 0.2 g/s
gives 7 kW, as much as the whole fire of a middling pit, in the chamber itself."""

REMEMBERED: Final = 540.0
"""A leap goes above all that was in so long before it: else the pit only comes back from a door or a dip. [s]"""

TROUGH: Final = 8.0
TROUGH_SECONDS: Final = 300.0
"""Where the pit went up or down by more in so long before, it comes back from a lid, logged or not. [K], [s]"""

HARMLESS: Final = 1.2
"""A leap has to be so many times larger than the largest that this pit has taken without harm. [-]"""

PLUNGE: Final = 9.0
PLUNGE_SECONDS: Final = 150.0
"""A fall by so much in two and a half minutes, from what the pit was before and not from a leap, is cold air and not a
fire that dies: over a fire gone out at once a thin pit,
100 K above the air with a time constant of half an hour, falls by 8 K in that time, and no fire goes out at once. [K]"""

SUDDEN: Final = 0.4
"""Before it, in as long a time, the pit fell by no more than this share of it. [-]"""

GOES_ON: Final = 1.0
"""And it has gone on over the last minute: a lid that was shut again turns the fall at once. [K]"""


def leap(track: ProbeTrack, level: float, seconds: float) -> float:
    """Return the leap that the pit is in, as K in 90 s, beyond the slope it had before; 0 where it makes none."""
    largest = 0.0
    for window, share in WINDOWS:
        then = back(track, seconds, window)
        before = [celsius for at, celsius in track.trail if window <= seconds - at <= 2.0 * window + 20.0]
        old = [celsius for at, celsius in track.trail if window - 15.0 <= seconds - at <= REMEMBERED]
        if then is None or not before or len(old) < 6:
            continue
        lately = [celsius for at, celsius in track.trail if window <= seconds - at <= TROUGH_SECONDS]
        if max(lately) - min(lately) > TROUGH:
            continue
        faster = level - then - max(0.0, then - min(before))
        largest = max(largest, min(faster, level - max(old)) / share)
    return largest


def plunge(track: ProbeTrack, level: float, seconds: float) -> float | None:
    """Return how fast the pit plunges [K/min]; None where it does not."""
    then, before = back(track, seconds, PLUNGE_SECONDS), back(track, seconds, 2.0 * PLUNGE_SECONDS)
    minute = back(track, seconds, 60.0)
    if then is None or before is None or minute is None:
        return None
    old = [
        celsius for at, celsius in track.trail if PLUNGE_SECONDS <= seconds - at <= PLUNGE_SECONDS + TROUGH_SECONDS
    ]
    fall = min(then, median(old)) - level
    if fall < PLUNGE or minute - level < GOES_ON or before - then > SUDDEN * PLUNGE:
        return None
    return 0.5 * (fall / (PLUNGE_SECONDS / 60.0) + minute - level)


def back(track: ProbeTrack, seconds: float, ago: float) -> float | None:
    """Return what the probe read so long ago, from the half-minute median nearest to it; None: not known. [degC]"""
    near = [(abs(seconds - at - ago), celsius) for at, celsius in track.trail if abs(seconds - at - ago) <= 20.0]
    return min(near)[1] if near else None
