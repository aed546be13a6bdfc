"""Every record goes through state and journal once, in order; a restart goes on where the watch was."""

from contextlib import closing
from datetime import datetime, timedelta
from typing import Any

import pytest

from drivers.fakes import tally
from firebox.journal import history
from firebox.journal.reader import JournalLink
from firebox.journal.schema import open_reading
from firebox.ports import Kind
from firebox.records import (
    Alarm,
    Clock,
    Entry,
    Lit,
    Move,
    Note,
    Out,
    Rake,
    Reading,
    Record,
    Resumed,
    Split,
    Status,
    Target,
    Tick,
    Trouble,
)
from firebox.setup import Setup

from .conftest import REDUCER, START, Station


def inputs(station: Station, cook: int | None = None) -> list[Record]:
    station.journal.commit()
    with closing(open_reading(station.path)) as connection:
        chosen = history.pick(connection, cook)
        return [record for _, record in history.records(connection, chosen.first_seq, chosen.end_seq)]


def replayed(station: Station) -> bytes:
    records = inputs(station)
    assert isinstance(records[0], Setup)
    state = tally.begin(records[0])
    for record in records:
        state = tally.step(state, record).state
    return tally.freeze(state)


def hear(station: Station, seconds: int, celsius: float = 120.0) -> None:
    for _ in range(seconds):
        station.machine.pass_seconds(1.0)
        station.book.hear(Reading(time=station.clock.now(), probe="grate", celsius=celsius))
        station.book.flush()


def note(station: Station) -> None:
    station.journal.describe_keeper(f'{{"pit":"p","kind":"live","rate":1.0,"boot":"{station.machine.boot}"}}')


def test_a_cook_begins_with_its_setup(station: Station) -> None:
    station.keep()
    (setup,) = inputs(station)
    assert isinstance(setup, Setup)
    assert station.book.state.count == 1


def test_state_is_what_a_replay_of_the_journal_gives(station: Station) -> None:
    station.keep()
    hear(station, 100)
    station.book.hear(Split(time=station.clock.now(), kg=1.2))
    station.book.tick()
    station.machine.wall += timedelta(hours=5)
    station.book.set_clock()
    hear(station, 10, 250.0)
    assert REDUCER.freeze(station.book.state) == replayed(station)


def test_times_that_are_out_of_order_or_ahead_are_made_to_fit(station: Station) -> None:
    station.keep()
    station.machine.pass_seconds(10)
    now = station.clock.now()
    for time in (now - timedelta(seconds=2), now - timedelta(hours=3), now + timedelta(hours=1), now):
        station.book.hear(Reading(time=time, probe="grate", celsius=100.0))
    times = [record.time for record in inputs(station)[1:]]
    assert times == [now - timedelta(seconds=2), now - timedelta(seconds=2), now, now]


@pytest.mark.parametrize(
    ("celsius", "status", "kept"),
    [
        (float("nan"), Status.GOOD, (None, Status.FAILED)),
        (float("inf"), Status.GOOD, (None, Status.FAILED)),
        (None, Status.GOOD, (None, Status.FAILED)),
        (-300.0, Status.GOOD, (None, Status.FAILED)),
        (4000.0, Status.GOOD, (None, Status.FAILED)),
        (400.0, Status.OPEN, (None, Status.OPEN)),
        (121, Status.GOOD, (121.0, Status.GOOD)),
    ],
)
def test_a_reading_that_cannot_be_kept_as_it_is_becomes_one_that_can(
    station: Station, celsius: Any, status: Status, kept: Any
) -> None:
    station.keep()
    station.book.hear(Reading(time=START, probe="grate", celsius=celsius, status=status))
    reading = inputs(station)[-1]
    assert isinstance(reading, Reading)
    assert (reading.celsius, reading.status) == kept
    assert REDUCER.freeze(station.book.state) == replayed(station)


def test_every_entry_gets_a_name_by_which_it_can_be_undone(station: Station) -> None:
    station.keep()
    for _ in range(3):
        station.book.hear(Rake(time=station.clock.now()))
    station.book.hear(Rake(time=station.clock.now(), id="mine"))
    ids = [record.id for record in inputs(station) if isinstance(record, Entry)]
    assert len(set(ids)) == 4
    assert ids[-1] == "mine"


@pytest.mark.parametrize(
    "entry",
    [
        Clock(time=START, to=START + timedelta(days=1)),
        Resumed(time=START, gap_seconds=5.0),
        Trouble(time=START, what="keeper", name="x", on=True, text="not so"),
    ],
)
def test_what_only_the_keeper_may_enter_is_refused_from_outside(station: Station, entry: Any) -> None:
    station.keep()
    station.book.hear(entry)
    assert len(inputs(station)) == 1


@pytest.mark.parametrize(
    "record",
    [
        Reading(time=START, probe="", celsius=20.0),
        Reading(time=START, probe="x" * 65, celsius=20.0),
        Split(time=START, kg=-1.0),
        Note(time=START, text="x" * 3000),
    ],
)
def test_what_could_not_be_read_back_is_refused(
    station: Station, record: Any, caplog: pytest.LogCaptureFixture
) -> None:
    station.keep()
    station.book.hear(record)
    assert len(inputs(station)) == 1
    assert "from outside was refused" in caplog.text


def test_whole_numbers_in_entries_and_setup_come_back_as_they_were_taken(station: Station) -> None:
    station.keep(setup=Setup(time=START, target_celsius=121, high_celsius=150))
    station.book.hear(Split(time=START, kg=2))
    station.book.hear(Target(time=START, celsius=110))
    assert REDUCER.freeze(station.book.state) == replayed(station)


def test_nothing_is_told_before_it_is_on_disk(station: Station) -> None:
    station.keep()
    station.book.flush()
    station.book.hear(Reading(time=START, probe="grate", celsius=120.0))
    assert station.book.flush() == []
    alarming = Reading(time=START, probe="grate", celsius=250.0)
    station.book.hear(alarming)
    told = station.book.flush()
    assert not station.journal.waiting
    assert [type(record).__name__ for record in told] == ["Reading", "Reading", "Alarm"]


def test_when_the_disk_refuses_the_outside_is_told_all_the_same(station: Station) -> None:
    station.keep()
    station.book.flush()
    station.journal.problem = "disk is full"
    station.journal._tries_again = float("inf")
    station.book.hear(Reading(time=START, probe="grate", celsius=250.0))
    assert len(station.book.flush()) == 2


# --- resume ------------------------------------------------------------------------------------


def test_after_a_kill_the_watch_goes_on_and_says_how_long_nobody_watched(station: Station) -> None:
    station.keep()
    hear(station, 100)
    station.journal.commit()
    before = station.book.state
    station.drop()
    station.machine.pass_seconds(90)
    station.keep()
    resumed = inputs(station)[-1]
    assert isinstance(resumed, Resumed)
    assert resumed.gap_seconds == pytest.approx(90)
    assert station.book.state == tally.step(before, resumed).state
    assert REDUCER.freeze(station.book.state) == replayed(station)


def test_after_a_kill_the_outside_is_told_again_how_things_stand(station: Station) -> None:
    station.keep()
    hear(station, 5, 250.0)
    station.book.tick()
    station.book.flush()
    station.journal.commit()
    station.drop()
    station.keep()
    told = station.book.flush()
    assert [type(record) for record in told if isinstance(record, Alarm | Move)] == [Alarm, Move]
    (alarm,) = (record for record in told if isinstance(record, Alarm))
    assert alarm.time == START + timedelta(seconds=5)


def test_a_snapshot_is_left_every_ten_minutes_so_that_little_is_replayed(station: Station) -> None:
    station.keep()
    hear(station, 1500)
    station.drop()
    station.keep()
    with closing(open_reading(station.path)) as connection:
        taken = [row[0] for row in connection.execute("SELECT seq FROM snapshots ORDER BY id")]
        newest = history.last(connection)
    assert newest is not None
    assert len(taken) == 2
    assert taken[1] - taken[0] == pytest.approx(600, abs=5)
    assert newest[0] - taken[1] < 605
    assert REDUCER.freeze(station.book.state) == replayed(station)


def test_damage_that_shows_only_when_the_cook_is_resumed_is_mended_then(
    station: Station, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("firebox.journal.salvage.CHECKED_BYTES", 0)
    station.keep()
    for second in range(2000):
        station.book.hear(Reading(time=START + timedelta(seconds=second), probe="grate", celsius=120.0))
    station.machine.pass_seconds(2000)
    station.journal.close()
    with station.path.open("r+b") as file:
        file.seek(station.path.stat().st_size * 3 // 4)
        file.write(b"\xa5" * 4096)
    station.keep()
    records = inputs(station)
    assert isinstance(records[0], Setup)
    assert isinstance(records[-1], Resumed)
    assert sum(isinstance(record, Reading) for record in records) > 1500
    assert "is kept as" in str(station.journal.damage)
    assert REDUCER.freeze(station.book.state) == replayed(station)


def test_a_changed_setup_is_told_on_resume_and_an_unchanged_one_is_not(station: Station) -> None:
    station.keep()
    station.journal.commit()
    station.drop()
    station.machine.pass_seconds(5)
    station.keep()
    station.journal.commit()
    assert sum(isinstance(record, Setup) for record in inputs(station)) == 1
    station.drop()
    station.machine.pass_seconds(5)
    station.keep(setup=Setup(time=START, target_celsius=107.0))
    assert sum(isinstance(record, Setup) for record in inputs(station)) == 2


def test_a_demo_begins_anew(station: Station) -> None:
    station.keep(kind=Kind.DEMO, rate=60.0)
    hear(station, 10)
    station.journal.commit()
    station.drop()
    station.keep(kind=Kind.DEMO, rate=60.0)
    assert len(inputs(station)) == 1
    assert inputs(station)[0].time > inputs(station, 1)[-1].time


def test_a_cook_whose_fire_was_let_out_is_over_when_the_keeper_is_stopped(station: Station) -> None:
    station.keep()
    station.book.hear(Out(time=START))
    station.book.finish()
    station.machine.pass_seconds(60)
    station.keep()
    assert len(inputs(station)) == 1
    station.book.finish()
    station.machine.pass_seconds(60)
    station.keep()
    assert len(inputs(station)) == 2


def test_a_fire_lit_long_after_the_last_was_let_out_is_a_new_cook(station: Station) -> None:
    station.keep()
    station.book.hear(Out(time=START))
    station.book.report("source", "node", "gone")
    station.machine.pass_seconds(9 * 3600)
    station.book.hear(Lit(time=station.clock.now()))
    kinds = [type(record) for record in inputs(station)]
    assert kinds == [Setup, Trouble, Lit]
    assert REDUCER.freeze(station.book.state) == replayed(station)


def test_a_fire_lit_a_day_after_the_last_entry_is_a_new_cook_though_nobody_let_the_old_one_out(
    station: Station,
) -> None:
    station.keep()
    station.book.hear(Lit(time=START))
    station.machine.pass_seconds(20 * 3600)
    station.book.hear(Split(time=station.clock.now()))
    assert [type(record) for record in inputs(station)] == [Setup, Lit, Split]
    station.machine.pass_seconds(24 * 3600)
    station.book.hear(Lit(time=station.clock.now()))
    assert [type(record) for record in inputs(station)] == [Setup, Lit]


def test_a_clock_that_is_set_makes_no_fire_older(station: Station) -> None:
    station.keep()
    station.book.hear(Out(time=START))
    station.machine.wall += timedelta(days=900)
    station.book.set_clock()
    station.machine.pass_seconds(60)
    station.book.hear(Lit(time=station.clock.now()))
    assert [type(record) for record in inputs(station)] == [Setup, Out, Clock, Lit]


def test_troubles_are_told_once_and_survive_a_restart(station: Station) -> None:
    station.keep()
    for _ in range(3):
        station.book.report("source", "node", "gone")
    station.journal.commit()
    station.drop()
    station.machine.pass_seconds(5)
    station.keep()
    station.book.report("source", "node", "still gone")
    assert station.book.standing("source") == {"node"}
    station.book.report("source", "node", None)
    station.book.report("source", "node", None)
    troubles = [(record.name, record.on) for record in inputs(station) if isinstance(record, Trouble)]
    assert troubles == [("node", True), ("node", False)]


# --- the inbox -----------------------------------------------------------------------------------


def test_entries_of_a_dashboard_are_taken_at_the_keepers_time(station: Station) -> None:
    station.keep()
    station.journal.commit()
    link = JournalLink(station.path)
    link.leave(Split(time=START - timedelta(seconds=1), kg=1.4))
    station.machine.pass_seconds(1)
    station.book.take_inbox()
    split = inputs(station)[-1]
    assert isinstance(split, Split)
    assert (split.kg, split.at) == (1.4, None)


def test_an_entry_that_was_left_while_nobody_kept_the_pit_happened_when_it_was_left(station: Station) -> None:
    station.keep()
    station.journal.commit()
    station.drop()
    link = JournalLink(station.path)
    link.leave(Split(time=START + timedelta(minutes=1), kg=1.4))
    station.machine.pass_seconds(1200)
    station.keep()
    station.book.take_inbox()
    split = inputs(station)[-1]
    assert isinstance(split, Split)
    assert split.at == START + timedelta(minutes=1)
    assert split.time == station.clock.now()


# --- the clock -----------------------------------------------------------------------------------


@pytest.mark.parametrize("hours", [-9000, -1, 1, 9000])
def test_a_clock_that_is_set_is_a_record_and_order_does_not_break(station: Station, hours: int) -> None:
    station.keep()
    hear(station, 10)
    late = Reading(time=station.clock.now(), probe="grate", celsius=120.0)
    old = station.clock.now()
    station.machine.wall += timedelta(hours=hours)
    station.book.set_clock()
    station.book.hear(late)
    hear(station, 5)
    records = inputs(station)
    (place,) = [place for place, record in enumerate(records) if isinstance(record, Clock)]
    clock = records[place]
    assert isinstance(clock, Clock)
    assert (clock.time, clock.to) == (old, old + timedelta(hours=hours))
    after = [record.time for record in records[place + 1 :]]
    assert after[0] == clock.to
    assert after == sorted(after)
    assert after[-1] == clock.to + timedelta(seconds=5)


def test_a_machine_that_boots_in_the_past_goes_on_just_after_the_journal(station: Station) -> None:
    station.keep()
    hear(station, 10)
    station.journal.commit()
    station.drop()
    station.machine.reboot(START - timedelta(days=30))
    station.keep()
    hear(station, 3)
    records = inputs(station)
    assert isinstance(records[11], Resumed)
    assert records[11].gap_seconds == pytest.approx(0, abs=0.01)
    assert [record.time for record in records] == sorted(record.time for record in records)


def reboot_and_set(station: Station, boots_at: datetime, after: timedelta) -> list[Record]:
    """Lose power, boot with a clock at `boots_at`, and have it set to `after` since the kill some seconds later."""
    station.keep()
    note(station)
    hear(station, 10)
    station.journal.commit()
    station.drop()
    station.machine.reboot(boots_at)
    station.keep()
    hear(station, 20)
    station.machine.wall = START + timedelta(seconds=10) + after
    station.book.set_clock()
    hear(station, 2)
    return inputs(station)


@pytest.mark.parametrize("boots", [timedelta(minutes=-50), timedelta(seconds=12)])
def test_a_clock_set_after_a_reboot_shows_how_long_the_power_was_off(station: Station, boots: timedelta) -> None:
    records = reboot_and_set(station, START + boots, timedelta(minutes=10))
    assert not any(isinstance(record, Clock) for record in records)
    gaps = [record.gap_seconds for record in records if isinstance(record, Resumed)]
    assert len(gaps) == 2
    assert sum(gaps) == pytest.approx(580, abs=2)
    assert records[-1].time == START + timedelta(seconds=10, minutes=10) + timedelta(seconds=2)


def test_a_clock_set_after_a_reboot_by_days_shows_that_the_cook_was_over(station: Station) -> None:
    records = reboot_and_set(station, START + timedelta(seconds=12), timedelta(days=3))
    assert [type(record) for record in records] == [Setup, Reading, Reading]
    assert len(inputs(station, 1)) == 1 + 10 + 1 + 20


def test_a_clock_that_was_never_set_before_tells_nothing_of_a_gap(station: Station) -> None:
    station.machine.wall = datetime.fromisoformat("1970-01-01T00:00:30+00:00")
    station.keep()
    note(station)
    hear(station, 10)
    station.journal.commit()
    station.drop()
    station.machine.reboot(datetime.fromisoformat("1970-01-01T00:00:20+00:00"))
    station.keep()
    hear(station, 5)
    station.machine.wall = START
    station.book.set_clock()
    assert isinstance(inputs(station)[-1], Clock)


def test_without_a_reboot_a_clock_that_is_set_is_just_set(station: Station) -> None:
    station.keep()
    note(station)
    hear(station, 10)
    station.journal.commit()
    station.drop()
    station.machine.pass_seconds(30)
    station.keep()
    station.machine.wall += timedelta(hours=1)
    station.book.set_clock()
    assert isinstance(inputs(station)[-1], Clock)


def test_a_tick_is_answered_as_of_now(station: Station) -> None:
    station.keep()
    station.machine.pass_seconds(7)
    station.book.tick()
    assert inputs(station)[-1] == Tick(time=station.clock.now())
