"""The estimate of a pit: what it promises, on surrogate pits and on series without a fire."""

import sys
from datetime import timedelta
from pathlib import Path

import msgspec
import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
from firebox.cooklog import CookLog, Deed, enter
from firebox.estimate import greybox, pitfilter, unlogged
from firebox.estimate.forecast import LEVELS
from firebox.estimate.model import At, Controls, march, parameters
from firebox.estimate.priors import prior
from firebox.records import Phase, Split, Undo
from firebox.setup import Setup, Wood
from firebox.watch import frozen
from tests.unit.estimate.cooks import EPOCH, MINUTES, entry, feed, last, played, setup_of


def judged(cook, seeds_after=0.0):
    """Return errors of the outlook and of standing still, each of shape (marks, horizons), and whether bands held."""
    setup, ours, still, held = setup_of(cook), [], [], []
    marks = {float(mark): row for row, mark in enumerate(cook.marks) if mark > seeds_after}
    for seconds, estimate, log in feed(cook):
        if seconds not in marks:
            continue
        truth = cook.branches[marks[seconds], list(MINUTES)]
        forecast = pitfilter.foresee(estimate, seconds, log, setup)
        ours.append(np.abs(np.array(forecast.at(0.5)) - truth))
        still.append(np.abs(cook.branches[marks[seconds], 0] - truth))
        held.append((np.array(forecast.at(0.1)) <= truth) & (truth <= np.array(forecast.at(0.9))))
    return np.array(ours), np.array(still), np.array(held)


@pytest.mark.slow
@pytest.mark.parametrize("seed", [0, 3])
def test_left_alone_a_fed_fire_is_foreseen_far_better_than_by_standing_still(seed):
    ours, still, held = judged(played(seed), seeds_after=3600.0)
    assert np.all(ours.mean(axis=0)[1:] < 0.7 * still.mean(axis=0)[1:])
    # Two hours of one pit are a few independent windows: coverage can only be told from nonsense.
    assert held.mean() > 0.6


def test_the_same_records_give_the_same_estimate_bit_for_bit():
    cook = played(1)
    first, second = (last(cook, until=2400.0)[1] for _ in range(2))
    packed = [msgspec.msgpack.encode(one, enc_hook=frozen.array_to_plain) for one in (first, second)]
    assert packed[0] == packed[1]
    assert len(packed[0]) < 2_000_000


def test_an_estimate_goes_through_bytes_and_back():
    cook = played(1)
    seconds, estimate, log = last(cook, until=2400.0)
    packed = msgspec.msgpack.encode(estimate, enc_hook=frozen.array_to_plain)
    back = msgspec.msgpack.Decoder(pitfilter.Estimate, dec_hook=frozen.array_from_plain).decode(packed)
    setup = setup_of(cook)
    assert pitfilter.foresee(back, seconds, log, setup) == pitfilter.foresee(estimate, seconds, log, setup)


def test_published_arrays_are_read_only():
    _, estimate, _ = last(played(1), until=2400.0)
    box = estimate.course.box
    for array in (box.mean, box.cov, estimate.ledger.error, estimate.bank.mean, estimate.course.verdict.miss):
        assert not array.flags.writeable


def test_an_entry_made_late_is_absorbed_as_if_made_in_time():
    cook = played(3)
    split = next(deed for deed in cook.deeds if deed[1] == "split" and deed[0] > 2400.0)
    entered = split[0] + 600.0
    in_time = last(cook, until=entered + 300.0)[1]
    setup, log = setup_of(cook), CookLog()
    late = pitfilter.begin(setup)
    waiting = [deed for deed in cook.deeds if deed is not split]
    for seconds, reading in zip(cook.times.tolist(), cook.readings.tolist(), strict=True):
        if seconds > entered + 300.0:
            break
        while waiting and waiting[0][0] < seconds:
            log = enter(log, entry(waiting.pop(0)), seconds, EPOCH)
        if entered <= seconds < entered + 10.0:
            told = msgspec.structs.replace(entry(split), at=entry(split).time)
            log = enter(log, told, seconds, EPOCH)
        cell = {"grate": reading} if np.isfinite(reading) else {}
        late = pitfilter.advance(late, seconds, cell, log, setup, "grate")
        log = msgspec.structs.replace(log, revised=None)
    wood = [one.course.box.mean[4:8].sum() for one in (in_time, late)]
    assert wood[1] == pytest.approx(wood[0], abs=0.25 * split[2])


def test_wood_taken_back_is_gone_from_the_estimate():
    cook = played(3)
    seconds, estimate, log = last(cook, until=3000.0)
    setup = setup_of(cook)
    log = enter(log, Split(time=EPOCH, kg=3.0, id="wrong"), seconds, EPOCH)
    for step in range(1, 10):
        estimate = pitfilter.advance(estimate, seconds + 10.0 * step, {}, log, setup, "grate")
    with_wood = float(estimate.course.box.mean[4:7].sum())
    log = enter(log, Undo(time=EPOCH, of="wrong"), seconds + 95.0, EPOCH)
    estimate = pitfilter.advance(estimate, seconds + 100.0, {}, log, setup, "grate")
    assert float(estimate.course.box.mean[4:7].sum()) < with_wood - 1.5


def test_a_planned_split_warms_the_outlook_after_a_while():
    cook = played(3)
    seconds, estimate, log = last(cook, until=5400.0)
    setup = setup_of(cook)
    plan = (Deed(seconds=seconds, entry=Split(time=EPOCH, kg=1.2)),)
    alone = np.array(pitfilter.foresee(estimate, seconds, log, setup).at(0.5))
    fed = np.array(pitfilter.foresee(estimate, seconds, log, setup, plan).at(0.5))
    assert np.all(fed[2:] > alone[2:] + 3.0)
    assert fed[0] - alone[0] < fed[1] - alone[1]  # it has to catch first


def unlogged_cook(*, forgotten):
    """Yield (seconds, reading) of the model's own pit, fed at 0 and, where `forgotten`, again at 75 min."""
    pit = prior(setup_of(played(3)).build, Wood())
    box = greybox.start(0.0, 121.0, pit, 15.0)
    states = box.mean[:, None].copy()
    states[At.FRESH] += 1.0
    p, rng = parameters(states, pit), np.random.default_rng(2)
    for step in range(1, 121 * 6):
        if forgotten and step == 75 * 6:
            states[At.FRESH] += 1.2
        states = march(states, p, pit, Controls(0.5, 1.0, False, False), 10.0)
        yield 10.0 * step, float(states[At.PROBE, 0]) + 0.2 * rng.normal()


@pytest.mark.parametrize("forgotten", [True, False])
def test_a_split_that_nobody_logged_is_found_and_none_where_none_was(forgotten):
    setup = setup_of(played(3))
    log = enter(CookLog(), Split(time=EPOCH, kg=1.18), 5.0, EPOCH)
    estimate, guesses = pitfilter.begin(setup), set()
    for seconds, reading in unlogged_cook(forgotten=forgotten):
        estimate = pitfilter.advance(estimate, seconds, {"grate": reading, "ambient": 15.0}, log, setup, "grate")
        guesses |= {deed.seconds for deed in estimate.course.guessed}
    assert bool(guesses) is forgotten
    assert all(abs(guess - 75 * 60.0) < 900.0 for guess in guesses)


def cooling(noise=0.1, seed=5):
    rng = np.random.default_rng(seed)
    times = np.arange(10.0, 3 * 3600.0, 60.0)
    return times, 22.0 + 60.0 * np.exp(-times / 2600.0) + noise * rng.normal(size=times.size)


def test_a_cooling_beaker_is_foreseen_by_its_settling():
    times, readings = cooling()
    setup, log = Setup(time=EPOCH), CookLog()
    estimate, errors, standing = pitfilter.begin(setup), [], []
    for seconds, reading in zip(times.tolist(), readings.tolist(), strict=True):
        estimate = pitfilter.advance(estimate, seconds, {"grate": reading}, log, setup, "grate")
        if seconds > 1800.0 and seconds < 7200.0:
            truth = 22.0 + 60.0 * np.exp(-(seconds + 60.0 * np.array(MINUTES)) / 2600.0)
            errors.append(np.abs(np.array(pitfilter.foresee(estimate, seconds, log, setup).at(0.5)) - truth))
            standing.append(np.abs(reading - truth))
    assert np.all(np.mean(errors, axis=0) < 0.3 * np.mean(standing, axis=0))


def test_without_a_reading_there_is_no_forecast_and_no_fire():
    setup, log = Setup(time=EPOCH), CookLog()
    estimate = pitfilter.advance(pitfilter.begin(setup), 10.0, {}, log, setup, None)
    assert pitfilter.foresee(estimate, 10.0, log, setup) is None
    assert pitfilter.fire_view(estimate, 10.0, log, setup).phase is Phase.UNKNOWN


def test_a_cold_chamber_is_unlit_and_a_silent_probe_says_nothing_of_the_fire():
    setup, log = Setup(time=EPOCH), CookLog()
    estimate = pitfilter.begin(setup)
    for step in range(1, 60):
        estimate = pitfilter.advance(estimate, 10.0 * step, {"grate": 12.0}, log, setup, "grate")
    assert pitfilter.fire_view(estimate, 600.0, log, setup).phase is Phase.UNLIT
    assert pitfilter.fire_view(estimate, 4000.0, log, setup).phase is Phase.UNKNOWN


def test_quantiles_stand_in_order_at_every_horizon():
    cook = played(1)
    setup = setup_of(cook)
    for seconds, estimate, log in feed(cook, until=3600.0):
        if seconds % 600.0 == 0.0:
            for row in pitfilter.foresee(estimate, seconds, log, setup).quantiles:
                assert len(row) == len(LEVELS)
                assert list(row) == sorted(row)


def test_what_is_known_of_a_pit_has_a_value_a_range_and_a_beginning():
    _, estimate, _ = last(played(3), until=5400.0)
    known = {one.name: one for one in pitfilter.learned(estimate)}
    assert all(one.low < one.value < one.high for one in known.values())
    assert any(abs(one.value / one.prior - 1.0) > 0.05 for one in known.values())
    assert pitfilter.learned(pitfilter.begin(Setup(time=EPOCH))) == ()


def test_a_guess_is_asked_about_and_a_told_split_ends_the_question():
    cook = played(3)
    seconds, estimate, log = last(cook, until=5400.0)
    setup = setup_of(cook)
    course = msgspec.structs.replace(estimate.course, guessed=(unlogged.guess(seconds - 900.0),))
    asking = msgspec.structs.replace(estimate, course=course)
    (question,) = pitfilter.questions(asking, log, setup)
    assert "15 min ago" in question.text
    log = enter(
        log, Split(time=EPOCH, at=EPOCH + timedelta(seconds=question.seconds), kg=question.kg), seconds, EPOCH
    )
    answered = pitfilter.advance(asking, seconds + 10.0, {}, log, setup, "grate")
    assert pitfilter.questions(answered, log, setup) == ()
