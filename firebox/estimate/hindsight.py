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
from firebox.estimate.greybox import GreyBox, points
from firebox.estimate.lookahead import Ahead
from firebox.estimate.model import FIRST_PARAMETER, SIZE
from firebox.setup import Setup

Array = NDArray[np.float64]

LOOKED_BACK: Final = np.array([5.0, 15.0, 30.0, 45.0])
"""Minutes after the checkpoint at which a belief is judged."""

FADE: Final = 0.97
"""Factor on old judgements at every new one, five minutes later: a memory of about three hours."""

PRIOR_MISS: Final = np.array([3.0, 6.0, 9.0, 11.0])
"""Error that a belief is given before it was judged. [K] A third of what a trend errs by."""

WORST: Final = 3.0
"""A miss counts for at most so many times the prior one: a start-up must not be remembered for hours."""

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


class Judgement(Struct, frozen=True):
    """The verdict, and what every belief has to learn: a shift of its parameters, shape (boxes, parameters)."""

    verdict: Verdict
    lessons: NDArray[np.float64]


def judged(  # noqa: PLR0917  all that a judgement needs
    verdict: Verdict,
    checkpoints: tuple[tuple[GreyBox, ...], ...],
    past: Array,
    seconds: float,
    log: CookLog,
    setup: Setup,
) -> Judgement | None:
    """Return the judgement on the checkpoint of three quarters of an hour ago, run to the present; None: none is due."""
    made = seconds - 60.0 * LOOKED_BACK[-1]
    due = [boxes for boxes in checkpoints if abs(boxes[0].seconds - made) < 150.0]
    if not due:
        return None
    boxes = due[0]
    begun = boxes[0].seconds
    came = _came(past, begun)
    each = lookahead.ahead(boxes, begun, LOOKED_BACK, log, setup, hindsight=True)
    assert each.halves is not None
    lessons = np.array(
        [
            _lesson(box, came - shown, halves)
            for box, shown, halves in zip(boxes, each.shown, each.halves, strict=True)
        ]
    )
    return Judgement(_verdict(verdict, each, came), lessons)


def _came(past: Array, begun: float) -> Array:
    """Return what was read at each look, nan where nothing was."""
    near = [past[np.abs(past[:, 0] - begun - 60.0 * minutes) < 31.0, 1] for minutes in LOOKED_BACK]
    return np.array([float(np.median(read)) if read.size else np.nan for read in near])


def _verdict(verdict: Verdict, each: Ahead, came: Array) -> Verdict:
    whole = weighed(verdict, each, LOOKED_BACK, 0.0)
    heard = np.isfinite(came)
    miss = FADE * verdict.miss + np.where(heard, np.minimum(np.abs(came - each.shown), WORST * PRIOR_MISS), 0.0)
    missed = np.abs(came - whole.shown) > HALF * whole.spread
    width = verdict.width + np.where(heard, STEP * np.where(missed, 0.8, -0.2), 0.0)
    return Verdict(
        miss=_still(miss),
        count=_still(FADE * verdict.count + heard),
        width=_still(np.clip(width, -WIDEST, WIDEST)),
    )


def _lesson(box: GreyBox, gap: Array, halves: Array) -> Array:
    """Return the shift of the parameters that would have met what came: a part of the Kalman correction."""
    heard = np.isfinite(gap)
    gap, halves = gap[heard], halves[heard]
    if not gap.size:
        return np.zeros(SIZE - FIRST_PARAMETER)
    root = points(box)[FIRST_PARAMETER:, 1 : SIZE + 1] - box.mean[FIRST_PARAMETER:, None]
    spread = halves @ halves.T + UNEXPLAINED**2 * np.eye(gap.size)
    cross = root @ halves[:, :SIZE].T
    weight = np.linalg.solve(spread, gap)
    # A window that is beyond belief (a door unlogged, a fire just lit) teaches no more than its likely part.
    strange = np.sqrt(max(float(gap @ weight) / gap.size, 1e-9))
    lesson: Array = LESSON * min(1.0, BELIEVED / strange) * (cross @ weight)
    return lesson


BELIEVED: Final = 1.5
"""Root of the normalised square that is taken at face value: beyond 1.5 SD something else was at work."""

UNEXPLAINED: Final = 4.0
"""SD of what no parameter can explain over three quarters of an hour. [K]"""

LESSON: Final = 0.1
"""Part of a correction that is taken: the windows of nine judgements overlap, and what they hold was heard already."""

HALF: Final = 1.2816
"""Half width of an 80 % band in SDs of a normal."""

STEP: Final = 0.05
"""Step of the width's correction at each judgement, of which about five overlap (Gibbs & Candes 2021, arXiv 2106.00170)."""

WIDEST: Final = float(np.log(2.5))
"""Bound of the correction: what is wrong by more is not mended by widening."""


def _still(array: Array) -> Array:
    array.setflags(write=False)
    return array
