"""Many plans of laying wood at once: where the pit goes under each of them, as each belief has it.

A plan is a column beside others, so that a few dozen cost little more than one; only the means are run.
"""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from firebox.cooklog import CookLog, Deed
from firebox.estimate.deeds import controls_at, done, later
from firebox.estimate.greybox import GreyBox
from firebox.estimate.lookahead import NEAR, strode
from firebox.estimate.model import Controls, parameters, seen
from firebox.setup import Setup

Array = NDArray[np.float64]

Plans = tuple[tuple[Deed, ...], ...]
"""For each plan the splits that it lays."""

STRIDE, LATER_STRIDE = 100.0, 150.0
"""s between two looks of the march, soon and from `NEAR` on; both go into the five minutes that plans are made in."""


class Fork(Struct, frozen=True):
    """Where the pit goes under several plans.

    Attributes
    ----------
    celsius : ndarray, shape (beliefs, plans, minutes)
        At the probe, without its lag. [degC]
    share : ndarray, shape (beliefs,)
        How far each belief is to be believed; the sum is 1.
    """

    celsius: NDArray[np.float64]
    share: NDArray[np.float64]


def courses(  # noqa: PLR0917  a fork of the cook
    boxes: tuple[GreyBox, ...],
    seconds: float,
    minutes: Sequence[float],
    log: CookLog,
    setup: Setup,
    plans: Plans,
    intake: float | None = None,
) -> Array:
    """Return where the pit goes `minutes` after `seconds`, of shape (beliefs, plans, minutes). [degC]

    Parameters
    ----------
    boxes : tuple of GreyBox
        Beliefs of one instant about one pit.
    plans : tuple of tuple of Deed
        Wood only, none of it before `seconds`; doors are shut.
    intake : float or None
        Where the intake is set now, whatever is laid; None: it stays.
    """
    first, many = boxes[0], len(plans)
    members = np.concatenate([np.repeat(box.mean[:, None], many, axis=1) for box in boxes], axis=1)
    p = np.concatenate([parameters(box.mean[:, None], box.pit).repeat(many, axis=1) for box in boxes], axis=1)
    controls = controls_at(log, first.seconds, setup)
    logged = [deed for deed in log.deeds if first.seconds < deed.seconds <= seconds]
    for deed in logged:
        members = members + done(deed.entry, first.pit, setup).shift[:, None]
        controls = later(controls, deed, dt=seconds - deed.seconds)
    if intake is not None:
        controls = Controls(intake, controls.stack, cook_door=False, firebox_door=False, since=controls.since)
    since = np.full(members.shape[1], float(np.max(controls.since)))
    to_come = sorted(
        ((deed.seconds, column, deed) for column, plan in enumerate(plans) for deed in plan), key=lambda one: one[:2]
    )
    now, rate, there = first.seconds, None, []
    for stop in (seconds + 60.0 * ahead for ahead in minutes):
        while stop - now > 1e-6:
            while to_come and to_come[0][0] <= now + 1e-6:
                _, column, deed = to_come.pop(0)
                members[:, column::many] += done(deed.entry, first.pit, setup).shift[:, None]
                since[column::many] = 0.0
                rate = None
            dt = min(STRIDE if now - first.seconds < NEAR else LATER_STRIDE, stop - now)
            if to_come:
                dt = min(dt, max(to_come[0][0] - now, 1.0))
            before = members
            members = strode(members, rate, p, first.pit, _standing(controls, since + 0.5 * dt), dt)
            rate = (members - before) / dt
            now += dt
            since = since + dt
        there.append(seen(members, p, first.pit, _standing(controls, since)).reshape(len(boxes), many))
    return np.stack(there, axis=2)


def _standing(controls: Controls, since: Array) -> Controls:
    return Controls(controls.intake, controls.stack, cook_door=False, firebox_door=False, since=since)
