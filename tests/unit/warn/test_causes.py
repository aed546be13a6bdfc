"""Alarms that name a cause: each comes with it, and not without."""

from datetime import timedelta
from typing import Any, Literal

import pytest
from msgspec.structs import replace

from firebox.estimate.forecast import FireView
from firebox.estimate.plausible import LOOSE
from firebox.records import (
    AlarmState,
    Clock,
    Damper,
    DamperName,
    Door,
    DoorName,
    Health,
    Lit,
    Meat,
    Phase,
    Priority,
    Rake,
    Split,
    Trouble,
)
from tests.unit.warn.pit_scene import START, Scene, forecast_of


@pytest.fixture
def scene() -> Scene:
    """A pit that has been held for an hour, as far as logged by a cook who writes doors down."""
    scene = Scene(every=5.0)
    scene.log_entry(Lit(time=scene.time))
    scene.hold(40, grate=121.0)
    _lid(scene)
    scene.hold(20, grate=121.0)
    scene.out.clear()
    return scene


def _lid(scene: Scene) -> None:
    scene.log_entry(Door(time=scene.time, door=DoorName.COOK, open=True))
    scene.hold(1, grate=(121.0, 105.0))
    scene.log_entry(Door(time=scene.time, door=DoorName.COOK, open=False))
    scene.hold(2, grate=(105.0, 120.0))


# --- flares --------------------------------------------------------------------------------------


def test_burning_grease_is_told_within_two_minutes_with_what_not_to_do(scene: Scene) -> None:
    start = scene.seconds
    scene.hold(1, grate=(121.0, 125.0))
    scene.hold(1.5, grate=(125.0, 138.0))
    seconds, alarm = scene.first("flare")
    assert seconds - start <= 120.0
    assert alarm.priority is Priority.CRITICAL
    assert "No water" in alarm.first
    assert scene.told() == ["flare"]


def test_a_flare_that_crosses_the_limit_is_one_hot_pit(scene: Scene) -> None:
    scene.hold(2, grate=(121.0, 140.0))
    scene.hold(2, grate=(140.0, 160.0))
    assert scene.told() == ["flare", "pit-too-hot"]
    assert scene.told(AlarmState.SUPPRESSED) == ["flare"]


def test_the_rise_of_a_split_is_no_flare_however_long_it_goes_on(scene: Scene) -> None:
    scene.hold(6, grate=(121.0, 139.0))
    assert "flare" not in scene.told()


def test_a_lid_that_nobody_logged_and_the_overshoot_after_it_are_no_flare() -> None:
    scene = Scene(every=5.0)
    scene.hold(60, grate=121.0)
    scene.hold(1.2, grate=(121.0, 100.0))
    scene.hold(2, grate=(100.0, 133.0))
    scene.hold(5, grate=(133.0, 121.0))
    assert scene.told() == []


def test_a_pit_that_leaps_without_harm_has_to_leap_higher_the_next_time(scene: Scene) -> None:
    for top in (131.0, 128.5):
        scene.hold(1.5, grate=(121.0, top))
        scene.hold(5, grate=(top, 121.0))
        scene.hold(20, grate=121.0)
    assert scene.told().count("flare") == 1


# --- doors ---------------------------------------------------------------------------------------


def test_a_door_left_ajar_is_told_before_the_pit_is_cold(scene: Scene) -> None:
    start = scene.seconds
    scene.hold(4, grate=(121.0, 104.0))
    seconds, alarm = scene.first("door-ajar")
    assert seconds - start < 240.0
    assert alarm.first.startswith("Look whether the cook door is shut")
    assert scene.told() == ["door-ajar"]


def test_a_door_that_is_known_to_be_open_is_not_told_as_ajar(scene: Scene) -> None:
    scene.log_entry(Door(time=scene.time, door=DoorName.COOK, open=True))
    scene.hold(3.5, grate=(121.0, 104.0))
    assert scene.told() == []


def test_where_lids_are_opened_without_a_word_a_plunge_has_to_go_on() -> None:
    scene = Scene(every=5.0)
    scene.hold(60, grate=121.0)
    scene.hold(1.7, grate=(121.0, 105.0))
    scene.hold(3, grate=(105.0, 120.0))
    assert scene.told() == []
    scene.hold(20, grate=121.0)
    scene.hold(3, grate=(121.0, 102.0))
    scene.hold(2, grate=(102.0, 98.0))
    assert scene.told() == ["door-ajar"]


def test_a_fire_that_dies_is_no_door(scene: Scene) -> None:
    scene.hold(30, grate=(121.0, 98.0))
    assert "door-ajar" not in scene.told()


# --- wood, air, ash ------------------------------------------------------------------------------


def test_a_split_that_lifts_nothing_is_told_as_stalled(scene: Scene) -> None:
    scene.hold(10, grate=(121.0, 115.0))
    scene.log_entry(Split(time=scene.time, kg=1.5))
    start = scene.seconds
    scene.forecast = forecast_of(113.0, {30: 90.0})
    scene.hold(20, grate=(115.0, 109.0))
    seconds, alarm = scene.first("split-stalled")
    assert 480.0 <= seconds - start <= 720.0
    assert "has not lifted the pit" in alarm.text
    assert scene.told() == ["split-stalled"]


def test_a_split_that_has_lifted_the_pit_is_not_stalled(scene: Scene) -> None:
    scene.hold(10, grate=(121.0, 113.0))
    scene.log_entry(Split(time=scene.time, kg=1.5))
    scene.hold(6, grate=(113.0, 111.0))
    scene.hold(8, grate=(111.0, 116.0))
    scene.hold(12, grate=(116.0, 112.0))
    assert scene.told() == []


def _fed_in_vain(scene: Scene) -> None:
    scene.log_entry(Split(time=scene.time, kg=1.5))
    scene.hold(25, grate=(121.0, 115.0))
    scene.log_entry(Split(time=scene.time, kg=1.5))
    scene.hold(9, grate=(115.0, 113.0))
    scene.forecast = forecast_of(112.0, {15: 108.0, 30: 92.0})
    scene.hold(10, grate=(113.0, 109.0))


def test_a_fire_that_gets_colder_however_often_it_is_fed_has_ash() -> None:
    scene = Scene(every=10.0)
    scene.log_entry(Lit(time=scene.time))
    scene.hold(150, grate=121.0)
    _fed_in_vain(scene)
    assert "ash-choking" in scene.told()
    assert scene.first("ash-choking")[1].first.startswith("Rake the ash")


def test_a_grate_that_was_just_raked_is_not_asked_to_be_raked_again() -> None:
    scene = Scene(every=10.0)
    scene.log_entry(Lit(time=scene.time))
    scene.hold(150, grate=121.0)
    scene.log_entry(Rake(time=scene.time))
    _fed_in_vain(scene)
    assert "ash-choking" not in scene.told()


def test_wood_that_smoulders_for_a_quarter_of_an_hour_is_told(scene: Scene) -> None:
    scene.log_entry(Split(time=scene.time, kg=1.5))
    scene.fire = FireView(phase=Phase.STEADY, smoulder_risk=0.9)
    scene.hold(14, grate=120.0)
    assert scene.told() == []
    scene.hold(3, grate=120.0)
    assert scene.told() == ["smouldering"]
    assert scene.first("smouldering")[1].priority is Priority.LOW


# --- what the pit has taught ---------------------------------------------------------------------


def test_a_rise_that_came_as_near_before_and_settled_is_not_told_again(scene: Scene) -> None:
    for _ in range(3):
        scene.log_entry(Split(time=scene.time, kg=1.0))
        scene.hold(10, grate=121.0)
        scene.hold(6, grate=(121.0, 134.0))
        scene.hold(8, grate=(134.0, 121.0))
        scene.hold(10, grate=121.0)
    assert scene.told() == ["running-away"]


def test_a_fall_that_came_as_near_before_and_turned_is_not_told_again(scene: Scene) -> None:
    for minutes in (22.0, 22.0, 22.0, 9.0):
        scene.forecast = forecast_of(118.0, {15: 118.0 - 22.0 * 15.0 / minutes, 60: 60.0})
        scene.hold(8, grate=118.0)
        scene.forecast = forecast_of(121.0, {60: 121.0})
        scene.log_entry(Split(time=scene.time, kg=1.0))
        scene.hold(45, grate=121.0)
    assert scene.told() == ["fire-dying", "fire-dying"]


def test_the_first_action_of_a_hot_pit_follows_its_course(scene: Scene) -> None:
    scene.hold(4, grate=(121.0, 152.0))
    scene.hold(3, grate=152.0)
    firsts = [alarm.first for _, alarm in scene.out if alarm.alarm == "pit-too-hot"]
    assert firsts[0].startswith("Close the intake by two marks")
    scene.log_entry(Damper(time=scene.time, damper=DamperName.INTAKE, open=0.25))
    scene.hold(5, grate=(152.0, 148.0))
    newest = [alarm.first for _, alarm in scene.out if alarm.alarm == "pit-too-hot"][-1]
    assert newest.startswith("It is coming down already")


# --- meat ----------------------------------------------------------------------------------------


def _meat(celsius: float, **more: Any) -> Meat:
    return Meat(time=START, probe="flat", celsius=celsius, **more)


def test_meat_too_long_where_germs_grow_is_told_with_its_own_words(scene: Scene) -> None:
    scene.meats = (_meat(45.0, safety=("6.2 h between 10 and 54 C",), safety_urgent=True),)
    scene.hold(2, grate=121.0)
    _, alarm = scene.first("meat-unsafe-flat")
    assert (alarm.priority, alarm.probe) == (Priority.HIGH, "flat")
    assert "6.2 h between 10 and 54 C" in alarm.text


def test_finished_meat_that_cools_is_told_as_held_too_cool(scene: Scene) -> None:
    scene.meats = (_meat(92.0),)
    scene.hold(2, grate=121.0)
    scene.meats = (_meat(55.0, safety=("below hot holding since 20 min",), safety_urgent=True),)
    scene.hold(8, grate=121.0)
    assert scene.told() == ["meat-too-cool-flat"]


def test_meat_that_is_likely_done_is_told_softly_until_it_was_felt(scene: Scene) -> None:
    scene.meats = (_meat(93.0, stage="climbing; go and feel", feel="it gives like butter"),)
    scene.hold(3, grate=121.0)
    _, alarm = scene.first("meat-ready-flat")
    assert alarm.priority is Priority.LOW
    assert "it gives like butter" in alarm.first
    scene.meats = (_meat(93.0, stage="gives: pull it when it suits"),)
    scene.hold(12, grate=121.0)
    assert "meat-ready-flat" in scene.told(AlarmState.RETURNED)


# --- the machine ---------------------------------------------------------------------------------


@pytest.mark.parametrize(("what", "alarm"), [("disk", "disk-low"), ("power", "power-low"), ("heat", "overheating")])
def test_what_ails_the_machine_is_told(scene: Scene, what: Literal["disk", "power", "heat"], alarm: str) -> None:
    scene.troubles = (Trouble(time=scene.time, what=what, name="board", on=True, text="it is so"),)
    scene.hold(1.5, grate=121.0)
    assert scene.told() == [alarm]
    assert scene.first(alarm)[1].text == "It is so."


@pytest.mark.parametrize(("by", "words"), [(7200.0, "forward by 2 h"), (-600.0, "back by 10 min")])
def test_a_clock_that_was_set_is_told_for_a_while(scene: Scene, by: float, words: str) -> None:
    scene.clock = Clock(time=scene.time, to=scene.time + timedelta(seconds=by))
    scene.hold(2, grate=121.0)
    assert words in scene.first("clock-jumped")[1].text
    scene.hold(10, grate=121.0)
    assert "clock-jumped" in scene.told(AlarmState.RETURNED)


def test_a_clock_that_was_set_by_seconds_is_no_news(scene: Scene) -> None:
    scene.clock = Clock(time=scene.time, to=scene.time + timedelta(seconds=20))
    scene.hold(2, grate=121.0)
    assert scene.told() == []


# --- probes --------------------------------------------------------------------------------------


def test_a_probe_whose_readings_jump_about_is_told_as_noisy() -> None:
    scene = Scene(names=("grate", "grate2"), every=5.0)
    scene.hold(20, grate=121.0, grate2=124.0)
    judged = replace(scene.tracks["grate2"], health=Health.IMPLAUSIBLE, why=f"jumps about; {LOOSE}")
    for _ in range(15):
        scene.hold(1 / 12, grate=121.0)
        scene.tracks["grate2"] = replace(judged, last_heard=scene.seconds)
        scene.look()
    assert scene.told() == ["probe-noisy-grate2"]
    assert "dry it" in scene.first("probe-noisy-grate2")[1].first


def test_a_probe_whose_wires_are_swapped_is_told_so() -> None:
    scene = Scene(names=("grate", "firebox"), every=5.0)
    scene.hold(10, grate=(20.0, 20.0), firebox=20.0)
    scene.hold(20, grate=(20.0, -40.0), firebox=(20.0, 300.0))
    assert "probe-reversed-grate" in scene.told()
    assert scene.first("probe-reversed-grate")[1].first == "Swap its two wires at the plug."
