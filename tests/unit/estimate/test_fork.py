"""Many plans looked at together say what each says alone."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from firebox.cooklog import CookLog, Deed, enter
from firebox.estimate import course as courses
from firebox.estimate import pitfilter
from firebox.records import Damper, DamperName, Split
from firebox.setup import Setup

START = datetime(2026, 5, 2, 22, 0, tzinfo=UTC)
SETUP = Setup(time=START, intake_open=0.5, stack_open=1.0)
MINUTES = (5.0, 15.0, 30.0, 60.0, 75.0)


def _watched(minutes: int) -> tuple[pitfilter.Estimate, CookLog, float]:
    log, estimate, seconds = CookLog(), pitfilter.begin(SETUP), 0.0
    log = enter(log, Split(time=START, kg=1.3), 0.0, START)
    for _ in range(6 * minutes):
        seconds += 10.0
        estimate = pitfilter.advance(estimate, seconds, {"grate": 121.0 - seconds / 600.0}, log, SETUP, "grate")
    return estimate, log, seconds


def _wood(seconds: float, minutes: float, kg: float) -> Deed:
    return Deed(seconds=seconds + 60.0 * minutes, entry=Split(time=START + timedelta(seconds=seconds), kg=kg))


def test_a_plan_among_others_goes_where_it_goes_alone() -> None:
    estimate, log, seconds = _watched(40)
    log = enter(log, Damper(time=START, damper=DamperName.INTAKE, open=0.375), seconds, START)
    plans = ((), (_wood(seconds, 3.0, 1.3),), (_wood(seconds, 8.0, 0.8), _wood(seconds, 33.0, 2.0)))
    fork = pitfilter.fork(estimate, seconds, log, SETUP, plans, MINUTES)
    assert fork is not None
    assert estimate.course is not None
    assert fork.share.sum() == pytest.approx(1.0)
    best = int(np.argmax(fork.share))
    for place, plan in enumerate(plans):
        alone, _ = courses.middle(estimate.course, seconds, np.array(MINUTES), log, SETUP, plan)
        assert fork.celsius[best, place] == pytest.approx(alone, abs=1.5)  # other strides


def test_more_wood_makes_it_hotter_and_later_wood_makes_it_hotter_later() -> None:
    estimate, log, seconds = _watched(40)
    plans = ((), (_wood(seconds, 3.0, 0.8),), (_wood(seconds, 3.0, 1.6),), (_wood(seconds, 23.0, 1.6),))
    fork = pitfilter.fork(estimate, seconds, log, SETUP, plans, MINUTES)
    assert fork is not None
    none, little, much, later = fork.celsius.mean(axis=0)
    assert none[2] < little[2] < much[2]
    assert later[1] < much[1]
    assert later[4] > much[4]


def test_a_pit_without_a_fire_story_has_no_plans_to_weigh() -> None:
    assert pitfilter.fork(pitfilter.begin(SETUP), 0.0, CookLog(), SETUP, ((),), MINUTES) is None
