"""How every page looks, at both sizes and in every theme; accepted by eye."""

import pytest

from firebox.ports import Kind
from firebox.records import Alarm, AlarmState, Health, Priority, ProbeHealth
from firebox.units import Degrees
from tests.tui.canned import CannedLink, alarm, instant
from tests.tui.conftest import BEGIN
from tui.preferences import THEMES, Preferences

SIZES = [(80, 24), (160, 50)]
PAGES = {"fire": "escape", "probes": "p", "alarms": "A", "log": "e", "help": "question_mark"}


def by_size(size):
    return f"{size[0]}x{size[1]}"


@pytest.fixture
def looks(make, snap_compare, until):
    def compare(records, size, *keys, preferences=None, app_options=None, **link_options):
        app = make(CannedLink(records, **link_options), preferences, **(app_options or {}))

        async def settled(pilot):
            await until(lambda: app.glance().view.epoch is not None and app.glance().status is not None)
            await pilot.press(*keys)
            await pilot.pause()
            app.show()
            await pilot.pause()

        return snap_compare(app, terminal_size=size, run_before=settled)

    return compare


def troubled(cook):
    """The cook with an alarm to see to, one seen to, one on the shelf, and a probe that is out."""
    return [
        *cook,
        ProbeHealth(
            time=instant(BEGIN), probe="grate2", health=Health.OPEN, role="grate", text="open circuit since 01:12"
        ),
        alarm("probe-open-grate2", seconds=BEGIN - 60.0, priority=Priority.LOW, state=AlarmState.ACKNOWLEDGED,
              text="The probe grate2 has an open circuit."),
        alarm("wet-wood", seconds=BEGIN - 600.0, priority=Priority.MEDIUM, state=AlarmState.SHELVED, text="The wood may be wet."),
        alarm(seconds=BEGIN),
    ]  # fmt: skip


@pytest.mark.parametrize("size", SIZES, ids=by_size)
@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("page", PAGES)
def test_a_page_in_a_theme(looks, cook, page, theme, size):
    assert looks(
        troubled(cook) if page == "alarms" else cook, size, PAGES[page], preferences=Preferences(theme=theme)
    )


@pytest.mark.parametrize("size", SIZES, ids=by_size)
def test_an_alarm_on_a_demo_fire(looks, cook, size):
    assert looks(troubled(cook), size, "escape", kind=Kind.DEMO, rate=20.0)


@pytest.mark.parametrize("size", SIZES, ids=by_size)
@pytest.mark.parametrize("theme", ["dusk", "night"])
def test_an_alarm_that_wakes(looks, cook, size, theme):
    flare = Alarm(
        time=instant(BEGIN),
        alarm="flare",
        state=AlarmState.UNACKNOWLEDGED,
        priority=Priority.CRITICAL,
        probe="grate",
        text="The pit leaps up faster than wood can heat it: grease may be burning.",
        first="Close the intake and keep both doors shut. No water on burning grease.",
        minutes_until=2.4,
    )
    assert looks([*troubled(cook), flare], size, preferences=Preferences(theme=theme))


@pytest.mark.parametrize("size", SIZES, ids=by_size)
def test_ascii_alone(looks, cook, size):
    assert looks(
        troubled(cook), size, "escape", preferences=Preferences(ascii=True, degrees=Degrees.C), kind=Kind.PRACTICE
    )


@pytest.mark.parametrize("size", SIZES, ids=by_size)
def test_nobody_watches(looks, cook, size):
    assert looks(cook, size, alive=False, app_options={"revive": lambda: None})


@pytest.mark.parametrize("size", SIZES, ids=by_size)
def test_blind(looks, cook, size):
    out = [
        ProbeHealth(time=instant(BEGIN), probe=name, health=Health.OPEN, role="grate", text="open circuit")
        for name in ("grate", "grate2")
    ]
    assert looks([*cook, *out], size)


def test_a_question(looks, cook):
    assert looks(cook, (80, 24), "s")


def test_sixty_by_twenty(looks, cook):
    assert looks(troubled(cook), (60, 20), "escape")


def test_no_color(looks, cook, monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    assert looks(troubled(cook), (80, 24), "escape")
