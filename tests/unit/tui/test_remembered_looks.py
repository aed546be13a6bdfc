"""How the cook left the dashboard of a pit is how it begins the next time."""

import logging

import msgspec
import pytest
from msgspec.structs import replace

from firebox import wiring
from firebox.config import locations
from firebox.config.schema import Config, DashboardTable, NoticesTable, UnitsTable
from firebox.ports import Kind
from firebox.units import Degrees, Mass
from tui.preferences import LOOKS, Preferences

CONFIGURED = Config(units=UnitsTable(degrees=Degrees.C), dashboard=DashboardTable(theme="day", history_hours=4))


class Looked:
    """Stands for the dashboard: what it was begun with, and keys pressed on it."""

    def __init__(self, monkeypatch):
        self.begun = []
        monkeypatch.setattr("tui.app.Dashboard", self._begin)
        monkeypatch.setattr("firebox.wiring.looking.is_kept", lambda _: True)

    def _begin(self, _link, preferences, **more):
        self.preferences, self.options = preferences, more
        self.begun.append(preferences)
        return self

    def run(self):
        for what in self.keys:
            self.preferences, _ = LOOKS[what](self.preferences)
            self.options["remember"](self.preferences)

    def look(self, *keys, config=CONFIGURED, name="north", **told):
        self.keys = keys
        watched = wiring.Watched(
            name=name, config=config, kind=Kind.LIVE,
            journal=locations.journal_file(name), log=locations.log_file(name),
        )  # fmt: skip
        wiring.watch(watched, **told)
        return self.begun[-1]


@pytest.fixture
def dashboard(monkeypatch, tmp_path):
    monkeypatch.setenv(locations.HOME, str(tmp_path))
    before = logging.getLogger().handlers[:]
    yield Looked(monkeypatch)
    for handler in [one for one in logging.getLogger().handlers if one not in before]:
        logging.getLogger().removeHandler(handler)
        handler.close()


def test_at_first_it_looks_as_configured(dashboard):
    begun = dashboard.look()
    assert begun == Preferences(degrees=Degrees.C, theme="day", history_hours=4)
    assert not locations.look_file("north").exists()


def test_what_was_changed_at_a_key_is_so_the_next_time(dashboard):
    dashboard.look("degrees", "theme", "hours", "mass", "longer")
    changed = dashboard.preferences
    assert dashboard.look() == changed
    assert (changed.degrees, changed.theme, changed.hours) == (Degrees.F, "night", 12)


def test_what_was_changed_back_is_remembered_too(dashboard):
    dashboard.look("degrees")
    dashboard.look("degrees")
    assert dashboard.look().degrees == Degrees.C


def test_what_was_never_changed_at_a_key_follows_the_configuration(dashboard):
    dashboard.look("degrees")
    assert dashboard.look(config=Config(dashboard=DashboardTable(theme="night"))).theme == "night"


def test_every_pit_has_its_own_look(dashboard):
    dashboard.look("theme")
    assert dashboard.look(name="south").theme == "day"


def test_two_dashboards_of_a_pit_do_not_undo_each_others_changes(dashboard):
    dashboard.look()
    first = dashboard.options["remember"]
    dashboard.look("theme")
    first(replace(dashboard.begun[0], mass=Mass.LB))
    begun = dashboard.look()
    assert (begun.theme, begun.mass) == ("night", Mass.LB)


def test_what_is_told_on_the_command_line_wins_and_is_not_remembered(dashboard):
    dashboard.look("theme")
    assert dashboard.look("degrees", theme="contrast", ascii_only=True).theme == "contrast"
    begun = dashboard.look()
    assert (begun.theme, begun.ascii) == ("night", False)


@pytest.mark.parametrize(
    "damage", [b"", b"{", b"[1]", b'{"theme": "neon"}', b'{"colour": "red"}', b'{"degrees": 3}', b"\xff\xfe\x00"]
)
def test_a_broken_file_is_passed_over_and_the_log_says_so(dashboard, damage):
    path = locations.look_file("north")
    path.parent.mkdir(parents=True)
    path.write_bytes(damage)
    assert dashboard.look("degrees").theme == "day"
    said = locations.log_file("north").with_suffix(".dashboard.log").read_text()
    assert "WARNING" in said
    assert str(path) in said
    assert msgspec.json.decode(path.read_bytes()) == {"degrees": "F"}


def test_a_look_that_cannot_be_written_ends_nothing(dashboard, caplog):
    locations.look_file("north").mkdir(parents=True)
    dashboard.look("degrees")
    assert {record.levelname for record in caplog.records} == {"WARNING"}
    assert caplog.messages[-1].startswith("look not written")
    assert dashboard.preferences.degrees == Degrees.F


@pytest.mark.parametrize("bell", [True, False])
def test_the_bell_is_as_configured(dashboard, bell):
    dashboard.look(config=Config(notices=NoticesTable(bell=bell)))
    assert dashboard.options["bell"] is bell
