"""The grey box along a cook: readings gathered to steps, and the past kept so that it can be thought over again.

When an entry changes the past (back-dated, or undone) the belief goes back to a checkpoint from before it and comes
forward again over the readings kept since.
"""

from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from firebox.cooklog import CookLog, Deed
from firebox.estimate import greybox, lookahead
from firebox.estimate.greybox import MODEL_ERROR, STEP, GreyBox
from firebox.estimate.lookahead import Ahead
from firebox.estimate.model import At
from firebox.estimate.priors import prior
from firebox.records import Pit as PitEntry
from firebox.setup import PitBuild, Setup

Array = NDArray[np.float64]

REMEMBERED: Final = 50 * 60.0
"""How far back the past can be thought over. [s] A split entered later than that has burned by now."""

CHECKPOINT_EVERY: Final = 300.0
"""Seconds between checkpoints."""

ABANDONED: Final = 4 * 3600.0
"""After a gap longer than this the fire that was known is gone. [s]"""


class Course(Struct, frozen=True, kw_only=True):
    """The grey box, with its past.

    Attributes
    ----------
    box : GreyBox
        The belief at the newest step.
    pending : tuple of float
        Readings since then. [degC]
    past : ndarray, shape (n, 3)
        Readings that were taken in: when [s], value [degC], variance [K^2].
    checkpoints : tuple of GreyBox
        Beliefs of the last `REMEMBERED` seconds, oldest first.
    offset : float
        What the present lead probe shows above the first one. [K]
    changes : int
        `CookLog.changes` up to which the log has been thought over.
    """

    box: GreyBox
    pending: tuple[float, ...] = ()
    past: NDArray[np.float64]
    checkpoints: tuple[GreyBox, ...] = ()
    offset: float = 0.0
    changes: int = 0


def build_of(log: CookLog, setup: Setup) -> PitBuild:
    """Return what is known of the pit's build: as told last, the setup filling what was left open."""
    build = setup.build
    for deed in log.deeds:
        if isinstance(deed.entry, PitEntry):
            told = deed.entry
            build = PitBuild(
                chamber_litres=told.chamber_litres or build.chamber_litres,
                wall_mm=told.wall_mm or build.wall_mm,
                firebox_insulated=build.firebox_insulated
                if told.firebox_insulated is None
                else told.firebox_insulated,
                usual_split_kg=told.usual_split_kg or build.usual_split_kg,
            )
    return build


def start(seconds: float, celsius: float, ambient: float | None, log: CookLog, setup: Setup) -> Course:
    """Return the course at the first reading."""
    box = greybox.start(seconds, celsius, prior(build_of(log, setup), setup.wood), ambient)
    box = greybox.deeds_before(box, log, setup)
    return Course(box=box, past=np.zeros((0, 3)), checkpoints=(box,), changes=log.changes)


def moved(course: Course, celsius: float) -> Course:
    """Return the course when another probe takes the lead, which shows `celsius` now."""
    return replace(course, pending=(), offset=celsius - float(course.box.mean[At.PROBE]))


def advance(  # noqa: PLR0917  all that a cell means
    course: Course,
    seconds: float,
    celsius: float | None,
    ambient: float | None,
    noise: float,
    log: CookLog,
    setup: Setup,
) -> Course:
    """Return the course at `seconds`; `noise` is the variance of one reading. [K^2]"""
    if log.changes != course.changes:
        course = _rethought(course, log, setup)
    if seconds - course.box.seconds > ABANDONED:
        if celsius is None:
            return course
        return start(seconds, celsius, ambient, log, setup)
    if celsius is not None:
        course = replace(course, pending=(*course.pending, celsius - course.offset))
    if seconds - course.box.seconds < STEP:
        return course
    box = greybox.advance(course.box, seconds, log, setup)
    past = course.past
    if course.pending:
        value = float(np.median(course.pending))
        variance = noise / len(course.pending) + MODEL_ERROR**2
        box = greybox.correct(box, At.PROBE, value, variance)
        past = np.concatenate([past[past[:, 0] > seconds - REMEMBERED], [[seconds, value, variance]]])
        past.setflags(write=False)
    if ambient is not None:
        box = greybox.correct(box, At.AMBIENT, ambient, 1.0)
    checkpoints = course.checkpoints
    if not checkpoints or seconds - checkpoints[-1].seconds >= CHECKPOINT_EVERY:
        checkpoints = (*(kept for kept in checkpoints if kept.seconds > seconds - REMEMBERED), box)
    return replace(course, box=box, pending=(), past=past, checkpoints=checkpoints)


def ahead(  # noqa: PLR0917  a fork of the cook
    course: Course, seconds: float, minutes: Array, log: CookLog, setup: Setup, plan: tuple[Deed, ...] = ()
) -> Ahead:
    """Return where the lead probe goes within `minutes` from `seconds` if nothing but `plan` is done."""
    there = lookahead.ahead(course.box, seconds, minutes, log, setup, plan)
    return Ahead(there.mean + course.offset, there.spread, there.shown + course.offset)


def _rethought(course: Course, log: CookLog, setup: Setup) -> Course:
    """Return the course with the newest entries thought over, from before the earliest moment that they changed."""
    course = replace(course, changes=log.changes)
    newest = log.deeds[-1].entry if log.deeds else None
    if isinstance(newest, PitEntry):
        course = _remeasured(course, log, setup)
    changed = log.revised
    if changed is None or changed >= course.box.seconds:
        return course
    earlier = [kept for kept in course.checkpoints if kept.seconds <= changed]
    if not earlier:
        return course
    box = earlier[-1]
    checkpoints = tuple(earlier)
    for when, value, variance in course.past[course.past[:, 0] > box.seconds]:
        box = greybox.correct(greybox.advance(box, float(when), log, setup), At.PROBE, float(value), float(variance))
        if box.seconds - checkpoints[-1].seconds >= CHECKPOINT_EVERY:
            checkpoints = (*checkpoints, box)
    box = greybox.advance(box, course.box.seconds, log, setup)
    return replace(course, box=box, checkpoints=checkpoints)


def _remeasured(course: Course, log: CookLog, setup: Setup) -> Course:
    """Return the course with the pit's prior taken from what was just told; what was learned counts from there."""
    pit = prior(build_of(log, setup), setup.wood)
    box = replace(course.box, pit=pit)
    return replace(course, box=box, checkpoints=(box,))
