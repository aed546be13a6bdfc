"""The plan of a running cook: told by the watch, made anew from what the meat shows."""

from datetime import UTC, datetime, timedelta

import pytest

from firebox import watch
from firebox.estimate.forecast import FireView
from firebox.plan import live, words
from firebox.plan import rows as lines
from firebox.records import Feel, MeatOn, Out, Phase, Serving, Target, Tick, Timetable, Undo, Wrap, decode, encode
from tests.unit.meat.kitchen import T0, Kitchen, at, setup

FIRE = FireView(phase=Phase.STEADY, need_watts=6000.0)


class Planned(Kitchen):
    """A kitchen whose watch plans."""

    def __init__(self, **told):
        super().__init__(**told)
        self.standing = live.Standing()
        self.fire = FIRE

    def plan(self):
        """Return the newest timetable, where one is told now."""
        self.ask()
        now, _ = self.moment()
        self.standing, timetable = live.remake(self.standing, now, self.meats, self.fire)
        return timetable


def serving(hours, **told):
    return Serving(time=T0, id=f"serving-{hours}", serve=at(hours), **{"wrap": "paper", "rest": "cooler", **told})


def row(timetable, what):
    (found,) = [row for row in timetable.rows if row.what.startswith(what)]
    return found


@pytest.fixture(scope="module")
def cook():
    """A brisket planned for hour 18, as the plan told of it after some hours."""
    kitchen, told = Planned(), {}
    kitchen.enter(serving(18.0))
    kitchen.enter(MeatOn(time=kitchen.time))
    for hour in range(1, 13):
        kitchen.cook(1.0)
        told[hour] = kitchen.plan()
    return told


def test_nothing_is_told_where_nothing_is_planned():
    assert Planned().cook(0.5).plan() is None


def test_before_the_meat_is_on_the_plan_is_the_one_made_beforehand():
    kitchen = Planned(start=4.0, gas=5.0)
    kitchen.enter(serving(24.0))
    timetable = kitchen.cook(0.1).plan()
    assert not timetable.live
    assert timetable.probability >= 0.85
    assert row(timetable, "light the fire").likely < row(timetable, "meat on").likely < at(12.0)
    assert row(timetable, "meat on").probe == "flat"
    assert timetable.minutes_late <= 0
    assert timetable.wood_kg > 10.0


def test_meat_that_goes_on_too_late_is_told_to_be_late():
    kitchen = Planned(start=4.0, gas=5.0)
    kitchen.enter(serving(9.0))
    timetable = kitchen.cook(0.1).plan()
    assert timetable.minutes_late > 120
    assert "LATE by about" in timetable.verdict
    assert timetable.probability < 0.2


def test_a_pit_that_cannot_cook_it_is_told_with_the_reason():
    kitchen = Planned(start=4.0, gas=5.0)
    kitchen.enter(serving(24.0))
    kitchen.enter(Target(time=kitchen.time, celsius=70.0))
    timetable = kitchen.cook(0.1).plan()
    assert timetable.verdict.startswith("no plan")
    assert "70 C (158 F) is beyond what can be planned" in timetable.advice[0]


def test_on_the_grate_it_is_told_from_what_is_measured(cook):
    assert all(timetable.live for timetable in cook.values())
    assert row(cook[2], "meat on").done
    assert not row(cook[2], "bark is set").done
    assert row(cook[9], "bark is set").done
    assert cook[1].time < row(cook[2], "bark is set").likely < row(cook[2], "go and feel").likely
    spreads = [row(cook[hour], "go and feel").late - row(cook[hour], "go and feel").early for hour in (2, 10)]
    assert spreads[1] < spreads[0]


def test_poultry_has_no_line_of_what_it_does_not_do(cook):
    assert row(cook[3], lines.RENDER)
    kitchen = Planned(cut="chicken")
    kitchen.enter(serving(5.0, wrap="none", rest="counter"))
    kitchen.enter(MeatOn(time=kitchen.time))
    whats = {row.what for row in kitchen.cook(1.0).plan().rows}
    assert lines.PULL in whats
    assert not {lines.RENDER, lines.GIVE} & whats


def test_what_came_about_keeps_its_time(cook):
    assert row(cook[10], "bark is set").likely == row(cook[12], "bark is set").likely


def test_the_wood_still_needed_shrinks_with_the_hours(cook):
    assert cook[2].wood_kg > cook[8].wood_kg > 0.0
    assert cook[2].fire_hours > cook[8].fire_hours


def test_late_and_early_are_told_in_plain_words_with_what_to_do():
    late, early = Planned(), Planned()
    late.enter(serving(10.0))
    early.enter(serving(28.0))
    for kitchen in (late, early):
        kitchen.enter(MeatOn(time=kitchen.time))
        kitchen.cook(6.0)
    behind, ahead = late.plan(), early.plan()
    assert "LATE by about" in behind.verdict
    assert behind.minutes_late > 60
    assert behind.probability < 0.3
    assert any("if late" in line and "saves up to" in line for line in behind.advice)
    assert "EARLY by" in ahead.verdict
    assert ahead.minutes_late < -120
    assert any("if early" in line for line in ahead.advice)


def test_a_wrap_and_a_new_target_change_it_at_once():
    kitchen = Planned()
    kitchen.enter(serving(14.0, wrap="none"))
    kitchen.enter(MeatOn(time=kitchen.time))
    before = kitchen.cook(7.0).plan()
    assert kitchen.plan() is None
    kitchen.enter(Wrap(time=kitchen.time, material="foil", id="wrap"))
    after = kitchen.cook(0.05).plan()
    assert after.minutes_late < before.minutes_late - 20
    assert row(after, "wrap in foil").done


def test_a_hand_that_finds_it_giving_brings_it_forward():
    kitchen = Planned()
    kitchen.enter(serving(20.0, rest="counter"))
    kitchen.enter(MeatOn(time=kitchen.time))
    before = row(kitchen.cook(11.0).plan(), "go and feel").likely
    kitchen.enter(Feel(time=kitchen.time, answer="giving", id="felt"))
    after = row(kitchen.cook(0.05).plan(), "go and feel").likely
    assert after < before


def test_at_rest_it_tells_when_it_can_be_sliced_and_whether_it_stays_hot():
    kitchen = Planned()
    kitchen.enter(serving(16.0))
    kitchen.enter(MeatOn(time=kitchen.time))
    kitchen.cook(12.0)
    kitchen.enter(MeatOn(time=kitchen.time, on=False, rest="cooler"))
    timetable = kitchen.cook(0.2).plan()
    assert row(timetable, "pulled, in a cooler").done
    assert row(timetable, "best to slice").likely > at(16.0)
    assert timetable.advice[0].startswith("all the meat is off: let the fire die? Press x")
    assert timetable.fire_hours == 0.0
    assert timetable.wood_kg == 0.0


def test_raw_meat_that_was_pulled_is_told_as_that_and_never_as_sliceable():
    kitchen = Planned()
    kitchen.enter(serving(16.0))
    kitchen.enter(MeatOn(time=kitchen.time))
    kitchen.cook(1.0)
    kitchen.enter(MeatOn(time=kitchen.time, on=False, rest="oven", celsius=65.0))
    timetable = kitchen.cook(0.2).plan()
    assert "NOT COOKED" in timetable.verdict
    assert timetable.probability == 0.0
    assert not [line for line in timetable.rows if "slice" in line.what]
    assert not [line for line in timetable.advice if "let the fire die" in line]


def test_a_fire_that_nothing_needs_any_more_may_go_out():
    kitchen = Planned()
    kitchen.enter(serving(16.0))
    kitchen.enter(MeatOn(time=kitchen.time))
    kitchen.cook(12.0)
    kitchen.enter(MeatOn(time=kitchen.time, on=False, rest="cooler"))
    kitchen.enter(Out(time=kitchen.time))
    kitchen.fire = FireView(phase=Phase.DYING)
    advice = kitchen.cook(0.2).plan().advice
    assert not [line for line in advice if "going out" in line or "let the fire die" in line]


def test_meat_that_was_on_when_it_was_first_heard_keeps_that_hour():
    kitchen = Planned(start=60.0)
    kitchen.enter(serving(12.0))
    first, second = kitchen.cook(0.5).plan(), kitchen.cook(1.0).plan()
    assert row(first, "already on").likely == row(second, "already on").likely


def test_an_early_piece_that_will_not_stay_hot_says_until_when_and_what_helps():
    stand = words.Stand("flat", 0.9, 0.0, -4e4, -4e4, at(12.0), hot_until=at(3.0))
    said = words.verdict([stand], at(0.5))
    assert "hot only until 07:00" in said
    assert "put it back on" in said


def test_hours_of_several_pieces_are_named(cook):
    rows = lines.served([(at(2.0), "flat"), (at(3.0), "point"), (at(3.0), "ribs")])
    assert [line.what for line in rows] == ["serve flat", "serve point and ribs"]
    assert row(cook[6], "serve").what == "serve"


def test_what_is_best_to_slice_after_the_hour_does_not_forbid_serving_at_it():
    assert lines.slicing(at(1.0), at(2.0))[0] == "can be sliced"
    what, note = lines.slicing(at(3.0), at(2.0))
    assert what == "best to slice"
    assert "hotter" in note


def test_a_long_hold_pulls_early_and_a_short_rest_does_not():
    held, short = Planned(), Planned()
    held.enter(serving(24.0, rest="oven", celsius=68.0))
    short.enter(serving(24.0, rest="counter"))
    for kitchen in (held, short):
        kitchen.enter(MeatOn(time=kitchen.time))
        kitchen.cook(8.0).plan()
    give = [kitchen.one.foreseen.planned.style.give for kitchen in (held, short)]
    assert give[0] < give[1] == 1.0
    assert held.ask().pull_low < short.ask().pull_low
    assert "holds on a little" in held.ask().pull


def test_the_fire_going_out_is_said_first():
    kitchen = Planned()
    kitchen.enter(serving(18.0))
    kitchen.enter(MeatOn(time=kitchen.time))
    kitchen.fire = FireView(phase=Phase.DYING)
    assert "going out" in kitchen.cook(3.0).plan().advice[0]


def test_what_is_taken_back_is_planned_no_more():
    kitchen = Planned()
    kitchen.enter(serving(18.0))
    kitchen.enter(MeatOn(time=kitchen.time))
    assert kitchen.cook(1.0).plan() is not None
    kitchen.enter(Undo(time=kitchen.time, of="serving-18.0"))
    assert kitchen.cook(0.3).plan() is None
    assert kitchen.standing == live.Standing()


def test_pieces_have_hours_of_their_own_and_the_latest_is_told():
    kitchen = Planned()
    kitchen.enter(serving(30.0))
    kitchen.enter(serving(9.0, probe="flat", rest="counter"))
    kitchen.enter(MeatOn(time=kitchen.time))
    timetable = kitchen.cook(6.0).plan()
    assert timetable.serve == at(9.0)
    assert "LATE" in timetable.verdict


def test_it_is_told_rarely_and_survives_the_way_to_text(cook):
    kitchen = Planned()
    kitchen.enter(serving(18.0))
    kitchen.enter(MeatOn(time=kitchen.time))
    told = [kitchen.cook(1 / 60).plan() for _ in range(60)]
    assert 2 <= sum(timetable is not None for timetable in told) <= 8
    for timetable in cook.values():
        assert decode(encode(timetable)) == timetable


def test_the_watch_tells_it_and_keeps_it_over_a_restart():
    state = watch.begin(setup())
    state = watch.step(state, Serving(time=T0, id="s", serve=T0 + timedelta(hours=20))).state
    step = watch.step(state, Tick(time=T0 + timedelta(minutes=1)))
    (timetable,) = [record for record in step.out if isinstance(record, Timetable)]
    assert timetable.rows
    assert watch.freeze(watch.thaw(watch.freeze(step.state))) == watch.freeze(step.state)
    assert step.out[-1] == Tick(time=T0 + timedelta(minutes=1))


@pytest.mark.parametrize(
    "told",
    [
        {"serve": datetime(1, 1, 1, tzinfo=UTC)},
        {"serve": datetime(9999, 12, 31, tzinfo=UTC)},
        {"sure": 0.5, "celsius": -30.0, "rest": "oven"},
        {"sure": 0.99, "celsius": 150.0, "rest": "oven", "wrap": "foil", "people": 12},
        {"serve": T0 + timedelta(minutes=2)},
    ],
    ids=["long ago", "in ages", "a freezer", "an oven that cooks on", "at once"],
)
@pytest.mark.parametrize("on", [True, False])
def test_no_hour_that_can_be_told_breaks_the_watch(told, on):
    kitchen = Planned(gas=125.0 if on else 5.0)
    kitchen.enter(Serving(**{"time": T0, "id": "s", "serve": at(30.0), **told}))
    if on:
        kitchen.enter(MeatOn(time=kitchen.time))
    for _ in range(3):
        timetable = kitchen.cook(0.6).plan()
        assert timetable is None or decode(encode(timetable)) == timetable


def test_meat_that_will_not_be_ready_within_a_day_is_late_by_that():
    kitchen = Planned(gas=78.0)
    kitchen.enter(serving(4.0))
    kitchen.enter(MeatOn(time=kitchen.time))
    kitchen.enter(Target(time=kitchen.time, celsius=78.0))
    timetable = kitchen.cook(1.0).plan()
    assert "LATE by more than a day" in timetable.verdict
    assert timetable.minutes_late == 24 * 60
