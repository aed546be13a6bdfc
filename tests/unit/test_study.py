"""A cook gone over again teaches what the next one begins with; as a record, so that a replay knows it too."""

from datetime import timedelta
from functools import cache

import numpy as np
import pytest
from msgspec.structs import replace

from firebox import study, watch
from firebox.estimate.model import FIRST_PARAMETER
from firebox.knowledge import NOTHING, sentences
from firebox.records import Note, Reading, Split, Tick, decode, encode
from firebox.setup import Setup
from firebox.units import Degrees, Mass
from tests.unit.estimate.cooks import EPOCH, entry, played, setup_of


def records(seed=3, hours=3.0, *, wood=True):
    """Return a surrogate pit's cook as it comes in."""
    cook = played(seed, hours)
    found = [entry(deed) for deed in cook.deeds if wood or deed[1] not in {"lit", "split"}]
    for seconds, celsius in zip(cook.times.tolist(), cook.readings.tolist(), strict=True):
        if np.isfinite(celsius):
            time = EPOCH + timedelta(seconds=seconds)
            found.append(Reading(time=time, probe="grate", celsius=round(celsius, 2)))
    return [setup_of(cook), *sorted(found, key=lambda record: record.time)]


@cache
def known():
    return study.study(records())


def test_a_cook_teaches_a_pit_with_provenance():
    found = known()
    assert found.cooks == (EPOCH,)
    assert found.hours == pytest.approx(3.0, abs=0.1)
    assert found.learned == EPOCH + timedelta(hours=3)
    assert all(one.value > 0.0 and one.spread < 1.0 for one in found.parameters.values())


def test_the_next_cook_begins_with_it_and_surer():
    setup = setup_of(played(3))
    first, again = records()[1:60], []
    for start in (setup, replace(setup, known=known())):
        state = watch.begin(start)
        for record in first:
            state = watch.step(state, record).state
        again.append(state.estimate.course.box)
    plain, taught = again
    narrower = taught.pit.spread / plain.pit.spread
    assert np.all(narrower <= 1.0)
    assert np.min(narrower) < 0.8
    assert not np.allclose(taught.pit.value, plain.pit.value)
    assert taught.mean.size == FIRST_PARAMETER + taught.pit.value.size


def test_a_replay_of_what_the_journal_holds_is_the_same_to_the_bit():
    setup = replace(setup_of(played(3)), known=known())
    came = [setup, *records()[1:300], Tick(time=EPOCH + timedelta(minutes=40))]
    told = []
    for stream in (came, [decode(encode(record)) for record in came]):
        state, out = watch.begin(stream[0]), []
        for record in stream:
            step = watch.step(state, record)
            state = step.state
            out += [encode(one) for one in step.out]
        told.append((out, watch.freeze(state)))
    assert told[0] == told[1]


def test_the_same_cook_is_not_counted_twice():
    assert study.study(records(), known()) is known()


@pytest.mark.slow
def test_another_cook_adds_to_what_was_known():
    later = [replace(record, time=record.time + timedelta(days=7)) for record in records()]
    found = study.study(later, known())
    assert found.cooks == (EPOCH, EPOCH + timedelta(days=7))
    assert found.hours == pytest.approx(2 * known().hours)
    spreads = [np.mean([one.spread for one in each.parameters.values()]) for each in (known(), found)]
    assert spreads[1] < spreads[0]


@pytest.mark.parametrize(
    "cook",
    [
        pytest.param(list, id="nothing"),
        pytest.param(lambda: records()[:400], id="an hour"),
        pytest.param(lambda: records(wood=False)[:800], id="no wood logged"),
        pytest.param(lambda: [Setup(time=EPOCH), Note(time=EPOCH, text="rain")], id="no reading"),
    ],
)
def test_a_cook_that_says_too_little_leaves_what_was_known(cook):
    before = replace(known(), cooks=(EPOCH - timedelta(days=30),))
    assert study.study(cook(), before) is before
    assert study.study(cook()) is None


def test_what_it_means_for_the_cook_is_said_in_sentences_with_what_they_may_be_off_by():
    worth = known().worth
    assert 5.0 < worth.lift.value < 80.0
    assert worth.every.value > 5.0
    told = sentences(known())
    assert any("warmer than without it" in one and "±" in one for one in told)
    assert told[-1] == "Learned from one cook, 3 h, the last on 2026-01-10."
    assert sentences(None) == (NOTHING,)


def test_sentences_speak_the_cooks_own_units_and_leave_out_what_says_nothing():
    worth = known().worth
    sure = replace(worth, mark=replace(worth.mark, value=9.0, doubt=4.0))
    assert "One mark of intake is worth +9 C (±4) after 20 min." in sentences(replace(known(), worth=sure))
    vague = replace(worth, mark=replace(worth.mark, value=9.0, doubt=10.0))
    told = sentences(replace(known(), worth=vague), Degrees.F, Mass.LB)
    assert not any("mark of intake" in one for one in told)
    assert any(" F (±" in one for one in told)
    assert any(" lb makes the pit" in one for one in told)


@pytest.mark.slow
def test_a_split_of_the_cooks_own_weight_is_told():
    heavy = [replace(one, kg=one.kg * 1.5) if isinstance(one, Split) and one.kg else one for one in records()]
    assert study.study(heavy).worth.kg > 1.3 * known().worth.kg
