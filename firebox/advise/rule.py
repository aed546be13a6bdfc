"""The next move by rule of thumb: error, drift, time since the last split, and the ledger of wood.

It answers while no forecast knows what a move would do, and it says where the look-ahead should look.
"""

import math
from typing import Final

from firebox.advise.candidates import SPLIT_LEAD, Candidate, minutes_below
from firebox.advise.caution import intake_step
from firebox.advise.moment import Moment
from firebox.records import Phase

CATCHING: Final = 20.0
"""A split that went in less than this ago may still turn the fall. [min]"""

SPACING: Final = 15.0
"""Closer together than this splits choke each other. [min]"""

MOVING: Final = 6.0
"""A drift below this is none: a degree in ten minutes. [K/h]"""

FAST_FALL: Final = -30.0
"""A pit that falls faster than this has little fire under it: half a band in eight minutes. [K/h]"""

DAMPER_WAIT: Final = 10.0
"""The intake acts within minutes; before this is over its last move has not been seen in full. [min]"""

DYING_BANDS: Final = 2.0
"""A falling pit so many bands under its target has few coals left: small wood first."""

ENOUGH: Final = 1.3
SHORT: Final = 0.7
"""The wood in the fire carries the pit, or does not, from these shares of the demand on."""

EARLY: Final = 0.5
"""The fall to be caught is that through this share of the band below the target: humps are to lie around the target,
and coals that are let burn down to the edge of the band light the next split badly."""

STEEP: Final = -45.0
"""A pit that falls faster than this long after its last split has no flame left, and coals do not wait. [K/h]"""

HINT: Final = 10.0
"""While the pit does not fall, the ledger only hints at wood that is still so far off. [min]"""

LOOK: Final = 60
"""How far the rule looks. [min]"""


def propose(moment: Moment) -> tuple[Candidate, str]:
    """Return the move by rule, and why, in one sentence.

    Parameters
    ----------
    moment : Moment
        With a known temperature.
    """
    assert moment.celsius is not None
    if moment.celsius > moment.target + moment.band:
        return _hot(moment)
    if moment.celsius < moment.target - moment.band:
        return _cold(moment)
    return _within(moment)


def _hot(moment: Moment) -> tuple[Candidate, str]:
    if moment.drift <= MOVING:
        return Candidate(), "It is above the band and already coming down; leave it alone and add no wood."
    intake = intake_step(-1, moment.log, moment.seconds, moment.setup)
    if intake is not None and moment.since_damper >= DAMPER_WAIT:
        return Candidate(intake=intake), "It is above the band and still rising; a mark less air takes the edge off."
    return Candidate(), "It is above the band; add no wood and let it burn down."


def _cold(moment: Moment) -> tuple[Candidate, str]:
    assert moment.celsius is not None
    if moment.drift > MOVING:
        return Candidate(), "It is below the band but rising; give the fire time."
    if moment.since_split < CATCHING:
        intake = intake_step(1, moment.log, moment.seconds, moment.setup)
        if intake is not None and moment.since_damper >= DAMPER_WAIT:
            return Candidate(intake=intake), "The last split has not caught yet; a mark more air helps it."
        return Candidate(), "The last split has yet to catch; give it time before adding another."
    if moment.fire.phase is Phase.DYING and moment.celsius < moment.target - DYING_BANDS * moment.band:
        return (
            Candidate(split_at=moment.seconds, kg=moment.sizes.small),
            "The fire is dying: a small dry split catches where a big one would smother the coals.",
        )
    kg = _size(moment, 0.0)
    word = moment.sizes.word(kg)
    return (
        Candidate(split_at=moment.seconds, kg=kg),
        f"It is below the band and not rising: one {word} split now brings it back.",
    )


def _within(moment: Moment) -> tuple[Candidate, str]:
    due = _due(moment)
    if due is None:
        if moment.drift < -MOVING:
            return (
                Candidate(),
                "It is falling a little, but the wood in the fire has yet to give its heat; leave it alone.",
            )
        return Candidate(), "It holds within the band; leave it alone."
    kg = _size(moment, due)
    word = moment.sizes.word(kg)
    return Candidate(split_at=moment.seconds + 60.0 * due, kg=kg), why_then(moment, due, word)


def why_then(moment: Moment, due: float, word: str) -> str:
    """Return why a split is due then, in one sentence."""
    if due < 1.0:
        return f"It is falling, and one {word} split needs some ten minutes to answer: now it still catches it."
    if moment.drift < -MOVING:
        return f"The fire carries it until then; one {word} split then catches the fall before the band is left."
    return f"It holds for now; by then the wood in the fire runs low and one {word} split takes over."


def _due(moment: Moment) -> float | None:
    """Return in how many minutes wood is due; None: not within the look-ahead."""
    assert moment.celsius is not None
    burnt_down = moment.since_split >= CATCHING and moment.drift < STEEP
    if burnt_down and moment.celsius < moment.target + moment.band / 2.0:
        return 0.0
    forecast = moment.forecast
    left = None if forecast is None else minutes_below(forecast, moment.target - EARLY * moment.band)
    if left is not None:
        if moment.given() >= ENOUGH * moment.demand and left > CATCHING:
            return None
        return max(0.0, left - SPLIT_LEAD, SPACING - moment.since_split)
    low = _runs_low(moment)
    return low - SPLIT_LEAD if low is not None and low - SPLIT_LEAD >= HINT else None


def _runs_low(moment: Moment) -> float | None:
    """Return in how many minutes the logged wood no longer carries the pit; None: none logged, or not in sight."""
    if not moment.log.splits():
        return None
    short = SHORT * moment.demand
    before = moment.given()
    for minutes in range(5, LOOK + 1, 5):
        then = moment.given(minutes)
        if then < short:
            return minutes - 5.0 * (short - then) / max(before - then, 1e-9) if before > short else 0.0
        before = then
    return None


def _size(moment: Moment, due: float) -> float:
    """Return which size makes up best for what the hour after it will lack; medium where no wood is logged."""
    sizes = moment.sizes
    if not moment.log.splits():
        return sizes.medium
    lacking = moment.demand - moment.given(due)
    return min(fitting(moment), key=lambda kg: math.fabs(kg - lacking))


def fitting(moment: Moment) -> tuple[float, ...]:
    """Return the sizes of split that this fire can light, the likeliest first.

    A big split on a weak fire smothers it: while the pit is below its band or falls fast, medium is the most.
    """
    sizes = moment.sizes
    assert moment.celsius is not None
    weak = moment.celsius < moment.target - moment.band or moment.drift < FAST_FALL
    return (sizes.medium, sizes.small) if weak else (sizes.medium, sizes.small, sizes.large)
