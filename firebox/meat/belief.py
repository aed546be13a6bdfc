"""What a probe and a cook's hand tell of a herd: an ensemble square root filter for single numbers.

Deterministic: no perturbed observations (Whitaker & Hamill, "Ensemble data assimilation without perturbed observations",
Monthly Weather Review 130, 2002, eq. 10-13, from memory). Knobs and temperatures move together by their covariance with
what the probe should read, so the probe's depth, the size of the cut and the draught past it are learned as well.
"""

from typing import Final

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from firebox.meat.herd import Figures, Herd

Floats = NDArray[np.float64]

MODEL_KELVIN: Final = 1.0
"""Standard deviation of what the model does not know of itself, as it shows within `EVERY`. [K] A one-dimensional
picture of a cut is no better; without it hours of readings would make the herd surer than it has a right to be."""

BLUR: Final = 1.012
"""By so much the knobs' spread widens at each assimilation: the pit, the crust and the probe's seat change. [-]"""

COLDEST: Final = -5.0
HOTTEST: Final = 100.0
"""degC; wet meat is no hotter, whatever a probe says that has slipped out of it."""

WIDEST: Final = 1.0
"""Standard deviation beyond which the knobs are not widened: their prior's. [-]"""


def assimilate(herd: Herd, seen: Floats, value: float, noise: float, *, believed: float = 3.0) -> Herd:
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
    return replace(
        herd,
        knobs=np.clip(moved(herd.knobs), -4.0, 4.0),
        celsius=celsius,
        hottest=hottest,
        front=np.clip(moved(herd.front), COLDEST, HOTTEST),
        crust=np.clip(moved(herd.crust), 0.0, None),
        collagen=_positive(herd.collagen, moved(herd.collagen)),
        render=_positive(herd.render, moved(herd.render)),
        bark=_positive(herd.bark, moved(herd.bark)),
    )


def _positive(before: Floats, after: Floats) -> Floats:
    """Return hours' worth after a correction; they do not fall below a third of what they were."""
    result: Floats = np.maximum(after, before / 3.0)
    return result


def widen(herd: Herd) -> Herd:
    """Return a herd whose knobs are a little less sure, and none narrower or wider than before by much."""
    mean = herd.knobs.mean(axis=0)
    away = herd.knobs - mean
    wide = away.std(axis=0, ddof=1)
    factor = np.where(wide < WIDEST, BLUR, 1.0)
    return replace(herd, knobs=mean + away * factor)


def hear(herd: Herd, seen: Floats, celsius: float, noise: float | None) -> Herd:
    """Return a herd after a reading of its probe.

    Parameters
    ----------
    herd : Herd
    seen : ndarray, shape (n_members,)
        What the probe would read in each member. [degC]
    celsius : float
    noise : float or None
        Standard deviation of the reading; None: not known yet. [K]
    """
    sure = ((0.3 if noise is None else noise) ** 2 + MODEL_KELVIN**2) ** 0.5
    return widen(assimilate(herd, seen, celsius, sure))


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
    return assimilate(herd, tender, float(np.log(value)), wide, believed=HAND_BELIEVED)
