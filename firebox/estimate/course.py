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
from firebox.estimate import greybox, lookahead, refit, silent
from firebox.estimate.greybox import MODEL_ERROR, STEP, GreyBox
from firebox.estimate.hindsight import Verdict, judged, weighed, weights
from firebox.estimate.hindsight import begin as begin_verdict
from firebox.estimate.lookahead import Ahead
from firebox.estimate.memory import remembered
from firebox.estimate.model import At, Pit
from firebox.estimate.priors import TEMPERS, Temper, prior
from firebox.estimate.unlogged import believed, found, still_guessed
from firebox.records import Pit as PitEntry
from firebox.setup import PitBuild, Setup

Array = NDArray[np.float64]

REMEMBERED: Final = 50 * 60.0
"""How far back the past can be thought over. [s] A split entered later than that has burned by now."""

CHECKPOINT_EVERY: Final = 300.0
"""Seconds between checkpoints."""

FORGOTTEN: Final = 4 * 3600.0
"""How long a guessed split is kept. [s] By then it is ash."""

ABANDONED: Final = 4 * 3600.0
"""After a gap longer than this the fire that was known is gone. [s]"""


YOUNG: Final = 5400.0
"""While a cook is younger every belief is thought over at each checkpoint, later one after the other. [s]"""


class Course(Struct, frozen=True, kw_only=True):
    """The grey box, with its past.

    Attributes
    ----------
    boxes : tuple of GreyBox
        The beliefs at the newest step, one for each of `priors.TEMPERS`.
    pending : tuple of float
        Readings since then. [degC]
    past : ndarray, shape (n, 3)
        Readings that were taken in: when [s], value [degC], variance [K^2].
    checkpoints : tuple of tuple of GreyBox
        Beliefs of the last `REMEMBERED` seconds, oldest first.
    offset : float
        What the present lead probe shows above the first one. [K]
    changes : int
        `CookLog.changes` up to which the log has been thought over.
    verdict : Verdict
        Which of the beliefs has foreseen well.
    """

    boxes: tuple[GreyBox, ...]
    pending: tuple[float, ...] = ()
    past: NDArray[np.float64]
    checkpoints: tuple[tuple[GreyBox, ...], ...] = ()
    offset: float = 0.0
    led: dict[str, float] = {}
    """The same of probes that led before."""
    changes: int = 0
    verdict: Verdict
    readings: NDArray[np.float64]
    """The cook so far, thinned (`refit.noted`)."""
    stories: tuple[refit.Story, ...]
    """What each belief makes of it."""
    guessed: tuple[Deed, ...] = ()
    """What was never logged and that the readings speak for: splits, and what `silent` has found."""
    vigil: silent.Vigil = silent.Vigil()
    """Whether anything else was done without a word."""

    @property
    def seconds(self) -> float:
        """When the beliefs are of. [s]"""
        return self.boxes[0].seconds

    @property
    def box(self) -> GreyBox:
        """The belief that has foreseen best."""
        return self.boxes[int(np.argmax(weights(self.verdict)))]


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
    build = build_of(log, setup)
    boxes = tuple(
        greybox.deeds_before(greybox.start(seconds, celsius, _pit(build, setup, temper), ambient), log, setup)
        for temper in TEMPERS
    )
    return Course(
        boxes=boxes,
        past=np.zeros((0, 3)),
        checkpoints=(boxes,),
        changes=log.changes,
        verdict=begin_verdict(len(boxes)),
        readings=np.zeros((0, 3)),
        stories=tuple(refit.begin(box) for box in boxes),
    )


def _pit(build: PitBuild, setup: Setup, temper: Temper) -> Pit:
    """Return what is known of the pit before it burns: from its build, and from earlier cooks.

    One belief begins afresh all the same: the pit may be another one by now.
    """
    known = None if temper is AFRESH else setup.known
    return remembered(prior(build, setup.wood, temper), known, setup.time)


AFRESH: Final = TEMPERS[1]
"""The usual temper, whose belief rests on the pit's build alone."""


def moved(
    course: Course, celsius: float, step: float | None = None, before: str | None = None, now: str = ""
) -> Course:
    """Return the course when the probe `now` takes the lead, which shows `celsius`: `step` more than `before`, that led.

    One that has led already stands where it stood. Where nothing is known of it, its distance is what it shows more than was
    thought of the one before.
    """
    led = {**course.led, before: course.offset} if before is not None else course.led
    offset = celsius - float(course.box.mean[At.PROBE]) if step is None else course.offset + step
    return replace(course, pending=(), offset=led.get(now, offset), led=led, vigil=silent.Vigil())


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
    log = believed(log, course.guessed)
    if seconds - course.seconds > ABANDONED:
        if celsius is None:
            return course
        return start(seconds, celsius, ambient, log, setup)
    if celsius is not None:
        course = replace(course, pending=(*course.pending, celsius - course.offset))
    if seconds - course.seconds < STEP:
        return course
    past, row = course.past, None
    if course.pending:
        row = (seconds, float(np.median(course.pending)), noise / len(course.pending) + MODEL_ERROR**2)
        past = np.concatenate([past[past[:, 0] > seconds - REMEMBERED], [row]])
        past.setflags(write=False)
        if row[2] < refit.MISFIT**2:
            course = replace(course, readings=refit.noted(course.readings, seconds, row[1], ambient))
    boxes = greybox.advance_all(course.boxes, seconds, log, setup)
    course = _watched(replace(course, past=past), boxes, seconds, row, log, setup)
    boxes = _corrected(boxes, row, ambient)
    course = replace(course, boxes=boxes, pending=())
    missed = silent.taken(course.vigil, seconds)
    if missed:
        return _believing(course, missed, log, setup)
    if seconds - course.checkpoints[-1][0].seconds < CHECKPOINT_EVERY:
        return course
    kept = tuple(point for point in course.checkpoints if point[0].seconds > seconds - REMEMBERED)
    course = replace(course, checkpoints=(*kept, boxes))
    best = int(np.argmax(weights(course.verdict)))
    points = tuple(point[best] for point in kept)
    # What is being asked about already explains the readings.
    split = None if silent.asking(course.vigil) else found(points, past, seconds, log, setup)
    if split is not None:
        return _believing(course, (split,), log, setup)
    judgement = judged(course.verdict, kept, past, seconds, log, setup)
    if judgement is not None:
        boxes = tuple(greybox.taught(box, lesson) for box, lesson in zip(boxes, judgement.lessons, strict=True))
        course = replace(course, boxes=boxes, verdict=judgement.verdict)
    course = _refitted(course, seconds, log, setup)
    return replace(course, checkpoints=(*kept, course.boxes))


def _watched(  # noqa: PLR0917  all that a cell means
    course: Course,
    boxes: tuple[GreyBox, ...],
    seconds: float,
    row: tuple[float, float, float] | None,
    log: CookLog,
    setup: Setup,
) -> Course:
    """Return the course with its vigil carried on; `boxes` have come to the present and have not heard the row yet."""
    if seconds - course.checkpoints[0][0].seconds < silent.UNKNOWN:
        return course
    best = int(np.argmax(weights(course.verdict)))
    vigil = course.vigil if row is None else silent.surprised(course.vigil, boxes[best], row[1], row[2])
    points = tuple(point[best] for point in course.checkpoints)
    return replace(course, vigil=silent.watched(vigil, points, course.past, seconds, log, setup))


def _believing(course: Course, deeds: tuple[Deed, ...], log: CookLog, setup: Setup) -> Course:
    """Return the course with deeds taken for done that nobody logged, and the time since thought over."""
    recent = tuple(deed for deed in course.guessed if deed.seconds > course.seconds - FORGOTTEN)
    course = replace(course, guessed=(*recent, *deeds), vigil=silent.Vigil())
    return _back(course, deeds[0].seconds, believed(log, deeds), setup)


def _refitted(course: Course, seconds: float, log: CookLog, setup: Setup, *, everyone: bool = False) -> Course:
    """Return the course with one belief, or in a young cook each, thought over as a whole."""
    boxes, stories = list(course.boxes), list(course.stories)
    turn = int(seconds // CHECKPOINT_EVERY) % len(boxes)
    young = seconds - stories[0].begun < YOUNG and not stories[0].rolled
    for place in range(len(boxes)) if young or everyone else (turn,):
        stories[place], box = refit.fitted(
            stories[place], course.readings, course.past, boxes[place].pit, seconds, log, setup
        )
        boxes[place] = box or boxes[place]
    return replace(course, boxes=tuple(boxes), stories=tuple(stories))


def _stepped(  # noqa: PLR0917  all that a cell means
    boxes: tuple[GreyBox, ...],
    seconds: float,
    row: tuple[float, float, float] | None,
    ambient: float | None,
    log: CookLog,
    setup: Setup,
) -> tuple[GreyBox, ...]:
    return _corrected(greybox.advance_all(boxes, seconds, log, setup), row, ambient)


def _corrected(
    boxes: tuple[GreyBox, ...], row: tuple[float, float, float] | None, ambient: float | None
) -> tuple[GreyBox, ...]:
    if row is not None:
        boxes = tuple(greybox.correct(box, At.PROBE, row[1], row[2]) for box in boxes)
    return boxes if ambient is None else tuple(greybox.correct(box, At.AMBIENT, ambient, 1.0) for box in boxes)


def ahead(  # noqa: PLR0917  a fork of the cook
    course: Course, seconds: float, minutes: Array, log: CookLog, setup: Setup, plan: tuple[Deed, ...] = ()
) -> Ahead:
    """Return where the lead probe goes within `minutes` from `seconds` if nothing but `plan` is done."""
    log = believed(log, course.guessed)
    each = lookahead.ahead(course.boxes, seconds, minutes, log, setup, plan)
    plain = weighed(course.verdict, each, minutes, course.offset)
    return silent.mixed(course.vigil, plain, seconds, minutes, log, setup, plan)


def middle(  # noqa: PLR0917  a fork of the cook
    course: Course, seconds: float, minutes: Array, log: CookLog, setup: Setup, plan: tuple[Deed, ...] = ()
) -> tuple[Array, Array]:
    """Return where the best belief's mean goes under a plan, at the probe and as the probe shows it. [degC]"""
    return lookahead.middle(course.box, seconds, minutes, believed(log, course.guessed), setup, plan)


def _rethought(course: Course, log: CookLog, setup: Setup) -> Course:
    """Return the course with the newest entries thought over, from before the earliest moment that they changed."""
    known = course.changes
    course = replace(course, changes=log.changes)
    newest = log.deeds[-(log.changes - known) :] if log.deeds else ()
    if any(isinstance(deed.entry, PitEntry) for deed in newest):
        course = _remeasured(course, log, setup)
    kept = still_guessed(log, course.guessed)
    changed = [] if log.revised is None else [log.revised]
    changed += [deed.seconds for deed in course.guessed if deed not in kept]
    course = replace(course, guessed=kept, vigil=silent.after(course.vigil, log))
    if not changed:
        return course
    told = believed(log, kept)
    course = _back(course, min(changed), told, setup)
    if course.seconds - min(changed) < CHECKPOINT_EVERY:
        return course
    return _refitted(course, course.seconds, told, setup, everyone=True)


def _back(course: Course, changed: float, log: CookLog, setup: Setup) -> Course:
    """Return the course with everything since `changed` thought over."""
    earlier = [point for point in course.checkpoints if point[0].seconds <= changed]
    if changed >= course.seconds or not earlier:
        return course
    boxes, checkpoints = earlier[-1], tuple(earlier)
    for when, value, variance in course.past[course.past[:, 0] > boxes[0].seconds].tolist():
        boxes = _stepped(boxes, when, (when, value, variance), None, log, setup)
        if when - checkpoints[-1][0].seconds >= CHECKPOINT_EVERY:
            checkpoints = (*checkpoints, boxes)
    boxes = greybox.advance_all(boxes, course.seconds, log, setup)
    return replace(course, boxes=boxes, checkpoints=checkpoints)


def _remeasured(course: Course, log: CookLog, setup: Setup) -> Course:
    """Return the course with the pit's prior taken from what was just told; what was learned counts from there."""
    build = build_of(log, setup)
    boxes = tuple(
        replace(box, pit=_pit(build, setup, temper)) for box, temper in zip(course.boxes, TEMPERS, strict=True)
    )
    return replace(course, boxes=boxes, checkpoints=(boxes,))
