"""The cook so far thought over as a whole: which pit, and which splits, would have given these readings?

A filter takes readings one by one and forgets; what an hour of a cook says about coals or walls it can hardly keep. Here
the grey box is run from the beginning of the cook, with everything that was done, and its parameters, the true weights
of the splits and what the fire was at the start are moved until the run meets the readings: a maximum a posteriori
fit by Gauss-Newton steps, one or two at a time, each from where the last one ended. The run has to meet hours on its own,
so it learns what carries a forecast, not what explains the next minute.
"""

from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from firebox.cooklog import CookLog
from firebox.estimate import greybox, lookahead
from firebox.estimate.deeds import FUEL, GUESSED, controls_at, done
from firebox.estimate.greybox import (
    FLICKER_SPREAD,
    LEFT,
    LEFT_DOUBT,
    UNBURNED,
    VIGOUR_SPREAD,
    WEATHER_SPREAD,
    GreyBox,
)
from firebox.estimate.model import BOUND, FIRST_PARAMETER, SIZE, At, Pit, parameters, within
from firebox.records import Lit, Split
from firebox.setup import Setup

Array = NDArray[np.float64]

EVERY: Final = 120.0
"""Seconds between two readings of the story, and the run's stride."""

WINDOW: Final = 4 * 3600.0
"""How far back a run begins. [s] Longer than any pit's walls remember."""

ROLL: Final = 3600.0
"""By how much the beginning moves on when the window is full. [s]"""

ENOUGH: Final = 12
"""Readings with which a first fit is worth its while."""

MISFIT: Final = 4.0
"""SD of what a run may miss at any minute. [K] Wind, logs that shift, air that is not mixed."""

TOGETHER: Final = 4.0
"""Readings that are wrong together, so that so many readings count as one (see `greybox.LEARNING`)."""

NU: Final = 4.0
"""Degrees of freedom of the Student-t that the misses are taken to scatter with."""

WEIGHT: Final = 0.2
"""SD of the log of a split's true weight about what was told; its pace of burning differs by as much."""

WORKING: Final = 70.0
"""A chamber above this is heated by a fire that burns what it is given. [degC] Half of what is usually held."""

STRETCH: Final = 1.5
"""A step goes no further than so many prior SDs: beyond, straight lines lead astray."""

BEGUN: Final = np.array([6.0, 0.8, 0.8, 0.25])
"""SDs of what the fire was at the beginning: the air [K], the logs of wood, of coals and of how warm the walls are."""

BEGUN_ROLLED: Final = np.array([1.0, 0.3, 0.3, 0.05])
"""The same where the beginning was fitted before."""

CATCHING_UP: Final = 60.0
"""Seconds between the readings that the filter then takes in: as few as a lag of some 50 s asks for."""

RESUMED: Final = 1500.0
"""Seconds before now at which the filter takes over from the run, to learn what is special about this half hour."""


class Story(Struct, frozen=True, kw_only=True):
    """What one belief makes of the cook so far.

    Attributes
    ----------
    begun : float
        When the run begins. [s]
    state : ndarray, shape (SIZE,)
        The model's state then, as first thought.
    fit : ndarray, shape (parameters + 4,)
        Parameters (logs of factors), then what the state at the beginning has to be moved by (`BEGUN`).
    factors : tuple of (float, float)
        For each split: when [s], and the log of its true weight over what was told.
    rolled : bool
        Whether the beginning has moved on.
    """

    begun: float
    state: NDArray[np.float64]
    fit: NDArray[np.float64]
    factors: tuple[tuple[float, float], ...] = ()
    rolled: bool = False


def begin(box: GreyBox) -> Story:
    """Return the story that begins with a belief."""
    state = box.mean.copy()
    return Story(
        begun=box.seconds,
        state=_still(state),
        fit=_still(np.zeros(SIZE - FIRST_PARAMETER + BEGUN.size)),
    )


def noted(readings: Array, seconds: float, celsius: float, ambient: float | None) -> Array:
    """Return the readings (when [s], lead probe [degC], air [degC, nan where not measured]) with one more, if it is due."""
    if readings.size and seconds - float(readings[-1, 0]) < EVERY - 1.0:
        return readings
    kept = readings[readings[:, 0] > seconds - WINDOW - 2.0 * ROLL]
    row = [seconds, celsius, np.nan if ambient is None else ambient]
    return _still(np.concatenate([kept, [row]]))


class _Unknowns(Struct, frozen=True):
    """The vector of what is sought: its value now, the SD of each, and the splits that have a place in it."""

    value: Array
    spread: Array
    splits: tuple[float, ...]


class _Run(Struct, frozen=True):
    """One run of the model, and of its neighbours in every direction: the first member is the run itself.

    `shown` is the probe at each reading, `left` the wood unburned, in usual splits, each time that more was laid on.
    """

    shown: Array
    left: Array
    resumed: Array
    rolled: Array


def fitted(  # noqa: PLR0917  all that a cook is
    story: Story, readings: Array, past: Array, pit: Pit, seconds: float, log: CookLog, setup: Setup
) -> tuple[Story, GreyBox | None]:
    """Return the story thought over up to `seconds`, and the belief that comes of it; None while it is too short.

    Parameters
    ----------
    past : ndarray, shape (n, 3)
        The newest readings, with their variance, for the last half hour: when [s], degC, K^2.
    """
    readings = readings[readings[:, 0] > story.begun]
    if readings.shape[0] < ENOUGH:
        return story, None
    sought = _unknowns(story, pit, log)
    resume = max(seconds - RESUMED, story.begun)
    step = 0.05 * sought.spread
    run = _run(story, readings, sought, step, pit, log, setup, resume)
    met = np.concatenate([run.shown, run.left])
    slope: Array = (met[:, 1:] - met[:, :1]) / step
    gap = np.concatenate([readings[:, 1], np.full(len(run.left), LEFT)]) - met[:, 0]
    doubt = np.concatenate([np.full(len(run.shown), MISFIT), np.full(len(run.left), LEFT_DOUBT)])
    alike = np.concatenate([np.full(len(run.shown), TOGETHER), np.ones(len(run.left))])
    share = (NU + 1.0) / (NU + np.where(alike > 1.0, gap / doubt, 1.0) ** 2) / (doubt**2 * alike)
    sound = np.isfinite(gap) & np.isfinite(slope).all(axis=1)
    gap, slope, share = gap[sound], slope[sound], share[sound]
    precision = (slope * share[:, None]).T @ slope + np.diag(1.0 / sought.spread**2)
    pull = slope.T @ (share * gap) - sought.value / sought.spread**2
    change = np.linalg.solve(precision, pull)
    change *= min(1.0, STRETCH / max(float(np.max(np.abs(change / sought.spread))), 1e-9))
    bound = BOUND * sought.spread
    value = np.asarray(np.clip(sought.value + change, -bound, bound), dtype=np.float64)
    count = SIZE - FIRST_PARAMETER
    value[:count] = within((sought.value + change)[:count], pit)
    cov = np.asarray(np.linalg.solve(precision, np.eye(value.size)), dtype=np.float64)
    box = _resumed(run, value - sought.value, step, cov, pit, resume)
    box = _caught_up(box, seconds, log, setup, past)
    told = tuple(zip(sought.splits, value[count + BEGUN.size :].tolist(), strict=True))
    story = replace(story, fit=_still(value[: count + BEGUN.size]), factors=told)
    return _moved_on(story, run, seconds), box


def _unknowns(story: Story, pit: Pit, log: CookLog) -> _Unknowns:
    known = dict(story.factors)
    value, spread, splits = list(story.fit), [*doubted(story, pit), *(BEGUN_ROLLED if story.rolled else BEGUN)], []
    for seconds, weighed in _fed(story, log):
        value.append(known.get(seconds, 0.0))
        spread.append(WEIGHT if weighed else GUESSED)
        splits.append(seconds)
    return _Unknowns(np.array(value), np.array(spread), tuple(splits))


def doubted(story: Story, pit: Pit) -> Array:
    """Return the SD of each parameter: what earlier cooks taught is doubted the more, the further the fit has to go from it.

    The tail is Student's: three SDs away, what was learned pulls half as hard as a bell curve would have it. It is never
    wider than what the build alone gives.
    """
    far = story.fit[: SIZE - FIRST_PARAMETER] / pit.spread
    doubted: Array = np.clip(pit.spread * np.sqrt((NU + far**2) / (NU + 1.0)), pit.spread, pit.wide)
    return doubted


def _fed(story: Story, log: CookLog) -> list[tuple[float, bool]]:
    """Return when wood was brought since the run's beginning, and whether it was weighed; of one instant the first."""
    fed: dict[float, bool] = {}
    for deed in log.deeds:
        if isinstance(deed.entry, Split | Lit) and deed.seconds >= story.begun:
            fed.setdefault(deed.seconds, bool(deed.entry.kg))
    return list(fed.items())


def _run(  # noqa: PLR0917  all that a run hangs on
    story: Story, readings: Array, sought: _Unknowns, step: Array, pit: Pit, log: CookLog, setup: Setup, resume: float
) -> _Run:
    """Run the model from the beginning, once as it stands and once a little off in each direction."""
    all_of = np.concatenate([sought.value[:, None], sought.value[:, None] + np.diag(step)], axis=1)
    count = SIZE - FIRST_PARAMETER
    members = _at_the_beginning(story, all_of[: count + BEGUN.size])
    air_off = all_of[count]
    weight = dict(zip(sought.splits, np.exp(all_of[count + BEGUN.size :]), strict=True))
    p = parameters(members, pit)
    shown = np.full((readings.shape[0], all_of.shape[1]), np.nan)
    waiting = [deed for deed in log.deeds if deed.seconds >= story.begun]
    roll = story.begun + ROLL
    end = float(readings[-1, 0])
    now, resumed, rolled, rate, left = story.begun, members, members, None, []
    stops = sorted(
        {*readings[:, 0].tolist(), *(d.seconds for d in waiting if d.seconds < end), resume, min(roll, end)}
    )
    row = {when: place for place, when in enumerate(readings[:, 0].tolist())}
    for stop in stops:
        while stop - now > 1e-6:
            dt = min(stop - now, EVERY)
            before, controls = members, controls_at(log, now + 0.5 * dt, setup)
            members = lookahead.strode(members, rate, p, pit, controls, dt)
            rate = (members - before) / dt
            now += dt
        if stop in row:
            shown[row[stop]] = members[At.PROBE]
            if np.isfinite(readings[row[stop], 2]):
                members[At.AMBIENT] = readings[row[stop], 2] + air_off
        while waiting and waiting[0].seconds <= now + 1e-6:
            deed = waiting.pop(0)
            if isinstance(deed.entry, Split) and _works(readings, now) and greybox.waited(log, deed):
                left.append(members[UNBURNED].sum(axis=0) / pit.usual_kg)
            members = members + done(deed.entry, pit, setup).shift[:, None] * weight.get(deed.seconds, 1.0)
            rate = None
        if stop == resume:
            resumed = members
        if stop == roll:
            rolled = members
    return _Run(shown, np.array(left).reshape(len(left), all_of.shape[1]), resumed, rolled)


def _works(readings: Array, seconds: float) -> bool:
    """Tell whether the pit is hot at `seconds`: on a fire that will not burn wood is heaped up in truth."""
    place = int(np.searchsorted(readings[:, 0], seconds, side="right")) - 1
    return place >= 0 and float(readings[place, 1]) > WORKING


def _at_the_beginning(story: Story, fit: Array) -> Array:
    members = np.repeat(story.state[:, None], fit.shape[1], axis=1)
    count = SIZE - FIRST_PARAMETER
    air, wood, coal, warm = fit[count:]
    members[FIRST_PARAMETER:] = fit[:count]
    members[UNBURNED] *= np.exp(wood)
    members[At.COAL] *= np.exp(coal)
    for row in (At.FIREBOX, At.WALL, At.MASS):
        members[row] += (members[row] - members[At.AMBIENT]) * (np.exp(warm) - 1.0)
    members[At.AMBIENT] += air
    members[[At.VIGOUR, At.WEATHER, At.FLICKER]] = 0.0
    return members


def _resumed(  # noqa: PLR0917  a run, and what was made of it
    run: _Run, change: Array, step: Array, doubt: Array, pit: Pit, seconds: float
) -> GreyBox:
    """Return the belief that the run has at `seconds`, moved by what the fit has changed since."""
    slope = (run.resumed[:, 1:] - run.resumed[:, :1]) / step
    mean = run.resumed[:, 0] + slope @ change
    mean[FUEL] = np.clip(mean[FUEL], 0.0, 200.0)
    own = np.zeros(SIZE)
    own[[At.FIREBOX, At.WALL, At.MASS, At.PROBE]] = 6.0, 2.5, 4.0, 3.0
    own[FUEL] = 0.15 * mean[FUEL] + 0.02 * pit.usual_kg
    own[[At.VIGOUR, At.WEATHER, At.FLICKER]] = VIGOUR_SPREAD, WEATHER_SPREAD, FLICKER_SPREAD
    own[At.AMBIENT] = 0.3
    own[FIRST_PARAMETER:] = 0.3 * pit.spread
    cov = slope @ doubt @ slope.T + np.diag(own**2)
    return GreyBox(seconds=seconds, pit=pit, mean=_still(mean), cov=_still(0.5 * (cov + cov.T)))


def _caught_up(box: GreyBox, seconds: float, log: CookLog, setup: Setup, past: Array) -> GreyBox:
    """Return the belief led over the readings of the last half hour up to `seconds`."""
    last = box.seconds
    for when, value, variance in past.tolist():
        if when - last < CATCHING_UP - 1.0 and when < seconds - 1.0:
            continue
        last = when
        box = greybox.correct(greybox.advance(box, when, log, setup), At.PROBE, value, variance)
    return greybox.advance(box, seconds, log, setup)


def _moved_on(story: Story, run: _Run, seconds: float) -> Story:
    """Return the story begun an hour later, once it has grown too long."""
    if seconds - story.begun < WINDOW + ROLL:
        return story
    begun = story.begun + ROLL
    fit = story.fit.copy()
    fit[-BEGUN.size :] = 0.0
    return replace(
        story,
        begun=begun,
        state=_still(run.rolled[:, 0].copy()),
        fit=_still(fit),
        factors=tuple(pair for pair in story.factors if pair[0] >= begun),
        rolled=True,
    )


def _still(array: Array) -> Array:
    array.setflags(write=False)
    return array
