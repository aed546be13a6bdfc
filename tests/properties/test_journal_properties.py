"""Whatever is put into a journal comes back as it was, in its order, however it was cut into commits."""

import tempfile
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

from hypothesis import example, given, settings
from hypothesis import strategies as st

from drivers.fakes import tally
from firebox.journal import export, history
from firebox.journal.reader import JournalLink
from firebox.journal.resume import Reducer, resume
from firebox.journal.rows import instant, micros
from firebox.journal.salvage import DamagedError
from firebox.journal.schema import open_reading
from firebox.journal.writer import Journal
from firebox.ports import Kind
from firebox.records import (
    Clock,
    Damper,
    DamperName,
    MeatOn,
    Note,
    Reading,
    Record,
    Shelve,
    Split,
    Status,
    Tick,
    Undo,
    decode,
)
from firebox.setup import Probe, Role, Setup

times = st.datetimes(datetime(1970, 1, 1), datetime(2199, 12, 31), timezones=st.just(UTC))
names = st.text(min_size=1, max_size=64).filter(lambda text: text.isprintable())
celsius = st.floats(-273.15, 3000).map(lambda value: value + 0.0)
kg = st.none() | st.floats(0, 100)

records = st.one_of(
    st.builds(Reading, time=times, probe=names, celsius=celsius),
    st.builds(Reading, time=times, probe=names, status=st.sampled_from([Status.OPEN, Status.SHORTED, Status.FAILED])),
    st.builds(Tick, time=times),
    st.builds(Split, time=times, id=st.none() | names, at=st.none() | times, kg=kg, species=st.none() | names),
    st.builds(Damper, time=times, damper=st.sampled_from(DamperName), open=st.floats(0, 1)),
    st.builds(Note, time=times, text=st.text(max_size=200)),
    st.builds(MeatOn, time=times, probe=st.none() | names, on=st.booleans()),
    st.builds(Shelve, time=times, alarm=names, minutes=st.floats(0, 480)),
    st.builds(Undo, time=times, of=names),
    st.builds(Clock, time=times, to=times),
)
setups = st.builds(
    Setup,
    time=times,
    pit=names,
    probes=st.lists(st.builds(Probe, name=names, role=st.sampled_from(Role)), max_size=3).map(tuple),
)
REDUCER = Reducer(begin=tally.begin, step=tally.step, freeze=tally.freeze, thaw=tally.thaw, version=tally.VERSION)


@given(times)
def test_an_instant_is_kept_to_the_microsecond(time: datetime) -> None:
    assert instant(micros(time)) == time


@settings(max_examples=60, deadline=None)
@given(setup=setups, given_records=st.lists(records, max_size=30), cuts=st.sets(st.integers(0, 30)))
def test_a_journal_gives_back_what_it_was_given(setup: Setup, given_records: list[Record], cuts: set[int]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "pit.db")
        journal = Journal(path)
        journal.begin_cook(setup, Kind.LIVE)
        state = tally.step(tally.begin(setup), setup).state
        for place, record in enumerate(given_records):
            journal.take(record)
            step = tally.step(state, record)
            state = step.state
            journal.tell(step.out)
            if place in cuts:
                assert journal.commit()
            if place in cuts and place % 3 == 0:
                assert journal.snapshot(tally.VERSION, tally.freeze(state))
        journal.close()
        with closing(open_reading(path)) as connection:
            there = [record for _, record in history.records(connection, 0)]
            newest = history.last(connection)
        assert there == [setup, *given_records]
        assert [decode(line) for line in export.json_lines(path)] == there
        assert newest is not None
        found = resume(path, REDUCER, newest[1] + timedelta(hours=1))
        assert found is not None
        assert tally.freeze(found.state) == tally.freeze(state)


@settings(max_examples=30, deadline=None)
@given(given_records=st.lists(records, min_size=1, max_size=40), looks=st.sets(st.integers(0, 40)))
def test_a_dashboard_that_looks_now_and_then_misses_nothing(given_records: list[Record], looks: set[int]) -> None:
    setup = Setup(time=datetime(2026, 5, 2, tzinfo=UTC))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "pit.db")
        journal, link = Journal(path), JournalLink(path)
        journal.begin_cook(setup, Kind.LIVE)
        journal.commit()
        seen = list(link.news())
        for place, record in enumerate(given_records):
            journal.take(record)
            if place in looks:
                journal.commit()
                seen += link.news()
        journal.close()
        seen += link.news()
        link.close()
        assert seen == [setup, *given_records]


@settings(max_examples=40, deadline=None)
@example(place=0.75, filling=b"\x04", times=1)
@example(place=0.01651501037333714, filling=b"\x80", times=1)
@example(place=0.000236, filling=b"\x00" * 10 + b"\x05\x00", times=2)  # a schema format of the future
@given(place=st.floats(0, 1), filling=st.binary(min_size=1, max_size=64), times=st.integers(1, 400))
def test_no_damage_keeps_a_journal_from_being_opened_and_written(place: float, filling: bytes, times: int) -> None:
    start = datetime(2026, 5, 2, tzinfo=UTC)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "pit.db")
        journal = Journal(path)
        journal.begin_cook(Setup(time=start), Kind.LIVE)
        for second in range(1500):
            journal.take(Reading(time=start + timedelta(seconds=second), probe="grate", celsius=100.0 + second / 10))
            if second % 100 == 0:
                journal.take(Note(time=start + timedelta(seconds=second), text="x" * 50))
        journal.close()
        with path.open("r+b") as file:
            file.seek(int(place * path.stat().st_size))
            file.write(filling * times)
        damaged = path.read_bytes()

        journal = Journal(path)
        try:
            resume(path, REDUCER, start + timedelta(hours=1))
        except DamagedError:  # damage that shows only when rows are read; the keeper goes on in the same way
            journal.renew()
            resume(path, REDUCER, start + timedelta(hours=1))
        journal.begin_cook(Setup(time=start + timedelta(hours=1)), Kind.LIVE)
        assert journal.commit()
        journal.close()

        kept = [name for name in Path(folder).iterdir() if ".corrupt-" in name.name]
        assert [name.read_bytes() for name in kept] == [damaged] * len(kept)
        assert len(list(export.json_lines(path))) == 1
