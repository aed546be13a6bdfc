"""The filter that keeps the grey box on the readings.

A Gaussian belief over the model's states and parameters (`firebox.estimate.model.At`), carried forward by central
differences: every direction of doubt is marched ahead on both sides of the mean. No draws, so the same records give the
same belief, bit for bit. Parameters take only a part of each correction: readings seconds apart are wrong together, and a
filter that takes them for independent talks itself into parameters it cannot know.
"""

from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from firebox.cooklog import CookLog, Deed
from firebox.estimate.deeds import FUEL, Deeds, controls_at, done
from firebox.estimate.model import FIRST_PARAMETER, SIZE, At, Controls, Pit, march, parameters, within
from firebox.records import Lit, Split
from firebox.setup import Setup

Array = NDArray[np.float64]

STEP: Final = 20.0
"""Seconds between two corrections: shorter than a probe's lag, longer than the cells they are made of."""

LONGEST: Final = 60.0
"""Longest stride of the model. [s]"""

LEARNING: Final = 0.5
"""Part of a correction that parameters take. The model's errors last minutes (`FLICKER_MEMORY`), so some ten readings
count as one; the root of that, a third to a half, is the share (a partial-update Schmidt-Kalman filter; Brink 2017, from
memory)."""

MODEL_ERROR: Final = 0.3
"""SD of what the model cannot show within a step. [K] A chamber's gas is not at one temperature."""

VIGOUR_SPREAD: Final = 0.2
"""SD of the log of a fire's heat about what wood and air give: logs lie well or badly."""

WEATHER_SPREAD: Final = 0.15
"""SD of the log of the losses: a mean wind of 3 m/s that wanders by half moves the loss by about 15 % (loss table)."""

FLICKER_SPREAD: Final = 0.8
"""SD of the gas temperature's wandering within minutes. [K]"""

DOOR_SPREAD: Final = 8.0
"""SD that a door's swing adds to the gas temperature. [K] How it swings is not in the model."""

DOOR_FLUTTER: Final = 1.0
"""SD that the air through an open door adds within 20 s. [K] Order of magnitude, no source."""

PARAMETER_MEMORY: Final = 12 * 3600.0
"""Seconds in which a parameter forgets: ash, meat and weather make another pit of it in the course of a cook."""

NU: Final = 4.0
"""Degrees of freedom of the Student-t that readings scatter with."""


class GreyBox(Struct, frozen=True, kw_only=True):
    """Belief about the pit at `seconds`: a Gaussian over `At`.

    Attributes
    ----------
    mean : ndarray, shape (SIZE,)
    cov : ndarray, shape (SIZE, SIZE)
    surprise : float
        Running mean of the normalised innovation squared; 1 where the model explains the readings.
    """

    seconds: float
    pit: Pit
    mean: NDArray[np.float64]
    cov: NDArray[np.float64]
    surprise: float = 1.0


COLD: Final = 45.0
"""A chamber below this has not been heated; it stands near the air's temperature. [degC]"""


def start(seconds: float, celsius: float, pit: Pit, ambient: float | None) -> GreyBox:
    """Return the belief at the first reading: a cold pit is as warm as the air, a hot one has been fed for a while."""
    mean, spread = np.zeros(SIZE), np.zeros(SIZE)
    cold = celsius < COLD
    if ambient is not None:
        mean[At.AMBIENT], spread[At.AMBIENT] = ambient, 1.0
    else:
        mean[At.AMBIENT], spread[At.AMBIENT] = (celsius, 3.0) if cold else (15.0, 8.0)
    excess = celsius - mean[At.AMBIENT]
    mean[At.PROBE], spread[At.PROBE] = celsius, 2.0
    for row, share, doubt in ((At.WALL, 0.8, 0.12), (At.MASS, 0.7, 0.25), (At.FIREBOX, 1.8, 0.6)):
        mean[row] = mean[At.AMBIENT] + share * excess
        spread[row] = 1.0 + doubt * abs(excess)
    if not cold:
        heat = pit.need_watts * min(max(excess, 0.0) / 100.0, 3.0)
        # Half of a steady fire's heat is flame, half coals; what is there is rate times how long it lasts.
        for row, lasts, lhv in ((At.FLAMING, 750.0, 15e6), (At.COAL, 2400.0, 30e6)):
            mean[row] = 0.5 * heat * lasts / lhv / 0.8
        mean[At.FRESH] = mean[At.WARM] = 0.1 * pit.usual_kg
        spread[FUEL] = 0.8 * mean[FUEL]
    spread[FUEL] = np.maximum(spread[FUEL], 0.02 * pit.usual_kg)
    spread[At.VIGOUR], spread[At.WEATHER], spread[At.FLICKER] = VIGOUR_SPREAD, WEATHER_SPREAD, FLICKER_SPREAD
    spread[FIRST_PARAMETER:] = pit.spread
    return GreyBox(seconds=seconds, pit=pit, mean=_still(mean), cov=_still(np.diag(spread**2)))


def points(box: GreyBox) -> Array:
    """Return the mean and one SD to both sides along every direction of doubt, shape (SIZE, 2 SIZE + 1)."""
    scale = np.sqrt(np.maximum(np.diag(box.cov), 1e-12))
    unit = box.cov / np.outer(scale, scale)
    unit[np.diag_indices(SIZE)] += 1e-9
    try:
        root = np.linalg.cholesky(unit)
    except np.linalg.LinAlgError:
        # Rounding has made the belief contradict itself: keep every doubt, drop what ties them together.
        root = np.eye(SIZE)
    root = root * scale[:, None]
    return np.concatenate([box.mean[:, None], box.mean[:, None] + root, box.mean[:, None] - root], axis=1)


def advance(box: GreyBox, seconds: float, log: CookLog, setup: Setup) -> GreyBox:
    """Return the belief at `seconds`, the deeds from the box's own time on done when they were done.

    A deed at `seconds` itself is left to the next call: it may be entered after this one, at the same instant.
    """
    return advance_all((box,), seconds, log, setup)[0]


def advance_all(boxes: tuple[GreyBox, ...], seconds: float, log: CookLog, setup: Setup) -> tuple[GreyBox, ...]:
    """Return several beliefs of one instant about one pit at `seconds`, as `advance` does each; quicker together."""
    for deed in log.deeds:
        if boxes[0].seconds <= deed.seconds < seconds:
            boxes = _carried(boxes, deed.seconds, log, setup)
            if isinstance(deed.entry, Split) and waited(log, deed):
                boxes = tuple(_burned_down(box) for box in boxes)
            boxes = tuple(_changed(box, done(deed.entry, box.pit, setup)) for box in boxes)
    return _carried(boxes, seconds, log, setup)


def deeds_before(box: GreyBox, log: CookLog, setup: Setup) -> GreyBox:
    """Return a fresh belief after the deeds that were entered before its first reading."""
    for deed in log.deeds:
        if deed.seconds < box.seconds:
            box = _changed(box, done(deed.entry, box.pit, setup))
    return box


def correct(box: GreyBox, row: At, value: float, variance: float) -> GreyBox:
    """Return the belief after one reading of the state `row`; a strange one is half believed."""
    gap = value - float(box.mean[row])
    column = box.cov[:, row]
    spread = float(column[row]) + variance
    nis = gap**2 / spread
    spread = float(column[row]) + variance * max(1.0, (NU + nis) / (NU + 1.0))
    gain = column / spread
    part = np.ones(SIZE)
    part[FIRST_PARAMETER:] = LEARNING
    hold = 1.0 - part
    change = np.outer(gain, column)
    mean = box.mean + part * gain * gap
    mean[FUEL] = np.clip(mean[FUEL], 0.0, 200.0)
    cov = box.cov - change + hold[:, None] * change * hold
    surprise = box.surprise + 0.05 * (min(nis, 25.0) - box.surprise) if row is At.PROBE else box.surprise
    return replace(box, mean=_still(mean), cov=_still(0.5 * (cov + cov.T)), surprise=surprise)


def taught(box: GreyBox, lesson: Array) -> GreyBox:
    """Return the belief with its parameters shifted by a lesson, within the bounds of what pits are."""
    mean = box.mean.copy()
    mean[FIRST_PARAMETER:] = within(mean[FIRST_PARAMETER:] + lesson, box.pit)
    return replace(box, mean=_still(mean))


def _carried(boxes: tuple[GreyBox, ...], seconds: float, log: CookLog, setup: Setup) -> tuple[GreyBox, ...]:
    while seconds - boxes[0].seconds > 1e-6:
        dt = min(seconds - boxes[0].seconds, LONGEST)
        controls = controls_at(log, boxes[0].seconds, setup)
        each = [points(box) for box in boxes]
        members = np.concatenate(each, axis=1)
        p = np.concatenate([parameters(own, box.pit) for own, box in zip(each, boxes, strict=True)], axis=1)
        after = np.split(march(members, p, boxes[0].pit, controls, dt), len(boxes), axis=1)
        boxes = tuple(_strode(box, own, dt, controls) for box, own in zip(boxes, after, strict=True))
    return boxes


def _strode(box: GreyBox, after: Array, dt: float, controls: Controls) -> GreyBox:
    """Return the belief whose points have come to `after`."""
    half = 0.5 * (after[:, 1 : SIZE + 1] - after[:, SIZE + 1 :])
    keep = np.ones(SIZE)
    keep[FIRST_PARAMETER:] = np.exp(-dt / PARAMETER_MEMORY)
    mean = after[:, 0] * keep
    mean[FIRST_PARAMETER:] = within(mean[FIRST_PARAMETER:], box.pit)
    half *= keep[:, None]
    cov = half @ half.T
    cov[np.diag_indices(SIZE)] += _noise(box, dt, controls)
    return replace(box, seconds=box.seconds + dt, mean=_still(mean), cov=_still(cov))


def _burned_down(box: GreyBox) -> GreyBox:
    """Return the belief after the cook has looked into the fire and found that wood is due.

    Whoever feeds a fire has seen it: what was not yet coal was little, half a split give or take one. Without this a slow
    fire and a growing heap of unburned wood explain the same readings.
    """
    pick = np.zeros(SIZE)
    pick[UNBURNED] = 1.0
    column = box.cov @ pick
    spread = float(pick @ column) + (LEFT_DOUBT * box.pit.usual_kg) ** 2
    gap = LEFT * box.pit.usual_kg - float(pick @ box.mean)
    gain = column / spread
    part = np.ones(SIZE)
    part[FIRST_PARAMETER:] = LEARNING
    mean = box.mean + part * gain * gap
    mean[FUEL] = np.clip(mean[FUEL], 0.0, 200.0)
    hold = 1.0 - part
    change = np.outer(gain, column)
    cov = box.cov - change + hold[:, None] * change * hold
    return replace(box, mean=_still(mean), cov=_still(0.5 * (cov + cov.T)))


WAITED: Final = 900.0
"""Who feeds again sooner builds the fire up, and what he laid before still burns. [s] While it is built up wood goes on
every ten minutes or so, later every 30-45 (common practice, no source)."""


def waited(log: CookLog, split: Deed) -> bool:
    """Tell whether wood was left to burn for a while before a split was laid."""
    before = [
        deed.seconds for deed in log.deeds if deed.seconds < split.seconds and isinstance(deed.entry, Split | Lit)
    ]
    return not before or split.seconds - max(before) > WAITED


UNBURNED: Final = [At.FRESH, At.WARM, At.FLAMING]

LEFT: Final = 0.5
LEFT_DOUBT: Final = 0.9
"""What is left unburned when wood goes on, and its SD, in usual splits: a cook feeds a fire that wants it, but some feed by
the clock."""


def _noise(box: GreyBox, dt: float, controls: Controls) -> Array:
    """Return the variance that the unknown adds within `dt`, shape (SIZE,)."""
    q = np.zeros(SIZE)
    # Walls are lumps here and layers in truth: some 0.05 K in a second's root.
    q[[At.FIREBOX, At.WALL, At.MASS, At.PROBE]] = 0.0025, 0.0004, 0.0004, 0.0009
    # Logs shift and crumble: a fuel pool is known to about a fifth after half an hour.
    q[FUEL] = (0.006 * (box.mean[FUEL] + 0.1 * box.pit.usual_kg)) ** 2
    q[At.VIGOUR] = 2.0 / 2400.0 * VIGOUR_SPREAD**2
    q[At.WEATHER] = 2.0 / 3600.0 * WEATHER_SPREAD**2
    q[At.FLICKER] = 2.0 / 240.0 * FLICKER_SPREAD**2
    if controls.cook_door or controls.firebox_door:
        q[At.FLICKER] += DOOR_FLUTTER**2 / 20.0
    q[At.AMBIENT] = 1.0 / 3600.0
    q[FIRST_PARAMETER:] = 2.0 / PARAMETER_MEMORY * box.pit.wide**2
    return q * dt


def _changed(box: GreyBox, deeds: Deeds) -> GreyBox:
    mean = box.mean + deeds.shift
    cov = box.cov.copy()
    if deeds.forget:
        # A door moved: what the gas did until now says nothing of what it does next.
        mean[At.FLICKER] = 0.0
        cov[At.FLICKER, :] = cov[:, At.FLICKER] = 0.0
        cov[At.FLICKER, At.FLICKER] = DOOR_SPREAD**2
    cov[np.diag_indices(SIZE)] += deeds.doubt**2
    return replace(box, mean=_still(mean), cov=_still(cov))


def _still(array: Array) -> Array:
    array.setflags(write=False)
    return array
