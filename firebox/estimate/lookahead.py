"""The grey box run ahead: where the pit goes, and how far it may stray."""

from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from firebox.cooklog import CookLog, Deed
from firebox.estimate.deeds import FUEL, SOON, controls_at, done, later
from firebox.estimate.greybox import FLICKER_SPREAD, VIGOUR_SPREAD, WEATHER_SPREAD, GreyBox, points
from firebox.estimate.model import (
    FLICKER_MEMORY,
    SIZE,
    VIGOUR_MEMORY,
    WEATHER_MEMORY,
    At,
    Controls,
    Pit,
    march,
    parameters,
    seen,
)
from firebox.setup import Setup

Array = NDArray[np.float64]

KICKS: Final = ((At.VIGOUR, VIGOUR_SPREAD, VIGOUR_MEMORY), (At.WEATHER, WEATHER_SPREAD, WEATHER_MEMORY))
"""Disturbances that go on changing in the time to come: state, SD, memory [s]."""

SPANS: Final = ((0.0, 900.0), (900.0, 2000.0), (2000.0, 3700.0))
"""Spans of the time to come in which each of them makes one independent step. [s]"""

NEAR: Final = 1200.0
"""Until then the run goes in short strides, as a fresh split and a shut door ask for; later things are slow. [s]"""


class Ahead(Struct, frozen=True):
    """Where the pit goes: what it will be at the probe, how unsure that is, and what the lagging probe will show.

    Attributes
    ----------
    mean, spread, shown : ndarray, shape (boxes, horizons) or (horizons,)
        [degC, K, degC]
    halves : ndarray, shape (boxes, horizons, directions)
        What one SD along each direction of doubt changes in `shown`, disturbances to come last. [K]
    """

    mean: NDArray[np.float64]
    spread: NDArray[np.float64]
    shown: NDArray[np.float64]
    halves: NDArray[np.float64] | None = None


def ahead(  # noqa: PLR0917  a fork of the cook
    boxes: tuple[GreyBox, ...],
    seconds: float,
    minutes: Array,
    log: CookLog,
    setup: Setup,
    plan: tuple[Deed, ...] = (),
    *,
    hindsight: bool = False,
    doubts: bool = True,
) -> Ahead:
    """Return where the pit goes within `minutes` from `seconds` as each of several beliefs has it.

    Parameters
    ----------
    boxes : tuple of GreyBox
        Beliefs of one instant about one pit.
    plan : tuple of Deed
        What is done meanwhile, beside nothing.
    hindsight : bool
        Whether what the log tells of later than `seconds` is done as well.
    doubts : bool
        Whether the spread is wanted; without it only the means are run, and the spread is 0.
    """
    first = boxes[0]
    members = np.concatenate([_with_kicks(points(box)) if doubts else box.mean[:, None] for box in boxes], axis=1)
    p = np.concatenate([parameters(points_, box.pit) for points_, box in _split(members, boxes)], axis=1)
    controls = controls_at(log, first.seconds, setup)
    to_come = [d for d in log.deeds if first.seconds <= d.seconds and (hindsight or d.seconds <= seconds)]
    to_come += [d for d in plan if d.seconds > first.seconds]
    to_come.sort(key=lambda deed: deed.seconds)
    for deed in plan:
        if deed.seconds <= first.seconds:
            members, controls = _done(members, controls, deed, first, setup)
    now = first.seconds
    means, spreads, shows, halves = [], [], [], []
    rate: Array | None = None
    for stop in seconds + 60.0 * minutes:
        while stop - now > 1e-6:
            while to_come and to_come[0].seconds <= now + 1e-6:
                members, controls = _done(members, controls, to_come.pop(0), first, setup)
                rate = None
            dt = _stride(now, stop, to_come, controls, first.seconds)
            before, members = members, strode(members, rate, p, first.pit, _aged(controls, 0.5 * dt), dt)
            for each, _ in _split(members, boxes) if doubts else ():
                _kick(each[:, 2 * SIZE + 1 :], now - first.seconds, dt)
            rate = (members - before) / dt
            now += dt
            if not hindsight:
                shut = _shut(controls, now - seconds)
                rate = rate if shut == controls else None
                controls = shut
            controls = _aged(controls, dt)
        there = seen(members, p, first.pit, controls)
        means.append(there[:: members.shape[1] // len(boxes)])
        shows.append(members[At.PROBE, :: members.shape[1] // len(boxes)])
        spreads.append(
            [_spread(each, stop - first.seconds) if doubts else 0.0 for each in np.split(there, len(boxes))]
        )
        if hindsight:
            halves.append([_halves(each) for each in np.split(members[At.PROBE], len(boxes))])
    swung = np.array(halves).transpose(1, 0, 2) if hindsight else None
    return Ahead(np.array(means).T, np.array(spreads).T, np.array(shows).T, swung)


def middle(  # noqa: PLR0917  a fork of the cook
    box: GreyBox, seconds: float, minutes: Array, log: CookLog, setup: Setup, plan: tuple[Deed, ...] = ()
) -> tuple[Array, Array]:
    """Return where the mean of a belief goes under a plan, at the probe and as shown: a look without its doubts."""
    there = ahead((box,), seconds, minutes, log, setup, plan, doubts=False)
    return there.mean[0], there.shown[0]


def strode(  # noqa: PLR0917  a stride with all that it hangs on
    members: Array, rate: Array | None, p: Array, pit: Pit, controls: Controls, dt: float
) -> Array:
    """Return the members a stride later; `rate` is how they changed in the stride before, None after a break.

    Half way they are where the rate takes them (the second-order step of Adams and Bashforth), after a break where half
    a stride does.
    """
    if rate is None:
        half = march(members, p, pit, controls, 0.5 * dt)
    else:
        half = members + 0.5 * dt * rate
        half[FUEL] = np.maximum(half[FUEL], 0.3 * members[FUEL])
    return march(members, p, pit, controls, dt, at=half)


def _with_kicks(members: Array) -> Array:
    kicks = 2 * len(KICKS) * len(SPANS)
    return np.concatenate([members, np.repeat(members[:, :1], kicks, axis=1)], axis=1)


def _split(members: Array, boxes: tuple[GreyBox, ...]) -> list[tuple[Array, GreyBox]]:
    """Return each belief's own members, as views."""
    return list(zip(np.split(members, len(boxes), axis=1), boxes, strict=True))


def _stride(now: float, stop: float, to_come: list[Deed], controls: Controls, begun: float) -> float:
    longest = 100.0 if now - begun < NEAR else 180.0
    if controls.cook_door or controls.firebox_door:
        longest = 30.0
    longest = min(longest, stop - now)
    if to_come:
        longest = min(longest, max(to_come[0].seconds - now, 1.0))
    return longest


def _done(members: Array, controls: Controls, deed: Deed, box: GreyBox, setup: Setup) -> tuple[Array, Controls]:
    return members + done(deed.entry, box.pit, setup).shift[:, None], later(controls, deed, dt=0.0)


def _shut(controls: Controls, past: float) -> Controls:
    """Return the controls `past` seconds from now; nobody leaves a door open for good."""
    left = past < SOON
    return Controls(
        controls.intake, controls.stack, controls.cook_door and left, controls.firebox_door and left, controls.since
    )


def _aged(controls: Controls, dt: float) -> Controls:
    return Controls(controls.intake, controls.stack, controls.cook_door, controls.firebox_door, controls.since + dt)


def _kick(members: Array, since: float, dt: float) -> None:
    """Shift the members that stand for disturbances to come, in place (they are the caller's own)."""
    column = 0
    for row, spread, memory in KICKS:
        for begin, end in SPANS:
            if begin <= since < end:
                # A random walk's SD over the span, laid evenly over it.
                shift = spread * np.sqrt(2.0 / memory / (end - begin)) * dt
                members[row, column] += shift
                members[row, column + 1] -= shift
            column += 2


def _halves(there: Array) -> Array:
    """Return half the difference that each direction of doubt makes."""
    own = there[1 : SIZE + 1] - there[SIZE + 1 : 2 * SIZE + 1]
    kicked = there[2 * SIZE + 1 :: 2] - there[2 * SIZE + 2 :: 2]
    return np.concatenate([0.5 * own, 0.5 * kicked])


def _spread(there: Array, elapsed: float) -> float:
    half = _halves(there)
    flicker = FLICKER_SPREAD**2 * -np.expm1(-2.0 * elapsed / FLICKER_MEMORY)
    return float(np.sqrt(half @ half + flicker))
