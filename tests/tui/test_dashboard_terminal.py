"""The dashboard in a real terminal: drawn, resized, left, and cut off."""

import sys
from pathlib import Path

import pytest

from tests.terminal import Terminal, needs_tmux, until

LOOK = Path(__file__).parent / "look.py"

pytestmark = [pytest.mark.e2e, needs_tmux]


@pytest.fixture
def terminal():
    opened = []

    def open_terminal(*options):
        opened.append(Terminal(f"{sys.executable} {LOOK} {' '.join(options)}; exec sleep 60"))
        return opened[-1]

    yield open_terminal
    for one in opened:
        one.kill()


def test_a_split_is_logged_and_the_dashboard_left_in_a_real_terminal(terminal):
    screen = terminal("--begin", "15000")
    screen.shows("NEXT", "SPLIT", "no alarms", "q leave")
    screen.press("s")
    screen.shows("1 small", "2 medium", "3 large")
    screen.press("2")
    screen.shows("medium split, 1.4 kg", "logged")
    screen.press("q")
    screen.shows("The watch goes on without the dashboard. To end it: firebox stop")


def test_an_alarm_reaches_the_terminal_within_two_seconds_of_the_news(terminal):
    screen = terminal("--begin", "15000", "--alarm-after", "4", "--kind", "demo", "--rate", "20")
    screen.shows("DEMO FIRE - NOT A REAL PIT x20")
    screen.shows("HIGH ALARM", "FIRST", "I am awake: stop the bell")


def test_the_bell_goes_on_ringing_in_the_terminal_until_the_alarm_is_acknowledged(terminal, tmp_path):
    screen = terminal("--begin", "15000", "--alarm-after", "3")
    heard = tmp_path / "heard"
    screen.shows("NEXT")
    screen.record(heard)
    screen.shows("HIGH ALARM")
    screen.until(lambda _: heard.read_bytes().count(b"\a") >= 3)
    screen.press("a")
    screen.shows("acknowledged: The fire is dying")


def test_a_terminal_may_change_its_size_at_any_time(terminal):
    screen = terminal("--begin", "15000")
    screen.shows("NEXT")
    screen.resize(160, 50)
    screen.shows("PROBES", "ENTRIES", "min to the split")
    screen.resize(60, 20)
    screen.until(lambda shown: "PROBES" not in shown and "NEXT" in shown and "q leave" in shown)
    screen.resize(30, 8)
    screen.resize(80, 24)
    screen.shows("NEXT", "aim 250F", "q leave")


def test_a_terminal_that_is_cut_off_leaves_no_dashboard_behind(terminal):
    screen = terminal("--begin", "15000")
    screen.shows("NEXT")
    (child,) = screen.children()
    screen.kill()
    until("the dashboard ends with its terminal", lambda: is_over(child))


def is_over(process):
    """Tell whether a process has ended, waited for or not."""
    try:
        state = Path(f"/proc/{process}/stat").read_text().rsplit(")", 1)[1].split()[0]
    except FileNotFoundError:
        return True
    return state == "Z"
