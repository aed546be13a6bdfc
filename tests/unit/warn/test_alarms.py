"""What the alarms say of a pit, told in short scenes."""

from datetime import timedelta
from typing import Any

import msgspec
import pytest

from firebox.estimate.forecast import FireView
from firebox.records import (
    Acknowledge,
    Alarm,
    AlarmState,
    Clock,
    Damper,
    DamperName,
    Door,
    DoorName,
    Lit,
    MeatOn,
    Out,
    Phase,
    Priority,
    Resumed,
    Service,
    Shelve,
    Split,
    Status,
    Target,
    Trouble,
)
from firebox.setup import Probe, Role, Setup
from firebox.warn import alarms
from tests.unit.warn.pit_scene import Scene, forecast_of


def test_a_pit_that_is_well_kept_raises_nothing(scene: Scene) -> None:
    for _ in range(4):
        scene.log_entry(Split(time=scene.time, kg=1.3))
        scene.hold(12, grate=(117.0, 125.0))
        scene.hold(30, grate=(125.0, 117.0))
    assert scene.out == []


# --- too hot, too cold ---------------------------------------------------------------------------


def test_a_clear_crossing_is_told_within_two_seconds_of_its_confirmation_and_is_critical(scene: Scene) -> None:
    crossed = scene.seconds
    scene.hold(0.1, grate=160.0)
    seconds, alarm = scene.first("pit-too-hot")
    assert alarm.priority is Priority.CRITICAL
    assert alarm.state is AlarmState.UNACKNOWLEDGED
    assert seconds - crossed <= 2.0


def test_a_slight_crossing_waits_for_fifteen_seconds_and_becomes_critical_when_it_grows(scene: Scene) -> None:
    start = scene.seconds
    scene.hold(1, grate=147.5)
    seconds, alarm = scene.first("pit-too-hot")
    assert 15.0 <= seconds - start <= 20.0
    assert alarm.priority is Priority.HIGH
    scene.hold(1, grate=153.0)
    assert [a.priority for _, a in scene.out if a.alarm == "pit-too-hot"] == [Priority.HIGH, Priority.CRITICAL]


def test_one_wild_reading_is_no_alarm(scene: Scene) -> None:
    scene.hold(1 / 60, grate=250.0)
    scene.hold(2, grate=121.0)
    assert scene.told() == []


def test_a_jump_that_no_flame_could_make_waits_for_the_probe_to_be_judged(scene: Scene) -> None:
    scene.hold(0.1, grate=590.0)
    assert scene.told() == []


def test_a_pit_at_its_limit_does_not_chatter(scene: Scene) -> None:
    scene.hold(1, grate=148.0)
    for _ in range(20):
        scene.hold(0.2, grate=147.0)
        scene.hold(0.2, grate=144.5)
    scene.hold(3, grate=130.0)
    assert [alarm.state for _, alarm in scene.out] == [AlarmState.UNACKNOWLEDGED, AlarmState.RETURNED]


def test_a_pit_that_comes_up_is_not_too_cold_until_it_has_been_up() -> None:
    scene = Scene()
    scene.log_entry(Lit(time=scene.time, kg=2.0))
    scene.hold(40, grate=(15.0, 121.0))
    assert scene.told() == []
    scene.hold(20, grate=121.0)
    scene.hold(60, grate=(121.0, 80.0))
    assert "pit-too-cold" in scene.told()


@pytest.mark.parametrize("entry", [Out, Door])
def test_a_cold_pit_is_no_news_when_the_fire_was_let_out_or_a_door_is_open(scene: Scene, entry: type) -> None:
    scene.log_entry(Out(time=scene.time) if entry is Out else Door(time=scene.time, door=DoorName.COOK, open=True))
    scene.hold(3, grate=(121.0, 70.0))
    scene.hold(5, grate=70.0)
    assert "pit-too-cold" not in scene.told()


def test_an_unlogged_door_gets_its_time_to_close(scene: Scene) -> None:
    scene.hold(1, grate=(121.0, 85.0))
    scene.hold(2, grate=85.0)
    scene.hold(3, grate=(85.0, 118.0))
    scene.hold(10, grate=120.0)
    assert scene.told() == []


def test_a_cold_pit_is_told_though_nothing_was_ever_logged(scene: Scene) -> None:
    scene.hold(90, grate=(121.0, 90.0))
    assert "pit-too-cold" in scene.told()


def test_a_lowered_target_is_no_runaway_while_the_pit_comes_down(scene: Scene) -> None:
    scene.log_entry(Target(time=scene.time, celsius=90.0))
    scene.hold(30, grate=(121.0, 112.0))
    assert scene.told() == []
    scene.hold(4, grate=(112.0, 122.0))
    assert "pit-too-hot" in scene.told()


def test_a_raised_target_gives_the_pit_time_to_climb(scene: Scene) -> None:
    scene.log_entry(Target(time=scene.time, celsius=160.0))
    scene.hold(50, grate=(121.0, 158.0))
    assert scene.told() == []


def test_the_owners_own_limits_count() -> None:
    scene = Scene()
    scene.setup = msgspec.structs.replace(scene.setup, high_celsius=135.0)
    scene.hold(20, grate=121.0)
    scene.hold(1, grate=137.0)
    assert scene.told() == ["pit-too-hot"]


# --- what is coming ------------------------------------------------------------------------------


def test_a_flare_is_told_within_two_minutes_of_its_start(scene: Scene) -> None:
    scene.hold(12, grate=121.0)
    start = scene.seconds
    scene.hold(3.4, grate=(121.0, 145.0))
    seconds, alarm = scene.first("flare")
    assert seconds - start <= 120.0
    assert alarm.priority is Priority.CRITICAL
    assert alarm.minutes_until is not None
    assert 0.0 < alarm.minutes_until < 5.0


def test_the_rise_after_a_split_is_no_flare(scene: Scene) -> None:
    scene.hold(10, grate=(121.0, 115.0))
    scene.log_entry(Split(time=scene.time, kg=1.5))
    scene.hold(4, grate=(115.0, 113.0))
    scene.hold(4, grate=(113.0, 130.0))
    scene.hold(20, grate=(130.0, 121.0))
    assert scene.told() == []


def test_the_rise_after_a_closed_door_is_no_flare(scene: Scene) -> None:
    scene.hold(1, grate=(121.0, 90.0))
    scene.hold(2, grate=(90.0, 131.0))
    scene.hold(20, grate=(131.0, 121.0))
    assert scene.told() == []


def test_a_foretold_runaway_is_told_with_the_time_that_is_left(scene: Scene) -> None:
    scene.hold(12, grate=121.0)
    scene.log_entry(Split(time=scene.time, kg=1.5))
    scene.forecast = forecast_of(131.0, {15: 150.0, 60: 160.0})
    scene.hold(6, grate=(121.0, 136.0))
    _, alarm = scene.first("running-away")
    assert alarm.minutes_until == pytest.approx(11.8, abs=0.5)
    assert scene.told() == ["running-away"]


def test_a_foretold_fall_is_told_as_a_dying_fire(scene: Scene) -> None:
    scene.hold(30, grate=(121.0, 112.0))
    scene.forecast = forecast_of(112.0, {20: 90.0, 60: 70.0})
    scene.hold(6, grate=(112.0, 109.0))
    _, alarm = scene.first("fire-dying")
    assert alarm.priority is Priority.HIGH
    assert alarm.probe == "grate"
    assert alarm.minutes_until == pytest.approx(14.5, abs=1.0)


def test_what_was_just_done_about_a_dying_fire_is_not_asked_for_again(scene: Scene) -> None:
    scene.hold(30, grate=(121.0, 112.0))
    scene.forecast = forecast_of(112.0, {20: 90.0, 60: 70.0})
    scene.hold(6, grate=(112.0, 109.0))
    _, alarm = scene.first("fire-dying")
    assert alarm.first.startswith("Open the intake by a mark and lay one small dry split")
    scene.hold(30, grate=(109.0, 93.0))
    scene.log_entry(Split(time=scene.time, kg=0.8))
    scene.hold(2, grate=(93.0, 92.5))
    assert any("Wood was just laid" in said.first for _, said in scene.out if said.alarm == "pit-too-cold")


def test_an_intake_that_was_just_moved_is_given_time_by_the_alarm_of_heat(scene: Scene) -> None:
    scene.hold(3, grate=(121.0, 150.0))
    _, alarm = scene.first("pit-too-hot")
    assert alarm.first.startswith("Close the intake by two marks")
    scene.log_entry(Damper(time=scene.time, damper=DamperName.INTAKE, open=0.25))
    scene.hold(1, grate=150.0)
    newest = [said for _, said in scene.out if said.alarm == "pit-too-hot"][-1]
    assert newest.first.startswith("The intake was just moved")
    scene.hold(9, grate=150.0)
    newest = [said for _, said in scene.out if said.alarm == "pit-too-hot"][-1]
    assert newest.first.startswith("Close the intake by two marks")


def test_a_fall_with_no_split_logged_is_told_without_any_forecast(scene: Scene) -> None:
    scene.hold(60, grate=(121.0, 98.0))
    assert scene.told() == ["fire-dying"]


def test_the_dip_of_a_fresh_split_is_no_dying_fire(scene: Scene) -> None:
    scene.hold(10, grate=(121.0, 114.0))
    scene.log_entry(Split(time=scene.time, kg=1.3))
    scene.forecast = forecast_of(114.0, {30: 90.0})
    scene.hold(8, grate=(114.0, 108.0))
    assert scene.told() == []


def test_a_dying_phase_alone_does_not_wake_anybody(scene: Scene) -> None:
    scene.fire = FireView(phase=Phase.DYING)
    scene.hold(6, grate=(121.0, 112.0))
    scene.hold(14, grate=112.0)
    assert scene.told() == []


def test_consequences_are_folded_under_the_hard_limit(scene: Scene) -> None:
    scene.forecast = forecast_of(127.0, {15: 150.0})
    scene.hold(4, grate=(121.0, 126.0))
    scene.hold(10, grate=(126.0, 142.0))
    scene.hold(6, grate=(142.0, 154.0))
    live = [alarm.alarm for alarm in alarms.standing(scene.state) if alarm.state is AlarmState.UNACKNOWLEDGED]
    assert live == ["pit-too-hot"]
    assert "rising-fast" in scene.told(AlarmState.SUPPRESSED)


# --- probes --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("status", "word"), [(Status.OPEN, "open"), (Status.SHORTED, "shorted"), (Status.FAILED, "failed")]
)
def test_a_faulty_probe_is_told_within_half_a_minute(status: Status, word: str) -> None:
    scene = Scene(names=("grate", "flat"), every=10.0)
    scene.hold(20, grate=121.0, flat=60.0)
    start = scene.seconds
    scene.hold(2, grate=121.0, flat=status)
    seconds, alarm = scene.first(f"probe-{word}-flat")
    assert seconds - start <= 30.0
    assert alarm.probe == "flat"
    assert scene.told() == [f"probe-{word}-flat"]


def test_a_silent_probe_is_told_after_a_minute() -> None:
    scene = Scene(names=("grate", "flat"))
    scene.hold(20, grate=121.0, flat=60.0)
    start = scene.seconds
    scene.hold(3, grate=121.0, flat=None)
    seconds, _ = scene.first("probe-silent-flat")
    assert 60.0 <= seconds - start <= 62.0


def test_silence_of_all_probes_is_one_alarm() -> None:
    scene = Scene(names=("grate", "grate2", "flat"))
    scene.hold(20, grate=121.0, grate2=124.0, flat=60.0)
    scene.hold(10, grate=None, grate2=None, flat=None)
    assert scene.told() == ["readings-stale"]
    scene.hold(2, grate=121.0, grate2=124.0, flat=60.0)
    assert scene.told(AlarmState.RETURNED) == ["readings-stale"]


def test_the_last_grate_probe_matters_more_than_one_of_two() -> None:
    scene = Scene(names=("grate", "grate2"))
    scene.hold(20, grate=121.0, grate2=124.0)
    scene.hold(1, grate=Status.OPEN, grate2=124.0)
    assert scene.first("probe-open-grate")[1].priority is Priority.MEDIUM
    scene.hold(2, grate=Status.OPEN, grate2=Status.OPEN)
    assert scene.first("probe-open-grate2")[1].priority is Priority.HIGH
    assert "blind" not in scene.told()


def test_blindness_is_told_when_its_cause_was_put_aside(scene: Scene) -> None:
    scene.hold(1, grate=Status.OPEN)
    scene.order(Shelve(time=scene.time, alarm="probe-open-grate", minutes=60.0))
    scene.hold(2, grate=Status.OPEN)
    assert scene.told() == ["probe-open-grate", "blind"]


def test_a_pit_alarm_does_not_return_to_normal_because_the_probe_died(scene: Scene) -> None:
    scene.hold(1, grate=160.0)
    scene.hold(10, grate=Status.OPEN)
    assert "pit-too-hot" not in scene.told(AlarmState.RETURNED, AlarmState.NORMAL)


def test_a_meat_probe_pulled_with_its_meat_is_no_alarm() -> None:
    scene = Scene(names=("grate", "flat"))
    scene.hold(20, grate=121.0, flat=93.0)
    scene.log_entry(MeatOn(time=scene.time, on=False, probe="flat"))
    scene.hold(5, grate=121.0, flat=Status.OPEN)
    assert scene.told() == []


def test_a_configured_probe_that_never_spoke_is_told() -> None:
    setup = Setup(time=Scene().time, probes=(Probe(name="left", role=Role.GRATE),))
    scene = Scene(setup, names=("left",))
    scene.hold(3)
    assert scene.told() == ["readings-stale"]


# --- the watch itself ----------------------------------------------------------------------------


def test_a_gap_triggers_nothing_but_word_of_itself() -> None:
    scene = Scene(names=("grate", "flat"))
    scene.hold(20, grate=121.0, flat=60.0)
    scene.skip(25)
    scene.resumed = Resumed(time=scene.time, gap_seconds=1500.0)
    scene.look()
    scene.hold(5, grate=121.0, flat=61.0)
    assert scene.told() == ["watch-resumed"]
    assert scene.first("watch-resumed")[1].priority is Priority.LOW


def test_a_short_gap_is_not_worth_a_word(scene: Scene) -> None:
    scene.skip(0.5)
    scene.resumed = Resumed(time=scene.time, gap_seconds=30.0)
    scene.hold(5, grate=121.0)
    assert scene.out == []


def test_a_hole_in_a_recording_triggers_nothing() -> None:
    scene = Scene(names=("grate", "flat"))
    scene.hold(20, grate=121.0, flat=60.0)
    scene.skip(40)
    scene.hold(5, grate=121.0, flat=61.0)
    assert scene.out == []


def test_a_clock_that_was_set_is_no_event_for_the_alarms(scene: Scene) -> None:
    scene.log_entry(Clock(time=scene.time, to=scene.time + timedelta(hours=5)))
    scene.hold(5, grate=121.0)
    assert scene.out == []


@pytest.mark.parametrize(
    ("what", "alarm"),
    [
        ("journal", "journal-trouble"),
        ("source", "source-away-node"),
        ("outlet", "link-lost-node"),
        ("notice", "notice-failed-node"),
        ("keeper", "part-trouble-node"),
    ],
)
def test_the_programs_own_troubles_are_told_and_end(scene: Scene, what: Any, alarm: str) -> None:
    scene.troubles = (Trouble(time=scene.time, what=what, name="node", on=True, text="it said so"),)
    scene.hold(2, grate=121.0)
    assert scene.told() == [alarm]
    assert "it said so" in scene.first(alarm)[1].text
    scene.troubles = ()
    scene.hold(2, grate=121.0)
    assert scene.told(AlarmState.RETURNED) == [alarm]


def test_a_source_that_goes_away_takes_its_probes_under_one_alarm() -> None:
    scene = Scene(names=("grate", "flat"))
    scene.hold(20, grate=121.0, flat=60.0)
    scene.troubles = (Trouble(time=scene.time, what="source", name="node", on=True, text="unplugged"),)
    scene.hold(10)
    assert scene.told() == ["source-away-node"]
    assert alarms.standing(scene.state)[0].priority is Priority.HIGH


def test_an_old_trouble_does_not_hide_a_new_silence() -> None:
    scene = Scene(names=("grate", "flat"))
    scene.hold(20, grate=121.0, flat=60.0)
    scene.troubles = (Trouble(time=scene.time, what="source", name="attic", on=True, text="no power"),)
    scene.hold(20, grate=121.0, flat=60.0)
    scene.hold(5)
    assert scene.told() == ["source-away-attic", "readings-stale"]


def test_a_door_left_open_is_told_after_four_minutes_and_ends_when_it_is_closed(scene: Scene) -> None:
    scene.log_entry(Door(time=scene.time, door=DoorName.COOK, open=True))
    opened = scene.seconds
    scene.hold(6, grate=110.0)
    seconds, alarm = scene.first("door-left-open")
    assert 240.0 < seconds - opened <= 245.0
    assert alarm.text == "The cook door has been open for over four minutes."
    scene.log_entry(Door(time=scene.time, door=DoorName.COOK, open=False))
    scene.hold(1, grate=112.0)
    assert scene.told(AlarmState.RETURNED) == ["door-left-open"]


# --- orders of the cook --------------------------------------------------------------------------


@pytest.fixture
def hot(scene: Scene) -> Scene:
    scene.hold(1, grate=160.0)
    return scene


def test_an_acknowledged_alarm_ends_quietly(hot: Scene) -> None:
    hot.order(Acknowledge(time=hot.time, alarm="pit-too-hot"))
    hot.hold(5, grate=121.0)
    assert [alarm.state for _, alarm in hot.out] == [
        AlarmState.UNACKNOWLEDGED,
        AlarmState.ACKNOWLEDGED,
        AlarmState.NORMAL,
    ]
    assert alarms.standing(hot.state) == ()


def test_an_ignored_alarm_asks_again(hot: Scene) -> None:
    hot.order(Acknowledge(time=hot.time, alarm="pit-too-hot"))
    hot.hold(11, grate=160.0)
    assert [alarm.state for _, alarm in hot.out].count(AlarmState.UNACKNOWLEDGED) == 2


def test_an_alarm_on_the_shelf_is_quiet_listed_and_comes_back_by_itself(hot: Scene) -> None:
    hot.order(Shelve(time=hot.time, alarm="pit-too-hot", minutes=10.0))
    assert [alarm.state for alarm in alarms.standing(hot.state)] == [AlarmState.SHELVED]
    hot.hold(9.5, grate=160.0)
    assert len(hot.out) == 2
    hot.hold(1, grate=160.0)
    assert hot.out[-1][1].state is AlarmState.UNACKNOWLEDGED


def test_a_critical_alarm_cannot_be_shelved_for_the_night(hot: Scene) -> None:
    hot.order(Shelve(time=hot.time, alarm="pit-too-hot", minutes=480.0))
    hot.hold(31, grate=160.0)
    assert hot.out[-1][1].state is AlarmState.UNACKNOWLEDGED


def test_a_shelved_alarm_can_be_taken_back(hot: Scene) -> None:
    hot.order(Shelve(time=hot.time, alarm="pit-too-hot", minutes=20.0))
    hot.order(Shelve(time=hot.time, alarm="pit-too-hot", minutes=0.0))
    hot.hold(0.1, grate=160.0)
    assert hot.out[-1][1].state is AlarmState.UNACKNOWLEDGED


def test_an_alarm_out_of_service_says_nothing_until_it_is_back(scene: Scene) -> None:
    scene.order(Service(time=scene.time, alarm="pit-too-hot", out=True))
    scene.hold(5, grate=160.0)
    assert scene.told() == []
    scene.order(Service(time=scene.time, alarm="pit-too-hot", out=False))
    scene.hold(1, grate=160.0)
    assert scene.told() == ["pit-too-hot"]


@pytest.mark.parametrize("alarm", ["tea-cold", "pit-too-hot", "probe-silent-nobody", "probe-silent", "x" * 64])
def test_an_order_about_nothing_changes_nothing(scene: Scene, alarm: str) -> None:
    before = scene.state
    assert scene.order(Acknowledge(time=scene.time, alarm=alarm)) == []
    assert scene.state == before


def test_every_record_says_what_happened_and_what_to_do(hot: Scene) -> None:
    hot.order(Shelve(time=hot.time, alarm="pit-too-hot", minutes=1.0))
    hot.hold(3, grate=160.0)
    hot.order(Service(time=hot.time, alarm="pit-too-hot", out=True))
    hot.order(Service(time=hot.time, alarm="pit-too-hot", out=False))
    hot.hold(10, grate=121.0)
    records: list[Alarm] = [alarm for _, alarm in hot.out]
    assert {alarm.state for alarm in records} >= {AlarmState.SHELVED, AlarmState.OUT_OF_SERVICE}
    for alarm in records:
        assert alarm.text.endswith((".", "!"))
        assert alarm.first.endswith(".")


def test_the_state_survives_being_written_down(hot: Scene) -> None:
    frozen = msgspec.msgpack.encode(hot.state)
    assert msgspec.msgpack.decode(frozen, type=alarms.WarnState) == hot.state


def test_a_damper_entry_is_no_business_of_the_alarms(scene: Scene) -> None:
    scene.log_entry(Damper(time=scene.time, damper=DamperName.INTAKE, open=0.5))
    scene.hold(2, grate=121.0)
    assert scene.out == []
