"""After a restart the state is what it would have been, to the bit."""

import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from drivers.fakes import tally
from firebox.journal.doings import CURRENT
from firebox.journal.fingerprint import fingerprint
from firebox.journal.resume import Resumption, newest_instant, resume
from firebox.ports import Kind
from firebox.records import Clock, Lit, Out, Reading, Trouble, Undo
from firebox.setup import Setup

from .conftest import START, Writer, cook


def later(**time: float) -> datetime:
    return START + timedelta(hours=1, **time)


def resumed(writer: Writer, now: datetime | None = None) -> Resumption[tally.Tally]:
    found = resume(writer.path, writer.reducer, now or later())
    assert found is not None
    assert tally.freeze(found.state) == tally.freeze(writer.state)
    return found


def write(writer: Writer, sql: str, *values: object) -> None:
    with closing(sqlite3.connect(writer.path)) as connection:
        connection.execute(sql, values)
        connection.commit()


def test_without_a_snapshot_the_whole_cook_is_replayed(writer: Writer) -> None:
    writer.begin()
    writer.take(*cook(1300))
    writer.journal.commit()
    assert resumed(writer).replayed == 1 + 1300 * 4 + 260 + 2


def test_with_a_snapshot_only_what_came_after_it_is_replayed(writer: Writer) -> None:
    writer.begin()
    writer.take(*cook(1200))
    writer.snapshot()
    writer.take(*cook(100, first=1200))
    writer.journal.commit()
    found = resumed(writer)
    assert found.replayed == 100 * 4 + 20
    assert found.last == START + timedelta(seconds=1300)


def test_a_snapshot_of_another_version_is_passed_over(writer: Writer) -> None:
    writer.begin()
    writer.take(*cook(100))
    writer.journal.snapshot("another version", b"of another shape")
    writer.take(*cook(10, first=100))
    writer.journal.commit()
    assert resumed(writer).replayed > 400


@pytest.mark.parametrize("frozen", [b"", b"\xc1\xc1", b"\x92\xa3abc\x01"])
def test_a_snapshot_that_does_not_decode_is_passed_over(writer: Writer, frozen: bytes) -> None:
    writer.begin()
    writer.take(*cook(100))
    writer.journal.snapshot(tally.VERSION, frozen)
    assert resumed(writer).replayed > 400


def test_a_damaged_snapshot_is_passed_over_for_the_one_before(writer: Writer) -> None:
    writer.begin()
    for minute in range(2):
        writer.take(*cook(60, first=60 * minute))
        writer.snapshot()
    write(writer, "UPDATE snapshots SET state = zeroblob(length(state)) WHERE id = (SELECT max(id) FROM snapshots)")
    assert resumed(writer).replayed == 240 + 12


def test_a_resumed_watch_and_one_that_was_never_killed_go_on_alike(writer: Writer) -> None:
    writer.begin()
    writer.take(*cook(700))
    writer.snapshot()
    writer.take(*cook(50, first=700))
    writer.journal.commit()
    found = resumed(writer)
    state = found.state
    for record in cook(500, first=750):
        state = tally.step(state, record).state
    writer.take(*cook(500, first=750))
    assert tally.freeze(state) == tally.freeze(writer.state)


def test_a_cook_is_current_for_eight_hours_after_its_last_record(writer: Writer) -> None:
    writer.begin()
    writer.take(*cook(10))
    writer.journal.commit()
    end = START + timedelta(seconds=10)
    assert resume(writer.path, writer.reducer, end + CURRENT - timedelta(seconds=1)) is not None
    assert resume(writer.path, writer.reducer, end + CURRENT) is None


def test_a_cook_that_has_ended_is_not_resumed(writer: Writer) -> None:
    writer.begin()
    writer.take(*cook(10))
    writer.journal.end_cook(START + timedelta(seconds=10))
    writer.journal.commit()
    assert resume(writer.path, writer.reducer, later()) is None


def test_a_demo_is_not_resumed_as_a_live_watch(writer: Writer) -> None:
    writer.journal.begin_cook(writer.setup, Kind.DEMO)
    writer.journal.commit()
    assert resume(writer.path, writer.reducer, later()) is None


def test_the_newest_of_two_cooks_is_resumed_with_its_own_records_only(writer: Writer) -> None:
    writer.begin()
    writer.take(*cook(100))
    writer.snapshot()
    writer.setup = Setup(time=START + timedelta(minutes=2), pit="north")
    writer.state = tally.begin(writer.setup)
    writer.begin()
    writer.take(*cook(20, first=120))
    writer.journal.commit()
    found = resumed(writer)
    assert (found.cook.id, found.setup.pit, found.replayed) == (2, "north", 1 + 80 + 4)


def test_a_changed_setup_is_the_one_that_counts(writer: Writer) -> None:
    writer.begin()
    changed = Setup(time=START + timedelta(seconds=5), target_celsius=107.0)
    writer.take(changed)
    writer.journal.commit()
    assert resumed(writer).setup == changed


def test_after_the_clock_was_set_the_journal_stands_where_it_was_set_to(writer: Writer) -> None:
    writer.begin()
    to = START + timedelta(hours=3)
    writer.take(Clock(time=START + timedelta(seconds=5), to=to))
    writer.journal.commit()
    assert newest_instant(writer.path) == to
    assert resumed(writer, to).last == to


def test_troubles_that_are_on_are_known_after_a_restart(writer: Writer) -> None:
    writer.begin()
    time = START + timedelta(seconds=1)
    gone = Trouble(time=time, what="source", name="node", on=True, text="gone")
    writer.take(gone, Trouble(time=time, what="outlet", name="mqtt", on=True, text="gone"))
    writer.take(Trouble(time=time, what="outlet", name="mqtt", on=False, text="back"))
    writer.journal.commit()
    assert resumed(writer).troubles == (gone,)


def test_a_fire_that_was_let_out_is_known_to_be_out_unless_that_was_undone_or_it_was_lit_again(
    writer: Writer,
) -> None:
    writer.begin()
    out = Out(time=START + timedelta(seconds=1), id="x")
    writer.take(out)
    writer.journal.commit()
    assert resumed(writer).doings.out == out.time
    writer.take(Undo(time=out.time, of="x"))
    writer.journal.commit()
    assert resumed(writer).doings.out is None
    writer.take(out, Lit(time=out.time))
    writer.journal.commit()
    assert resumed(writer).doings.out is None


def test_a_record_that_the_reducer_cannot_take_is_passed_over_in_the_same_way_live_and_in_a_replay(
    writer: Writer, caplog: pytest.LogCaptureFixture
) -> None:
    def step(state: tally.Tally, record: object) -> tally.Counted:
        if isinstance(record, Reading) and record.celsius == 1234.5:
            raise ZeroDivisionError("a defect")
        return tally.step(state, record)  # type: ignore[arg-type]

    fragile = replace(writer.reducer, step=step)
    writer.begin()
    bad = Reading(time=START + timedelta(seconds=1), probe="grate", celsius=1234.5)
    state, out, failure = fragile.advance(writer.state, bad)
    assert (state, out, failure) == (writer.state, (), "ZeroDivisionError: a defect")
    writer.journal.take(bad)
    writer.take(*cook(10, first=1))
    writer.journal.commit()
    found = resume(writer.path, fragile, later())
    assert found is not None
    assert found.state == writer.state
    assert "a record could not be taken" in caplog.text


def test_an_empty_journal_has_nothing_to_resume(writer: Writer) -> None:
    assert resume(writer.path, writer.reducer, later()) is None
    assert newest_instant(writer.path) is None
    assert resume(writer.path.with_name("none.db"), writer.reducer, later()) is None


def test_the_fingerprint_of_the_core_is_stable() -> None:
    assert fingerprint() == fingerprint()
    assert len(fingerprint()) == 24
