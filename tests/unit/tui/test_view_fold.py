"""Folding records into what the dashboard shows."""

from datetime import UTC, datetime, timedelta

import pytest

from firebox.records import (
    Acknowledge,
    Alarm,
    AlarmState,
    Clock,
    Damper,
    DamperName,
    Fire,
    Health,
    Meat,
    Note,
    Outlook,
    Phase,
    Priority,
    ProbeHealth,
    Reading,
    Resumed,
    Serving,
    Split,
    Status,
    Target,
    Tick,
    Timetable,
    Trouble,
    Undo,
)
from firebox.setup import Probe, Role, Setup
from tui import view as views
from tui.view import ViewState, fold

START = datetime(2026, 5, 2, 4, 0, tzinfo=UTC)


def at(seconds):
    return START + timedelta(seconds=seconds)


def folded(*records):
    view = ViewState()
    for record in records:
        view = fold(view, record)
    return view


def reading(seconds, celsius, probe="grate", status=Status.GOOD):
    return Reading(time=at(seconds), probe=probe, celsius=celsius, status=status)


def judged(seconds, health, probe="grate", role="grate"):
    return ProbeHealth(time=at(seconds), probe=probe, health=health, role=role, text=f"{probe} is {health}")


def outlook(seconds, celsius=121.0, probe="grate", assumes="nothing more is done"):
    return Outlook(
        time=at(seconds), probe=probe, celsius=celsius, drift_per_hour=-4.0, minutes=(5, 60),
        p10=(118.0, 100.0), p50=(120.0, 110.0), p90=(122.0, 120.0), assumes=assumes,
    )  # fmt: skip


def alarm(seconds, name="fire-dying", state=AlarmState.UNACKNOWLEDGED, priority=Priority.HIGH):
    return Alarm(
        time=at(seconds), alarm=name, state=state, priority=priority, text=f"{name} it is", first="Go and look."
    )


def test_nothing_is_known_before_the_first_record():
    view = ViewState()
    assert views.pit_celsius(view) is None
    assert views.target(view) is None
    assert views.lead(view) is None
    assert views.ringing(view) == ()


def test_a_probe_is_trusted_only_once_it_is_judged_good():
    view = folded(reading(0, 121.0))
    assert views.pit_celsius(view) is None
    view = fold(view, judged(1, Health.GOOD))
    assert views.pit_celsius(view) == 121.0
    view = fold(view, judged(2, Health.STUCK))
    assert views.pit_celsius(view) is None


def test_the_pit_is_the_outlooks_estimate_while_it_is_fresh():
    view = folded(reading(0, 118.0), judged(0, Health.GOOD), outlook(1, celsius=120.5))
    assert views.pit_celsius(view) == 120.5
    view = fold(view, reading(1 + views.OLD_ANSWER_SECONDS + 1, 117.0))
    assert views.pit_celsius(view) == 117.0


def test_the_next_trusted_grate_probe_stands_in_for_a_dead_one():
    view = folded(
        reading(0, 118.0), judged(0, Health.GOOD), reading(0, 116.0, "grate2"), judged(0, Health.GOOD, "grate2"), outlook(1)
    )  # fmt: skip
    view = fold(view, judged(2, Health.OPEN))
    assert views.lead(view).name == "grate2"
    assert views.pit_celsius(view) == 116.0


def test_a_meat_probe_never_stands_for_the_pit():
    view = folded(reading(0, 60.0, "flat"), judged(0, Health.GOOD, "flat", "meat"))
    assert views.pit_celsius(view) is None


def test_a_bad_reading_leaves_no_temperature():
    view = folded(reading(0, 118.0), judged(0, Health.GOOD), reading(1, None, status=Status.OPEN))
    assert view.probes["grate"].celsius is None
    assert view.probes["grate"].heard == 1.0
    assert view.probes["grate"].trail == ((0.0, 118.0),)


def test_a_late_reading_does_not_undo_a_newer_one():
    view = folded(reading(0, 110.0), reading(60, 120.0), reading(30, 115.0))
    assert view.probes["grate"].celsius == 120.0
    assert view.seconds == 60.0
    assert [seconds for seconds, _ in view.probes["grate"].trail] == [0.0, 60.0]


def test_the_trail_is_thinned_and_bounded():
    view = folded(*(reading(second, 100.0 + second) for second in range(100)))
    seconds = [point[0] for point in view.probes["grate"].trail]
    assert seconds == [0.0, 20.0, 40.0, 60.0, 80.0]
    view = folded(*(reading(20.0 * count, 100.0) for count in range(views.TRAIL_POINTS + 50)))
    assert len(view.probes["grate"].trail) <= views.TRAIL_POINTS + 1


def test_setting_the_clock_moves_the_reckoning_and_no_point():
    before = folded(Tick(time=at(0)), reading(60, 110.0), Split(time=at(90), id="a", kg=1.4))
    after = fold(before, Clock(time=at(100), to=at(100) + timedelta(hours=2)))
    assert after.probes == before.probes
    assert views.instant(after, 60.0) == at(60) + timedelta(hours=2)
    later = fold(after, Reading(time=at(120) + timedelta(hours=2), probe="grate", celsius=111.0))
    assert later.seconds == 120.0


def test_entries_are_placed_when_they_happened():
    view = folded(Tick(time=at(0)), Tick(time=at(600)), Split(time=at(600), id="a", at=at(300), kg=1.4))
    (line,) = view.lines
    assert (line.seconds, line.entered) == (300.0, 600.0)
    assert view.cook.splits()[0][0] == 300.0


def test_an_undone_entry_is_marked_and_an_undone_undo_brings_it_back():
    split = Split(time=at(10), id="a", kg=1.4)
    view = folded(Tick(time=at(0)), split, Undo(time=at(20), id="u", of="a"))
    assert views.is_undone(view, split)
    assert view.cook.splits() == ()
    assert views.undoable(view) == ()
    assert views.undo_of(view, "a") == "u"
    view = fold(view, Undo(time=at(30), id="v", of="u"))
    assert not views.is_undone(view, split)
    assert len(view.cook.splits()) == 1
    assert views.undo_of(view, "a") is None
    view = fold(view, Undo(time=at(40), id="w", of="a"))
    assert views.undo_of(view, "a") == "w"


def test_a_note_can_be_taken_back_and_an_acknowledgement_cannot():
    note, seen = Note(time=at(1), id="n", text="windy"), Acknowledge(time=at(2), id="k", alarm="fire-dying")
    view = folded(Tick(time=at(0)), note, seen)
    assert [line.entry.id for line in views.undoable(view)] == ["n"]


def test_the_target_follows_the_cook():
    setup = Setup(time=at(0), target_celsius=121.0, band=8.0)
    view = folded(setup)
    assert views.target(view) == (121.0, 8.0)
    assert views.target(fold(view, Target(time=at(5), id="t", celsius=135.0))) == (135.0, 8.0)


def test_configured_probes_are_there_before_they_are_heard():
    view = folded(
        Setup(time=at(0), probes=(Probe(name="point", role=Role.MEAT), Probe(name="left", role=Role.GRATE)))
    )
    assert view.probes["point"].health is Health.WAITING
    assert view.probes["left"].role is Role.GRATE


def test_a_role_told_later_reaches_probes_already_heard():
    view = folded(reading(0, 120.0, "left"))
    assert view.probes["left"].role is Role.MEAT
    view = fold(view, Setup(time=at(1), probes=(Probe(name="left", role=Role.GRATE),)))
    assert view.probes["left"].role is Role.GRATE
    assert view.probes["left"].trail == ((0.0, 120.0),)


def test_outlooks_are_told_apart_by_what_they_assume():
    view = folded(outlook(0), outlook(0, celsius=130.0, assumes="the recommended move is made"))
    assert view.outlook.celsius == 121.0
    assert views.fresh_promise(view).celsius == 130.0


def test_a_promise_ends_with_the_recommendation():
    view = folded(outlook(0), outlook(0, assumes="the recommended move is made"), outlook(1))
    assert views.fresh_promise(view) is None
    assert views.fresh_outlook(view) is not None


def test_no_forecast_is_shown_for_a_probe_that_is_trusted_no_more():
    view = folded(reading(0, 120.0), judged(0, Health.GOOD), outlook(0), judged(1, Health.OPEN))
    assert views.fresh_outlook(view) is None


def test_an_outlook_of_a_meat_probe_is_not_the_pits():
    assert folded(outlook(0, probe="flat")).outlook is None


def test_alarms_are_ordered_by_what_still_has_to_be_seen_then_by_urgency():
    view = folded(
        alarm(0, "a", AlarmState.ACKNOWLEDGED, Priority.CRITICAL),
        alarm(1, "b", priority=Priority.LOW),
        alarm(2, "c", priority=Priority.CRITICAL),
        alarm(3, "d", AlarmState.SHELVED),
    )
    assert [told.alarm.alarm for told in views.standing(view)] == ["c", "b", "a"]
    assert [told.alarm.alarm for told in views.ringing(view)] == ["c", "b"]
    assert [told.alarm.alarm for told in views.set_aside(view)] == ["d"]


def test_a_normal_alarm_stands_no_more_but_is_remembered():
    view = folded(alarm(0), alarm(5, state=AlarmState.NORMAL))
    assert view.alarms == {}
    assert [told.alarm.state for told in view.earlier_alarms] == [AlarmState.UNACKNOWLEDGED, AlarmState.NORMAL]


def test_a_resumed_keeper_leaves_a_gap():
    view = folded(Tick(time=at(0)), Resumed(time=at(1000), gap_seconds=400.0))
    assert view.gaps == ((600.0, 1000.0),)


def test_troubles_come_and_go():
    trouble = Trouble(time=at(0), what="source", name="node", on=True, text="unplugged")
    view = folded(trouble)
    assert len(view.troubles) == 1
    over = Trouble(time=at(9), what="source", name="node", on=False, text="")
    assert fold(view, over).troubles == {}


def test_the_fires_heat_is_kept_a_point_a_minute():
    fires = [Fire(time=at(second), phase=Phase.STEADY, heat_watts=5000.0 + second) for second in range(0, 200, 10)]
    view = folded(*fires)
    assert [seconds for seconds, _ in view.heat] == [0.0, 60.0, 120.0, 180.0]
    assert view.heat[1][1] == fires[6]
    assert folded(Fire(time=at(0), phase=Phase.UNKNOWN)).heat == ()


def test_a_cook_of_days_keeps_a_day_of_fire():
    view = folded(*(Fire(time=at(60 * n), phase=Phase.STEADY, heat_watts=1.0) for n in range(views.HEAT_POINTS + 9)))
    assert len(view.heat) == views.HEAT_POINTS
    assert view.heat[-1][0] == 60.0 * (views.HEAT_POINTS + 8)


def test_meats_are_kept_by_probe():
    view = folded(Meat(time=at(0), probe="flat", celsius=60.0), Meat(time=at(1), probe="flat", celsius=61.0))
    assert view.meats["flat"].celsius == 61.0


def test_dampers_are_known_from_the_log():
    view = folded(Setup(time=at(0), intake_open=0.5), Damper(time=at(9), id="d", damper=DamperName.INTAKE, open=0.25))
    assert view.cook.damper_open(DamperName.INTAKE, 10.0, view.setup) == 0.25


@pytest.mark.parametrize("year", [1, 9999])
def test_no_time_is_too_far_to_be_told(year):
    far = datetime(year, 1, 1, 12, tzinfo=UTC)
    view = folded(Tick(time=far), Clock(time=at(0), to=far), Tick(time=far))
    assert views.instant(view, 1e15).astimezone().year <= 9999
    assert views.instant(view, -1e15).astimezone().year >= 1


def planned(seconds, serve):
    return Timetable(
        time=at(seconds), serve=at(serve), probability=0.8, minutes_late=0.0, verdict="on time", wood_kg=1.0, splits=1, split_kg=1.0,
        minutes_between=40.0, fire_hours=1.0,
    )  # fmt: skip


def test_the_newest_plan_stands_until_its_hour_is_taken_back_or_long_past():
    told = Serving(time=at(0), id="serving", serve=at(36_000))
    view = folded(told, planned(10, 36_000), planned(20, 36_000))
    assert views.standing_plan(view).time == at(20)
    assert views.standing_plan(fold(view, Undo(time=at(30), of="serving"))) is None
    assert views.standing_plan(fold(view, Tick(time=at(36_000 + 7 * 3600)))) is None


def test_from_afar_a_plan_stands_without_the_entry_it_was_made_for():
    assert views.standing_plan(folded(planned(10, 36_000))) is not None
