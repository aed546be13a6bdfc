"""A recorded cook, played again: the same happenings, at the same distances, in the present."""

import asyncio
from datetime import UTC, datetime, timedelta

import pytest

from drivers.recordings import read_csv, read_json_lines
from drivers.replay import ReplaySource
from firebox.errors import SourceError
from firebox.links import ReplayOptions
from firebox.records import Note, Problem, Reading, Split, Status

COOK = """\
{"type":"setup","time":"2025-11-01T05:00:00Z","pit":"north"}
{"type":"reading","time":"2025-11-01T05:00:10Z","probe":"grate","celsius":120,"status":"good"}
{"type":"entry","time":"2025-11-01T05:01:10Z","entry":"split","kg":1.4,"at":"2025-11-01T05:00:40Z","id":"a"}

{"type":"tick","time":"2025-11-01T05:01:20Z"}
{"type":"fire","time":"2025-11-01T05:01:20Z","phase":"steady"}
{"type":"entry","time":"2025-11-01T05:01:25Z","entry":"trouble","what":"source","name":"n","on":true,"text":"gone"}
{"type":"entry","time":"2025-11-01T05:01:26Z","entry":"resumed","gap_seconds":3}
not JSON
{"type":"reading","time":"2025-11-01T05:00:00Z","probe":"grate","celsius":120}
{"type":"entry","time":"2025-11-01T05:02:10Z","entry":"clock","to":"2026-05-02T12:00:00Z"}
{"type":"reading","time":"2026-05-02T12:00:30Z","probe":"flat","celsius":null,"status":"open"}
"""


async def play(tmp_path, clock, text, name="cook.jsonl"):
    """All that a recording gives, with logical seconds since the start of the replay."""
    file = tmp_path / name
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    source = ReplaySource("replay", clock, options=ReplayOptions(file=str(file)))
    await source.open()
    start = clock.now()
    found = [(item, (clock.now() - start).total_seconds()) async for item in source.records()]
    await source.close()
    return found, source, start


async def test_a_cook_is_moved_to_the_present_and_keeps_its_distances(tmp_path, clock):
    found, source, start = await play(tmp_path, clock, COOK)
    records = [(item, at) for item, at in found if not isinstance(item, Problem)]
    assert records == [
        (Reading(time=start, probe="grate", celsius=120.0), 0.0),
        (Split(time=start + timedelta(seconds=60), at=start + timedelta(seconds=30), kg=1.4, id="a"), 60.0),
        (Reading(time=start + timedelta(seconds=150), probe="flat", status=Status.OPEN), 150.0),
    ]  # the clock of the recording was set after 120 s; no time passed in that
    assert clock.slept == 150.0
    assert source.health.lines == 6


async def test_what_cannot_be_used_is_told_with_its_line(tmp_path, clock):
    found, source, _ = await play(tmp_path, clock, COOK)
    problems = [item for item, _ in found if isinstance(item, Problem)]
    assert [problem.line for problem in problems] == [9, 10]
    assert "cook.jsonl, line 9: b'not JSON': not JSON" in problems[0].text
    assert "time does not run backwards" in problems[1].text
    assert source.health.bad_lines == 2
    assert source.health.last_problem == problems[1].text


async def test_a_slip_in_a_date_is_not_waited_for(tmp_path, clock):
    line = '{{"type":"reading","time":"{}","probe":"grate","celsius":120}}\n'
    text = "".join(
        line.format(time) for time in ("2025-11-01T05:00:00Z", "0001-01-01T00:00:00Z", "9999-12-31T23:59:59Z")
    )
    text += line.format("2027-11-01T05:00:00Z") + line.format("2025-11-01T05:00:01Z")
    found, _, _ = await play(tmp_path, clock, text)
    assert [isinstance(item, Problem) for item, _ in found] == [False, True, True, True, False]
    assert clock.slept == 1.0


async def test_a_kind_of_line_from_a_later_version_is_told_once(tmp_path, clock):
    line = '{"type":"entry","time":"2025-11-01T05:00:00Z","entry":"juggle"}\n'
    found, _, _ = await play(tmp_path, clock, line * 3)
    assert [item.text for item, _ in found] == [
        f'{tmp_path}/cook.jsonl, line 1: "juggle" is not a known entry; lines of that kind are passed over'
    ]


async def test_a_line_beyond_reason_is_passed_over_and_the_next_is_read(tmp_path, clock):
    text = b"x" * 1_000_000 + b'\n{"type":"reading","time":"2025-11-01T05:00:00Z","probe":"grate","celsius":120}'
    found, _, _ = await play(tmp_path, clock, text)
    assert [type(item) for item, _ in found] == [Problem, Reading]
    assert "longer than 65536 bytes" in found[0][0].text


async def test_a_replay_starts_anew_when_opened_again(tmp_path, clock):
    _, source, _ = await play(tmp_path, clock, COOK)
    clock.move(3600)
    await source.open()
    first = await anext(aiter(source.records()))
    assert first.time == clock.now()
    await source.close()


async def test_closing_ends_a_replay(tmp_path, clock):
    file = tmp_path / "cook.jsonl"
    file.write_text(COOK)
    source = ReplaySource("replay", clock, options=ReplayOptions(file=str(file)))
    await source.open()
    found = []
    async for item in source.records():
        found.append(item)
        await source.close()
    assert len(found) == 1
    with pytest.raises(SourceError, match="not open"):
        await anext(aiter(source.records()))


async def test_a_long_replay_leaves_others_a_turn(tmp_path, clock):
    turns = 0

    async def count_turns():
        nonlocal turns
        while True:
            turns += 1
            await asyncio.sleep(0)

    counting = asyncio.create_task(count_turns())
    line = '{"type":"reading","time":"2025-11-01T05:00:00Z","probe":"grate","celsius":120}\n'
    await play(tmp_path, clock, line * 1000)
    counting.cancel()
    assert turns > 10


# --- CSV -------------------------------------------------------------------------------------------

LONG = """\
time,type,probe,celsius,status,name,body\r
2025-11-01T05:00:00Z,setup,,,,,"{""type"":""setup"",""time"":""2025-11-01T05:00:00Z""}"\r
2025-11-01T05:00:00Z,reading,grate,121.4,good,,\r
2025-11-01T05:00:01Z,reading,"flat, left",,open,,\r
2025-11-01T05:00:02Z,entry,,,,note,"{""type"":""entry"",""time"":""2025-11-01T05:00:02Z"",""entry"":""note"",""text"":""a, b""}"\r
2025-11-01T05:00:02Z,tick,,,,,\r
2025-11-01T05:00:03Z,reading,grate,warm,good,,\r
2025-11-01T05:00:04Z,reading,grate,nan,good,,\r
2025-11-01T05:00:05Z,reading\r
"""

WIDE = """\
time,grate,flat
2025-11-01T06:00:00+01:00,121.4,
2025-11-01T06:00:10+01:00,121.6,OPEN
"""


def bytes_of(text):
    return text.encode().splitlines(keepends=True)


def test_rows_with_one_record_each_are_read():
    found = list(read_csv(bytes_of(LONG)))
    time = datetime(2025, 11, 1, 5, 0, tzinfo=UTC)
    assert [record for one in found for record in one.records] == [
        Reading(time=time, probe="grate", celsius=121.4),
        Reading(time=time + timedelta(seconds=1), probe="flat, left", status=Status.OPEN),
        Note(time=time + timedelta(seconds=2), text="a, b"),
    ]
    assert [one.line for one in found if one.problem] == [7, 8, 9]
    assert "celsius 'warm' is no number" in next(one.problem for one in found if one.problem)


def test_rows_with_a_column_for_each_probe_are_read():
    readings = [record for one in read_csv(bytes_of(WIDE)) for record in one.records]
    assert [(one.probe, one.celsius, one.status) for one in readings] == [
        ("grate", 121.4, Status.GOOD), ("grate", 121.6, Status.GOOD), ("flat", None, Status.OPEN),
    ]  # fmt: skip


def test_a_table_without_times_is_refused_as_a_whole():
    (found,) = read_csv(bytes_of("when,grate\n1,2\n"))
    assert "no column time" in found.problem


async def test_a_file_is_taken_for_csv_by_its_name(tmp_path, clock):
    found, _, start = await play(tmp_path, clock, WIDE, "cook.CSV")
    assert [(item.probe, (item.time - start).total_seconds()) for item, _ in found] == [
        ("grate", 0.0), ("grate", 10.0), ("flat", 10.0),
    ]  # fmt: skip


def test_blank_lines_are_no_lines():
    assert list(read_json_lines([b"\n", b"  \r\n"])) == list(read_csv([b"time,grate\n", b"\n"])) == []
