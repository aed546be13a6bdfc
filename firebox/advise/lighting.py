"""How a fire that was lit has come along: whether its newest wood has caught, or the fire did not take at all.

The pit tells: wood that has caught lifts it, and cold wood on wood that has not caught only takes heat. What was seen is
kept until it is lit again, or rises after all, so that no answer goes back and forth with the noise of a slope.
"""

from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from firebox.cooklog import CookLog
from firebox.records import Phase

RISES: Final = 30.0
"""A pit that rises faster than this has wood that catches: half a degree a minute. [K/h]"""

SHOWS: Final = 8.0
"""By then a piece that has caught shows at the grate, over what the kindling gave and the open door took. [min]"""

FALLS_BY: Final = 10.0
STANDS_BY: Final = 15.0
"""A cold pit that falls, or hardly rises, so long after its newest wood has a fire that did not take. [min]"""

STANDS: Final = 12.0
"""A cold pit that rises slower than this hardly rises: a degree in five minutes. [K/h]"""

AIR: Final = 15.0
"""What a pit without a fire is taken to stand at: one that is half way from here to its target is carried by a fire that
lives, and needs more of it, not another. [degC]"""

FAILS: Final = -30.0
"""A pit half way up that falls faster than this, some time after its newest wood, has lost that fire. [K/h]"""

COMING: Final = 12.0
"""How far ahead the rise is run on: steel goes on warming for about so long after the air was cut. [min]"""

TURNED: Final = -6.0
"""A pit that was up and falls faster than this has turned: it is kept from then on. [K/h]"""


class Start(Struct, frozen=True, kw_only=True):
    """How the fire that was lit last has come along."""

    lit: float | None = None
    """When it was lit; None: that was never told. [s]"""
    cold: bool = False
    """Whether the pit was cold then."""
    wood: float = 0.0
    """When its newest wood went on, kindling or piece. [s]"""
    took: bool = False
    """Whether the pit rose on that wood."""
    caught: int = 0
    """How many pieces it has risen on."""
    dead: bool = False
    """Whether it did not take."""
    turned: bool = False
    """Whether the pit has been up and turned."""
    lives: bool = False
    """Whether the pit is half way up and holds, so that what carries it bears wood though nothing seems to have caught."""
    over: bool = False
    """Whether its rise, run on, carries it over; stays so until the rise is well short of that."""


def follow(  # noqa: PLR0917  all of the moment that matters
    start: Start,
    seconds: float,
    log: CookLog,
    drift: float,
    phase: Phase,
    past: float,
    *,
    is_up: bool,
    half_way: bool,
) -> Start:
    """Return how the fire has come along by now.

    Parameters
    ----------
    start : Start
        As of the call before.
    seconds : float
        Now.
    log : CookLog
    drift : float
        [K/h]
    phase : Phase
        What the fire seems to be doing.
    past : float
        Where the pit is by `COMING` minutes, in bands above its target.
    is_up : bool
        Whether the pit has been up since it was lit, or shortly before.
    half_way : bool
        Whether it stands above half way from `AIR` to its target.
    """
    lit = log.lit_at()
    if lit is None:
        return Start()
    if lit != start.lit:
        start = Start(lit=lit, cold=not is_up, wood=lit)
    newest = max((at for at, _ in log.splits() if lit <= at <= seconds), default=lit)
    if newest != start.wood:
        start = replace(start, wood=newest, took=False)
    age = (seconds - newest) / 60.0
    lives = half_way and drift > FAILS
    start = replace(start, over=past > (-0.5 if start.over else 0.5), lives=lives and age >= FALLS_BY)
    if age >= SHOWS and drift >= RISES:
        risen = start.caught + (newest > lit and not start.took)
        return replace(start, took=True, caught=risen, dead=False)
    if is_up:
        return replace(start, dead=False, turned=start.turned or drift < TURNED)
    if lives:
        return replace(start, dead=False)
    return replace(start, dead=start.dead or _failed(start, seconds, age, drift, phase))


def is_half_way(celsius: float | None, target: float) -> bool:
    """Tell whether a pit stands above half way from `AIR` to its target."""
    return celsius is not None and celsius > (AIR + target) / 2.0


def _failed(start: Start, seconds: float, age: float, drift: float, phase: Phase) -> bool:
    if not start.cold or start.lit is None:
        return False
    if phase in {Phase.UNLIT, Phase.OUT}:
        return seconds - start.lit >= 60.0 * FALLS_BY and drift < STANDS
    if age < FALLS_BY or start.took:
        return False
    return drift < 0.0 or (age >= STANDS_BY and drift < STANDS)
