"""What a pit does with a split, a mark of intake and nothing at all: the model run with and without the deed.

A fire is burned for hours on the model of the pit, one usual split after the other, as far apart as holds the target.
Then the next one is laid or left out, a mark is opened or not, and the difference is what it is worth. The same with
every doubt about the pit one SD to either side tells how well that is known.
"""

from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firebox.estimate import greybox
from firebox.estimate.model import FIRST_PARAMETER, At, Controls, Pit, march, parameters
from firebox.estimate.weigh import IMPRECISE
from firebox.setup import Known, Setup, Worth

Array = NDArray[np.float64]

STRIDE: Final = 30.0
"""Seconds between two steps of the model."""

BURNED: Final = 4 * 3600.0
"""A fire is burned for so long before anything is asked of it: its walls and coals have settled. [s]"""

AHEAD: Final = 9000.0
"""So far a split is followed. [s]"""

AMBIENT: Final = 15.0
"""The air around, where nothing else is told. [degC]"""

LOOK: Final = 20
"""Minutes after which a damper is judged: the gas has followed, the walls have begun to."""

FALL: Final = 10.0
"""Kelvin that a pit may lose before somebody has to see to it: a little more than the usual band."""

HALF: Final = 1.2816
"""Half width of an 80 % band in SDs of a normal."""


def worth(pit: Pit, root: Array, kg: float, dampers: tuple[float, float], setup: Setup) -> Worth:
    """Return what a pit makes of a split and of a mark.

    Parameters
    ----------
    pit : Pit
        What is known of it, as a prior.
    root : ndarray, shape (parameters, parameters)
        One SD along each direction in which the logs of its parameters are in doubt, in columns.
    kg : float
        Dry mass of a split. [kg]
    dampers : (float, float)
        How intake and stack mostly stand.
    setup : Setup
        Target, marks and wood.

    Notes
    -----
    Takes some tenths of a second.
    """
    intake, stack = dampers
    stands = Controls(intake, stack, cook_door=False, firebox_door=False)
    marked = Controls(min(1.0, intake + 1.0 / setup.damper_marks), stack, cook_door=False, firebox_door=False)
    members = _members(pit, root, setup.target_celsius)
    gap = _gap(members[:, :1], pit, stands, kg, setup.target_celsius)
    fire = _burned(members, pit, stands, gap, kg)
    fed = _run(_with_split(fire, kg), pit, stands, 0.0, AHEAD)
    alone = _run(fire, pit, stands, gap, AHEAD)
    opened = _run(fire, pit, marked, gap, 60.0 * LOOK)
    more, top = fed - alone, np.argmax(fed, axis=0)
    return Worth(
        kg=round(kg * (1.0 + setup.wood.moisture), 2),
        intake=intake,
        every=_known(_held(members, pit, stands, gap, kg, setup.target_celsius) / 60.0),
        lift=_known(more.max(axis=0), IMPRECISE),
        peak=_known((np.argmax(more, axis=0) + 1) * STRIDE / 60.0),
        fall=_known(_fallen(fed, top) * STRIDE / 60.0),
        mark=_known(opened[-1] - alone[len(opened) - 1], IMPRECISE),
    )


def _members(pit: Pit, root: Array, celsius: float) -> Array:
    """Return the pit at a temperature with a fire in it: as known, and every doubt one SD up, then down."""
    mean = greybox.start(0.0, celsius, pit, AMBIENT).mean
    shifts = np.concatenate([np.zeros((root.shape[0], 1)), root, -root], axis=1)
    members = np.repeat(mean[:, None], shifts.shape[1], axis=1)
    members[FIRST_PARAMETER:] += shifts
    return members


def _with_split(members: Array, kg: float) -> Array:
    fed = members.copy()
    fed[At.FRESH] += kg
    return fed


def _marched(members: Array, pit: Pit, stands: Controls, since: float, seconds: float) -> Iterator[Array]:
    """Yield the members at each stride; wood last went on `since` seconds before."""
    p = parameters(members, pit)
    for count in range(round(seconds / STRIDE)):
        now = Controls(stands.intake, stands.stack, cook_door=False, firebox_door=False, since=since + count * STRIDE)
        members = march(members, p, pit, now, STRIDE)
        yield members


def _run(members: Array, pit: Pit, stands: Controls, since: float, seconds: float) -> Array:
    """Return what the lagging probe shows at each stride, shape (strides, members). [degC]"""
    return np.array([there[At.PROBE] for there in _marched(members, pit, stands, since, seconds)])


def _burned(members: Array, pit: Pit, stands: Controls, gap: float, kg: float) -> Array:
    """Return the members after hours of usual splits `gap` seconds apart, when the next one is due."""
    for _ in range(max(2, round(BURNED / gap))):
        *_, members = _marched(_with_split(members, kg), pit, stands, 0.0, gap)
    return members


def _level(members: Array, pit: Pit, stands: Controls, gap: float, kg: float) -> Array:
    """Return the mean of what the probe shows between two splits once all has settled, shape (members,). [degC]"""
    fire = _burned(members, pit, stands, gap, kg)
    level: Array = np.mean(_run(_with_split(fire, kg), pit, stands, 0.0, gap), axis=0)
    return level


def _gap(middle: Array, pit: Pit, stands: Controls, kg: float, celsius: float) -> float:
    """Return how far apart splits hold a temperature, within what a cook would do. [s]"""
    low, high = GAPS
    for _ in range(HALVINGS):
        gap = float(np.sqrt(low * high))
        if float(_level(middle, pit, stands, gap, kg)[0]) > celsius:
            low = gap
        else:
            high = gap
    return float(np.sqrt(low * high))


def _held(  # noqa: PLR0917  a fire and what is asked of it
    members: Array, pit: Pit, stands: Controls, gap: float, kg: float, celsius: float
) -> Array:
    """Return how far apart splits would hold the temperature in each member, from how it answers to the gap. [s]"""
    near, far = _level(members, pit, stands, gap, kg), _level(members, pit, stands, 1.2 * gap, kg)
    slope = np.minimum((far - near) / np.log(1.2), -1.0)
    held: Array = gap * np.exp(np.clip((celsius - near) / slope, -1.0, 1.0))
    return held


GAPS: Final = (600.0, 9000.0)
"""Between ten minutes and two and a half hours. [s]"""

HALVINGS: Final = 7
"""After which the gap is known to 2 %."""


def _fallen(fed: Array, top: Array) -> Array:
    """Return how many strides after its top each member has come down by `FALL`; as many as were looked at, if not."""
    rows = np.arange(fed.shape[0])[:, None]
    down = (rows > top) & (fed < fed.max(axis=0) - FALL)
    strides: Array = np.where(down.any(axis=0), np.argmax(down, axis=0) - top, fed.shape[0] - top)
    return strides


def _known(each: Array, imprecise: float = 0.0) -> Known:
    """Return the mean's value, and what every parameter's doubt and the deed's own make of it together."""
    count = each.size // 2
    half = 0.5 * (each[1 : count + 1] - each[count + 1 :])
    value = float(each[0])
    return Known(value=value, doubt=HALF * float(np.sqrt(half @ half + (imprecise * value) ** 2)))
