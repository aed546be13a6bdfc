"""What each belief would have foreseen, had it known what the cook was going to do.

A forecast of "nothing more is done" can seldom be held against what came, since something mostly was done, and where
nothing was, the fire was doing well. In hindsight the doings are known: run from a checkpoint with what was really
done, a belief has to meet what was really read. That is fair in every window; it tells the beliefs apart, and how
wide their bands have to be.
"""

from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from firebox.cooklog import CookLog
from firebox.estimate import lookahead
from firebox.estimate.greybox import GreyBox
from firebox.estimate.lookahead import Ahead
from firebox.setup import Setup

Array = NDArray[np.float64]

LOOKED_BACK: Final = np.array([5.0, 15.0, 30.0, 45.0])
"""Minutes after the checkpoint at which a belief is judged."""

FADE: Final = 0.97
"""Factor on old judgements at every new one, five minutes later: a memory of about three hours."""

PRIOR_MISS: Final = np.array([3.0, 6.0, 9.0, 11.0])
"""Error that a belief is given before it was judged. [K] A third of what a trend errs by."""

PRIOR_WORTH: Final = 3.0
"""Judgements that it is worth: of windows that overlap, about one window."""

CHOICE: Final = 4.0
"""Power of the inverse error in the weights: twice the error, a sixteenth of the say."""


class Verdict(Struct, frozen=True, kw_only=True):
    """How well each belief has foreseen.

    Attributes
    ----------
    miss : ndarray, shape (boxes, looks)
        Discounted sums of absolute errors. [K]
    count : ndarray, shape (looks,)
        Discounted number of judgements.
    width : ndarray, shape (looks,)
        Log of the factor on the spread with which 80 % bands hold.
    """

    miss: NDArray[np.float64]
    count: NDArray[np.float64]
    width: NDArray[np.float64]


def begin(boxes: int) -> Verdict:
    """Return the verdict before the first judgement."""
    looks = LOOKED_BACK.size
    return Verdict(
        miss=_still(np.zeros((boxes, looks))), count=_still(np.zeros(looks)), width=_still(np.zeros(looks))
    )


def weights(verdict: Verdict) -> Array:
    """Return how far each belief is to be believed, shape (boxes,); the sum is 1."""
    relative = (verdict.miss + PRIOR_WORTH * PRIOR_MISS) / ((verdict.count + PRIOR_WORTH) * PRIOR_MISS)
    share = relative.mean(axis=1) ** -CHOICE
    share /= share.sum()
    return np.asarray(share)


def weighed(verdict: Verdict, each: Ahead, minutes: Array, offset: float) -> Ahead:
    """Return the beliefs' forecasts as one, its spread mended by what hindsight has shown."""
    share = weights(verdict)[:, None]
    mean = (share * each.mean).sum(axis=0)
    shown = (share * each.shown).sum(axis=0)
    variance = (share * (each.spread**2 + (each.mean - mean) ** 2)).sum(axis=0)
    mended = np.exp(np.interp(minutes, LOOKED_BACK, verdict.width))
    return Ahead(mean + offset, np.sqrt(variance) * mended, shown + offset)


def judged(  # noqa: PLR0917  all that a judgement needs
    verdict: Verdict,
    checkpoints: tuple[tuple[GreyBox, ...], ...],
    past: Array,
    seconds: float,
    log: CookLog,
    setup: Setup,
) -> Verdict:
    """Return the verdict after the checkpoint of three quarters of an hour ago was run to the present."""
    made = seconds - 60.0 * LOOKED_BACK[-1]
    due = [boxes for boxes in checkpoints if abs(boxes[0].seconds - made) < 150.0]
    if not due:
        return verdict
    boxes = due[0]
    begun = boxes[0].seconds
    each = lookahead.ahead(boxes, begun, LOOKED_BACK, log, setup, hindsight=True)
    whole = weighed(verdict, each, LOOKED_BACK, 0.0)
    miss, count, width = FADE * verdict.miss, FADE * verdict.count, verdict.width.copy()
    for look, minutes in enumerate(LOOKED_BACK):
        read = past[np.abs(past[:, 0] - begun - 60.0 * minutes) < 31.0, 1]
        if not read.size:
            continue
        came = float(np.median(read))
        miss[:, look] += np.abs(came - each.shown[:, look])
        count[look] += 1.0
        missed = abs(came - whole.shown[look]) > HALF * whole.spread[look]
        width[look] += STEP * (0.8 if missed else -0.2)
    return Verdict(miss=_still(miss), count=_still(count), width=_still(np.clip(width, -WIDEST, WIDEST)))


HALF: Final = 1.2816
"""Half width of an 80 % band in SDs of a normal."""

STEP: Final = 0.05
"""Step of the width's correction at each judgement, of which about five overlap (Gibbs & Candes 2021, arXiv 2106.00170)."""

WIDEST: Final = float(np.log(2.5))
"""Bound of the correction: what is wrong by more is not mended by widening."""


def _still(array: Array) -> Array:
    array.setflags(write=False)
    return array
