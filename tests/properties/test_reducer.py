"""No record sequence crashes the reducer or makes it say something that is no answer."""

import math
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

import msgspec
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from firebox import watch
from firebox.records import (
    Acknowledge,
    Alarm,
    Clock,
    Damper,
    DamperName,
    Door,
    DoorName,
    Lit,
    MeatOn,
    Move,
    Note,
    Out,
    Outlook,
    Pit,
    Rake,
    Reading,
    Record,
    Resumed,
    Service,
    Shelve,
    Split,
    Spritz,
    Status,
    Target,
    Tick,
    Trouble,
    Undo,
    Wrap,
    decode,
    encode,
)
from firebox.setup import Setup

START = datetime(2026, 3, 7, 21, 0, tzinfo=UTC)
PROBES = ("grate", "grate2", "firebox", "stack", "ambient", "flat")
ALARMS = ("fire-dying", "pit-too-hot", "probe-silent-grate", "no-such-alarm")

celsius = st.one_of(st.floats(-273.15, 3000), st.floats(90, 150), st.sampled_from([0.0, 121.0, 121.0, 300.0]))
pauses = st.one_of(
    st.sampled_from([0.0, 1.0, 10.0, 10.0, 60.0]), st.floats(0, 30), st.sampled_from([600.0, 7200.0, 90_000.0])
)
names = st.sampled_from(["a", "b", "c"])


def build(
    kind: type[Record], **fields: st.SearchStrategy[Any]
) -> st.SearchStrategy[tuple[type[Record], dict[str, Any]]]:
    return st.fixed_dictionaries(fields).map(lambda values: (kind, values))


maybe_id = st.none() | names
optional_kg = st.none() | st.floats(0, 100)
reading = st.one_of(
    build(Reading, probe=st.sampled_from(PROBES), celsius=celsius),
    build(
        Reading, probe=st.sampled_from(PROBES), status=st.sampled_from([Status.OPEN, Status.SHORTED, Status.FAILED])
    ),
)
entry = st.one_of(
    build(Split, id=maybe_id, kg=optional_kg, moisture=st.none() | st.floats(0, 2)),
    build(Damper, id=maybe_id, damper=st.sampled_from(DamperName), open=st.floats(0, 1)),
    build(Door, id=maybe_id, door=st.sampled_from(DoorName), open=st.booleans()),
    build(Target, celsius=st.floats(0, 400), band=st.none() | st.floats(0.1, 100)),
    build(Lit, kg=optional_kg),
    build(Out),
    build(Rake),
    build(
        Pit,
        chamber_litres=st.none() | st.floats(0.1, 100_000),
        wall_mm=st.none() | st.floats(0.1, 500),
        firebox_insulated=st.none() | st.booleans(),
        usual_split_kg=st.none() | st.floats(0.01, 100),
    ),
    build(Acknowledge, alarm=st.sampled_from(ALARMS)),
    build(Shelve, alarm=st.sampled_from(ALARMS), minutes=st.floats(0, 480)),
    build(Service, alarm=st.sampled_from(ALARMS), out=st.booleans()),
    build(Spritz),
    build(Wrap),
    build(MeatOn, on=st.booleans()),
    build(Note, text=st.just("wind has turned")),
    build(Undo, id=maybe_id, of=names),
    build(Resumed, gap_seconds=st.floats(0, 1e6)),
    build(
        Trouble,
        what=st.sampled_from(["journal", "source", "outlet"]),
        name=names,
        on=st.booleans(),
        text=st.just("gone"),
    ),
)
spoken = st.one_of(reading, reading, reading, entry, build(Tick), build(Tick))


@st.composite
def sequences(draw: st.DrawFn, most: int = 40) -> list[Record]:
    time, records = START, []
    for _ in range(draw(st.integers(1, most))):
        time += timedelta(seconds=draw(pauses))
        if draw(st.integers(0, 30)) == 0:
            to = time + timedelta(seconds=draw(st.floats(-1e7, 1e7)))
            records.append(Clock(time=time, to=to))
            time = to
            continue
        kind, fields = draw(spoken)
        if "id" in kind.__struct_fields__ and draw(st.booleans()):
            fields = {**fields, "at": time - timedelta(seconds=draw(st.floats(0, 7200)))}
        records.append(kind(time=time, **fields))
    records.append(Tick(time=time))
    return records


def run(records: Sequence[Record], state: watch.WatchState | None = None) -> tuple[watch.WatchState, list[Record]]:
    state = state or watch.begin(Setup(time=START))
    out: list[Record] = []
    for record in records:
        state, more = msgspec.structs.astuple(watch.step(state, record))
        out.extend(more)
    return state, out


def numbers(value: Any) -> list[float]:
    if isinstance(value, float):
        return [value]
    if isinstance(value, dict):
        return [n for item in value.values() for n in numbers(item)]
    return [n for item in value for n in numbers(item)] if isinstance(value, list | tuple) else []


relaxed = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)


@relaxed
@given(sequences())
def test_every_answer_is_finite_ordered_and_worded(records: list[Record]) -> None:
    _, out = run(records)
    for record in out:
        assert all(math.isfinite(n) for n in numbers(msgspec.to_builtins(record))), record
        assert decode(encode(record)) == record
        if isinstance(record, Outlook):
            assert len(record.minutes) == len(record.p10) == len(record.p50) == len(record.p90)
            assert all(a <= b <= c for a, b, c in zip(record.p10, record.p50, record.p90, strict=True))
            assert record.assumes
        if isinstance(record, Alarm):
            assert record.text
            assert record.first
        if isinstance(record, Move):
            assert record.reason
            assert not (record.hold and record.split is not None and record.split.in_minutes <= 0)


@relaxed
@given(sequences(), st.data())
def test_a_thawed_watch_goes_on_exactly_as_one_that_never_stopped(records: list[Record], data: st.DataObject) -> None:
    cut = data.draw(st.integers(0, len(records)))
    whole, out = run(records)
    half, first = run(records[:cut])
    again, second = run(records[cut:], watch.thaw(watch.freeze(half)))
    assert watch.freeze(again) == watch.freeze(whole)
    assert first + second == out


@relaxed
@given(sequences())
def test_each_tick_gets_one_complete_answer(records: list[Record]) -> None:
    _, out = run(records)
    assert [r.time for r in out if isinstance(r, Tick)] == [r.time for r in records if isinstance(r, Tick)]
    assert isinstance(out[-1], Tick)
