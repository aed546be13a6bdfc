"""A pit's parameters fitted to a whole cook: every quarter of an hour is foreseen again, knowing what was done.

While a fire burns the filter learns from one reading at a time. Afterwards all of them lie side by side: from the states
that the filter had, the model is run three quarters of an hour on with the cook's real doings, and the parameters are
those with which all these runs meet best what was read, each run weighed by how unsure its beginning and the weather
were (Gauss-Newton with Student weights; the prior is one more reading).
"""

from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from firebox.cooklog import CookLog
from firebox.estimate import lookahead
from firebox.estimate.greybox import BOUND, GreyBox
from firebox.estimate.hindsight import LOOKED_BACK, UNEXPLAINED
from firebox.estimate.model import FIRST_PARAMETER, SIZE, Pit
from firebox.setup import Setup

Array = NDArray[np.float64]

EVERY: Final = 900.0
"""Seconds between two runs."""

OVERLAP: Final = EVERY / (60.0 * float(LOOKED_BACK[-1]))
"""What a run counts for, since each reading is met by three of them."""

NU: Final = 4.0
"""Degrees of freedom of the Student-t that runs scatter with: a door unlogged must not bend the pit."""

ROUNDS: Final = 4
LONGEST_STEP: Final = 0.5
"""Steps of the fit, and the longest of one of them in the log of a parameter."""

FEWEST: Final = 4
"""Runs to the last look without which nothing is fitted: about an hour and three quarters of fire."""


class Run(Struct, frozen=True, kw_only=True):
    """Where a run begins, and what was read at each of `LOOKED_BACK` after it; nan where nothing was. [degC]"""

    box: GreyBox
    came: NDArray[np.float64]


class Fitted(Struct, frozen=True, kw_only=True):
    """The logs of the factors on a pit's prior values, their covariance, and the cost at the end: the less, the better."""

    shift: NDArray[np.float64]
    cov: NDArray[np.float64]
    cost: float


class _Look(Struct, frozen=True):
    """All runs at one set of parameters: gradient and curvature of the cost, and the cost."""

    gradient: NDArray[np.float64]
    curvature: NDArray[np.float64]
    cost: float


def fit(runs: tuple[Run, ...], pit: Pit, begin: Array, log: CookLog, setup: Setup) -> Fitted | None:
    """Return the parameters that meet a cook best, found from `begin`; None where it was too short.

    Parameters
    ----------
    runs : tuple of Run
    pit : Pit
        The prior.
    begin : ndarray, shape (parameters,)
        Logs of factors on its values.
    log, setup : CookLog, Setup
        What was done, and the pit as told.
    """
    runs = tuple(run for run in runs if np.isfinite(run.came).any())
    if sum(bool(np.isfinite(run.came[-1])) for run in runs) < FEWEST:
        return None
    bound = BOUND * pit.spread
    shift = np.clip(begin, -bound, bound)
    look = _looked(runs, pit, shift, log, setup)
    for _ in range(ROUNDS):
        step = np.linalg.solve(look.curvature, look.gradient)
        step *= min(1.0, LONGEST_STEP / max(float(np.abs(step).max()), 1e-9))
        better = None
        for _ in range(3):
            there = np.clip(shift + step, -bound, bound)
            tried = _looked(runs, pit, there, log, setup)
            if tried.cost < look.cost:
                better = there, tried
                break
            step *= 0.35
        if better is None:
            break
        gain = look.cost - better[1].cost
        shift, look = better
        if gain < ENOUGH:
            break
    cov = np.linalg.solve(look.curvature, np.eye(shift.size))
    return Fitted(shift=shift, cov=0.5 * (cov + cov.T), cost=look.cost)


ENOUGH: Final = 0.05
"""A step that gains less log likelihood is the last."""


def _looked(runs: tuple[Run, ...], pit: Pit, shift: Array, log: CookLog, setup: Setup) -> _Look:
    """Return how well the runs meet what was read, and which way they would meet it better."""
    precision = pit.spread**-2
    gradient, curvature = -precision * shift, np.diag(precision)
    cost = 0.5 * float(precision @ shift**2)
    for run in runs:
        heard = np.isfinite(run.came)
        ahead = lookahead.ahead(
            (_with(run.box, pit, shift),), run.box.seconds, LOOKED_BACK, log, setup, hindsight=True
        )
        assert ahead.halves is not None
        gap, halves = (run.came - ahead.shown[0])[heard], ahead.halves[0][heard]
        # The belief is square with the parameters last: each of their directions changes one of them alone.
        slopes = halves[:, FIRST_PARAMETER:SIZE] / pit.spread
        others = np.delete(halves, np.s_[FIRST_PARAMETER:SIZE], axis=1)
        doubt = others @ others.T + UNEXPLAINED**2 * np.eye(gap.size)
        weighed = np.linalg.solve(doubt, np.column_stack([gap, slopes]))
        square = float(gap @ weighed[:, 0])
        part = OVERLAP * (NU + gap.size) / (NU + square)
        gradient = gradient + part * slopes.T @ weighed[:, 0]
        curvature = curvature + part * slopes.T @ weighed[:, 1:]
        cost += OVERLAP * 0.5 * ((NU + gap.size) * np.log1p(square / NU) + np.linalg.slogdet(doubt)[1])
    return _Look(gradient, curvature, float(cost))


def _with(box: GreyBox, pit: Pit, shift: Array) -> GreyBox:
    """Return a belief with its states as they were, and the parameters at `shift` with their prior doubt."""
    mean, cov = box.mean.copy(), np.zeros((SIZE, SIZE))
    mean[FIRST_PARAMETER:] = shift
    cov[:FIRST_PARAMETER, :FIRST_PARAMETER] = box.cov[:FIRST_PARAMETER, :FIRST_PARAMETER]
    cov[np.diag_indices(SIZE)] += np.concatenate([np.zeros(FIRST_PARAMETER), pit.spread**2])
    return replace(box, pit=pit, mean=mean, cov=cov)
