"""What the cook does to the meat and says of it: taken back, dated back, hushed, weighed; and where it could rest."""

from datetime import timedelta

import numpy as np
import pytest

from firebox.meat import care, conduction, doings, follow, telling
from firebox.meat.places import place
from firebox.records import Feel, Hush, MeatOn, Spritz, Turn, Undo, Weigh, Wrap
from firebox.setup import MeatPiece
from tests.unit.meat.kitchen import Kitchen, at, setup


def test_a_feel_that_is_taken_back_has_never_been():
    kitchen, quiet = Kitchen().cook(11.0), Kitchen().cook(11.0)
    before = kitchen.ask()
    kitchen.enter(Feel(time=kitchen.time, id="felt", answer="gone"))
    felt = kitchen.cook(0.1).ask()
    assert felt.tender[1] > 1.5 * before.tender[1]
    assert felt.felt == "gone"
    kitchen.enter(Undo(time=kitchen.time, of="felt"))
    after = kitchen.cook(0.1).ask()
    assert after.felt is None
    assert after.tender[1] == pytest.approx(quiet.cook(0.2).ask().tender[1], rel=0.1)


def test_a_wrap_that_is_dated_back_is_cooked_as_if_it_had_been_told_then():
    late, timely = Kitchen().cook(6.0), Kitchen().cook(6.0)
    for kitchen in (late, timely):
        kitchen.where = place("grate", "foil")
    timely.enter(Wrap(time=timely.time, material="foil"))
    timely.cook(1.0)
    late.cook(1.0)
    late.enter(Wrap(time=late.time, at=at(6.0), material="foil"))
    late.cook(0.1)
    timely.cook(0.1)
    assert late.ask().middle_celsius == pytest.approx(timely.ask().middle_celsius, abs=1.0)
    assert late.ask().bark == pytest.approx(timely.ask().bark, abs=0.08)
    assert abs(late.ask().ready - timely.ask().ready) < timedelta(minutes=45)


def test_meat_that_went_on_an_hour_ago_begins_then():
    kitchen = Kitchen(gas=20.0).cook(1.0)
    kitchen.gas = 125.0
    kitchen.truth = Kitchen().truth
    kitchen.cook(1.0)
    kitchen.enter(MeatOn(time=kitchen.time, at=at(1.0)))
    kitchen.cook(0.1)
    assert kitchen.one.begun == pytest.approx(3600.0)
    assert kitchen.ask().middle_celsius == pytest.approx(kitchen.middle, abs=2.5)


def test_an_answer_that_is_dated_back_before_another_counts_as_that_one():
    kitchen = Kitchen().cook(11.0)
    kitchen.enter(Feel(time=kitchen.time, answer="giving"))
    kitchen.cook(0.2)
    kitchen.enter(Feel(time=kitchen.time, at=at(10.5), answer="springy"))
    assert kitchen.cook(0.1).ask().felt == "giving"


def test_the_clocks_of_safety_are_moved_by_no_entry():
    kitchen = Kitchen().cook(5.0)
    before = kitchen.one.clocks
    kitchen.enter(Wrap(time=kitchen.time, at=at(1.0), material="paper"))
    kitchen.cook(1 / 60)
    assert kitchen.one.clocks.growth == pytest.approx(before.growth, abs=60.0)
    assert kitchen.one.clocks.log >= before.log


def test_a_turn_opens_what_was_thought_of_the_heat_where_it_lies():
    kitchen = Kitchen(member=5).cook(6.0)
    column = int(follow.herds.Knob.NEAR)
    before = kitchen.one.herd.knobs[:, column]
    kitchen.enter(Turn(time=kitchen.time, how="moved"))
    kitchen.cook(1 / 60)
    after = kitchen.one.herd.knobs[:, column]
    assert abs(after.mean()) < abs(before.mean()) + 1e-9
    assert after.std() > before.std()


def test_what_was_weighed_going_in_is_the_weight_that_is_cooked():
    kitchen = Kitchen()
    kitchen.enter(Weigh(time=kitchen.time, probe="flat", kg=8.0, when="in"))
    kitchen.cook(0.2)
    assert kitchen.one.piece.kg == 8.0
    kitchen.enter(Weigh(time=kitchen.time, probe="flat", kg=5.2, when="out"))
    meat = kitchen.cook(0.1).ask()
    assert (meat.kg_in, meat.kg_out) == (8.0, 5.2)


# --- care ----------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def cared():
    """What is said hour by hour of a brisket that nobody touches."""
    kitchen, told = Kitchen(), {}
    for minute in (0.3, *range(1, 15)):
        kitchen.cook(minute - kitchen.seconds / 3600.0)
        told[minute] = kitchen.ask()
    return told


def test_each_thing_is_said_in_its_time(cared):
    assert "fat-side" in cared[0.3].care
    assert {"bark", "spritz"} & set(cared[4].care)
    assert any("wrap" in meat.care for meat in cared.values())
    assert any("juices" in meat.care for meat in cared.values())
    assert any("thin-parts" in meat.care for meat in cared.values())
    assert any("turn" in meat.care for meat in cared.values())
    assert "feel" in cared[14].care
    assert not set(cared[14].care) & {"fat-side", "bark", "spritz", "thin-parts"}


def test_hints_and_their_names_go_together(cared):
    for meat in cared.values():
        assert len(meat.care) == len(meat.hints)
        assert set(meat.care) <= set(care.NAMES)


def test_no_more_than_a_few_are_said_at_once(cared):
    assert max(len(meat.hints) for meat in cared.values()) <= 4


def test_the_wrap_prompt_tells_what_each_material_saves(cared):
    said = [hint for meat in cared.values() for hint in meat.hints if "in foil" in hint]
    assert said
    assert all("in paper" in hint and "sooner" in hint for hint in said)


def test_a_spritz_costs_minutes_of_heat_and_of_bark():
    kitchen = Kitchen().cook(4.0)
    heat, dries = care.spritz_costs(kitchen.one)
    assert 1.0 < heat < 30.0
    assert heat < dries < 90.0


def test_what_is_hushed_is_said_no_more_until_it_may_be_again():
    kitchen = Kitchen().cook(0.3)
    assert "fat-side" in kitchen.ask().care
    kitchen.enter(Hush(time=kitchen.time, id="quiet", care="fat-side"))
    assert "fat-side" not in kitchen.ask().care
    assert kitchen.ask().hushed == ("fat-side",)
    kitchen.enter(Undo(time=kitchen.time, of="quiet"))
    assert "fat-side" in kitchen.ask().care
    kitchen.enter(Hush(time=kitchen.time, care="fat-side", probe="point"))
    assert "fat-side" in kitchen.ask().care


def test_safety_can_be_hushed_by_no_name():
    kitchen = Kitchen().cook(1.5)
    kitchen.blind = True
    kitchen.cook(6.0)
    for name in (*care.NAMES, "safety", "growth"):
        kitchen.enter(Hush(time=kitchen.time, care=name))
    assert kitchen.ask().safety_urgent
    assert kitchen.ask().hints == ()


def test_a_hot_spot_is_told_from_what_is_learned_of_it():
    kitchen = Kitchen().cook(3.0)
    hot = follow.replace(kitchen.one.view, near=8.0)
    kitchen.meats = {"flat": follow.replace(kitchen.one, view=hot)}
    assert any("8 C (14 F) hotter than the pit's probe tells" in hint for hint in kitchen.ask().hints)


def test_poultry_is_told_nothing_of_fat_caps_and_wraps():
    kitchen = Kitchen(cut="chicken")
    said = {name for _ in range(4) for name in kitchen.cook(0.7).ask().care}
    assert not said & {"fat-side", "wrap", "juices", "too-far"}


# --- resting -------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def near():
    """A brisket about to be ready, bare."""
    return Kitchen().cook(14.5)


def test_near_the_end_every_place_to_rest_is_held_against_the_others(near):
    rests = {(rest.rest, rest.wrap): rest for rest in near.ask().rests}
    assert set(rests) == {("counter", "foil"), ("counter", "paper"), ("cooler", "foil"), ("oven", "foil")}
    counter, cooler = rests["counter", "foil"], rests["cooler", "foil"]
    assert counter.slice_at < cooler.slice_at
    assert counter.hot_until < cooler.hot_until
    assert rests["counter", "paper"].slice_at < counter.slice_at
    assert rests["oven", "foil"].hot_until is None
    assert rests["oven", "foil"].slice_at is None
    for rest in rests.values():
        assert near.middle - 3.0 <= rest.peak_celsius <= 100.0


def test_far_from_ready_nothing_is_said_of_resting():
    assert Kitchen().cook(5.0).ask().rests == ()


def test_a_pull_in_foil_rests_in_foil_only():
    kitchen = Kitchen().cook(7.0)
    kitchen.enter(Wrap(time=kitchen.time, material="paper"))
    kitchen.where = place("grate", "paper")
    kitchen.cook(6.0)
    assert {rest.wrap for rest in kitchen.ask().rests} == {"paper"}


@pytest.mark.parametrize(("rest", "air", "hold"), [("oven", 65.0, "hot"), ("counter", 20.0, "cool")])
def test_how_warm_it_is_held_is_told(rest, air, hold):
    kitchen = Kitchen().cook(14.5)
    assert kitchen.ask().hold is None
    kitchen.enter(MeatOn(time=kitchen.time, on=False, rest=rest, celsius=air))
    kitchen.where, kitchen.air = place(rest), air
    meat = kitchen.cook(5.0).ask()
    assert meat.hold == hold
    assert meat.where == rest
    assert (meat.hot_until is None) is (rest == "oven")
    assert not meat.worth_feeling


def test_time_to_feel_is_flagged_until_a_hand_says_that_it_gives(near):
    kitchen = Kitchen()
    assert not kitchen.cook(5.0).ask().worth_feeling
    assert near.ask().worth_feeling
    assert near.ask().chance >= 0.25
    other = Kitchen().cook(14.5)
    other.enter(Feel(time=other.time, answer="giving"))
    assert not other.cook(0.05).ask().worth_feeling


def test_a_spritz_is_one_of_the_doings_of_a_piece():
    kitchen = Kitchen().cook(1.0)
    kitchen.enter(Spritz(time=kitchen.time, probe="flat"))
    kitchen.enter(Spritz(time=kitchen.time, probe="point"))
    assert len(doings.handled(kitchen.log, "flat", 0.0, kitchen.seconds)) == 1


def test_what_is_heard_is_kept_and_cannot_be_written():
    kitchen = Kitchen()
    kitchen.cook(1.0)
    assert kitchen.one.heard.shape[0] in (12, 13)
    with pytest.raises(ValueError, match="read-only"):
        kitchen.one.heard[0, 0] = 1.0
    assert np.all(np.diff(kitchen.one.heard[:, 0]) >= follow.LISTEN_EVERY)


# --- two probes in one piece ---------------------------------------------------------------------


class Pair(Kitchen):
    """A brisket with a second probe, which sits as deep as it likes."""

    def __init__(self, *, deep=0.0, **told):
        base = setup()
        meats = (MeatPiece(probe="flat", cut="brisket", second="deep"),)
        super().__init__(
            setup_told=type(base)(time=base.time, target_celsius=125.0, probes=base.probes, meats=meats), **told
        )
        self.deep, self.deep_blind = deep, False

    def moment(self):
        now, tracks = super().moment()
        place = np.full(len(self.truth.front), self.deep)
        celsius = float(conduction.at_depth(self.truth.celsius, self.truth.front, place)[self.member])
        deep = follow.replace(tracks["flat"], name="deep", celsius=None if self.deep_blind else round(celsius, 1))
        return now, {**tracks, "deep": deep}


def test_a_second_probe_is_the_same_piece_and_narrows_what_is_known_of_it():
    both, one = Pair().cook(6.0), Kitchen().cook(6.0)
    assert set(both.meats) == {"flat"}
    spread = [float(kitchen.one.herd.celsius[:, 0].std()) for kitchen in (both, one)]
    assert spread[0] < spread[1]
    assert both.ask().middle_celsius == pytest.approx(both.middle, abs=1.5)


def test_safety_goes_by_the_colder_of_two_probes():
    pair = Pair(deep=0.0, member=5).cook(4.0)
    assert pair.one.clocks.lowest == pytest.approx(pair.middle, abs=0.2)


def test_one_of_two_probes_is_enough():
    pair = Pair().cook(3.0)
    pair.blind = True
    meat = pair.cook(2.0).ask()
    assert meat.celsius is None
    assert meat.middle_celsius == pytest.approx(pair.middle, abs=2.0)
    assert not meat.safety_urgent


def test_the_second_probe_is_told_as_in_the_same_piece():
    pair = Pair().cook(1.0)
    now, tracks = pair.moment()
    told = telling.tell(None, tracks["deep"], now, pair.time)
    assert told.cut == "brisket"
    assert told.celsius is not None
