"""What the watch makes of a meat probe over a cook."""

from datetime import timedelta

import numpy as np
import pytest

from firebox import watch
from firebox.meat.places import place
from firebox.records import Feel, Meat, MeatOn, Reading, Spritz, Target, Tick, Wrap, decode, encode
from firebox.setup import OwnCut
from tests.unit.meat.kitchen import Kitchen, at, setup


@pytest.fixture(scope="module")
def cooks():
    """A brisket, bare on the grate, as it was told after some hours."""
    kitchen, told = Kitchen(), {}
    for hour in range(1, 13):
        kitchen.cook(1.0)
        told[hour] = (kitchen.ask(), kitchen.middle, kitchen.probed, kitchen.meats)
    return told


def test_the_middle_is_known_within_two_degrees_once_the_probe_was_heard(cooks):
    for hour in (3, 6, 9, 12):
        meat, middle, _, _ = cooks[hour]
        assert meat.middle_celsius == pytest.approx(middle, abs=2.0)


def test_the_band_of_the_hours_to_come_holds_what_came(cooks):
    """All but a few: 10 and 90 % points, looked at two and four hours ahead."""
    hits = [
        cooks[hour][0].p10[index] - 0.5 <= cooks[hour + ahead][2] <= cooks[hour][0].p90[index] + 0.5
        for hour in range(2, 8)
        for index, ahead in ((1, 2), (2, 4))
    ]
    assert np.mean(hits) >= 0.7


def test_the_band_narrows_as_the_meat_shows_itself(cooks):
    assert cooks[2][0].ready_until - cooks[2][0].ready_from > 1.2 * (
        cooks[12][0].ready_until - cooks[12][0].ready_from
    )


def test_the_words_follow_the_meat_from_the_cold_to_the_hand(cooks):
    stages = [cooks[hour][0].stage for hour in sorted(cooks)]
    assert stages[0] == "coming up"
    assert "on the plateau" in stages[4:10]


def test_bark_sets_and_is_said_to_with_what_to_do(cooks):
    assert cooks[2][0].bark < 0.5
    assert cooks[9][0].bark == 1.0
    assert any("leave it alone" in hint for hint in cooks[4][0].hints)
    assert any("bark is set" in hint for hint in cooks[9][0].hints)


def test_it_is_never_called_done_and_always_says_what_to_feel_for(cooks):
    for meat, *_ in cooks.values():
        assert "done" not in f"{meat.stage} {meat.hints}"
        assert "probe" in meat.feel


def test_when_to_go_and_feel_lies_before_the_likely_hour(cooks):
    meat = cooks[6][0]
    assert meat.time <= meat.feel_at <= meat.ready
    assert meat.ready_from <= meat.ready


def test_its_record_survives_the_way_to_text(cooks):
    for meat, *_ in cooks.values():
        assert decode(encode(meat)) == meat


def test_its_state_survives_as_bytes_and_goes_on_the_same(cooks):
    state = watch.begin(setup())
    frozen = watch.freeze(
        type(state)(
            setup=state.setup, estimate=state.estimate, warn=state.warn, advice=state.advice, meats=cooks[6][3]
        )
    )
    assert watch.freeze(watch.thaw(frozen)) == frozen
    thawed, kept = Kitchen().cook(6.0), Kitchen().cook(6.0)
    thawed.meats = watch.thaw(frozen).meats
    kept.meats = cooks[6][3]
    assert thawed.cook(0.5).ask() == kept.cook(0.5).ask()


def test_the_same_cook_is_told_the_same_twice(cooks):
    kitchen = Kitchen().cook(3.0)
    assert kitchen.ask() == Kitchen().cook(3.0).ask()


def test_a_wrap_ends_the_plateau():
    bare, foil = Kitchen().cook(6.0), Kitchen().cook(6.0)
    foil.enter(Wrap(time=foil.time, material="foil"))
    foil.where = place("grate", "foil")
    bare.cook(0.1)
    foil.cook(0.1)
    assert foil.ask().ready < bare.ask().ready - timedelta(minutes=45)


def test_a_wrap_of_another_piece_changes_nothing_here():
    mine, other = Kitchen().cook(2.0), Kitchen().cook(2.0)
    other.enter(Wrap(time=other.time, probe="point", material="foil"))
    assert mine.cook(0.2).ask() == other.cook(0.2).ask()


def test_a_spritz_wets_the_crust_and_costs_time():
    dry, wet = Kitchen().cook(5.0), Kitchen().cook(5.0)
    for _ in range(6):
        wet.enter(Spritz(time=wet.time))
    dry.cook(0.1)
    wet.cook(0.1)
    assert np.all(wet.one.herd.crust <= dry.one.herd.crust)
    assert wet.ask().ready >= dry.ask().ready


@pytest.mark.parametrize(("answer", "later"), [("springy", True), ("gone", False)])
def test_the_cooks_hand_moves_the_estimate(answer, later):
    kitchen = Kitchen().cook(14.5)
    before = kitchen.ask()
    assert 0.3 < before.tender[1] < 2.0
    kitchen.enter(Feel(time=kitchen.time, answer=answer))
    kitchen.cook(0.1)
    after = kitchen.ask()
    assert (after.tender[1] < before.tender[1]) is later
    assert after.tender[2] / after.tender[0] < before.tender[2] / before.tender[0]


def test_meat_that_gives_is_told_as_near_enough():
    kitchen = Kitchen().cook(11.0)
    kitchen.enter(Feel(time=kitchen.time, answer="giving"))
    kitchen.cook(0.1)
    assert kitchen.ask().tender[1] == pytest.approx(1.0, abs=0.35)
    assert kitchen.ask().stage.startswith("gives")


def test_springy_meat_that_was_thought_far_off_tells_nothing_new():
    kitchen, quiet = Kitchen().cook(5.0), Kitchen().cook(5.0)
    kitchen.enter(Feel(time=kitchen.time, answer="springy"))
    assert kitchen.cook(0.1).ask().tender == quiet.cook(0.1).ask().tender


def test_a_dead_probe_leaves_the_model_running_and_shows_no_temperature():
    kitchen = Kitchen().cook(4.0)
    kitchen.blind = True
    kitchen.cook(2.0)
    meat = kitchen.ask()
    assert meat.celsius is None
    assert meat.stage is None
    assert meat.middle_celsius == pytest.approx(kitchen.middle, abs=5.0)


def test_a_dead_probe_lets_the_growth_clock_run():
    kitchen = Kitchen().cook(1.5)
    kitchen.blind = True
    kitchen.cook(6.0)
    meat = kitchen.ask()
    assert meat.safety_urgent
    assert "too long" in meat.safety[0]


def test_meat_that_goes_on_begins_anew():
    kitchen = Kitchen().cook(2.0)
    kitchen.truth = Kitchen().truth
    kitchen.enter(MeatOn(time=kitchen.time))
    kitchen.cook(0.2)
    assert kitchen.one.begun == pytest.approx(2.0 * 3600.0, abs=200.0)


def test_meat_that_comes_off_rests_and_cools_in_its_cooler():
    kitchen = Kitchen().cook(13.0)
    kitchen.enter(MeatOn(time=kitchen.time, on=False, rest="cooler"))
    kitchen.where, kitchen.air = place("cooler"), 20.0
    kitchen.cook(1.0)
    meat = kitchen.ask()
    assert meat.stage == "resting"
    assert meat.feel_at is None
    assert meat.middle_celsius == pytest.approx(kitchen.middle, abs=2.0)
    assert meat.ready > at(15.0)


def test_meat_that_goes_back_on_is_the_same_piece():
    kitchen = Kitchen().cook(5.0)
    kitchen.enter(MeatOn(time=kitchen.time, on=False))
    kitchen.where, kitchen.air = place("counter"), 20.0
    kitchen.cook(0.2)
    kitchen.enter(MeatOn(time=kitchen.time))
    kitchen.where, kitchen.air = place(), None
    kitchen.cook(0.2)
    assert kitchen.one.begun < 200.0
    assert kitchen.ask().stage != "resting"
    assert kitchen.ask().bark > 0.3


def test_meat_nobody_named_is_followed_with_wide_doubt():
    named, unnamed = Kitchen().cook(0.1).ask(), Kitchen(cut=None).cook(0.1).ask()
    assert unnamed.cut == "meat"
    assert unnamed.p90[1] - unnamed.p10[1] > 1.2 * (named.p90[1] - named.p10[1])


def test_a_cut_of_the_owners_own_is_followed():
    own = OwnCut(name="goat leg", like="pork shoulder", need_hours=3.0, feel="pull at the bone")
    told = setup("goat leg")
    kitchen = Kitchen(
        cut="pork shoulder", setup_told=type(told)(time=told.time, probes=told.probes, meats=told.meats, cuts=(own,))
    )
    meat = kitchen.cook(0.2).ask()
    assert meat.cut == "goat leg"
    assert meat.feel == "pull at the bone"


def test_poultry_is_ready_by_heat_and_has_no_tenderness():
    kitchen = Kitchen(cut="chicken").cook(1.0)
    meat = kitchen.ask()
    assert meat.tender is None
    assert any("165 F" in line for line in meat.safety)
    assert meat.ready is not None


def test_a_cut_that_is_named_late_is_taken_from_then_on():
    kitchen = Kitchen(cut=None).cook(1.0)
    kitchen.setup = setup("brisket", kg=6.0)
    kitchen.cook(0.1)
    assert kitchen.ask().cut == "brisket"
    assert kitchen.one.begun < 100.0


def test_when_bark_is_likely_to_set_is_told_until_it_is(cooks):
    early, late = cooks[2][0], cooks[9][0]
    assert early.time < early.bark_at < early.ready
    assert late.bark_at is None


def test_a_gap_of_hours_is_cooked_through():
    gap, watched = Kitchen().cook(2.0).cook(4.0, heard=False).cook(0.2), Kitchen().cook(6.2)
    assert gap.ask().middle_celsius == pytest.approx(watched.ask().middle_celsius, abs=1.5)


def test_without_any_pit_probe_the_target_stands_for_the_pit():
    kitchen = Kitchen()
    kitchen.pit_blind = True
    kitchen.cook(3.0)
    assert kitchen.one.pit == pytest.approx(125.0)
    assert kitchen.ask().middle_celsius == pytest.approx(kitchen.middle, abs=1.5)


def test_a_probe_that_slips_out_into_the_pit_breaks_nothing():
    kitchen = Kitchen().cook(3.0)
    slipped = Kitchen(start=95.0, gas=125.0)
    kitchen.truth, kitchen.gas = slipped.truth, 300.0
    with np.errstate(all="raise"):
        meat = kitchen.cook(2.0).ask()
    assert -5.0 <= meat.middle_celsius <= 105.0


def test_a_watch_tells_of_meat_at_every_tick():
    kitchen, state, told = Kitchen(), watch.begin(setup()), []
    for minute in range(90):
        kitchen.cook(1 / 60, heard=False)
        for name, celsius in (
            ("grate", 125.0 + 0.1 * (minute % 3)),
            ("flat", round(kitchen.probed, 1) + 0.1 * (minute % 2)),
        ):
            state = watch.step(state, Reading(time=kitchen.time, probe=name, celsius=celsius)).state
        step = watch.step(state, Tick(time=kitchen.time))
        state = step.state
        told.append([record for record in step.out if isinstance(record, Meat)])
    assert all(len(meats) == 1 for meats in told)
    assert told[-1][0].cut == "brisket"
    assert told[-1][0].middle_celsius == pytest.approx(kitchen.middle, abs=2.0)
    assert watch.freeze(watch.thaw(watch.freeze(state))) == watch.freeze(state)


def test_a_pit_that_stands_beside_its_target_for_hours_is_taken_to_go_on_so():
    under, true = Kitchen(gas=115.0).cook(5.0), Kitchen(gas=125.0).cook(5.0)
    told = under.ask()
    fresh = Kitchen(gas=115.0).cook(5.0)
    fresh.enter(Target(time=fresh.time, celsius=125.0))
    hoped = fresh.cook(1 / 60).ask()
    assert told.ready > hoped.ready > true.ask().ready - timedelta(hours=1)
    four_hours_on = under.cook(4.0).probed
    assert abs(told.p50[2] - four_hours_on) <= abs(hoped.p50[2] - four_hours_on)
