"""The cook thought over as a whole: readings made by the model itself, with a pit and wood that differ from the prior."""

from datetime import UTC, datetime, timedelta
from functools import cache

import numpy as np
import pytest

from firebox.cooklog import CookLog, enter
from firebox.estimate import greybox, lookahead, refit
from firebox.estimate.deeds import controls_at, done
from firebox.estimate.model import BOUND, At, parameters
from firebox.estimate.priors import prior
from firebox.records import Split
from firebox.setup import PitBuild, Setup, Wood

EPOCH = datetime(2026, 1, 10, 18, tzinfo=UTC)
SETUP = Setup(time=EPOCH, build=PitBuild(chamber_litres=450.0, wall_mm=6.0, firebox_insulated=False))
PIT = prior(SETUP.build, Wood())
SPLITS = tuple(1800.0 * n for n in range(7))


def log_of(kg):
    log = CookLog()
    for seconds in SPLITS:
        log = enter(log, Split(time=EPOCH + timedelta(seconds=seconds), kg=kg), seconds, EPOCH)
    return log


@cache
def cooked(shift=(), heavier=1.0, hours=3.5):
    """Return readings (when, degC, nan) of a pit that differs from the prior, whose fourth split is heavier than told."""
    box = greybox.start(0.0, 110.0, PIT, 15.0)
    members = box.mean[:, None].copy()
    for row, by in shift:
        members[row] = by
    p, rate, rows = parameters(members, PIT), None, []
    log = log_of(1.5)
    for step in range(int(hours * 180)):
        now = 20.0 * step
        for deed in log.deeds:
            if deed.seconds == now:
                weight = heavier if now == SPLITS[3] else 1.0
                members = members + weight * done(deed.entry, PIT, SETUP).shift[:, None]
        before = members
        members = lookahead.strode(members, rate, p, PIT, controls_at(log, now, SETUP), 20.0)
        rate = (members - before) / 20.0
        rows.append((now + 20.0, float(members[At.PROBE, 0]), np.nan))
    return np.array(rows)


def thought_over(rows, log, times=8):
    """Return the story and the belief after the whole cook was thought over several times."""
    story = refit.begin(greybox.start(0.0, 110.0, PIT, 15.0))
    readings = np.zeros((0, 3))
    for when, celsius, _ in rows.tolist():
        readings = refit.noted(readings, when, celsius, None)
    past = np.column_stack([rows[-150:, :2], np.full(rows[-150:].shape[0], 0.1)])
    for _ in range(times):
        story, box = refit.fitted(story, readings, past, PIT, float(rows[-1, 0]), log, SETUP)
    return story, box


def foreseen(box, log):
    return lookahead.middle(box, box.seconds, np.array([15.0, 30.0, 45.0]), log, SETUP)[1]


@pytest.mark.parametrize(
    "shift", [((At.COAL_TIME, 0.5),), ((At.HEAT, -0.3), (At.FLAMING_TIME, 0.4)), ((At.WALL_LOSS, 0.4),)]
)
def test_a_pit_other_than_the_prior_s_is_foreseen_once_its_cook_was_thought_over(shift):
    log = log_of(1.5)
    whole = cooked(shift, hours=4.25)
    rows, came = whole[:630], whole[[630 + 45 - 1, 630 + 90 - 1, 630 + 135 - 1], 1]
    _, box = thought_over(rows, log)
    fresh = greybox.start(0.0, 110.0, PIT, 15.0)
    unfitted = greybox.advance(fresh, float(rows[-1, 0]), log, SETUP)
    off, unlearned = (np.max(np.abs(foreseen(which, log) - came)) for which in (box, unfitted))
    # The prior keeps its say over three hours of one cook: what is left is small beside what was wrong.
    assert off < 5.0
    assert off < 0.5 * unlearned


def test_a_split_that_is_heavier_than_told_is_found_out():
    story, _ = thought_over(cooked((), 1.6), log_of(1.5))
    factors = dict(story.factors)
    heaviest = max(factors, key=factors.__getitem__)
    assert heaviest == SPLITS[3]
    # Told weights are believed to a fifth: of the half that was wrong, a good part is seen.
    assert 0.15 < factors[heaviest] - np.median(list(factors.values())) < np.log(1.6)


def test_a_story_of_a_quarter_of_an_hour_is_no_story():
    story, box = thought_over(cooked()[:45], log_of(1.5), times=1)
    assert box is None
    assert not story.factors


def test_parameters_stay_within_the_bounds_of_what_pits_are():
    story, box = thought_over(cooked(((At.WALL_LOSS, 2.5),)), log_of(1.5))
    bound = BOUND * PIT.spread
    assert np.all(np.abs(story.fit[: PIT.spread.size]) <= bound + 1e-9)
    assert np.all(np.isfinite(box.cov))


def test_a_long_story_begins_later_and_goes_on_alike():
    rows = cooked(((At.COAL_TIME, 0.5),), hours=5.5)
    story, box = thought_over(rows, log_of(1.5), times=3)
    assert story.rolled
    assert story.begun == refit.ROLL
    assert box.mean[At.PROBE] == pytest.approx(rows[-1, 1], abs=1.5)
