"""The estimate of one pit: readings and the cook's log in, forecast and fire out.

==============  ===========================================================================================
every 10 s      `advance` hears the cell of trusted readings (the lead probe above all)
every minute    each forecaster's word is written down, and what it said before is scored
`foresee`       the forecasters' words are weighed by their errors into one band
`fire_view`     the fire in words and, where known, numbers
==============  ===========================================================================================
"""

from typing import Final

import msgspec
import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from firebox.cooklog import CookLog, Deed
from firebox.estimate import asking, hindsight, trendbank, weigh
from firebox.estimate import company as companies
from firebox.estimate import course as courses
from firebox.estimate import fork as forks
from firebox.estimate import learned as lessons
from firebox.estimate import ledger as ledgers
from firebox.estimate.asking import Question
from firebox.estimate.company import Company, Heard
from firebox.estimate.course import Course
from firebox.estimate.forecast import HORIZONS, NOTHING_MORE, FireView, Forecast
from firebox.estimate.fork import Fork, Plans
from firebox.estimate.hearth import hearth
from firebox.estimate.learned import Known
from firebox.estimate.ledger import MINUTES, Ledger
from firebox.estimate.track import UNKNOWN_NOISE
from firebox.estimate.trendbank import TrendBank
from firebox.estimate.unlogged import believed
from firebox.estimate.weigh import Words
from firebox.records import Damper, Door, Lit, Phase, Rake, Split
from firebox.setup import Role, Setup, role_of

Array = NDArray[np.float64]

ABSURD: Final = (-60.0, 900.0)
"""Temperatures that no cooking chamber has; readings beyond them are passed over. [degC]"""

OUTDOORS: Final = (-50.0, 60.0)
"""Air temperatures that occur where people cook. [degC]"""

_DRAWN: Final = (-60.0, 1200.0)
"""Quantiles are kept to what a probe could show. [degC]"""

STALE: Final = 900.0
"""Seconds without a reading of the lead probe after which the bank starts anew at the next one."""

SHAPE: Final = np.array([-1.87, -1.0, -0.49, 0.0, 0.49, 1.0, 1.87])
"""Quantiles at `LEVELS` in half widths of the 80 % band: those of Student's t with 5 degrees of freedom, whose tails
are about as heavy as forecast errors' are."""


class Estimate(Struct, frozen=True, kw_only=True):
    """All that is thought about the pit. A value: never changed, only replaced."""

    seconds: float = 0.0
    lead: str | None = None
    bank: TrendBank | None = None
    course: Course | None = None
    """The grey box with the past it may have to go back to."""
    company: Company = Company()
    """What the other probes at the grate say of it."""
    heard: float = -1e9
    """When the lead probe last gave a usable value, or others spoke for it. [s]"""
    ledger: Ledger = ledgers.begin(weigh.FORECASTERS)
    hottest: float = -1e9
    """Highest level so far. [degC]"""
    changes: int = 0
    """`CookLog.changes` when the newest forecast was written down."""


def begin(setup: Setup) -> Estimate:
    """Return the estimate of a pit that nothing has been heard of."""
    del setup
    return Estimate()


def advance(  # noqa: PLR0917  the reducer calls it so
    estimate: Estimate, seconds: float, cell: dict[str, float], log: CookLog, setup: Setup, lead: str | None
) -> Estimate:
    """Return the estimate at `seconds`, having heard a cell of trusted readings (probe name -> degC)."""
    ambient = _ambient(cell, setup)
    company, heard = _together(estimate, seconds, cell, setup, lead)
    if lead is None or heard is None:
        course = estimate.course and courses.advance(estimate.course, seconds, None, ambient, 1.0, log, setup)
        return replace(estimate, seconds=seconds, lead=lead or estimate.lead, company=company, course=course)
    celsius = heard.celsius
    step = companies.step(estimate.company, lead, celsius)
    bank = _heard(estimate, seconds, cell.get(lead, celsius), lead, step)
    course = _tracked(estimate, seconds, heard, ambient, log, setup, lead, step)
    hottest = max(estimate.hottest, bank.level)
    estimate = replace(
        estimate,
        seconds=seconds,
        lead=lead,
        company=company,
        bank=bank,
        course=course,
        heard=seconds,
        hottest=hottest,
    )
    last = float(estimate.ledger.times[-1]) if estimate.ledger.times.size else -1e9
    # On whole minutes, where ticks mostly fall: the forecast that is written down then serves the tick as well.
    if seconds // ledgers.EVERY > last // ledgers.EVERY:
        ledger = ledgers.score(estimate.ledger, seconds, celsius, touched(log, seconds))
        estimate = replace(estimate, ledger=ledger)
        words = _words(estimate, seconds, log, setup)
        written = ledgers.write(ledger, seconds, words.regime, words.said, words.band)
        estimate = replace(estimate, ledger=written, changes=log.changes)
    return estimate


def foresee(  # noqa: PLR0917  a fork of the cook
    estimate: Estimate,
    seconds: float,
    log: CookLog,
    setup: Setup,
    plan: tuple[Deed, ...] = (),
    base: Forecast | None = None,
    alone: tuple[Array, Array] | None = None,
) -> Forecast | None:
    """Return where the lead probe goes if nothing more is done, or only `plan`; None while no temperature is known.

    `base` is the forecast without the plan, where that was made just now: what the plan changes is added to it. `alone`
    is the model's own course without the plan from this very moment, where several plans are weighed.
    """
    if estimate.bank is None or estimate.lead is None:
        return None
    if plan and base is not None and base.probe == estimate.lead:
        band = np.array(base.band)
    else:
        band = _band(estimate, seconds, log, setup)
    if plan and estimate.course is not None:
        band = weigh.planned(band, estimate.course, seconds, log, setup, plan, alone)
    quantiles = np.clip(band[:, :1] + band[:, 2:] + band[:, 1:2] * SHAPE, *_DRAWN)
    return Forecast(
        probe=estimate.lead,
        celsius=estimate.bank.level,
        drift_per_hour=estimate.bank.slope * 3600.0,
        minutes=HORIZONS,
        quantiles=tuple(tuple(float(value) for value in row) for row in quantiles),
        band=tuple((float(median), float(half), float(lag)) for median, half, lag in band),
        assumes=NOTHING_MORE,
    )


def alone(estimate: Estimate, seconds: float, log: CookLog, setup: Setup) -> tuple[Array, Array] | None:
    """Return where the model has the pit go if nothing more is done, for `foresee` with several plans."""
    return None if estimate.course is None else courses.middle(estimate.course, seconds, MINUTES, log, setup)


def fork(  # noqa: PLR0917  a fork of the cook
    estimate: Estimate,
    seconds: float,
    log: CookLog,
    setup: Setup,
    plans: Plans,
    minutes: tuple[float, ...],
    intake: float | None = None,
) -> Fork | None:
    """Return where the pit goes under each of several plans of laying wood; None where the model knows of no fire.

    Parameters
    ----------
    plans : tuple of tuple of Deed
        For each plan the splits that it lays, at `seconds` or later.
    minutes : tuple of float
        When it is looked at.
    intake : float or None
        Where the intake is set now, whatever is laid; None: it stays.
    """
    course = estimate.course
    if course is None or estimate.bank is None or not weigh.has_story(log, setup, seconds):
        return None
    told = believed(log, course.guessed)
    celsius = forks.courses(course.boxes, seconds, minutes, told, setup, plans, intake)
    return Fork(celsius + course.offset, hindsight.weights(course.verdict))


def fire_view(estimate: Estimate, seconds: float, log: CookLog, setup: Setup) -> FireView:
    """Return the fire as far as it is known."""
    if estimate.bank is None or seconds - estimate.heard > STALE:
        return FireView(phase=Phase.UNKNOWN)
    phase = _phase(estimate, seconds, log, setup)
    if estimate.course is None or phase is Phase.UNLIT:
        return FireView(phase=phase)
    return FireView(phase=phase, **msgspec.structs.asdict(hearth(estimate.course, seconds, log, setup)))


def touched(log: CookLog, seconds: float) -> float:
    """Return when something was last done that changes the heat, up to `seconds`; -1e9 where nothing was."""
    for deed in reversed(log.deeds):
        if deed.seconds <= seconds and isinstance(deed.entry, Split | Damper | Door | Lit | Rake):
            return deed.seconds
    return -1e9


def _together(
    estimate: Estimate, seconds: float, cell: dict[str, float], setup: Setup, lead: str | None
) -> tuple[Company, Heard | None]:
    """Return the company after a cell, and what the probes at the grate together say of the leading one."""
    usable = {name: celsius for name, celsius in cell.items() if ABSURD[0] < celsius < ABSURD[1]}
    noise = UNKNOWN_NOISE**2 if estimate.bank is None else estimate.bank.noise
    return companies.heard(companies.led(estimate.company, lead, seconds), seconds, usable, noise, setup)


def _ambient(cell: dict[str, float], setup: Setup) -> float | None:
    for name in sorted(cell):
        if role_of(name, setup) is Role.AMBIENT and OUTDOORS[0] < cell[name] < OUTDOORS[1]:
            return cell[name]
    return None


def _heard(estimate: Estimate, seconds: float, celsius: float, lead: str | None, step: float | None) -> TrendBank:
    bank = estimate.bank
    if bank is None or seconds - estimate.heard > STALE:
        return trendbank.start(seconds, celsius)
    if lead == estimate.lead:
        return trendbank.hear(bank, seconds, celsius)
    if step is None:
        return trendbank.replace_level(bank, seconds, celsius)
    return trendbank.hear(trendbank.shifted(bank, step), seconds, celsius)


def _tracked(  # noqa: PLR0917  all that a reading means
    estimate: Estimate,
    seconds: float,
    heard: Heard,
    ambient: float | None,
    log: CookLog,
    setup: Setup,
    lead: str | None,
    step: float | None,
) -> Course:
    course = estimate.course
    if course is None:
        return courses.start(seconds, heard.celsius, ambient, log, setup)
    if lead is not None and lead != estimate.lead:
        course = courses.moved(course, heard.celsius, step, estimate.lead, lead)
    return courses.advance(course, seconds, heard.celsius, ambient, heard.variance, log, setup)


def _words(estimate: Estimate, seconds: float, log: CookLog, setup: Setup) -> Words:
    assert estimate.bank is not None
    return weigh.words(estimate.ledger, estimate.bank, estimate.course, seconds, log, setup, touched(log, seconds))


def _band(estimate: Estimate, seconds: float, log: CookLog, setup: Setup) -> Array:
    """Return the band of the forecast from `seconds`: the one written down at that very moment, or a new one."""
    book = estimate.ledger
    if book.times.size and float(book.times[-1]) == seconds and estimate.changes == log.changes:
        band: Array = book.band[-1]
        return band
    return _words(estimate, seconds, log, setup).band


# --- words ---------------------------------------------------------------------------------------

_COLD: Final = 45.0
"""A chamber below this holds no fire that cooks. [degC]"""

_MOVING: Final = 15.0 / 3600.0
"""A slope beyond this is seen by the cook as rising or falling: a band of 8 K is crossed in half an hour. [K/s]"""

_START: Final = 3600.0
"""A fire counts as starting for at most so long after it was lit. [s]"""


def _phase(estimate: Estimate, seconds: float, log: CookLog, setup: Setup) -> Phase:
    assert estimate.bank is not None
    level, slope = estimate.bank.level, estimate.bank.slope
    target, band = log.target(seconds, setup)
    burned = log.lit_at() is not None or bool(log.splits()) or estimate.hottest > 2.0 * _COLD
    if level < _COLD and slope < _MOVING:
        return Phase.OUT if burned and estimate.hottest > level + 20.0 else Phase.UNLIT
    lit = log.lit_at()
    fresh = lit is not None and seconds - lit < _START
    if level < target - band and slope > 0.0 and (fresh or estimate.hottest < target - band):
        return Phase.STARTING
    if slope < -_MOVING:
        return Phase.DYING if level < target - band else Phase.FALLING
    if slope > _MOVING:
        return Phase.RISING
    return Phase.STEADY


# --- what it knows and does not ------------------------------------------------------------------


def questions(estimate: Estimate, log: CookLog, setup: Setup) -> tuple[Question, ...]:
    """Return what the cook could settle with one key; a yes is `Question.entry`, done at `Question.seconds`."""
    return () if estimate.course is None else asking.questions(estimate.course, estimate.seconds, log, setup)


def learned(estimate: Estimate) -> tuple[Known, ...]:
    """Return what has been learned of this pit; nothing before its first reading."""
    return () if estimate.course is None else lessons.learned(estimate.course)
