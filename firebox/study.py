"""A cook gone over again when it is done, for what it teaches of the pit.

The reducer takes the cook's records once more, knowing what all other cooks have taught, and thinks it over as a whole on
the way (`firebox.estimate.refit`); what it believes of the pit's parameters in the end is what was learned. A fire that
was watched for less than two hours teaches nothing.
"""

from collections.abc import Iterable
from datetime import datetime
from itertools import chain
from typing import Final

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from firebox import watch
from firebox.cooklog import CookLog
from firebox.estimate import memory, worth
from firebox.estimate.course import Course
from firebox.estimate.deeds import controls_at, dry_kg
from firebox.estimate.hindsight import weights
from firebox.estimate.model import FIRST_PARAMETER, Pit
from firebox.records import Entry, Lit, Reading, Record, Split
from firebox.setup import KnownPit, Setup, Worth
from firebox.watch import WatchState

Array = NDArray[np.float64]

FEWEST_SPLITS: Final = 3
"""Without so much wood logged there is nothing to hold the fire against."""

LEAST: Final = 6300.0
"""A shorter cook hardly had the time to tell one pit from another. [s]"""


def study(records: Iterable[Record], before: KnownPit | None = None) -> KnownPit | None:
    """Return what is known of a pit after one more cook; `before` where the cook teaches nothing.

    Parameters
    ----------
    records : iterable of Record
        The cook as it came in, its setup first. What was known when it burned is passed over for `before`.
    before : KnownPit, optional
        What was known of the pit from other cooks. One that is among them already is not counted again.
    """
    coming = iter(records)
    first = next(coming, None)
    if first is None or (before is not None and first.time in before.cooks):
        return before
    state, ended = _gone_over(first, coming, before)
    course, log, setup = state.estimate.course, state.log, state.setup
    if course is None or state.seconds < LEAST:
        return before
    if sum(isinstance(deed.entry, Split | Lit) for deed in log.deeds) < FEWEST_SPLITS:
        return before
    pit, cov = _learned(course)
    return KnownPit(
        parameters=memory.learned_from(pit.value, pit.spread),
        worth=_worth(pit, cov, log, setup),
        cooks=(*(before.cooks if before else ()), first.time),
        hours=round((before.hours if before else 0.0) + state.seconds / 3600.0, 2),
        learned=ended,
    )


def _gone_over(first: Record, coming: Iterable[Record], before: KnownPit | None) -> tuple[WatchState, datetime]:
    """Return the watch after a cook that began with what was known before, and the time of its last record."""
    start = first if isinstance(first, Setup) else Setup(time=first.time)
    state, ended = watch.begin(replace(start, known=before)), first.time
    for came in chain((first,), coming):
        if isinstance(came, Reading | Entry | Setup):
            record = replace(came, known=before) if isinstance(came, Setup) else came
            state, ended = watch.step(state, record).state, record.time
    return state, ended


def _learned(course: Course) -> tuple[Pit, Array]:
    """Return the pit as the beliefs have it in the end, each with its say, and the covariance of its logs."""
    share = weights(course.verdict)
    logs = np.array([np.log(box.pit.value) + box.mean[FIRST_PARAMETER:] for box in course.boxes])
    middle: Array = share @ logs
    cov = np.zeros((middle.size, middle.size))
    for part, box, own in zip(share, course.boxes, logs, strict=True):
        cov += part * (box.cov[FIRST_PARAMETER:, FIRST_PARAMETER:] + np.outer(own - middle, own - middle))
    return replace(course.box.pit, value=np.exp(middle), spread=np.sqrt(np.diag(cov))), cov


def _worth(pit: Pit, cov: Array, log: CookLog, setup: Setup) -> Worth:
    """Return what was learned in the cook's terms: his splits, and his dampers as they mostly stood."""
    splits = [dry_kg(split, pit, setup) for _, split in log.splits()]
    kg = float(np.median(splits)) if splits else pit.usual_kg
    moments = [seconds + 600.0 for seconds, _ in log.splits()]
    stands = [controls_at(log, seconds, setup) for seconds in moments]
    dampers = (float(np.median([one.intake for one in stands])), float(np.median([one.stack for one in stands])))
    root: Array = np.linalg.cholesky(cov + memory.BETWEEN**2 * np.eye(cov.shape[0])).astype(np.float64)
    return worth.worth(pit, root, kg, dampers, setup)
