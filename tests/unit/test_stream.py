"""The JSON stream: what goes in, what comes out, and what is said of lines that cannot be used."""

import io
import json
from collections.abc import Callable
from datetime import datetime

import pytest
from msgspec import Struct

from firebox.records import Alarm, AlarmState, Priority, Reading, Record, Split, Tick
from firebox.setup import Setup
from firebox.stream import LONGEST_LINE, run


class Memory(Struct, frozen=True):
    """State of the parrot: the setup it began with, and the records it met."""

    setup: Setup
    met: tuple[Record, ...] = ()


class Parroted(Struct, frozen=True):
    state: Memory
    out: tuple[Record, ...] = ()


class Parrot:
    """A reducer that answers a tick with the tick, and a split with an alarm."""

    def __init__(self) -> None:
        self.state = Memory(Setup(time=datetime.fromisoformat("2026-05-02T04:00:00Z")))
        self.begin: Callable[[Setup], Memory] = Memory
        self.step = self._step

    def _step(self, state: Memory, record: Record) -> Parroted:
        self.state = Memory(state.setup, (*state.met, record))
        if isinstance(record, Tick):
            return Parroted(self.state, (record,))
        if isinstance(record, Split):
            alarm = Alarm(
                time=record.time,
                alarm="wood",
                state=AlarmState.NORMAL,
                priority=Priority.LOW,
                text="wood",
                first="none",
            )
            return Parroted(self.state, (alarm,))
        return Parroted(self.state)


def stream(text: str | bytes, every: float | None = None) -> tuple[list[dict], list[str], Memory]:
    parrot, sink, said = Parrot(), io.BytesIO(), []
    source = io.BytesIO(text.encode() if isinstance(text, str) else text)
    run(source, sink, said.append, parrot, lambda time: Setup(time=time, pit="north"), every=every)
    return [json.loads(line) for line in sink.getvalue().splitlines()], said, parrot.state


def reading(clock: str, celsius: float = 121.4, **more: object) -> str:
    plain = {"type": "reading", "time": f"2026-05-02T{clock}Z", "probe": "grate", "celsius": celsius, **more}
    return json.dumps(plain) + "\n"


def tick(clock: str) -> str:
    return json.dumps({"type": "tick", "time": f"2026-05-02T{clock}Z"}) + "\n"


def heard(memory: Memory) -> list[Record]:
    """Return the records of the input that were taken, ticks apart."""
    return [record for record in memory.met if not isinstance(record, Tick)]


def times(out: list[dict]) -> list[str]:
    return [record["time"][11:19] for record in out if record["type"] == "tick"]


def test_a_tick_is_answered_and_its_answer_closed_by_the_tick():
    out, said, _ = stream(reading("04:00:00") + tick("04:00:10"))
    assert out == [{"type": "tick", "time": "2026-05-02T04:00:10Z"}]
    assert said == []


def test_the_time_is_answered_in_the_offset_in_which_it_was_asked():
    out, _, _ = stream('{"type":"tick","time":"2026-05-02T06:00:10+02:00"}')
    assert out[0]["time"] == "2026-05-02T06:00:10+02:00"


def test_a_setup_in_the_input_is_the_pit_to_begin_with():
    _, said, memory = stream('{"type":"setup","time":"2026-05-02T04:00:00Z","pit":"south"}\n' + tick("04:00:01"))
    assert memory.setup.pit == "south"
    assert said == []


def test_the_configured_pit_begins_at_the_time_of_the_first_record():
    _, _, memory = stream(reading("04:00:00"))
    assert (memory.setup.pit, memory.setup.time.isoformat()) == ("north", "2026-05-02T04:00:00+00:00")


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("{", "not JSON: "),
        ("null", "not a JSON object; skipped"),
        ('"reading"', "not a JSON object; skipped"),
        ('{"time":"2026-05-02T04:00:05Z"}', 'no "type" in the object'),
        ('{"type":"entry","time":"2026-05-02T04:00:05Z"}', 'no "entry" in the object'),
        ('{"type":"entry","entry":7,"time":"2026-05-02T04:00:05Z"}', 'no "entry" in the object'),
        ('{"type":"reading","time":"2026-05-02T04:00:05","probe":"grate","celsius":1}', "time"),
        ('{"type":"reading","time":"yesterday","probe":"grate","celsius":1}', "time"),
        ('{"type":"reading","time":"2026-05-02T04:00:05Z","celsius":1}', "probe"),
        ('{"type":"reading","time":"2026-05-02T04:00:05Z","probe":"","celsius":1}', "probe"),
        ('{"type":"reading","time":"2026-05-02T04:00:05Z","probe":"grate","celsius":"hot"}', "celsius"),
        ('{"type":"reading","time":"2026-05-02T04:00:05Z","probe":"grate","celsius":99999}', "celsius"),
        ('{"type":"reading","time":"2026-05-02T04:00:05Z","probe":"grate","celsius":NaN}', "not JSON"),
        (
            '{"type":"reading","time":"2026-05-02T04:00:05Z","probe":"grate","celsius":null}',
            "celsius is null exactly",
        ),
        (
            '{"type":"reading","time":"2026-05-02T04:00:05Z","probe":"grate","celsius":9,"status":"open"}',
            "celsius is",
        ),
        ('{"type":"reading","time":"2026-05-02T04:00:05Z","probe":"grate","celsius":9,"status":"odd"}', "status"),
        ('{"type":"entry","entry":"damper","time":"2026-05-02T04:00:05Z","damper":"intake","open":50}', "open"),
        ('{"type":"entry","entry":"split","time":"2026-05-02T04:00:05Z","kg":-1}', "kg"),
        ('{"type":"tick","time":"1969-12-31T23:59:59Z"}', "outside 1970 to 2200"),
        ('{"type":"tick","time":"9999-12-31T23:59:59Z"}', "outside 1970 to 2200"),
        ('{"type":"tick","time":"2028-05-02T04:00:05Z"}', "more than a year after the first line"),
        ("[" * 100_000, "not JSON"),
    ],
)
def test_a_line_that_is_no_record_is_told_with_its_number_and_nothing_else_is_lost(line, message):
    out, said, memory = stream(reading("04:00:00") + line + "\n" + reading("04:00:08") + tick("04:00:10"))
    assert len(said) == 1
    assert said[0].startswith("line 2: ")
    assert message in said[0]
    assert said[0].endswith("; skipped")
    assert len(memory.met) == 3
    assert times(out) == ["04:00:10"]


def test_time_running_backwards_is_refused_with_the_reason():
    _, said, memory = stream(reading("04:00:10") + reading("04:00:09") + reading("04:00:10"))
    (message,) = said
    assert message == (
        "line 2: time runs backwards: 2026-05-02T04:00:09+00:00 is before 2026-05-02T04:00:10+00:00, which came"
        " earlier; a clock entry tells of a clock that was set back; skipped"
    )
    assert len(heard(memory)) == 2


def test_after_the_clock_was_set_back_lines_are_judged_by_the_new_time():
    clock = '{"type":"entry","entry":"clock","time":"2026-05-02T05:00:00Z","to":"2026-05-02T04:00:00Z"}\n'
    _, said, memory = stream(reading("04:59:59") + clock + reading("04:00:01") + reading("03:59:59"))
    assert len(heard(memory)) == 3
    assert said[0].startswith("line 4: time runs backwards: 2026-05-02T03:59:59")


def test_many_clock_entries_do_not_hide_an_endless_watch():
    lines = "".join(
        f'{{"type":"entry","entry":"clock","time":"{year + 1}-01-01T00:00:00Z","to":"{year}-01-01T00:00:00Z"}}\n'
        for year in [2020] * 5
    )
    _, said, memory = stream('{"type":"tick","time":"2020-01-01T00:00:00Z"}\n' + lines)
    assert len(memory.met) == 2
    assert len(said) == 4
    assert "more than a year" in said[0]


def test_an_entry_may_tell_of_what_happened_earlier():
    late = '{"type":"entry","entry":"split","time":"2026-05-02T04:00:20Z","at":"2026-05-02T03:00:00Z"}\n'
    _, said, memory = stream(reading("04:00:10") + late)
    assert said == []
    assert len(heard(memory)) == 2


def test_an_unknown_field_or_type_is_told_once_and_the_rest_of_the_line_counts():
    text = (
        reading("04:00:00", mood="fine")
        + reading("04:00:01", mood="fine")
        + '{"type":"weather","time":"2026-05-02T04:00:02Z"}\n' * 2
        + '{"type":"entry","entry":"dance","time":"2026-05-02T04:00:02Z"}\n'
        + '{"type":"entry","entry":"split","time":"2026-05-02T04:00:02Z","bark":true}\n'
    )
    _, said, memory = stream(text)
    assert said == [
        'line 1: "mood" is not a known field of reading; ignored, here and in the lines to come',
        'line 3: "weather" is not a known type; ignored, here and in the lines to come',
        'line 5: "dance" is not a known entry; ignored, here and in the lines to come',
        'line 6: "bark" is not a known field of entry split; ignored, here and in the lines to come',
    ]
    assert [type(record).__name__ for record in heard(memory)] == ["Reading", "Reading", "Split"]


def test_a_stranger_cannot_write_on_the_terminal_or_flood_it():
    strange = [json.dumps({"type": f"\x1b[2J\n{count}", "time": "2026-05-02T04:00:00Z"}) for count in range(500)]
    _, said, _ = stream("\n".join(strange))
    assert said[0] == 'line 1: "\\x1b[2J\\n0" is not a known type; ignored, here and in the lines to come'
    assert said[-1] == "line 100: no more of the unknown fields and types are told"
    assert len(said) == 101


def test_answers_in_the_input_are_no_input_and_do_not_move_the_time():
    fire = '{"type":"fire","time":"2026-05-02T09:00:00Z","phase":"steady"}\n'
    _, said, memory = stream(fire + reading("04:00:00"))
    assert said == ['line 1: type "fire" is an answer, not an input; ignored, here and in the lines to come']
    assert len(heard(memory)) == 1


@pytest.mark.parametrize(
    "text",
    [
        reading("04:00:00").replace("\n", "\r\n") + tick("04:00:01"),
        "\n  \n" + reading("04:00:00") + "\n" + tick("04:00:01"),
        "\ufeff" + reading("04:00:00") + tick("04:00:01").rstrip(),
    ],
    ids=["CRLF", "empty lines", "byte order mark, no newline at the end"],
)
def test_harmless_differences_in_the_lines_do_not_matter(text):
    out, said, memory = stream(text)
    assert said == []
    assert [type(record) for record in memory.met] == [Reading, Tick]
    assert times(out) == ["04:00:01"]


def test_bytes_that_are_no_text_are_skipped():
    text = b'{"type":"tick","time":"2026-05-02T04:00:00Z","note":"\xff\xfe"}\n' + tick("04:00:01").encode()
    out, said, _ = stream(text)
    assert times(out) == ["04:00:01"]
    assert len(said) == 1


@pytest.mark.parametrize("extra", [0, 1, LONGEST_LINE, 3 * LONGEST_LINE + 7])
def test_a_line_without_end_is_skipped_and_not_taken_for_two(extra):
    long = b'{"type":"note","text":"' + b"x" * (LONGEST_LINE + extra) + b'"}\n'
    out, said, _ = stream(long + tick("04:00:01").encode())
    assert said == [f"line 1: longer than {LONGEST_LINE} bytes, skipped"]
    assert times(out) == ["04:00:01"]


def test_a_line_of_just_the_longest_length_is_read():
    line = tick("04:00:01").encode().rstrip()
    out, said, _ = stream(line + b" " * (LONGEST_LINE - len(line) - 1) + b"\n")
    assert said == []
    assert times(out) == ["04:00:01"]


def test_ticks_fall_on_multiples_after_the_first_record():
    text = "".join(reading(f"04:{minute:02}:{second:02}") for minute in range(3) for second in range(5, 60, 10))
    out, _, memory = stream(text, every=60)
    assert times(out) == ["04:01:05", "04:02:05"]
    met = [record.time.isoformat()[11:19] for record in memory.met]
    place = met.index("04:01:05")
    assert [type(record) for record in memory.met[place : place + 2]] == [Reading, Tick]


def test_a_tick_that_is_due_when_the_input_ends_is_given():
    out, _, _ = stream(reading("04:00:00") + reading("04:01:00"), every=60)
    assert times(out) == ["04:01:00"]


def test_after_a_tick_of_the_input_only_its_own_ticks_count():
    text = reading("04:00:00") + reading("04:01:30") + tick("04:02:30") + reading("04:30:00") + tick("04:31:00")
    out, _, _ = stream(text, every=60)
    assert times(out) == ["04:01:00", "04:02:30", "04:31:00"]


def test_an_input_without_any_tick_is_answered_once_at_its_end():
    out, _, _ = stream(reading("04:00:00") + reading("04:00:30"))
    assert times(out) == ["04:00:30"]
    out, _, _ = stream(reading("04:00:00") + reading("04:00:30"), every=60)
    assert times(out) == ["04:00:30"]


def test_an_empty_input_is_answered_by_nothing():
    assert stream("")[:2] == ([], [])


def test_ticks_go_on_through_a_silence_and_step_over_one_longer_than_a_day():
    day_later = reading("04:00:00") + '{"type":"note"}\n' + reading("04:00:00").replace("05-02", "05-05")
    out, _, _ = stream(day_later, every=3600)
    assert len(times(out)) == 24 + 1
    assert out[-1]["time"] == "2026-05-05T04:00:00Z"


def test_the_clock_being_set_moves_the_ticks_with_it():
    clock = '{"type":"entry","entry":"clock","time":"2026-05-02T04:00:30Z","to":"2026-05-02T08:00:30Z"}\n'
    out, _, _ = stream(reading("04:00:00") + clock + reading("08:02:10"), every=60)
    assert times(out) == ["08:01:00", "08:02:00"]


def test_what_comes_out_between_ticks_waits_for_no_later_tick_than_the_next():
    split = '{"type":"entry","entry":"split","time":"2026-05-02T04:00:05Z"}\n'
    out, _, _ = stream(reading("04:00:00") + split + tick("04:00:10"))
    assert [record["type"] for record in out] == ["alarm", "tick"]


def test_every_answer_is_flushed_before_the_next_line_is_read():
    """A partner in lockstep writes its next line only after it has read the closing tick."""

    class Sink(io.BytesIO):
        flushed = 0

        def flush(self) -> None:
            self.flushed = len(self.getvalue())

    class Partner(io.BytesIO):
        def readline(self, size: int | None = -1, /) -> bytes:
            seen.append((sink.flushed, len(sink.getvalue())))
            return super().readline(size)

    seen: list[tuple[int, int]] = []
    sink = Sink()
    partner = Partner((tick("04:00:10") + tick("04:00:20")).encode())
    run(partner, sink, pytest.fail, Parrot(), lambda time: Setup(time=time))
    assert len(seen) == 3
    assert all(flushed == written for flushed, written in seen)
    assert seen[1][0] > 0
