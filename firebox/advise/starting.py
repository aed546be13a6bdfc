"""Lighting, building a bed of coals, and coming up to heat without running over.

=================  ================================================================================================
just lit           both dampers wide; the kindling is let take, and nothing that it does yet is judged
kindling burns     small pieces, one by one, each only once the pit rises on the one before: between them they make
                   the bed that lights all later wood; cold wood on wood that has not caught takes the heat of both
bed is made        each piece somewhat larger than the last that caught
it did not take    cold, and no longer rising some time after the newest wood: lit again with kindling, nothing else
rises by itself    no more wood than it takes to reach the target
near the target    less air, before the heat in the steel carries it over, until the pit has turned for the first time
=================  ================================================================================================
"""

from typing import Final

from firebox.advise.caution import intake_step, starved
from firebox.advise.lighting import SHOWS
from firebox.advise.moment import Moment
from firebox.records import DamperName, Expected, Move, NextSplit

KINDLING: Final = 12.0
"""Kindling needs so long to burn well and to leave glowing coals. [min] Common practice, no source."""

BED: Final = 2
"""So many pieces that caught make a bed."""

PIECE: Final = 1.0 / 3.0
"""The first piece as a share of a usual split: kindling dries and lights no more at once, and what weighs a third has
nearly half the surface."""

GROWS: Final = 1.5
"""Each piece that the pit rose on leaves coals that light one larger by this; never more than a usual split."""

WEAK_RISE: Final = 60.0
WAITS: Final = 10.0
"""A pit that rises slower than this [K/h] has wood that barely burns: the next piece waits so long. [min]"""

JUDGED: Final = 8.0
"""What the first rise of the kindling warms is the air; the steel shows in the slope from then on. [min]"""

REACHES: Final = 12.0
"""Wood laid now shows a little before then: a rise that reaches the target by then needs none. [min]"""

LONGEST: Final = 120.0
"""A fire lit longer ago than this is no longer starting. [min]"""

SETTLING: Final = 8.0
"""The intake that was just moved gets so long to be seen. [min]"""

NOT_TAKEN: Final = (
    "The fire did not take: the pit is cold and no longer rises. Take out what does not burn, light it again with"
    " kindling and log it as lit."
)


def answer(moment: Moment, expected: Expected | None) -> Move | None:
    """Return the move while a pit comes up from cold; None where it does not, or needs no more than keeping.

    Parameters
    ----------
    moment : Moment
        With a known temperature.
    expected : Expected or None
        What leaving it alone brings.
    """
    lit = moment.log.lit_at()
    assert moment.celsius is not None
    if lit is None or moment.seconds - lit > 60.0 * LONGEST:
        return None
    burning = (moment.seconds - lit) / 60.0
    if moment.is_up and not (moment.start.cold and not moment.start.turned):
        return _again(moment, burning, expected)
    if (burning >= JUDGED or moment.is_up) and _runs_over(moment):
        return _check(moment, expected)
    return None if moment.is_up else _build(moment, burning, expected)


def _runs_over(moment: Moment) -> bool:
    """Tell whether the rise carries the pit over, and the outlook does not say that it stays below its band."""
    assert moment.celsius is not None
    low = moment.target - moment.band
    if not moment.start.over:
        return False
    return moment.celsius >= low or moment.forecast is None or max(moment.forecast.at(0.5)) >= low


def _again(moment: Moment, burning: float, expected: Expected | None) -> Move | None:
    """Return the answer while the kindling of a fire that was lit again takes."""
    if burning >= KINDLING or moment.since_split < burning or moment.is_above:
        return None
    return _hold(moment, expected, "It was just lit again: let the kindling take before any more wood.")


def _check(moment: Moment, expected: Expected | None) -> Move:
    """Return less air for a pit that would run over, once its last change has shown."""
    step = None
    if moment.since_damper >= SETTLING:
        step = intake_step(-2, moment.log, moment.seconds, moment.setup)
    if step is None:
        return _hold(moment, expected, "It is coming up fast: no more wood until it slows.")
    return _move(moment, None, step, "It is coming up fast: less air now brings it in without running over.")


def _build(moment: Moment, burning: float, expected: Expected | None) -> Move:
    start = moment.start
    assert moment.celsius is not None
    if burning < KINDLING:
        words = "It was just lit: both dampers wide, and let the kindling take."
        return _open(moment, words) or _hold(moment, expected, words)
    if moment.celsius + moment.drift * REACHES / 60.0 >= moment.target:
        return _hold(moment, expected, "It rises by itself: no more wood, let it come up.")
    wide = _open(moment, "It comes up slowly: both dampers wide, more air wakes the flames.")
    if wide is not None and (moment.since_damper >= SETTLING or not start.took):
        return wide
    first = start.wood == start.lit
    age = (moment.seconds - start.wood) / 60.0
    if not first and age < (SHOWS if moment.drift >= WEAK_RISE else WAITS):
        return _hold(moment, expected, "A piece was just laid: wait until it has caught and the pit rises on it.")
    if starved(moment.fire, moment.log, moment.seconds, moment.setup) or not (start.took or start.lives or first):
        return _hold(
            moment, expected, "The last wood has not caught yet: no more on it, give it air and wait for flames."
        )
    return _feed(moment, first=first)


def _feed(moment: Moment, *, first: bool) -> Move:
    """Return the next piece for a fire that has caught."""
    piece = moment.sizes.medium * min(1.0, PIECE * GROWS**moment.start.caught)
    if first:
        return _move(moment, piece, None, "The kindling burns: a first small piece, no more than it can light.")
    if moment.start.lives and not moment.start.took:
        return _move(moment, piece, None, "It holds half way up and rises no further: another piece while it burns.")
    if moment.start.caught >= BED:
        return _move(moment, piece, None, "It has its coals and still needs wood: a larger piece lifts it further.")
    return _move(moment, piece, None, "The last piece has caught: one more small piece builds the coals.")


def _open(moment: Moment, reason: str) -> Move | None:
    """Return both dampers wide, where one is known not to be."""
    intake, stack = moment.intake, moment.log.damper_open(DamperName.STACK, moment.seconds, moment.setup)
    wide = [None if opening is None or opening >= 1.0 else 1.0 for opening in (intake, stack)]
    if wide == [None, None]:
        return None
    return Move(time=moment.time, split=None, intake=wide[0], stack=wide[1], hold=False, expected=None, reason=reason)


def _move(moment: Moment, kg: float | None, intake: float | None, reason: str) -> Move:
    split = None if kg is None else NextSplit(in_minutes=0.0, kg=round(kg, 2))
    return Move(time=moment.time, split=split, intake=intake, stack=None, hold=False, expected=None, reason=reason)


def _hold(moment: Moment, expected: Expected | None, reason: str) -> Move:
    return Move(time=moment.time, split=None, intake=None, stack=None, hold=True, expected=expected, reason=reason)
