"""Whatever happens to a keeper and its clocks, its state is that of a replay, and its journal can be streamed."""

import io
import tempfile
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from drivers.fakes import tally
from firebox import stream
from firebox.journal import export
from firebox.journal.resume import Reducer, newest_instant
from firebox.journal.writer import Journal
from firebox.keeper.clock import SteadyClock
from firebox.keeper.watchbook import Watchbook
from firebox.records import Clock, Lit, Note, Out, Reading, Record, Split, Status, decode, encode
from firebox.setup import Setup

START = datetime(2026, 5, 2, 4, 0, tzinfo=UTC)
REDUCER = Reducer(begin=tally.begin, step=tally.step, freeze=tally.freeze, thaw=tally.thaw, version=tally.VERSION)

seconds = st.one_of(st.floats(0, 10), st.sampled_from([0.25, 1.0, 700.0, 40_000.0]))
offsets = st.one_of(st.floats(-5, 5), st.sampled_from([-1e6, -3600.0, 3600.0, 1e6]))
events = st.one_of(
    st.tuples(st.just("pass"), seconds),
    st.tuples(st.just("reading"), st.tuples(offsets, st.floats(-300, 3100) | st.integers(0, 250))),
    st.tuples(st.just("entry"), st.tuples(offsets, st.sampled_from([Lit, Split, Out, Note]))),
    st.tuples(st.just("tick"), st.none()),
    st.tuples(st.just("set clock"), offsets),
    st.tuples(st.just("trouble"), st.none() | st.just("gone")),
    st.tuples(st.just("flush"), st.none()),
    st.tuples(st.just("kill"), st.none()),
    st.tuples(st.just("reboot"), offsets),
    st.tuples(st.just("stop"), st.none()),
)


class Pit:
    """A machine and the keeper on it."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.wall, self.steady, self.boot = START, 100.0, 1
        self.keep()

    def keep(self) -> None:
        self.journal = Journal(self.path, lambda: self.steady)
        self.clock = SteadyClock(
            not_before=newest_instant(self.path), wall=lambda: self.wall, steady=lambda: self.steady
        )
        setup = Setup(time=self.clock.now(), target_celsius=121)
        self.book = Watchbook(self.journal, REDUCER, self.clock, setup, boot=str(self.boot))
        self.book.start()
        self.journal.describe_keeper(f'{{"pit":"p","kind":"live","rate":1.0,"boot":"{self.boot}"}}')

    def happen(self, event: str, what: Any) -> None:
        match event:
            case "pass":
                self.steady += what
                self.wall += timedelta(seconds=what)
            case "reading":
                offset, celsius = what
                time = self.clock.now() + timedelta(seconds=offset)
                status = Status.GOOD if celsius < 3050 else Status.OPEN
                self.book.hear(Reading(time=time, probe="grate", celsius=celsius, status=status))
            case "entry":
                offset, kind = what
                time = self.clock.now() + timedelta(seconds=offset)
                self.book.hear(Note(time=time, text="x") if kind is Note else kind(time=time))
            case "tick":
                self.book.tick()
            case "set clock":
                self.wall += timedelta(seconds=what)
                self.book.set_clock()
            case "trouble":
                self.book.report("source", "node", what)
            case "flush":
                self.book.flush()
            case "kill" | "reboot":
                self.journal._rows.clear()
                self.journal._disconnect()
                if event == "reboot":
                    self.steady, self.boot = 10.0, self.boot + 1
                    self.wall += timedelta(seconds=what)
                self.keep()
            case "stop":
                self.book.finish()
                self.keep()


@settings(max_examples=80, deadline=None)
@given(st.lists(events, max_size=30))
def test_state_is_that_of_a_replay_and_the_stream_of_an_export_is_that_of_the_watch(
    happenings: list[tuple[str, Any]],
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        pit = Pit(Path(folder, "pit.db"))
        for event, what in happenings:
            pit.happen(event, what)
        pit.book.tick()
        pit.journal.commit()
        assert pit.journal.problem is None
        lines = list(export.json_lines(pit.path))
        records = [decode(line) for line in lines]
        setup = records[0]
        assert isinstance(setup, Setup)
        state = tally.begin(setup)
        outs: list[Record] = []
        for record in records:
            step = tally.step(state, record)
            state = step.state
            outs += step.out
        assert tally.freeze(pit.book.state) == tally.freeze(state)
        for before, after in pairwise(records):
            assert (before.to if isinstance(before, Clock) else before.time) <= after.time

        problems: list[str] = []
        said = io.BytesIO()
        stream.run(io.BytesIO(b"".join(lines)), said, problems.append, tally, lambda _: setup)
        assert problems == []
        assert said.getvalue() == b"".join(encode(out) + b"\n" for out in outs)
        pit.journal.close()
