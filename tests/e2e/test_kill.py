"""A keeper that is killed at any moment loses no entry and no alarm, at most two seconds of readings, and no state."""

import io
import os
import random
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from drivers.fakes import tally
from firebox import stream, watch
from firebox.journal import history
from firebox.journal.export import json_lines
from firebox.journal.lock import holder
from firebox.journal.reader import JournalLink
from firebox.journal.resume import Reducer, resume
from firebox.journal.schema import open_reading
from firebox.keeper.background import spawn, stop
from firebox.keeper.mind import watch_reducer
from firebox.records import (
    Alarm,
    Entry,
    Fire,
    Meat,
    Move,
    Note,
    Outlook,
    ProbeHealth,
    Reading,
    Record,
    Resumed,
    Split,
    decode,
    encode,
)
from firebox.setup import Setup

SCRIPT = Path(__file__).with_name("fed_keeper.py")
ROOT = Path(__file__).parents[2]
START = datetime(2026, 5, 2, tzinfo=UTC)
AT_RISK = 2.0
"""Seconds of readings that a kill may cost."""

READINGS_A_SECOND = 40
ALARM_EVERY = 25
ENTRY_EVERY = 15
DEADLINE = 30.0
BUSY = 3.0
"""Seconds that a machine which is busy otherwise may add."""

KEPT = (Alarm, ProbeHealth)
SAID = (*KEPT, Outlook, Move, Fire, Meat)


class Fed:
    """A keeper process, what it was fed, and what it acknowledged."""

    def __init__(self, journal: Path, reducer: str) -> None:
        environment = {**os.environ, "PYTHONPATH": str(ROOT)}
        self.process = subprocess.Popen(
            [sys.executable, str(SCRIPT), str(journal), reducer],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=environment,
        )  # fmt: skip
        self.lines: list[str] = []
        self._reader = threading.Thread(target=self._read, name="acknowledgements")
        self._reader.start()
        wait_until(lambda: "ready" in self.lines or self.process.poll() is not None)
        assert self.process.poll() is None

    def _read(self) -> None:
        assert self.process.stdout is not None
        self.lines.extend(line.decode().strip() for line in self.process.stdout)

    def say(self, record: Record) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write(encode(record) + b"\n")
        self.process.stdin.flush()

    def acknowledged(self, word: str) -> list[str]:
        return [line.removeprefix(word).strip() for line in self.lines if line.startswith(word)]

    def end(self, number: int) -> int:
        self.process.send_signal(number)
        status = self.process.wait(DEADLINE)
        self._reader.join(DEADLINE)
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        self.process.stdout.close()
        try:
            self.process.stdin.close()
        except BrokenPipeError:
            assert number == signal.SIGKILL
        return status


def wait_until(fact: Any, seconds: float = DEADLINE) -> None:
    deadline = time.monotonic() + seconds
    while not fact():
        assert time.monotonic() < deadline, "it did not come true in time"
        time.sleep(0.01)


@contextmanager
def fed(journal: Path, reducer: str = "tally") -> Iterator[Fed]:
    one = Fed(journal, reducer)
    try:
        yield one
    finally:
        if one.process.poll() is None:
            one.end(signal.SIGKILL)


def everything(journal: Path) -> list[Record]:
    with closing(open_reading(journal)) as connection:
        return [record for _, record in history.records(connection, 0, ways="all")]


def left_in_inbox(journal: Path) -> list[str]:
    with closing(open_reading(journal)) as connection:
        return [body for (body,) in connection.execute("SELECT body FROM inbox")]


def straight_replay(journal: Path, reducer: Reducer[Any]) -> bytes:
    with closing(open_reading(journal)) as connection:
        cook = history.pick(connection)
        inputs = [record for _, record in history.records(connection, cook.first_seq)]
    assert isinstance(inputs[0], Setup)
    state = reducer.begin(inputs[0])
    for record in inputs:
        state = reducer.step(state, record).state
    return reducer.freeze(state)


def feed_until_killed(
    keeper: Fed, link: JournalLink, run: int, seconds: float
) -> tuple[dict[float, float], list[str]]:
    """Feed readings, alarms and entries, kill the keeper after `seconds`; return the age of each reading, and what was left."""
    sent: dict[float, float] = {}
    left: list[str] = []
    begin = time.monotonic()
    number = 0
    while (now := time.monotonic()) - begin < seconds:
        number += 1
        value = -200.0 + run + number / 10_000  # tells run and number, and is no alarm
        sent[value] = now
        keeper.say(Reading(time=START, probe="grate", celsius=value))
        if number % ALARM_EVERY == 0:
            keeper.say(Reading(time=START, probe=f"hot-{run}-{number}", celsius=300.0))
        if number % ENTRY_EVERY == 0:
            keeper.say(Split(time=START, id=f"fed-{run}-{number}"))
            link.leave(Note(time=datetime.now(UTC), text="left", id=f"left-{run}-{number}"))
            left.append(f"left-{run}-{number}")
        time.sleep(1 / READINGS_A_SECOND)
    keeper.end(signal.SIGKILL)
    killed = time.monotonic()
    return {value: killed - at for value, at in sent.items()}, left


TALLY = Reducer(begin=tally.begin, step=tally.step, freeze=tally.freeze, thaw=tally.thaw, version=tally.VERSION)


class Ledger:
    """What a keeper that is killed again and again has acknowledged, and what has to be in its journal."""

    def __init__(self, journal: Path, word: str, reducer: Reducer[Any]) -> None:
        self.journal = journal
        self.word = word
        self.reducer = reducer
        self.acknowledged: list[str] = []
        self.alarmed: list[str] = []
        self.left: list[str] = []
        self.must_be_there: set[float] = set()

    def run_and_kill(self, run: int, seconds: float) -> None:
        with fed(self.journal, self.word) as keeper:
            link = JournalLink(self.journal)
            ages, left = feed_until_killed(keeper, link, run, seconds)
            link.close()
        self.acknowledged += keeper.acknowledged("entry")
        self.alarmed += keeper.acknowledged("alarm")
        self.left += left
        self.must_be_there |= {value for value, age in ages.items() if age > AT_RISK}

    def check(self) -> None:
        there = everything(self.journal)
        ids = [record.id for record in there if isinstance(record, Entry)]
        assert len(ids) == len(set(ids))
        assert set(self.acknowledged) <= set(ids)
        waiting = "".join(left_in_inbox(self.journal))
        assert [name for name in self.left if (name in ids) == (f'"{name}"' in waiting)] == []
        assert set(self.alarmed) <= {record.text for record in there if isinstance(record, Alarm)}
        values = [record.celsius for record in there if isinstance(record, Reading) and record.probe == "grate"]
        assert values == sorted(set(values))
        assert self.must_be_there <= set(values)
        assert [record.time for record in there] == sorted(record.time for record in there)
        found = resume(self.journal, self.reducer, datetime.now(UTC))
        assert found is not None
        assert found.cook.id == 1
        assert self.reducer.freeze(found.state) == straight_replay(self.journal, self.reducer)


@pytest.mark.e2e
@pytest.mark.slow
@pytest.mark.timeout(300)
def test_a_keeper_killed_at_twenty_random_moments_loses_nothing_that_counts(tmp_path: Path) -> None:
    moments = random.Random(20260502)
    ledger = Ledger(tmp_path / "pit.db", "tally", TALLY)
    for run in range(20):
        ledger.run_and_kill(run, moments.uniform(0.05, 3.0))
        ledger.check()
    assert len(ledger.acknowledged) > 20
    assert len(ledger.alarmed) > 10
    assert len(ledger.must_be_there) > 50
    assert sum(isinstance(record, Resumed) for record in everything(ledger.journal)) == 19


@pytest.mark.e2e
@pytest.mark.slow
@pytest.mark.timeout(300)
def test_the_watch_itself_is_the_same_after_a_kill_and_says_the_same_when_its_journal_is_streamed(
    tmp_path: Path,
) -> None:
    moments = random.Random(4)
    ledger = Ledger(tmp_path / "pit.db", "watch", watch_reducer())
    for run in range(5):
        ledger.run_and_kill(run, moments.uniform(0.5, 4.0))
        ledger.check()
    recorded = [record for record in everything(ledger.journal) if isinstance(record, SAID)]
    assert {type(record) for record in recorded} >= {Move, Fire, ProbeHealth}

    said, problems = io.BytesIO(), []
    source = io.BytesIO(b"".join(json_lines(ledger.journal)))
    stream.run(source, said, problems.append, watch, lambda time: Setup(time=time))

    assert problems == []
    answers = [record for line in said.getvalue().splitlines() if isinstance(record := decode(line), SAID)]
    # The journal holds every alarm and change of health, and of the answers those of about each minute.
    assert [one for one in answers if isinstance(one, KEPT)] == [one for one in recorded if isinstance(one, KEPT)]
    left = iter(answers)
    assert all(any(one == record for one in left) for record in recorded if not isinstance(record, KEPT))


@pytest.mark.e2e
def test_a_keeper_told_to_end_writes_everything_and_exits_in_order(tmp_path: Path) -> None:
    journal = tmp_path / "pit.db"
    with fed(journal) as keeper:
        for number in range(50):
            keeper.say(Reading(time=START, probe="grate", celsius=float(number)))
        keeper.say(Split(time=START, id="last"))
        wait_until(lambda: "last" in keeper.acknowledged("entry"))
        assert keeper.end(signal.SIGTERM) == 0
    assert len([record for record in everything(journal) if isinstance(record, Reading)]) == 50
    reducer = Reducer(begin=tally.begin, step=tally.step, freeze=tally.freeze, thaw=tally.thaw, version=tally.VERSION)
    found = resume(journal, reducer, datetime.now(UTC))
    assert found is not None
    assert found.replayed == 0
    assert holder(journal) is None


@pytest.mark.e2e
def test_an_entry_left_by_a_dashboard_is_taken_within_a_second(tmp_path: Path) -> None:
    journal = tmp_path / "pit.db"
    with fed(journal) as keeper:
        link = JournalLink(journal)
        wait_until(link.news)
        for number in range(5):
            link.leave(Split(time=datetime.now(UTC), id=f"key-{number}"))
            begin = time.monotonic()
            wait_until(lambda number=number: f"key-{number}" in keeper.acknowledged("entry"))
            assert time.monotonic() - begin < 1.0 + BUSY
        assert link.status().alive
        assert link.status().pid == keeper.process.pid
        link.close()
        assert keeper.end(signal.SIGINT) == 0


@pytest.mark.e2e
def test_a_keeper_in_the_background_is_started_once_and_stopped(tmp_path: Path) -> None:
    journal, output = tmp_path / "pit.db", tmp_path / "log" / "keeper.out"
    command = ["env", f"PYTHONPATH={ROOT}", sys.executable, str(SCRIPT), str(journal), "tally"]
    process = spawn(command, journal, output, DEADLINE)
    try:
        assert os.getsid(process.pid) == process.pid
        with pytest.raises(Exception, match=f"process {process.pid} on"):
            spawn(command, journal, output, DEADLINE)
        stopped = stop(journal, DEADLINE)
        assert stopped is not None
        assert stopped.pid == process.pid
        assert process.wait(DEADLINE) == 0
        assert stop(journal) is None
    finally:
        if process.poll() is None:
            process.kill()
            process.wait()


@pytest.mark.e2e
def test_a_keeper_that_cannot_start_says_why(tmp_path: Path) -> None:
    journal = tmp_path / "pit.db"
    command = [sys.executable, "-c", "raise SystemExit('pit.toml, line 14: no such unit')"]
    with pytest.raises(Exception, match=r"ended at once \(status 1\): pit.toml, line 14: no such unit"):
        spawn(command, journal, tmp_path / "keeper.out", DEADLINE)
