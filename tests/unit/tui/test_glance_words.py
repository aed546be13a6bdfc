"""The sentences of one look: the next move, the alarms, the state of the watch, what keys enter."""

from datetime import UTC, datetime, timedelta
from itertools import count

import pytest
from msgspec.structs import replace

from firebox.ports import KeeperStatus, Kind, SourceHealth
from firebox.records import (
    Acknowledge,
    Alarm,
    AlarmState,
    Burning,
    Damper,
    DamperName,
    Door,
    Expected,
    Fire,
    Health,
    Lit,
    Meat,
    Move,
    NextSplit,
    Outlook,
    Phase,
    Priority,
    ProbeHealth,
    Reading,
    Split,
    Stage,
    Tick,
    Undo,
)
from firebox.setup import Probe, Role, Setup, Wood
from firebox.units import Degrees
from tui import acts, outgoing
from tui.acts import ACTS, alarm_to_shelve, undo
from tui.advice import LABEL, advice, big_countdown, lay_out
from tui.alarm_words import alarm_head, alarms_in_brief, ring_every, strip, until
from tui.glance import Condition, Glance, condition, condition_words, kind_words, pit_aim, pit_number, pit_trend
from tui.lines import (
    doors_open,
    fire_in_brief,
    heat_in_brief,
    log_row,
    meat_lines,
    probe_row,
    probes_in_brief,
    source_row,
    state_line,
    table,
)
from tui.outgoing import Outgoing, Sent
from tui.preferences import Preferences
from tui.scene import charts, marks, scene
from tui.view import ViewState, fold

START = datetime(2026, 5, 2, 2, 0, tzinfo=UTC)
SETUP = Setup(
    time=START,
    target_celsius=121.1,
    band=8.3,
    probes=(Probe(name="grate", role=Role.GRATE), Probe(name="flat", role=Role.MEAT, point_celsius=77.0)),
    wood=Wood(small_kg=0.9, medium_kg=1.4, large_kg=2.0),
    intake_open=0.5,
)


def at(seconds):
    return START + timedelta(seconds=seconds)


def move(seconds=0.0, **more):
    told = {"split": None, "intake": None, "stack": None, "hold": False, "expected": None, "reason": "It burns well."}
    return Move(time=at(seconds), **(told | more))


def outlook(minutes=(5, 30, 60)):
    n = len(minutes)
    return Outlook(
        time=START, probe="grate", celsius=121.1, drift_per_hour=-4.4, minutes=minutes, p10=(110.0,) * n, p50=(115.6,) * n,
        p90=(120.0,) * n, assumes="nothing more is done",
    )  # fmt: skip


WELL = (
    SETUP,
    Reading(time=START, probe="grate", celsius=121.1),
    ProbeHealth(time=START, probe="grate", health=Health.GOOD, role="grate", text="good"),
)


def glance(*records, seconds=None, **more):
    view = ViewState()
    for record in (*WELL, *records):
        view = fold(view, record)
    told = {"preferences": Preferences(), "zone": UTC}
    return Glance(view=view, seconds=view.seconds if seconds is None else seconds, **(told | more))


# --- the next move -------------------------------------------------------------------------------


def test_a_split_to_come_is_told_by_size_clock_and_countdown():
    words = advice(glance(move(split=NextSplit(in_minutes=12.0, kg=1.3))))
    assert words.do == "ONE MEDIUM SPLIT, 1.3 kg"
    assert words.when == "at 02:12, in 12 min – leave it until then"
    assert not words.is_now


@pytest.mark.parametrize(
    ("told", "asks"),
    [
        ({"where": "cooler"}, True),
        ({"where": "grate"}, False),
        ({"where": "oven", "unsafe": "raw"}, False),
        ({}, False),
    ],
    ids=["rests", "on the grate", "raw", "nobody knows where"],
)
def test_wood_for_a_fire_that_no_meat_needs_asks_first_whether_it_may_die(told, asks):
    meat = Meat(time=START, probe="flat", celsius=80.0, **told)
    seen = glance(meat, move(split=NextSplit(in_minutes=12.0, kg=1.3)))
    assert advice(seen).why.startswith("All the meat is off: x lets the fire die") is asks


def test_the_countdown_runs_between_two_moves():
    words = advice(glance(move(split=NextSplit(in_minutes=12.0, kg=1.3)), seconds=100.0))
    assert "in 10 min" in words.when


@pytest.mark.parametrize(("minutes", "when"), [(0.5, "NOW"), (0.0, "NOW"), (-6.0, "6 MIN OVERDUE")])
def test_a_split_that_is_due_is_to_be_done_now(minutes, when):
    words = advice(glance(move(split=NextSplit(in_minutes=minutes, kg=1.4))))
    assert words.is_now
    assert (words.do, words.when) == ("ONE MEDIUM SPLIT, 1.4 kg", when)
    assert big_countdown(glance(move(split=NextSplit(in_minutes=minutes, kg=1.4)))) == ("NOW", "")


def test_leaving_it_alone_is_a_move_of_its_own():
    words = advice(glance(move(hold=True)))
    assert (words.do, words.is_now) == ("LEAVE IT ALONE", False)


def test_what_is_neither_wood_nor_air_is_to_be_seen_to_and_never_left_alone():
    words = advice(glance(move(hold=False, reason="No probe at the grate can be trusted.")))
    assert (words.do, words.when, words.is_now) == ("SEE TO THE PIT", "NOW", True)


def test_a_fire_that_wants_lighting_says_so_with_its_key():
    words = advice(glance(move(hold=False, light=True, reason="No fire is burning yet: light it and log it as lit.")))
    assert (words.do, words.when, words.is_now) == ("LIGHT THE FIRE (l)", "NOW", True)


def test_hold_keeps_the_hands_off_even_when_a_split_is_near():
    words = advice(glance(move(hold=True, intake=1.0, split=NextSplit(in_minutes=0.2, kg=1.4))))
    assert not words.is_now
    assert words.when == "at 02:00, now", "and does not say to leave it until a moment that has come"


def test_a_damper_move_is_told_by_its_mark_and_only_where_it_changes_something():
    assert advice(glance(move(intake=0.75))).do == "INTAKE TO 6 OF 8"
    assert advice(glance(move(intake=0.5))).do == "LEAVE IT ALONE"
    both = advice(glance(move(intake=0.75, stack=1.0, split=NextSplit(in_minutes=20.0, kg=2.0))))
    assert both.do == "INTAKE TO 6 OF 8 and STACK TO FULLY OPEN"
    assert both.when == "NOW   then one large split, 2.0 kg at 02:20, in 20 min"


def test_advice_that_is_missing_or_too_old_is_none():
    assert advice(glance()).do == "NO ADVICE"
    assert advice(glance(move(), Tick(time=at(600.0)))).do == "NO ADVICE"


SPLIT_DUE = {"split": NextSplit(in_minutes=12.0, kg=1.4), "expected": Expected(minutes=30, celsius=122.2)}


def test_expectations_compare_doing_it_with_leaving_it_at_the_same_time():
    words = advice(glance(outlook(), move(**SPLIT_DUE)))
    assert words.expect == "252F at 02:30 if done, 240F if not (230–248)"


def test_expectations_at_different_times_name_both():
    words = advice(glance(outlook((5, 20)), move(**SPLIT_DUE)))
    assert words.expect == "252F at 02:30 if done, 240F at 02:20 if not (230–248)"


def test_where_nothing_is_to_be_done_there_is_only_one_expectation():
    words = advice(glance(outlook(), move(hold=True, expected=Expected(minutes=30, celsius=115.6))))
    assert words.expect == "240F at 02:30 if left alone (230–248)"
    assert advice(glance(move(hold=True, expected=Expected(minutes=30, celsius=115.6)))).expect == "240F at 02:30"


@pytest.mark.parametrize("width", [20, 46, 90])
@pytest.mark.parametrize("height", [4, 5, 7])
def test_the_move_fits_its_panel(width, height):
    words = advice(glance(outlook(), move(reason="because " * 60, split=NextSplit(in_minutes=12.0, kg=1.3))))
    lines = lay_out(words, width, height)
    assert lines[0][1].startswith("at 02:12"[: width - LABEL])
    assert all(len(line) <= width - LABEL for _, line in lines)
    assert width < 46 or len(lines) <= height - 1


def test_two_large_splits_at_once_are_called_two():
    words = advice(glance(outlook(), move(reason="Sleep.", split=NextSplit(in_minutes=12.0, kg=4.0))))
    assert words.do == "TWO LARGE SPLITS, 4.0 kg IN ALL"


def test_the_move_says_what_the_fire_gives_and_the_pit_needs_where_the_reason_leaves_a_line():
    fire = Fire(time=START, phase=Phase.STEADY, heat_watts=14230.0, need_watts=12000.0)
    words = advice(glance(outlook(), fire, move(reason="Wait.", split=NextSplit(in_minutes=12.0, kg=1.3))))
    assert lay_out(words, 60, 8)[-1] == ("heat".ljust(LABEL), "the fire gives 14 kW, the pit needs 12")
    assert all(label.strip() != "heat" for label, _ in lay_out(words, 60, 4))
    unknown = advice(glance(outlook(), Fire(time=START, phase=Phase.STEADY), move()))
    assert unknown.heat == ""


# --- the pit and the watch -----------------------------------------------------------------------


def test_the_pit_is_told_in_number_trend_and_aim():
    here = glance(outlook())
    assert (pit_number(here), pit_trend(here)) == ("250", "▼ falling 8 an hour")
    assert pit_aim(here) == "aim 250F ±15, inside"
    cold = replace(here, preferences=Preferences(degrees=Degrees.C))
    assert pit_aim(cold) == "aim 121C ±8, inside"


def test_outside_the_band_it_says_how_far():
    hot = Reading(time=at(1.0), probe="grate", celsius=135.0)
    assert pit_aim(glance(hot)).endswith("25 over")


def test_the_worst_condition_wins():
    alive = KeeperStatus(alive=True, pit="p", kind=Kind.LIVE, rate=1.0)
    dead = replace(alive, alive=False)
    assert condition(glance(silent_for=11.9)) is Condition.WELL
    assert condition(glance(silent_for=12.1)) is Condition.STALE
    assert condition(glance(silent_for=12.1, status=dead)) is Condition.UNWATCHED
    assert condition(glance(link_problem="locked")) is Condition.STALE
    sick = ProbeHealth(time=START, probe="grate", health=Health.SHORTED, role="grate", text="")
    assert condition(glance(sick)) is Condition.BLIND
    assert "grate: shorted" in condition_words(glance(sick)).body


def test_a_watch_that_has_only_begun_is_not_called_blind():
    view = fold(ViewState(), SETUP)
    here = Glance(view=view, seconds=0.0, preferences=Preferences())
    assert condition(here) is Condition.STARTING
    later = replace(here, view=fold(view, Tick(time=at(120.0))), seconds=120.0)
    assert condition(later) is Condition.BLIND
    assert (
        condition(Glance(view=ViewState(), seconds=0.0, preferences=Preferences(), silent_for=60.0))
        is Condition.STALE
    )


@pytest.mark.parametrize(
    ("kind", "rate", "words"),
    [
        (Kind.LIVE, 1.0, ""),
        (Kind.DEMO, 20.0, "DEMO FIRE - NOT A REAL PIT x20"),
        (Kind.REPLAY, 1.0, "REPLAY - THIS IS THE PAST"),
    ],
)
def test_the_kind_of_fire_is_told_with_its_speed(kind, rate, words):
    assert kind_words(glance(status=KeeperStatus(alive=True, pit="p", kind=kind, rate=rate))) == words


# --- lines ---------------------------------------------------------------------------------------


def test_a_meat_probe_is_told_with_its_stage_and_the_point_to_feel_it():
    good = ProbeHealth(time=START, probe="flat", health=Health.GOOD, role="meat", text="good")
    meat = Meat(time=START, probe="flat", celsius=73.0, drift_per_hour=1.1, stage="on the plateau")
    assert meat_lines(glance(good, meat)) == ("flat 163F · rising 2 an hour · on the plateau · feel it at 171F",)


def test_a_meat_probe_that_is_out_has_no_temperature():
    out = ProbeHealth(time=START, probe="flat", health=Health.OPEN, role="meat", text="")
    assert meat_lines(glance(out, Meat(time=START, probe="flat", celsius=None))) == ("flat open circuit",)


def test_an_open_door_is_told_with_how_long():
    opened = Door(time=at(0.0), id="d", open=True)
    assert doors_open(glance(opened, Tick(time=at(180.0)))) == ("COOK DOOR OPEN 3 min",)
    assert doors_open(glance(opened, Door(time=at(60.0), id="e", open=False))) == ()


def test_the_fire_is_told_as_far_as_known():
    assert fire_in_brief(glance()) == ""
    assert fire_in_brief(glance(Fire(time=START, phase=Phase.UNKNOWN))) == "fire not known"
    dirty = Fire(time=START, phase=Phase.FALLING, wood_left_kg=0.5, coal_kg=1.0, smoulder_risk=0.6)
    assert fire_in_brief(glance(dirty)) == "fire burning down, DIRTY SMOKE LIKELY, wood 0.5 kg, coals 1.0 kg"


def test_the_line_at_the_foot_leaves_out_what_it_has_no_room_for_and_dirty_smoke_last():
    here = glance(Fire(time=START, phase=Phase.FALLING, wood_left_kg=0.5, coal_kg=1.0, smoulder_risk=0.6))
    full = state_line(here, 200)
    assert full.endswith("fire burning down, DIRTY SMOKE LIKELY, wood 0.5 kg, coals 1.0 kg")
    assert state_line(here, len(full) - 1).endswith("LIKELY, wood 0.5 kg")
    assert state_line(here, len(full) - 15).endswith("LIKELY")
    assert len(state_line(here, 20)) == 20


def test_heat_is_told_against_what_is_needed():
    assert heat_in_brief(glance()) == ""
    assert heat_in_brief(glance(Fire(time=START, phase=Phase.STEADY, heat_watts=9100.0))) == "gives 9.1 kW"
    needing = Fire(time=START, phase=Phase.STEADY, heat_watts=14_230.0, need_watts=12_000.0)
    assert heat_in_brief(glance(needing)) == "gives 14 kW, needs 12"


def test_a_split_in_the_ribbon_bears_the_number_of_the_entry_it_came_from():
    wood = (Lit(time=START, id="l"), Split(time=at(1500.0), id="a", kg=1.4), Split(time=at(4000.0), id="b", kg=1.4))
    burned = tuple(Burning(minutes=minutes, kg=1.4, stage=Stage.COALS, watts=10.0) for minutes in (70.0, 45.0, 3.3))
    fire = Fire(time=at(4200.0), phase=Phase.STEADY, heat_watts=5000.0, splits=burned)
    (heat,) = scene(glance(*wood, fire)).heat
    assert [bar.number for bar in heat.bars] == [1, 2, 3]


def test_probes_are_counted_and_the_bad_ones_named():
    assert probes_in_brief(glance().view) == "probes 1 good, flat not heard yet"
    assert probes_in_brief(ViewState()) == "no probes yet"


def test_a_probe_that_is_not_good_shows_a_word_for_a_temperature():
    here = glance()
    assert probe_row(here, here.view.probes["grate"])[2] == "250F"
    assert probe_row(here, here.view.probes["flat"])[2:4] == ("not heard yet", "never")


def test_a_source_that_is_gone_says_so_in_capitals():
    status = KeeperStatus(alive=True, pit="p", kind=Kind.LIVE, rate=1.0, sources={"node": SourceHealth(bad_lines=2)})
    assert source_row("node", status)[1:4] == ("NOT CONNECTED", "0 lines", "2 bad")


def test_a_table_lines_up_and_is_cut_at_the_edge():
    assert table([("a", "bb"), ("ccc", "d")], 80) == "a    bb\nccc  d"
    assert table([("abc", "defgh")], 7) == "abc  .."
    assert table([], 10) == ""


def test_the_log_tells_when_it_happened_and_that_it_was_entered_later():
    here = glance(Tick(time=at(600.0)), Split(time=at(600.0), id="a", at=at(0.0), kg=1.4))
    assert log_row(here, here.view.lines[0]) == "02:00  medium split, 1.4 kg (entered 10 min later)"
    gone = glance(Split(time=at(0.0), id="a", kg=1.4), Undo(time=at(1.0), id="u", of="a"))
    assert log_row(gone, gone.view.lines[0]).endswith("TAKEN BACK")


# --- alarms --------------------------------------------------------------------------------------


def alarm(name="fire-dying", state=AlarmState.UNACKNOWLEDGED, priority=Priority.HIGH, minutes=18.0):
    return Alarm(
        time=START,
        alarm=name,
        state=state,
        priority=priority,
        text=f"{name}.",
        first="Go and look.",
        minutes_until=minutes,
    )


def test_alarms_in_brief_count_and_the_strip_names_the_first():
    assert alarms_in_brief(glance().view) == "no alarms"
    assert strip(glance().view) == ""
    assert alarms_in_brief(glance(alarm()).view) == "1 alarm (high, unacknowledged)"
    two = glance(alarm("b", priority=Priority.LOW), alarm(), alarm("c", AlarmState.SUPPRESSED)).view
    assert alarms_in_brief(two) == "2 alarms (high, unacknowledged), 1 set aside"
    assert strip(two) == "HIGH ALARM, unacknowledged (and 1 more): fire-dying. First: Go and look."


def test_the_time_left_counts_down():
    told = glance(alarm()).view.alarms["fire-dying"]
    assert until(told, 0.0) == "18 min left"
    assert until(told, 17.6 * 60.0) == "time is up"
    assert until(glance(alarm(minutes=None)).view.alarms["fire-dying"], 0.0) == ""
    assert alarm_head(told, 3) == "HIGH ALARM, 1 of 3"


def test_the_most_urgent_alarm_sets_the_bell():
    assert ring_every(glance().view) is None
    assert ring_every(glance(alarm(priority=Priority.LOW)).view) == 30.0
    assert ring_every(glance(alarm("b", priority=Priority.LOW), alarm("c", priority=Priority.CRITICAL)).view) == 2.0
    assert ring_every(glance(alarm(state=AlarmState.ACKNOWLEDGED)).view) is None


# --- what keys enter -----------------------------------------------------------------------------


def stage(*records, chosen=None, sent=None):
    numbers = count(1)
    here = glance(*records, outgoing=sent or Outgoing())
    return acts.Stage(glance=here, time=at(here.seconds), fresh_id=lambda: f"fresh-{next(numbers)}", chosen=chosen)


@pytest.mark.parametrize("name", ACTS)
def test_every_act_enters_something_or_says_why_not(name):
    entered = ACTS[name](stage())
    assert isinstance(entered, str) or all(entry.id and words for entry, words in entered)


def test_an_entry_without_a_name_cannot_be_taken_back():
    assert undo(stage(Split(time=START, kg=1.4))) == "There is nothing to take back."


def test_an_alarm_line_in_the_log_cannot_be_taken_back():
    assert "Only what was done" in undo(stage(Acknowledge(time=START, id="k", alarm="a"), chosen="k"))


def test_an_undo_underway_is_not_sent_twice():
    split = Split(time=START, id="a", kg=1.4)
    sent = outgoing.leave(Outgoing(), Undo(time=START, id="u", of="a"), "")
    assert undo(stage(split, sent=sent)) == "There is nothing to take back."


def test_shelving_is_meant_for_the_chosen_alarm_else_the_first():
    here = stage(alarm("b", priority=Priority.LOW), alarm("c", AlarmState.SHELVED))
    assert alarm_to_shelve(here) == ("b", False)
    assert alarm_to_shelve(replace(here, chosen="c")) == ("c", True)
    assert alarm_to_shelve(stage()) is None


def test_an_entry_goes_from_going_to_taken_to_logged():
    split = Split(time=START, id="a", kg=1.4)
    sent = outgoing.leave(Outgoing(), split, "a split")
    assert sent.progress == Sent.GOING
    sent = outgoing.deliver(sent, split, "")
    assert sent.progress == Sent.TAKEN
    sent = outgoing.echo(sent, glance(split).view)
    assert (sent.progress, sent.pending) == ("logged", ())


def test_a_refused_entry_is_forgotten_by_the_next_one_and_counts_for_nothing():
    door = Door(time=START, id="d", open=True)
    sent = outgoing.deliver(outgoing.leave(Outgoing(), door, ""), door, "disk full")
    assert sent.refused.problem == "disk full"
    assert not outgoing.is_door_open(glance().view, sent, door.door)
    assert outgoing.say(sent, "x").refused is None


# --- the picture ---------------------------------------------------------------------------------


def test_marks_are_the_keys_that_log_them_and_doors_are_marked_when_opened():
    here = glance(
        Split(time=at(0.0), id="a", kg=1.4),
        Damper(time=at(1.0), id="b", damper=DamperName.STACK, open=1.0),
        Door(time=at(2.0), id="c", open=True),
        Door(time=at(3.0), id="d", open=False),
    )
    assert [word for _, word in marks(here)] == ["s1.4", "t", "o"]


def test_another_probe_is_drawn_without_band_and_forecast():
    here = glance(outlook())
    assert charts(here) == (None, "flat")
    assert scene(here).target is not None
    assert len(scene(here).fan) == 4
    other = scene(replace(here, charted="flat"))
    assert (other.title, other.target, other.fan) == ("flat", None, ())
