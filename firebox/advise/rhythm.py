"""Rhythms of feeding: when the next splits could go in and how heavy, and what the pit would make of each.

A single split looked at alone ends with a fire that dies after it, whatever it was, so every plan goes on: the same
split again each so many minutes. Only its first split is advised; the next look plans anew.
"""

from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from firebox.advise.candidates import Candidate
from firebox.advise.moment import SPACING, Moment
from firebox.advise.rule import chokes, lightable
from firebox.advise.standing import NOW_SECONDS, overtaken
from firebox.advise.trend import Trend
from firebox.advise.why import CATCHING
from firebox.cooklog import Deed
from firebox.estimate.fork import Fork, Plans
from firebox.records import Split

Array = NDArray[np.float64]

AFTER: Final = (0.0, 5.0, 10.0, 15.0, 20.0, 30.0, 45.0)
GAPS: Final = (15.0, 25.0, 40.0)
"""When a first split is tried, the last being out of sight, and how long after it the next ones. [min] Most pits take a
split each 20 to 45 min."""

AFTER_ASLEEP: Final = (0.0, 10.0, 20.0, 30.0, 45.0, 60.0, 80.0)
GAPS_ASLEEP: Final = (35.0, 50.0, 65.0)
"""The same for a cook in bed."""

MINUTES: Final = tuple(float(minutes) for minutes in range(5, 80, 5))
MINUTES_ASLEEP: Final = tuple(float(minutes) for minutes in range(10, 115, 10))
"""When the pit is looked at: until the second split shows, at least."""

SOON: Final = 0.3
LATE: Final = 0.5
"""What the first look counts, which nothing done now can change any more, and those of the last quarter, which the next
walk decides."""

FAR_BANDS: Final = 3.0
"""Beyond so many bands a deviation counts in proportion, not by its square: it is bad enough."""

WALK_COST: Final = 0.15
"""Of one walk an hour, its opened door and its disturbed smoke, in squared bands: some two fifths of a band off, for the
hour."""

LEAST_SLEEP: Final = 30.0
"""A sleeper is not called for wood sooner than this after the last, unless the pit leaves. [min] A large split carries
most pits so long; two at once smother the fire, or run away with it."""

GOING_TO_BED: Final = 600.0
"""Who lay down so shortly ago is still up for wood that is to last. [s]"""

NARROW_BANDS: Final = 2.0
"""An outlook whose 80 % band a quarter of an hour ahead is no wider than so many bands of the pit is acted on: a cook who is
up does better by rule than by a guess."""

COMES_DOWN, GOES_UP = 10.0, 4.0
"""A pit that is too hot for wood, or goes up by itself, is looked at again after so long. [min]"""

SLEEPS_ON: Final = 1.5
"""So many bands under its target a pit is left before a sleeper is called early: its alarms are not far then."""

CALL_COST: Final = 0.35
"""The same for a cook who is woken for it."""


class Rhythm(Struct, frozen=True, kw_only=True):
    """A split in `after` minutes, one like it each `gap` minutes from then on."""

    after: float
    kg: float
    gap: float
    out_of_sight: bool = False
    """Whether its first split is further off than need be told."""


def rhythms(moment: Moment, standing: Candidate | None) -> tuple[Rhythm, ...]:
    """Return the rhythms to think about: all that the fire can light, and that of the advice that stands."""
    starts: tuple[float, ...] = AFTER_ASLEEP if moment.asleep else AFTER
    gaps = GAPS_ASLEEP if moment.asleep else GAPS
    first, last = earliest(moment), starts[-1]
    if _is_due(standing, moment) and (first <= 0.0 or moment.asleep):
        # Coals do not wait: what is due in a fall is not put off by a shade of the outlook.
        first, starts = 0.0, starts[:1]
    options = [
        Rhythm(after=after, kg=kg, gap=gap, out_of_sight=after == last)
        for after in starts
        if after >= first or after == last
        for kg in lightable(moment)
        for gap in gaps
    ]
    if standing is not None and standing.split_at is not None:
        after = max(0.0, (standing.split_at - moment.seconds) / 60.0)
        options += [Rhythm(after=after, kg=standing.kg, gap=gap) for gap in gaps if after >= first]
    return tuple(options)


def _is_due(standing: Candidate | None, moment: Moment) -> bool:
    due = None if standing is None else standing.split_at
    called = moment.asleep or moment.trend is Trend.FALLING  # whoever was called finds what he was called for
    return due is not None and due - moment.seconds < NOW_SECONDS and called


def earliest(moment: Moment) -> float:
    """Return from when on wood may go in: not on wood that chokes, nor where the pit goes up by itself. [min]"""
    spaced = max(0.0, SPACING - moment.since_split)
    if chokes(moment):
        spaced = max(spaced, CATCHING - moment.since_split)
    slept = moment.log.asleep_since(moment.seconds)
    if slept is not None and moment.seconds - slept > GOING_TO_BED and not _leaves(moment):
        spaced = max(spaced, LEAST_SLEEP - moment.answer - moment.since_split)
    if overtaken(Candidate(split_at=moment.seconds, kg=moment.sizes.small), moment):
        spaced = max(spaced, COMES_DOWN if moment.is_above else GOES_UP)
    return spaced


def _leaves(moment: Moment) -> bool:
    """Tell whether the pit is far from its band by the time that a sleeper could be there, or has no wood as far as told.

    A pit that is a little off is no reason to wake anybody.
    """
    assert moment.celsius is not None
    there = moment.celsius + min(0.0, moment.drift) * moment.answer / 60.0
    return there < moment.target - SLEEPS_ON * moment.band


def plans(options: tuple[Rhythm, ...], moment: Moment) -> Plans:
    """Return what the rhythms lay, as late as this cook comes and as heavy as his splits are."""
    longest = (MINUTES_ASLEEP if moment.asleep else MINUTES)[-1]
    return tuple(_laid(option, moment, longest) for option in options)


def _laid(option: Rhythm, moment: Moment, longest: float) -> tuple[Deed, ...]:
    wood = moment.setup.wood
    entry = Split(
        time=moment.time, kg=option.kg * moment.habits.heavier, species=wood.species, moisture=wood.moisture
    )
    first = option.after + moment.answer
    count = 1 + int(max(0.0, longest - 1.0 - first) // option.gap)
    return tuple(
        Deed(seconds=moment.seconds + 60.0 * (first + turn * option.gap), entry=entry) for turn in range(count)
    )


def minutes(moment: Moment) -> tuple[float, ...]:
    """Return when the pit is looked at."""
    return MINUTES_ASLEEP if moment.asleep else MINUTES


def costs(options: tuple[Rhythm, ...], fork: Fork, moment: Moment) -> Array:
    """Return what each rhythm costs, in squared bands; the lower the better."""
    looks = np.array(minutes(moment))
    weight = np.where(looks <= looks[0], SOON, np.where(looks > 0.8 * looks[-1], LATE, 1.0))
    off = np.abs(fork.celsius - (moment.target - moment.trim)) / moment.band
    paid = np.where(off <= FAR_BANDS, off * off, FAR_BANDS * (2.0 * off - FAR_BANDS))
    each = (paid * weight).sum(axis=2) / weight.sum()
    walk = CALL_COST if moment.asleep else WALK_COST
    hour = looks[-1] / 60.0
    walks = np.array([(looks[-1] - option.after) / option.gap / hour for option in options])
    total: Array = fork.share @ each + walk * walks
    return total


def best(options: tuple[Rhythm, ...], paid: Array) -> Rhythm:
    """Return the rhythm that costs least, its time between those that were tried where the costs beside it say so."""
    place = int(np.argmin(paid))
    found = options[place]
    same = {
        option.after: float(cost)
        for option, cost in zip(options, paid, strict=True)
        if (option.kg, option.gap) == (found.kg, found.gap)
    }
    beside = sorted(same.items())
    at = sorted(same).index(found.after)
    if found.out_of_sight or not 0 < at < len(beside) - 1:
        return found
    (before, dear), (now, least), (later, dearer) = beside[at - 1 : at + 2]
    # The lowest point of the parabola through the three.
    left, right = (dear - least) / (now - before), (dearer - least) / (later - now)
    if left + right <= 0.0:
        return found
    after = now + 0.5 * (left * (later - now) - right * (now - before)) / (left + right)
    return replace(found, after=float(round(min(later, max(before, after)))))
