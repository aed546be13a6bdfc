"""`firebox stream` as a process between two pipes, as scripts and partners use it."""

import json
import os
import select
import subprocess
import sys
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import IO

import pytest

pytestmark = pytest.mark.e2e

COMMAND = [sys.executable, "-m", "firebox", "stream"]
START = datetime(2026, 5, 2, 4, 0, tzinfo=UTC)
DEADLINE = 60.0
"""Seconds until an answer counts as not coming, on a loaded machine."""


def stamp(seconds: float) -> str:
    return (START + timedelta(seconds=seconds)).isoformat().replace("+00:00", "Z")


def reading(seconds: float, celsius: float, probe: str = "grate") -> str:
    return json.dumps({"type": "reading", "time": stamp(seconds), "probe": probe, "celsius": celsius})


def tick(seconds: float) -> str:
    return json.dumps({"type": "tick", "time": stamp(seconds)})


@pytest.fixture
def process() -> Iterator["subprocess.Popen[bytes]"]:
    with subprocess.Popen(
        COMMAND, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, bufsize=0
    ) as it:
        yield it
        it.kill()


def answer(out: IO[bytes]) -> list[dict[str, object]]:
    """Return the records up to the closing tick, without waiting for anything after it."""
    text = b""
    while not text.endswith(b"\n") or json.loads(text.splitlines()[-1])["type"] != "tick":
        ready, _, _ = select.select([out], [], [], DEADLINE)
        assert ready, f"no closing tick after {text!r}"
        chunk = os.read(out.fileno(), 65536)
        assert chunk, "the stream ended before its closing tick"
        text += chunk
    return [json.loads(line) for line in text.splitlines()]


def test_a_partner_in_lockstep_has_each_answer_before_it_goes_on(process):
    assert process.stdin is not None
    assert process.stdout is not None
    for minute in range(1, 6):
        lines = [reading(minute * 60 - back, 121.0 + minute) for back in (40, 30, 20, 10, 0)]
        process.stdin.write(("\n".join([*lines, tick(minute * 60)]) + "\n").encode())
        records = answer(process.stdout)
        assert records[-1] == {"type": "tick", "time": stamp(minute * 60)}
        assert [record["type"] for record in records].count("tick") == 1
    process.stdin.close()
    assert process.wait(DEADLINE) == 0
    assert process.stdout.read() == b""


def test_a_line_in_pieces_is_one_line(process):
    assert process.stdin is not None
    assert process.stdout is not None
    line = tick(0).encode() + b"\n"
    for place in range(0, len(line), 7):
        process.stdin.write(line[place : place + 7])
    assert answer(process.stdout)[-1]["time"] == stamp(0)


def test_a_reader_that_goes_away_ends_the_stream_quietly(process):
    assert process.stdin is not None
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdin.write((tick(0) + "\n").encode())
    answer(process.stdout)
    process.stdout.close()
    process.stdin.write("".join(f"{tick(seconds)}\n" for seconds in range(1, 50)).encode())
    assert process.wait(DEADLINE) == 0
    assert process.stderr.read() == b""


def test_neither_the_hour_nor_the_place_changes_an_answer(tmp_path):
    """Logical time only: another time zone, another folder and another hash seed give the same bytes."""
    lines = [reading(at, 118 + at / 600, probe) for at in range(0, 1800, 10) for probe in ("grate", "grate2", "flat")]
    text = "\n".join(lines).encode()
    settings = [{"TZ": "UTC", "PYTHONHASHSEED": "1"}, {"TZ": "Pacific/Chatham", "PYTHONHASHSEED": "2"}]
    first, second = (
        subprocess.run(
            [*COMMAND, "--every", "60"],
            input=text,
            capture_output=True,
            check=True,
            cwd=folder,
            env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2]), **more},
        ).stdout
        for more, folder in zip(settings, (tmp_path, "/"), strict=True)
    )
    assert first == second
    assert first.count(b'"type":"outlook"') > 20
