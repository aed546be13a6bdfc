"""Fitting a pit to a whole cook: on runs of a pit whose parameters are known, what was hidden is found."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from msgspec.structs import replace

from firebox.cooklog import CookLog, Deed
from firebox.estimate import fit, greybox, lookahead
from firebox.estimate.fit import Run
from firebox.estimate.hindsight import LOOKED_BACK
from firebox.estimate.model import FIRST_PARAMETER, At
from firebox.estimate.priors import prior
from firebox.records import Damper, DamperName, Split
from firebox.setup import PitBuild, Setup, Wood

EPOCH = datetime(2026, 5, 2, tzinfo=UTC)
SETUP = Setup(time=EPOCH, build=PitBuild(chamber_litres=450.0, wall_mm=6.0, usual_split_kg=1.2))
PIT = prior(SETUP.build, Wood())
COUNT = PIT.value.size


def deed(seconds, entry):
    return Deed(seconds=seconds, entry=entry)


def log():
    time = EPOCH + timedelta(hours=1)
    splits = [deed(1800.0 * number + 300.0, Split(time=time, kg=1.2)) for number in range(8)]
    marks = ((3600.0 * number, 0.35 + 0.15 * (number % 3)) for number in range(4))
    dampers = [deed(at, Damper(time=time, damper=DamperName.INTAKE, open=opening)) for at, opening in marks]
    return CookLog(deeds=tuple(sorted([*splits, *dampers], key=lambda one: one.seconds)), changes=12)


def runs(hidden, count=7):
    """Return runs from known states, and what a pit with the hidden parameters makes of them."""
    told = log()
    box = greybox.start(0.0, 118.0, PIT, 15.0)
    found = []
    for number in range(count):
        box = greybox.advance(box, 900.0 * number, told, SETUP)
        mean = box.mean.copy()
        mean[FIRST_PARAMETER:] = hidden
        truth = replace(box, mean=mean, cov=1e-9 * np.eye(mean.size))
        sure = replace(box, cov=box.cov * 0.05)
        came = lookahead.ahead((truth,), box.seconds, LOOKED_BACK, told, SETUP, hindsight=True).shown[0]
        found.append(Run(box=sure, came=came))
    return tuple(found)


@pytest.fixture(scope="module")
def hidden():
    shift = np.zeros(COUNT)
    for row, by in ((At.HEAT, -0.25), (At.WALL_LOSS, 0.2), (At.FLAMING_TIME, 0.3)):
        shift[row - FIRST_PARAMETER] = by
    return shift


def test_what_was_hidden_is_met_better_and_in_the_right_direction(hidden):
    played = runs(hidden)
    found = fit.fit(played, PIT, np.zeros(COUNT), log(), SETUP)
    before = [np.abs(run.came - fit_of(run, np.zeros(COUNT))) for run in played]
    after = [np.abs(run.came - fit_of(run, found.shift)) for run in played]
    assert np.mean(before) > 8.0
    assert np.mean(after) < 0.25 * np.mean(before)
    # Heat and loss are told together: less heat against more loss.
    less = found.shift[At.HEAT - FIRST_PARAMETER] - found.shift[At.WALL_LOSS - FIRST_PARAMETER]
    assert less < -0.2
    doubt = np.sqrt(np.diag(found.cov))
    assert np.all(doubt <= PIT.spread + 1e-9)
    assert doubt[At.HEAT - FIRST_PARAMETER] < 0.8 * PIT.spread[At.HEAT - FIRST_PARAMETER]
    assert np.all(np.linalg.eigvalsh(found.cov) > 0.0)


def fit_of(run, shift):
    mean = run.box.mean.copy()
    mean[FIRST_PARAMETER:] = shift
    box = replace(run.box, mean=mean, cov=1e-9 * np.eye(mean.size))
    return lookahead.ahead((box,), box.seconds, LOOKED_BACK, log(), SETUP, hindsight=True).shown[0]


def test_one_strange_run_does_not_bend_the_pit(hidden):
    played = runs(hidden)
    strange = (replace(played[3], came=played[3].came - 70.0), *played[:3], *played[4:])
    plain = fit.fit(played, PIT, np.zeros(COUNT), log(), SETUP)
    bent = fit.fit(strange, PIT, np.zeros(COUNT), log(), SETUP)
    assert np.max(np.abs(bent.shift - plain.shift) / PIT.spread) < 0.7


def test_nothing_is_learned_beyond_what_pits_are():
    shift = np.zeros(COUNT)
    shift[At.HEAT - FIRST_PARAMETER] = -2.5
    found = fit.fit(runs(shift), PIT, np.zeros(COUNT), log(), SETUP)
    assert np.all(np.abs(found.shift) <= greybox.BOUND * PIT.spread + 1e-9)


def test_too_short_a_cook_teaches_nothing(hidden):
    assert fit.fit(runs(hidden, count=3), PIT, np.zeros(COUNT), log(), SETUP) is None
    deaf = tuple(replace(run, came=np.full(4, np.nan)) for run in runs(hidden))
    assert fit.fit(deaf, PIT, np.zeros(COUNT), log(), SETUP) is None


def test_the_same_cook_gives_the_same_pit_to_the_bit(hidden):
    one, other = (fit.fit(runs(hidden), PIT, np.zeros(COUNT), log(), SETUP) for _ in range(2))
    assert one.shift.tobytes() == other.shift.tobytes()
    assert one.cov.tobytes() == other.cov.tobytes()
