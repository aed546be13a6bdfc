"""What one cook keeps for the next, and how far that is believed."""

from datetime import UTC, datetime, timedelta

import msgspec
import numpy as np
import pytest

from firebox.estimate import greybox, refit
from firebox.estimate.memory import NAMES, learned_from, remembered
from firebox.estimate.model import BOUND, FIRST_PARAMETER, At, within
from firebox.estimate.priors import TEMPERS, prior
from firebox.setup import KnownPit, Learned, PitBuild, Wood

NOW = datetime(2026, 5, 2, tzinfo=UTC)
PIT = prior(PitBuild(chamber_litres=450.0), Wood())
HEAT = At.HEAT - FIRST_PARAMETER


def known(days=7.0, **parameters):
    learned = NOW - timedelta(days=days)
    told = {name: Learned(value=value, spread=spread) for name, (value, spread) in parameters.items()}
    return KnownPit(parameters=told, cooks=(learned - timedelta(hours=9),), hours=9.0, learned=learned)


def test_of_a_pit_that_nothing_is_known_of_the_prior_stays():
    assert remembered(PIT, None, NOW) is PIT


def test_what_was_learned_takes_the_place_of_the_prior_and_is_surer():
    pit = remembered(PIT, known(heat=(0.7, 0.05)), NOW)
    assert pit.value[HEAT] == pytest.approx(0.7)
    assert 0.1 < pit.spread[HEAT] < 0.6 * PIT.spread[HEAT]
    others = np.arange(len(NAMES)) != HEAT
    assert np.array_equal(pit.value[others], PIT.value[others])
    assert np.array_equal(pit.spread[others], PIT.spread[others])


def test_no_pit_is_ever_outside_what_pits_are():
    pit = remembered(PIT, known(heat=(1e6, 0.01), air=(1e-9, 0.01)), NOW)
    logs = np.log(pit.value / PIT.value)
    assert np.all(np.abs(logs) <= BOUND * PIT.spread + 1e-9)


def test_it_counts_for_less_with_the_months_and_fades_into_the_prior():
    spreads = [remembered(PIT, known(days, heat=(0.7, 0.05)), NOW).spread[HEAT] for days in (1, 100, 400, 1500)]
    assert spreads == sorted(spreads)
    assert spreads[-1] == PIT.spread[HEAT]
    old = remembered(PIT, known(20 * 365.0, heat=(0.7, 0.05)), NOW)
    assert 0.7 < old.value[HEAT] < PIT.value[HEAT]
    assert old.value[HEAT] > 0.9 * PIT.value[HEAT]


def test_a_clock_that_was_wrong_makes_nothing_surer():
    ahead = remembered(PIT, known(-400.0, heat=(0.7, 0.05)), NOW)
    assert ahead.spread[HEAT] == remembered(PIT, known(0.0, heat=(0.7, 0.05)), NOW).spread[HEAT]


def test_a_parameter_of_another_version_is_passed_over():
    pit = remembered(PIT, known(breath_of_the_dragon=(2.0, 0.1)), NOW)
    assert np.array_equal(pit.value, PIT.value)


def test_tempers_meet_in_what_is_known_for_sure_and_differ_in_the_rest():
    told = known(flaming_time=(900.0, 0.05))
    pits = [remembered(prior(PitBuild(), Wood(), temper), told, NOW) for temper in TEMPERS]
    flaming, air = At.FLAMING_TIME - FIRST_PARAMETER, At.AIR - FIRST_PARAMETER
    assert pits[0].value[flaming] == pytest.approx(pits[1].value[flaming])
    assert pits[0].value[air] != pits[1].value[air]


def test_parameters_go_by_name_and_come_back():
    learned = learned_from(PIT.value, PIT.spread)
    assert set(learned) == set(NAMES)
    assert learned["heat"].value == PIT.value[HEAT]


def test_a_pit_that_was_learned_wrongly_can_be_learned_anew_as_far_as_any_pit_reaches():
    pit = remembered(PIT, known(heat=(0.7, 0.05)), NOW)
    far = np.zeros(len(NAMES))
    far[HEAT] = 9.0
    highest = pit.value * np.exp(within(far, pit))
    assert highest[HEAT] == pytest.approx(PIT.value[HEAT] * np.exp(BOUND * PIT.spread[HEAT]))


def test_what_was_learned_is_doubted_the_more_the_further_the_fit_has_to_go_from_it():
    pit = remembered(PIT, known(heat=(0.7, 0.05)), NOW)
    story = refit.begin(greybox.start(0.0, 110.0, pit, 15.0))
    near, far = (msgspec.structs.replace(story, fit=story.fit + shift) for shift in (0.0, 4.0 * pit.spread[HEAT]))
    assert refit.doubted(near, pit)[HEAT] == pit.spread[HEAT]
    assert pit.spread[HEAT] < refit.doubted(far, pit)[HEAT] <= PIT.spread[HEAT]
    assert np.array_equal(refit.doubted(msgspec.structs.replace(far), PIT), PIT.spread)
