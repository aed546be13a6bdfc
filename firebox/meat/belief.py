"""What a probe and a cook's hand tell of a herd: an ensemble square root filter for single numbers.

Deterministic: no perturbed observations (Whitaker & Hamill, "Ensemble data assimilation without perturbed observations",
Monthly Weather Review 130, 2002, eq. 10-13, from memory). Knobs and temperatures move together by their covariance with
what the probe should read, so the probe's depth, the size of the cut and the draught past it are learned as well.
"""

import math
from typing import Final

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from firebox.meat.herd import Figures, Herd, Knob

Floats = NDArray[np.float64]

MODEL_KELVIN: Final = 3.0
"""Standard deviation of what a one-dimensional picture of a cut does not know, at the probe. [K] Project's choice."""

MODEL_SECONDS: Final = 3600.0
"""For so long that fault stays about the same: readings within it tell of it once, not each time. [s]"""

FORGET_SECONDS: Final = 2.0 * 3600.0
"""Time constant with which what temperatures taught of a piece fades back to the prior: what makes it slow while it warms
does not make it slow when it dries. About the length of a stage; project's choice."""

HEAT: Final = (
    Knob.THICKNESS, Knob.DIFFUSIVITY, Knob.FILM, Knob.PASSAGE, Knob.SUPPLY, Knob.HUMIDITY, Knob.NEAR, Knob.DEPTH, Knob.COVER,
    Knob.SEAL,
)  # fmt: skip
"""Knobs of which a temperature tells anything; for others its covariance in a small herd is chance."""

HEAT_TOO: Final = (*(knob for knob in HEAT if knob is not Knob.DEPTH), Knob.DEPTH_TOO)
"""The same for a second probe, which sits at a depth of its own."""

HAND: Final = (Knob.NEED, Knob.ENERGY)
"""Knobs of which a hand on the meat tells."""

COLDEST: Final = -5.0
HOTTEST: Final = 100.0
"""degC; wet meat is no hotter, whatever a probe says that has slipped out of it."""


def assimilate(
    herd: Herd, seen: Floats, value: float, noise: float, *, of: tuple[Knob, ...], believed: float = 3.0
) -> Herd:
    """Return a herd after a measurement.

    Parameters
    ----------
    herd : Herd
    seen : ndarray, shape (n_members,)
        What each member says the measurement should have been.
    value : float
        What it was.
    noise : float
        Its standard deviation, that of the model's own faults included; more than 0.
    of : tuple of Knob
        The knobs of which it tells.
    believed : float
        A surprise of more than so many standard deviations counts as one of so many: a wild reading says that the
        reading is wild.
    """
    members = len(seen)
    away = seen - seen.mean()
    variance = float(away @ away) / (members - 1)
    if variance <= 0.0:
        return herd
    total = variance + noise**2
    surprise = value - float(seen.mean())
    surprise = float(np.clip(surprise, -believed * total**0.5, believed * total**0.5))
    shrink = 1.0 / (1.0 + (noise**2 / total) ** 0.5)

    def moved(what: Floats) -> Floats:
        rows = what.reshape(members, -1)
        spread = rows - rows.mean(axis=0)
        gain = (away @ spread) / (members - 1) / total
        result: Floats = (rows + gain * surprise - shrink * np.outer(away, gain)).reshape(what.shape)
        return result

    celsius = np.clip(moved(herd.celsius), COLDEST, HOTTEST)
    hottest = np.maximum(herd.hottest + (celsius - herd.celsius), celsius)
    columns = list(of)
    knobs = herd.knobs.copy()
    knobs[:, columns] = np.clip(moved(herd.knobs[:, columns]), -4.0, 4.0)
    return replace(
        herd,
        knobs=knobs,
        celsius=celsius,
        hottest=hottest,
        front=np.clip(moved(herd.front), COLDEST, HOTTEST),
        collagen=_positive(herd.collagen, moved(herd.collagen)),
        render=_positive(herd.render, moved(herd.render)),
        bark=_positive(herd.bark, moved(herd.bark)),
    )


def _positive(before: Floats, after: Floats) -> Floats:
    """Return hours' worth after a correction; they do not fall below a third of what they were."""
    result: Floats = np.maximum(after, before / 3.0)
    return result


def forget(herd: Herd, seconds: float, *, copies: int = 1) -> Herd:
    """Return a herd whose knobs of heat have wandered a little back to their prior, mean and spread.

    An Ornstein-Uhlenbeck process about the prior, by stretching the herd instead of by draws. `copies` tells how often
    each member is in it.
    """
    keep = math.exp(-seconds / FORGET_SECONDS)
    columns = [*HEAT, Knob.DEPTH_TOO]
    some = herd.knobs[:, columns]
    mean = some.mean(axis=0)
    away = some - mean
    variance = np.maximum((away**2).sum(axis=0) / (len(some) - copies), 1e-6)
    stretch = np.sqrt((keep**2 * variance + (1.0 - keep**2)) / variance)
    knobs = herd.knobs.copy()
    knobs[:, columns] = keep * mean + away * stretch
    return replace(herd, knobs=knobs)


def hear(
    herd: Herd,
    seen: Floats,
    celsius: float,
    noise: float | None,
    *,
    every: float,
    of: tuple[Knob, ...] = HEAT,
) -> Herd:
    """Return a herd after a reading of a probe in it.

    Parameters
    ----------
    herd : Herd
    seen : ndarray, shape (n_members,)
        What the probe would read in each member. [degC]
    celsius : float
    noise : float or None
        Standard deviation of the reading; None: not known yet. [K]
    every : float
        How often readings are taken in. [s]
    of : tuple of Knob
        `HEAT`, or `HEAT_TOO` for the second probe.
    """
    sure = ((0.3 if noise is None else noise) ** 2 + MODEL_KELVIN**2 * MODEL_SECONDS / every) ** 0.5
    return assimilate(herd, seen, celsius, sure, of=of)


MOVED_KEEPS: Final = 0.3
"""What a turn or a move leaves of what was learned of the heat at the meat: another spot of it lies where it was hot."""


def turned(herd: Herd) -> Herd:
    """Return a herd after the meat was turned or moved: how hot the pit is where it lies is open again."""
    near = herd.knobs[:, Knob.NEAR]
    away = near - near.mean()
    spread = max(float(away.std(ddof=1)), 1e-3)
    wide = (MOVED_KEEPS**2 * spread**2 + 1.0 - MOVED_KEEPS**2) ** 0.5
    knobs = herd.knobs.copy()
    knobs[:, Knob.NEAR] = MOVED_KEEPS * near.mean() + away * wide / spread
    return replace(herd, knobs=knobs)


FELT: Final[dict[str, tuple[float, float]]] = {
    "springy": (0.45, 0.35),
    "giving": (1.15, 0.20),
    "gone": (1.9, 0.35),
}
"""What a hand says of the tenderness (1: tender), and the deviation of its logarithm: the project's choice. "springy" is
no number but a limit: it moves only what should have been felt as more."""


HAND_BELIEVED: Final = 8.0
"""Standard deviations of surprise: the hand decides, not the estimate."""


def feel(herd: Herd, made: Figures, answer: str) -> Herd:
    """Return a herd after the cook's hand: "springy", "giving" or "gone".

    Parameters
    ----------
    herd : Herd
    made : Figures
        Of this herd.
    answer : str
    """
    value, wide = FELT[answer]
    tender = np.log(np.maximum(herd.collagen / made.need, 1e-3))
    median = float(np.median(tender))
    one_sided = (answer == "springy" and median < np.log(value)) or (answer == "gone" and median > np.log(value))
    if one_sided:
        return herd
    return assimilate(herd, tender, float(np.log(value)), wide, of=HAND, believed=HAND_BELIEVED)
