"""No bytes on standard input stop the stream, and the same bytes give the same answers."""

import io
import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec import Struct

from firebox import watch
from firebox.records import Clock, Reading, Record, Tick, decode, encode
from firebox.setup import Setup
from firebox.stream import Hearing, run

START = datetime(2026, 5, 2, 4, 0, tzinfo=UTC)


class Told(Struct, frozen=True):
    state: tuple[Record, ...]
    out: tuple[Record, ...]


class Mirror:
    """A reducer that remembers what it met and gives every record back."""

    def __init__(self) -> None:
        self.met: tuple[Record, ...] = ()
        self.begin: Callable[[Setup], Any] = lambda setup: ()
        self.step: Callable[[Any, Record], Told] = self._step

    def _step(self, state: tuple[Record, ...], record: Record) -> Told:
        self.met = (*state, record)
        return Told(self.met, (record,))


def stream(data: bytes, every: float | None = None) -> tuple[bytes, list[str], tuple[Record, ...]]:
    mirror, sink, said = Mirror(), io.BytesIO(), []
    run(io.BytesIO(data), sink, said.append, mirror, lambda time: Setup(time=time), every=every)
    return sink.getvalue(), said, mirror.met


moments = st.integers(-10, 10_000).map(lambda seconds: (START + timedelta(seconds=seconds)).isoformat())
strange = st.sampled_from(
    [
        "0001-01-01T00:00:00+14:00",
        "9999-12-31T23:59:59.999999-14:00",
        "2026-05-02T04:10:05",
        "2199-12-31T00:00:00Z",
        "",
    ]
)
times = moments | strange
plain = st.one_of(
    st.fixed_dictionaries(
        {"type": st.just("reading"), "time": times, "probe": st.just("grate"), "celsius": st.floats()}
    ),
    st.fixed_dictionaries({"type": st.just("tick"), "time": times}),
    st.fixed_dictionaries({"type": st.just("entry"), "entry": st.just("clock"), "time": times, "to": times}),
    st.fixed_dictionaries({"type": st.just("entry"), "entry": st.just("split"), "time": times, "at": times}),
    st.fixed_dictionaries({"type": st.text() | st.just("a\n\x1b[2Jb"), "time": times, "\ud800 no text": st.none()}),
)
lines = st.one_of(st.binary(max_size=60), plain.map(json.dumps).map(str.encode), st.just(b"\xff\xfe"), st.just(b""))
orderly = st.lists(plain, max_size=20).map(
    lambda many: "\n".join(json.dumps(one) for one in sorted(many, key=lambda one: one["time"])).encode()
)
inputs = orderly | st.lists(lines, max_size=12).map(b"\n".join) | st.binary()
cadences = st.none() | st.floats(1, 86_400)


@given(inputs, cadences)
def test_no_bytes_stop_the_stream_and_the_same_bytes_give_the_same_answers(data, every):
    out, said, met = stream(data, every)
    assert (out, said, met) == stream(data, every)
    assert all(line.startswith("line ") and "\n" not in line and line.encode() for line in said)
    assert [decode(line) for line in out.splitlines()] == list(met)


@given(inputs, cadences)
def test_what_is_taken_is_in_the_order_of_time_and_ends_with_a_tick(data, every):
    _, _, met = stream(data, every)
    newest = None
    for record in met:
        assert newest is None or record.time >= newest
        newest = record.to if isinstance(record, Clock) else record.time
    assert not met or any(isinstance(record, Tick) for record in met)


@given(inputs)
def test_nothing_but_ticks_is_added(data):
    _, _, with_ticks = stream(data, 60.0)
    _, _, without = stream(data)
    kept = [record for record in with_ticks if not isinstance(record, Tick)]
    assert kept == [record for record in without if not isinstance(record, Tick)]


@given(inputs, st.integers(1, 7))
def test_bytes_that_come_in_crumbs_are_the_same_lines(data, size):
    class Crumbs(io.RawIOBase):
        """A pipe that hands over a few bytes at a time."""

        def __init__(self) -> None:
            self._left = data

        def readable(self) -> bool:
            return True

        def readinto(self, buffer: Any) -> int:
            crumb, self._left = self._left[:size], self._left[size:]
            buffer[: len(crumb)] = crumb
            return len(crumb)

    mirror, sink = Mirror(), io.BytesIO()
    run(io.BufferedReader(Crumbs(), 16), sink, lambda text: None, mirror, lambda time: Setup(time=time))
    assert mirror.met == stream(data)[2]


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(inputs, cadences)
def test_no_bytes_upset_the_watch_itself(data, every):
    sink, again = io.BytesIO(), io.BytesIO()
    for out in (sink, again):
        run(io.BytesIO(data), out, lambda text: None, watch, lambda time: Setup(time=time), every=every)
    assert sink.getvalue() == again.getvalue()
    assert all(decode(line) for line in sink.getvalue().splitlines())


odd = st.sampled_from(
    [{}, {"status": "good"}, {"status": "open"}, {"mood": 1}, {"celsius": None, "status": "failed"}]
)
readings = st.fixed_dictionaries(
    {
        "type": st.just("reading"),
        "time": moments,
        "probe": st.text(max_size=70),
        "celsius": st.floats() | st.integers(),
    }
)


@settings(max_examples=200)
@given(readings, odd)
def test_the_quick_way_of_reading_gives_what_the_slow_way_gives(plain, more):
    line = json.dumps({**plain, **more}).encode()
    said: list[str] = []
    quick = Hearing(said.append).hear(1, line)
    slow = Hearing(lambda text: None).hear(1, line[:-1] + b', "another": 1}')
    assert quick == slow
    assert quick is None or (type(quick) is Reading and encode(quick) == encode(decode(line)))
    assert quick is not None or said
