"""A cook gone over again when it is done, for what it teaches of the pit.

The reducer takes the cook's records once more, as it did then; on the way the states are kept from which the model is
run again by `firebox.estimate.fit`. A fire that was watched for less than two hours teaches nothing.
"""

from collections.abc import Iterable
from datetime import datetime
from itertools import chain
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from firebox import watch
from firebox.cooklog import CookLog
from firebox.estimate import course as courses
from firebox.estimate import fit, memory, worth
from firebox.estimate.course import Course
from firebox.estimate.deeds import controls_at, dry_kg
from firebox.estimate.fit import Fitted, Run
from firebox.estimate.hindsight import LOOKED_BACK
from firebox.estimate.model import Pit
from firebox.estimate.priors import prior
from firebox.estimate.unlogged import believed
from firebox.records import Entry, Lit, Reading, Record, Split
from firebox.setup import KnownPit, Setup, Worth
from firebox.watch import WatchState

Array = NDArray[np.float64]

FEWEST_SPLITS: Final = 3
"""Without so much wood logged there is nothing to hold the fire against."""

NEAR: Final = 31.0
"""Readings so near to a look are of it. [s]"""


class Heard(Struct, frozen=True, kw_only=True):
    """What is kept of a cook on the way.

    Attributes
    ----------
    state : WatchState
    began, ended : datetime
        Times of the first and the last record.
    courses : tuple of Course
        One each quarter of an hour.
    read : tuple of (float, float)
        Second and value of each reading that the estimate took in. [s], [degC]
    """

    state: WatchState
    began: datetime
    ended: datetime
    courses: tuple[Course, ...]
    read: tuple[tuple[float, float], ...]


def study(records: Iterable[Record], before: KnownPit | None = None) -> KnownPit | None:
    """Return what is known of a pit after one more cook; `before` where the cook teaches nothing.

    Parameters
    ----------
    records : iterable of Record
        The cook as it came in, its setup first. What the setup says was known then is passed over for `before`.
    before : KnownPit, optional
        What was known of the pit from other cooks. One that is among them already is not counted again.
    """
    coming = iter(records)
    first = next(coming, None)
    if first is None or (before is not None and first.time in before.cooks):
        return before
    heard = _heard(chain((first,), coming))
    if heard is None or heard.state.estimate.course is None:
        return before
    log = believed(heard.state.log, heard.state.estimate.course.guessed)
    if sum(isinstance(deed.entry, Split | Lit) for deed in log.deeds) < FEWEST_SPLITS:
        return before
    setup = heard.state.setup
    pit = memory.remembered(prior(courses.build_of(log, setup), setup.wood), before, heard.began)
    runs = _runs(heard)
    found: list[Fitted] = []
    for box in heard.state.estimate.course.boxes:
        begin = np.log(box.pit.value / pit.value) + box.mean[-pit.value.size :]
        fitted = fit.fit(runs, pit, begin, log, setup)
        if fitted is not None:
            found.append(fitted)
    if not found:
        return before
    best = min(found, key=lambda one: one.cost)
    value = pit.value * np.exp(best.shift)
    return KnownPit(
        parameters=memory.learned_from(value, np.sqrt(np.diag(best.cov))),
        worth=_worth(replace(pit, value=value), best.cov, log, setup),
        cooks=(*(before.cooks if before else ()), heard.began),
        hours=round((before.hours if before else 0.0) + heard.state.seconds / 3600.0, 2),
        learned=heard.ended,
    )


def _worth(pit: Pit, cov: Array, log: CookLog, setup: Setup) -> Worth:
    """Return what was learned in the cook's terms: his splits, and his dampers as they mostly stood."""
    splits = [dry_kg(split, pit, setup) for _, split in log.splits()]
    kg = float(np.median(splits)) if splits else pit.usual_kg
    moments = [seconds + 600.0 for seconds, _ in log.splits()]
    stands = [controls_at(log, seconds, setup) for seconds in moments]
    dampers = (float(np.median([one.intake for one in stands])), float(np.median([one.stack for one in stands])))
    root: Array = np.linalg.cholesky(cov + memory.BETWEEN**2 * np.eye(cov.shape[0])).astype(np.float64)
    return worth.worth(pit, root, kg, dampers, setup)


def _heard(records: Iterable[Record]) -> Heard | None:
    """Return what is kept of a cook that the reducer has gone over; None where there is no cook."""
    state: WatchState | None = None
    kept: list[Course] = []
    read: list[tuple[float, float]] = []
    times: list[datetime] = []
    for came in records:
        if not isinstance(came, Reading | Entry | Setup):
            continue
        record = replace(came, known=None) if isinstance(came, Setup) else came
        if state is None:
            state = watch.begin(record if isinstance(record, Setup) else Setup(time=record.time))
        times = [times[0] if times else record.time, record.time]
        state = watch.step(state, record).state
        course = state.estimate.course
        if course is None or not course.past.size:
            continue
        at, value, _ = course.past[-1]
        if not read or at > read[-1][0]:
            read.append((float(at), float(value)))
        if not kept or course.seconds - kept[-1].seconds >= fit.EVERY:
            kept.append(course)
    if state is None:
        return None
    return Heard(state=state, began=times[0], ended=times[1], courses=tuple(kept), read=tuple(read))


def _runs(heard: Heard) -> tuple[Run, ...]:
    read = np.array(heard.read)
    return tuple(Run(box=course.box, came=_came(read, course.seconds)) for course in heard.courses)


def _came(read: Array, begun: float) -> Array:
    near = [read[np.abs(read[:, 0] - begun - 60.0 * minutes) < NEAR, 1] for minutes in LOOKED_BACK]
    return np.array([float(np.median(values)) if values.size else np.nan for values in near])
