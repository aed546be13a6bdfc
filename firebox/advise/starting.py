"""Lighting, building a bed of coals, and coming up to heat without running over.

=================  ================================================================================================
just lit           both dampers wide; the kindling is let take
kindling burns     a first split, and after it a second: between them they make the bed that lights all later wood
bed is made        let it come up; another split only where it stops rising
near the target    less air, before the heat in the steel carries it over
=================  ================================================================================================
"""

from typing import Final

from firebox.advise.caution import intake_step, starved
from firebox.advise.moment import SPACING, Moment
from firebox.records import DamperName, Expected, Move, NextSplit

KINDLING: Final = 8.0
"""Kindling needs so long to burn well. [min] Common practice, no source."""

BED: Final = 2
"""Splits that make a bed."""

NEXT: Final = 18.0
"""A pit that is still far below gets its next split so long after the last. [min]"""

FAR_BANDS: Final = 3.0
"""Nearer to the target than so many bands the pit is kept, not started."""

LONGEST: Final = 120.0
"""A fire lit longer ago than this is no longer starting. [min]"""

COMING: Final = 12.0
"""How far ahead the rise is run on: steel goes on warming for about so long after the air was cut. [min]"""

SETTLING: Final = 8.0
"""The intake that was just moved gets so long to be seen. [min]"""

RISES: Final = 30.0
"""A pit that rises faster than this builds its own coals. [K/h]"""


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
    if moment.is_up:
        return _again(moment, (moment.seconds - lit) / 60.0, expected)
    if moment.celsius + moment.drift * COMING / 60.0 > moment.target + moment.band / 2.0:
        return _check(moment, expected)
    if moment.celsius > moment.target - FAR_BANDS * moment.band:
        return None
    return _build(moment, (moment.seconds - lit) / 60.0, expected)


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


def _build(moment: Moment, burning: float, expected: Expected | None) -> Move | None:
    splits = sum(1 for at, _ in moment.log.splits() if at >= moment.seconds - 60.0 * burning)
    if splits == 0 and burning < KINDLING:
        return _open(moment) or _hold(
            moment, expected, "It was just lit: both dampers wide, and let the kindling take."
        )
    if starved(moment.fire, moment.log, moment.seconds, moment.setup):
        return None
    if splits < BED and moment.since_split >= SPACING:
        which = "first" if splits == 0 else "second"
        return _move(
            moment,
            moment.sizes.medium,
            None,
            f"The kindling burns: a {which} split builds the coals for all that follow.",
        )
    if moment.since_split >= NEXT and moment.drift < RISES:
        return _move(
            moment, moment.sizes.medium, None, "It has stopped rising: another split, and it comes up further."
        )
    return _hold(moment, expected, "It is coming up; let the fire build its coals.")


def _open(moment: Moment) -> Move | None:
    """Return both dampers wide, where one is known not to be."""
    intake, stack = moment.intake, moment.log.damper_open(DamperName.STACK, moment.seconds, moment.setup)
    wide = [None if opening is None or opening >= 1.0 else 1.0 for opening in (intake, stack)]
    if wide == [None, None]:
        return None
    return Move(
        time=moment.time, split=None, intake=wide[0], stack=wide[1], hold=False, expected=None,
        reason="It was just lit: both dampers wide, and let the kindling take.",
    )  # fmt: skip


def _move(moment: Moment, kg: float | None, intake: float | None, reason: str) -> Move:
    split = None if kg is None else NextSplit(in_minutes=0.0, kg=round(kg, 2))
    return Move(time=moment.time, split=split, intake=intake, stack=None, hold=False, expected=None, reason=reason)


def _hold(moment: Moment, expected: Expected | None, reason: str) -> Move:
    return Move(time=moment.time, split=None, intake=None, stack=None, hold=True, expected=expected, reason=reason)
