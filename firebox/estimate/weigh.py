"""Which forecaster to believe: the trends and the grey box, weighed by their errors into one band."""

from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from firebox.cooklog import CookLog, Deed
from firebox.estimate import course as courses
from firebox.estimate import ledger as ledgers
from firebox.estimate import trendbank
from firebox.estimate.course import Course
from firebox.estimate.greybox import COLD
from firebox.estimate.ledger import MINUTES, Ledger
from firebox.estimate.lookahead import Ahead
from firebox.estimate.trendbank import TrendBank
from firebox.records import Damper, Door, Lit, Pit, Split
from firebox.setup import Setup

Array = NDArray[np.float64]

FORECASTERS: Final = trendbank.MEMBERS + 1
"""The trends and, last, the grey box."""

SHARPNESS: Final = 6.0
"""Power of the inverse error in the weights: a forecaster with twice another's error gets 1/64 of its say."""

TOGETHER: Final = np.array([SHARPNESS, 2.0, 2.0, 2.0, 2.0])
"""The same between what the trends say as one and the grey box. One errs by the other's strength there (a trend runs on or
stays, a fire falls), so that both together err least when each counts by the inverse of its mean square error (Bates &
Granger 1969, from memory). At 5 min they see the same and err together: there the better one is believed."""

FIRM: Final = np.full(MINUTES.size, 4.0)
"""Windows that the prior is worth where no fuel was ever logged: about one independent window at 5 min."""

FIRM_FIRE: Final = np.array([10.0, 45.0, 90.0, 135.0, 180.0])
"""The same with a fuel story: some three independent windows at each horizon, since windows a minute apart overlap."""

TREND_ERROR: Final = np.array([3.0, 25.0, 40.0, 60.0, 80.0])
"""Error that a trend has to expect on a fire that nobody touches again. [K] A fed fire changes its temperature by half a
kelvin a minute, and falls by a kelvin a minute once its last split is coal."""

USUAL_MISS: Final = 0.8
"""Mean absolute error of a forecast whose SD is 1: sqrt(2/pi)."""


class Words(Struct, frozen=True):
    """What is forecast at one moment.

    Attributes
    ----------
    regime : int
    said : ndarray, shape (forecasters, horizons)
        What each says the lagging probe will show. [degC]
    band : ndarray, shape (horizons, 3)
        Median of what the probe will show, half width of the 80 % band, and how much warmer than shown it is then.
    """

    regime: int
    said: NDArray[np.float64]
    band: NDArray[np.float64]


def words(  # noqa: PLR0917  all that a forecast hangs on
    ledger: Ledger, bank: TrendBank, course: Course | None, seconds: float, log: CookLog, setup: Setup, touched: float
) -> Words:
    """Return the forecast at `seconds`; `touched` is when something was last done to the fire."""
    regime = ledgers.regime(seconds - touched)
    mean, spread = trendbank.ahead(bank, seconds + 60.0 * MINUTES)
    if course is None or not has_story(log, setup, seconds):
        prior = np.concatenate([_general_prior(spread), np.full((1, MINUTES.size), 1e6)])
        expected = ledgers.errors(ledger, regime, prior, FIRM, handed=True)
        median, _, variance = _pooled(mean, expected[:-1])
        said = np.concatenate([mean, mean[:1]])
        return Words(regime, said, _band(ledger, regime, median, variance, np.zeros(MINUTES.size)))
    own = _held_back(courses.ahead(course, seconds, MINUTES, log, setup), bank.level, _strangeness(course, setup))
    # Left alone a fire falls away, which no trend knows of: what they are worth is known beforehand.
    prior = np.concatenate([np.maximum(USUAL_MISS * spread, TREND_ERROR), USUAL_MISS * own.spread[None]])
    cold = bank.level < COLD
    expected = ledgers.errors(ledger, regime, prior, FIRM if cold else FIRM_FIRE, handed=cold)
    # Windows that end untouched are those in which the fire did well: a trend's luck in them proves nothing; but a pit
    # that is cold has nowhere to fall, and one that stays so whatever is laid on goes by what was seen of it.
    if not cold:
        expected[:-1, 1:] = np.maximum(expected[:-1, 1:], TREND_ERROR[1:]) * (1.0 + _endless())[:, 1:]
    expected[:-1] *= 1.0 + _unanswered(log, seconds)
    trend, trend_miss, _ = _pooled(mean, expected[:-1])
    each, misses = np.stack([trend, own.shown]), np.stack([trend_miss, expected[-1]])
    median, _, _ = _pooled(each, misses, TOGETHER)
    # It is as unsure as the better one.
    _, _, variance = _pooled(each, misses)
    said = np.concatenate([mean, own.shown[None]])
    return Words(regime, said, _band(ledger, regime, median, variance, own.mean - own.shown))


def _held_back(own: Ahead, level: float, share: float) -> Ahead:
    """Return what the grey box says with a share of the change from `level` taken back."""
    return replace(own, mean=own.mean - share * (own.mean - level), shown=own.shown - share * (own.shown - level))


GUESSWORK: Final = 0.2
"""Share of a forecast change that is not to be believed at a pit that is not known yet: a change that is known to half of
itself is best foretold at 1 / (1 + 0.5^2) of it (regression to the mean)."""

KNOWN_FROM, KNOWN_BY = 5400.0, 9000.0
"""Until then a pit has shown two or three splits, and little of its coals; from then on four or five. [s]"""


def _strangeness(course: Course, setup: Setup) -> float:
    """Return the share of a forecast change that is guesswork; none at a pit that is known from earlier cooks."""
    story = course.stories[0]
    if setup.known is not None or story.rolled:
        return 0.0
    age = course.seconds - story.begun
    return GUESSWORK * min(1.0, max(0.0, (KNOWN_BY - age) / (KNOWN_BY - KNOWN_FROM)))


ANSWERED: Final = 240.0
"""Seconds in which the readings have answered a damper or a door: a few lags of a probe."""

BLIND: Final = 10.0
"""What a trend is wrong by beside its usual error, at the instant of such a deed: a starved fire drops its heat at once."""


def _unanswered(log: CookLog, seconds: float) -> float:
    """Return by how much more a trend errs because a damper or a door was moved since what it goes by."""
    moved = [d.seconds for d in log.deeds if isinstance(d.entry, Damper | Door) and d.seconds <= seconds]
    return BLIND * max(0.0, 1.0 - (seconds - moved[-1]) / ANSWERED) if moved else 0.0


def _endless() -> Array:
    """Return for each trend the share of a horizon over which its slope lasts, (members, horizons).

    A fed fire's slope is that of a hump: it turns within a quarter of an hour, and a trend that runs on is as wrong again.
    """
    ahead = 60.0 * MINUTES
    share: Array = np.minimum(trendbank.DAMPED[:, None], ahead) / ahead
    return share


def _general_prior(spread: Array) -> Array:
    """Return the error that each trend is expected to make before it has made any, (members, horizons). [K]

    A filter's own spread says how unsure it is of its slope, not how wrong its shape may be; so its own spread counts
    for half and one that all share for the other half. A slope without end has most to go wrong.
    """
    usual = np.median(spread, axis=0)
    endless = np.log(np.maximum(trendbank.DAMPED / BEST_BET, 1.0))[:, None] * MINUTES / MINUTES[-1]
    prior: Array = USUAL_MISS * np.sqrt(0.5 * (usual**2 + spread**2)) * (1.0 + BET * np.minimum(endless, 2.0))
    return prior


BEST_BET: Final = 3000.0
BET: Final = 0.3


def has_story(log: CookLog, setup: Setup, seconds: float) -> bool:
    """Tell whether there is a fire to speak of: wood was logged, or somebody who told of his pit has just begun.

    Without either the readings may be of anything, and the grey box has nothing to go by. A pit of which nothing is
    logged for an hour is as good as that.
    """
    if any(isinstance(deed.entry, Split | Lit) for deed in log.deeds):
        return True
    told = setup.build.chamber_litres is not None or any(isinstance(deed.entry, Pit) for deed in log.deeds)
    return told and seconds < BEGINNING


BEGINNING: Final = 3600.0
"""A fire is fed at least once an hour; who has logged no wood by then does not log it. [s]"""


def planned(  # noqa: PLR0917  a fork of the cook
    band: Array,
    course: Course,
    seconds: float,
    log: CookLog,
    setup: Setup,
    plan: tuple[Deed, ...],
    alone: tuple[Array, Array] | None = None,
) -> Array:
    """Return a band moved by what the grey box says that the plan changes; `alone` is its course without, where known."""
    mean, shown = courses.middle(course, seconds, MINUTES, log, setup) if alone is None else alone
    done, done_shown = courses.middle(course, seconds, MINUTES, log, setup, plan)
    more, more_shown = done - mean, done_shown - shown
    half = np.hypot(band[:, 1], _HALF * IMPRECISE * np.abs(more))
    return np.stack([band[:, 0] + more_shown, half, band[:, 2] + more - more_shown], axis=1)


IMPRECISE: Final = 0.25
"""Relative SD of what a planned deed does: a cook's split is a quarter heavier or lighter than asked for, a damper mark an
eighth at best."""

_HALF: Final = 1.2816
"""Half width of an 80 % band in SDs of a normal."""


def _band(ledger: Ledger, regime: int, median: Array, variance: Array, lag: Array) -> Array:
    half = _HALF * np.sqrt(variance) * np.exp(ledger.width[regime] + ledger.common)
    return np.stack([median, half, lag], axis=1)


def _pooled(said: Array, expected: Array, power: Array | float = SHARPNESS) -> tuple[Array, Array, Array]:
    """Return median, expected error and variance of forecasters weighed by their expected errors, each (horizons,)."""
    weight = np.maximum(expected, 1e-3) ** -power
    weight /= weight.sum(axis=0)
    median = (weight * said).sum(axis=0)
    variance = (weight * ((expected / USUAL_MISS) ** 2 + (said - median) ** 2)).sum(axis=0)
    return median, (weight * expected).sum(axis=0), variance
