"""A practice round in a real terminal, played by a script from the opening screen to the score."""

import re
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from firebox.journal import history
from firebox.journal.schema import open_reading
from firebox.keeper import progress
from firebox.ports import Kind
from firebox.records import Damper, Door, Split
from tests.terminal import Terminal, needs_tmux, until

pytestmark = [
    pytest.mark.e2e,
    pytest.mark.timeout(600),
    needs_tmux,
]

A_ROUND = 300.0
"""Real seconds that an hour of the fire at 60 in one may take on a machine that is busy otherwise, its twin included."""


@pytest.fixture
def opened(tmp_path: Path) -> Iterator[Callable[..., Terminal]]:
    terminals: list[Terminal] = []

    def open_(*options: str, **size: int) -> Terminal:
        command = " ".join((sys.executable, "-m firebox watch --practice", *options, "; echo left $?; sleep 600"))
        terminals.append(Terminal(command, environment={"FIREBOX_HOME": tmp_path}, **size))
        return terminals[-1]

    yield open_
    for terminal in terminals:
        terminal.kill()


def minute(terminal: Terminal) -> int:
    """Return the minute of the round that stands on the screen."""
    found = re.search(r"minute (\d+) of", terminal.screen())
    return int(found[1]) if found else -1


def answered(terminal: Terminal, key: str) -> None:
    """Wait for the question and answer it."""
    terminal.shows("Where will it be in 15 minutes")
    terminal.press(key)
    terminal.shows("You said")


def in_the_journal(home: Path) -> list[object]:
    connection = open_reading(home / "state" / "practice" / "rounds.sqlite")
    cook = history.cooks(connection)[-1]
    records: list[object] = [record for _, record in history.records(connection, cook.first_seq, cook.end_seq)]
    connection.close()
    assert cook.kind == Kind.PRACTICE
    return records


def test_a_round_from_the_opening_screen_to_the_score(opened: Callable[..., Terminal], tmp_path: Path) -> None:
    terminal = opened("--rate", "60")
    terminal.shows("a fire that costs nothing")
    terminal.press(*["Down"] * 7)
    terminal.shows("> Door ajar")
    terminal.press("Enter")
    terminal.shows("PRACTICE FIRE - NOT A REAL PIT")
    terminal.shows("READY: space begins")
    terminal.press("Space")
    terminal.shows("minute 1 of 60")

    terminal.press("s", "1")
    answered(terminal, "2")
    terminal.shows("WHAT IT DOES")
    until("the door is seen to be ajar", lambda: "≈" in terminal.screen() or minute(terminal) > 8)
    terminal.press("o")
    terminal.shows("is dropped")
    terminal.press("o")
    terminal.shows("Door shut")
    terminal.press("d", "i", "3")
    terminal.shows("intake to 3")

    terminal.press("Space")
    terminal.shows("PAUSED")
    stood = minute(terminal)
    time.sleep(3.0)
    assert minute(terminal) == stood, "a fire that is held still must not burn on"
    terminal.press("Space")
    until("it burns on", lambda: minute(terminal) > stood)

    terminal.press("u")
    terminal.shows("the keys are your hands")
    terminal.press("j", "j")
    terminal.shows("advice hidden")
    terminal.press(".")  # nothing is done any more: the rest of the hour may burn faster
    terminal.shows("x120")
    terminal.shows("minutes in the band", seconds=A_ROUND)
    until("the advice has been played as well", lambda: "..." not in terminal.screen(), A_ROUND)
    terminal.shows("on the same fire")

    (finished,) = progress.read(tmp_path / "state" / "practice" / "rounds.jsonl")
    assert finished.choice.scenario == "door ajar"
    assert finished.twin is not None
    assert finished.mine.minutes == 60.0
    assert finished.mine.trips >= 2

    terminal.press("Enter")
    terminal.shows("of 1 reached")
    terminal.press("q")
    terminal.shows("left 0")
    records = in_the_journal(tmp_path)
    for kind in (Split, Door, Damper):
        assert any(isinstance(record, kind) for record in records)
    assert not list((tmp_path / "state").glob("*.sqlite")), "practice must not touch the journal of any pit"


def test_a_round_on_a_large_screen_is_ended_early(opened: Callable[..., Terminal]) -> None:
    terminal = opened("--scenario", "hold", "--rate", "60", "--advice", "shown", "--seed", "3", columns=160, lines=50)
    terminal.shows("PRACTICE FIRE - NOT A REAL PIT")
    terminal.shows("minute 0 of 120")
    terminal.press("Space")
    terminal.shows("PRACTICE FIRE - NOT A REAL PIT x60")
    terminal.shows("NEXT")
    terminal.press("s", "2")
    answered(terminal, "3")
    terminal.press(".")
    terminal.shows("x120")
    terminal.press("G")
    terminal.shows("KEEPING A FIRE IN AN OFFSET")
    terminal.press("Escape")
    until("some minutes have passed", lambda: minute(terminal) >= 15, 120.0)
    terminal.press("x")
    terminal.shows("not reached this time")
    terminal.press("R")
    terminal.shows("READY: space begins", seconds=120.0)
    terminal.press("q")
    terminal.shows("a fire that costs nothing")
    terminal.press("q")
    terminal.shows("left 0")
