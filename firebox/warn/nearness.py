"""How soon a limit is foretold to be crossed, held against how soon it was foretold before and nothing came of it.

A forecast knows of no deed to come, so every fire looks like dying before its next split, and every split's rise looks
like a runaway until it settles. But each cook, at each fire, lets it come to about the same point before it turns, and
that point is learned: of every fall, and of every rise, the least time to the limit. What comes nearer than it ever did
is what nobody is about to turn.
"""

from typing import Final

from msgspec import Struct
from msgspec.structs import replace

KEPT: Final = 8
"""Turns that are remembered: some five hours of splits. The fire of the evening is not that of the night."""

STAYS: Final = 0.3
"""What was told stays told while such a share of the evidence is left. [-]"""


class Bounds(Struct, frozen=True, kw_only=True):
    """What is near, by the kind of limit. All times in minutes but `full`.

    Attributes
    ----------
    usual : float
        The nearest that a fire is let come while none of its turns is known.
    most, least : float
        Nothing is told earlier than `most` before the limit, however far off a fire has been kept; nothing is kept back
        when the limit is as near as `least`, however near it has come before.
    far : float
        Not in sight.
    turns : float
        A course has turned when the limit is so much farther off than it was.
    told : float
        A turn that was told before teaches no more than so near: the cook may have turned it because it was told, and
        is to be told as soon the next time.
    full : float
        Evidence that it takes to tell, in seconds at which the limit is a minute nearer than it should be: a running
        sum (CUSUM), so that what is far too near is told soon, and what is a little too near later. [min s]
    steepest : float
        No second counts for more.
    """

    usual: float
    most: float
    least: float
    far: float
    turns: float
    told: float
    full: float
    steepest: float


COLD: Final = Bounds(usual=45.0, most=30.0, least=5.0, far=75.0, turns=10.0, told=12.0, full=900.0, steepest=6.0)
"""Waking and walking take some five minutes, a split on coals a quarter of an hour to give heat (from memory): who
comes when 20 to 25 min are left still catches the fire."""

COLD_FED: Final = Bounds(usual=60.0, most=45.0, least=5.0, far=75.0, turns=10.0, told=12.0, full=900.0, steepest=6.0)
"""With a fresh split on the fire it is farther off, by what a split lasts beyond its drying; what is near then is wood
that does not burn."""

HOT: Final = Bounds(usual=12.0, most=8.0, least=1.5, far=30.0, turns=10.0, told=1.5, full=60.0, steepest=3.0)
"""Closing the intake acts within minutes."""


class Turns(Struct, frozen=True, kw_only=True):
    """How near the limit is on the present course, and how near it was when the ones before turned. [min]

    `crossed` tells that the present course crossed it: nothing is to be foretold of it nor learned from it.
    """

    nearest: float | None = None
    before: tuple[float, ...] = ()
    crossed: bool = False
    told: bool = False
    """Whether it was told on the present course, so that somebody may have turned it for that."""


class Nearness(Struct, frozen=True, kw_only=True):
    """What is known of how near a limit is: in general, and with a fresh split on the fire.

    Attributes
    ----------
    evidence : float
        That it is nearer than it should be; 1 is enough to tell. [-]
    """

    evidence: float = 0.0
    turns: Turns = Turns()
    fed: Turns = Turns()

    @property
    def tells(self) -> bool:
        """Whether the evidence is enough to tell."""
        return self.evidence >= 1.0

    @property
    def still_tells(self) -> bool:
        """Whether it is enough for what was told to stay told."""
        return self.evidence >= STAYS


def enough(before: tuple[float, ...], bounds: Bounds) -> float:
    """Return how near is too near after such turns. [min]

    The next turn of several alike is the nearest of all with a chance of one in their number and one; so the fewer are
    known, the farther inside the nearest of them the bound lies. One dip is no habit yet: it is the middle of the two
    nearest that counts.

    Examples
    --------
    >>> enough((), COLD)
    30.0
    >>> enough((20.0, 30.0), COLD)
    20.0
    """
    known = len(before)
    nearest = sorted((bounds.usual, *before))[: 2 if known > 1 else 1]
    return min(bounds.most, max(bounds.least, sum(nearest) / len(nearest) * (known + 2) / (known + 3)))


def follow(
    near: Nearness, minutes: float | None, passed: float, bounds: Bounds, *, just_fed: bool = False, fed: bool = False
) -> Nearness:
    """Return what is known after `passed` seconds at which the limit was so many minutes away; None: not in sight.

    While wood that was `just_fed` dries nothing speaks for a danger; then, while it is fresh and `fed`, `COLD_FED` holds
    as well.
    """
    minutes = bounds.far if minutes is None else min(minutes, bounds.far)
    near = replace(near, turns=_turn(near, minutes, bounds), fed=_fed(near.fed, minutes, fed_now=fed))
    if near.turns.crossed:
        return replace(near, evidence=0.0)
    bound = enough(near.turns.before, bounds)
    if fed:
        bound = max(bound, enough(near.fed.before, COLD_FED))
    weight = max(-bounds.steepest, min(bounds.steepest, bound - minutes))
    evidence = near.evidence + passed * (min(0.0, weight) if just_fed else weight) / bounds.full
    return replace(near, evidence=min(1.5, max(0.0, evidence)))


def excused(near: Nearness, *, crossed: bool = False) -> Nearness:
    """Return what is known while nothing counts: a door is open, the pit not settled, or the limit `crossed`."""
    turns = replace(near.turns, nearest=None, told=False, crossed=crossed or near.turns.crossed)
    return Nearness(turns=turns, fed=replace(near.fed, nearest=None))


def _turn(near: Nearness, minutes: float, bounds: Bounds) -> Turns:
    turns = near.turns
    told = turns.told or near.tells
    if turns.crossed:
        return turns if minutes < bounds.turns else replace(turns, crossed=False, told=False, nearest=minutes)
    nearest = minutes if turns.nearest is None else min(turns.nearest, minutes)
    if minutes <= nearest + bounds.turns:
        return replace(turns, nearest=nearest, told=told)
    before = turns.before
    if nearest < 1.25 * bounds.usual:
        before = (*before, max(nearest, bounds.told) if told else nearest)[-KEPT:]
    return Turns(nearest=minutes, before=before)


def _fed(fed: Turns, minutes: float, *, fed_now: bool) -> Turns:
    """Return the turns of fresh splits, each of which ends when the split is fresh no more."""
    if fed_now:
        return replace(fed, nearest=minutes if fed.nearest is None else min(fed.nearest, minutes))
    return fed if fed.nearest is None else Turns(before=(*fed.before, fed.nearest)[-KEPT:])
