"""A pit's file found, read, turned into SI, and told where each value came from."""

import re
import textwrap
from datetime import UTC, datetime
from pathlib import Path

import msgspec
import pytest

from firebox import wiring
from firebox.config import find, load, locations, name_in, read, write_first
from firebox.config.schema import RESERVED, Config, DashboardTable
from firebox.errors import ConfigError
from firebox.links import MqttSourceOptions, ReplayOptions
from firebox.setup import Role, Setup
from tui.preferences import Preferences

NOW = datetime(2026, 5, 2, 4, 0, tzinfo=UTC)


@pytest.fixture
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("FIREBOX_HOME", str(tmp_path))
    return tmp_path


def written(folder: Path, text: str, name: str = "pit.toml") -> Path:
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text)
    return path


def test_a_file_in_fahrenheit_and_pounds_becomes_si(tmp_path):
    path = written(
        tmp_path,
        """
        [pit]
        name = "north"
        chamber_litres = 400
        usual_split_weight = 2.5
        [units]
        degrees = "F"
        mass = "lb"
        [target]
        temperature = 250
        band = 18
        high = 302
        low = 212
        [[probes]]
        name = "flat"
        point = 203
        [[probes]]
        name = "left"
        role = "grate"
        lag_seconds = 30
        [dampers]
        marks = 6
        intake_open = 0.5
        [wood]
        species = "hickory"
        small = 1
        """,
    )
    setup = load(path).setup(NOW)
    assert (setup.time, setup.pit) == (NOW, "north")
    assert setup.target_celsius == pytest.approx(121.111, abs=0.001)
    assert (setup.band, setup.high_celsius, setup.low_celsius) == pytest.approx((10, 150, 100))
    assert setup.build.chamber_litres == 400
    assert setup.build.usual_split_kg == pytest.approx(1.13398, abs=1e-5)
    assert [(probe.name, probe.role) for probe in setup.probes] == [("flat", Role.MEAT), ("left", Role.GRATE)]
    assert setup.probes[0].point_celsius == pytest.approx(95)
    assert setup.probes[1].lag_seconds == 30
    assert (setup.damper_marks, setup.intake_open, setup.stack_open) == (6, 0.5, None)
    assert (setup.wood.species, setup.wood.small_kg) == ("hickory", pytest.approx(0.45359, abs=1e-5))


def test_a_file_in_celsius_and_kilograms_is_taken_as_it_is(tmp_path):
    path = written(
        tmp_path, '[units]\ndegrees = "C"\n[target]\ntemperature = 110\nband = 6\n[pit]\nusual_split_weight = 2\n'
    )
    setup = load(path).setup(NOW)
    assert (setup.target_celsius, setup.band, setup.build.usual_split_kg) == (110, 6, 2)


def test_an_empty_file_is_a_pit_with_the_defaults_of_the_record_named_like_the_file(tmp_path):
    assert load(written(tmp_path, "", "south.toml")).setup(NOW) == Setup(time=NOW, pit="south")


def test_a_configuration_without_a_file_is_the_defaults():
    assert Config().setup(NOW) == Setup(time=NOW)


def test_a_file_whose_name_is_no_name_for_a_pit_asks_for_one(tmp_path):
    path = written(tmp_path, "", "a+b.toml")
    with pytest.raises(ConfigError, match=r"a\+b\.toml, pit\.name: the file's name is no name for a pit"):
        load(path)
    path.write_text('[pit]\nname = "ab"')
    assert load(path).name == "ab"


@pytest.mark.parametrize(("name", "text"), [("demo.toml", ""), ("pit.toml", '[pit]\nname = "Demo"')])
def test_no_pit_of_ones_own_is_called_like_the_demo(tmp_path, name, text):
    with pytest.raises(ConfigError, match="is the demo pit; write another name"):
        load(written(tmp_path, text, name))
    assert wiring.DEMO == RESERVED


def test_windows_line_ends_and_a_byte_order_mark_do_no_harm(tmp_path):
    path = tmp_path / "pit.toml"
    path.write_bytes(b"\xef\xbb\xbf[pit]\r\nchamber_litres = 300\r\nwall = 3\r\n")
    with pytest.raises(ConfigError, match=r"line 3, pit\.wall"):
        load(path)


def test_paths_are_taken_from_the_folder_of_the_file(tmp_path, monkeypatch):
    monkeypatch.setenv("HOME", "/home/cook")
    path = written(
        tmp_path,
        """
        [[sources]]
        kind = "replay"
        file = "cooks/first.jsonl"
        [[sources]]
        kind = "mqtt"
        topics = [{ topic = "a", probe = "grate" }]
        [sources.broker]
        user = "cook"
        password_file = "~/secret"
        tls = { ca_file = "/etc/ca.pem", certificate_file = "me.pem", key_file = "me.key" }
        [mqtt]
        """,
    )
    config = load(path)
    replay, heard = config.sources
    assert isinstance(replay, ReplayOptions)
    assert replay.file == str(tmp_path / "cooks/first.jsonl")
    assert isinstance(heard, MqttSourceOptions)
    assert heard.broker.password_file == "/home/cook/secret"
    assert heard.broker.tls is not None
    assert heard.broker.tls.ca_file == "/etc/ca.pem"
    assert heard.broker.tls.key_file == str(tmp_path / "me.key")
    assert config.mqtt is not None
    assert config.mqtt.broker.password_file is None


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("", "pit"),
        ("[pit]\nname = 'south'\nwall_mm = 'x'", "south"),
        ("[pit]\nname = '../etc'", "pit"),
        ("[pit]\nname = 7", "pit"),
        ("pit = 7", "pit"),
        ("[pit\n", "pit"),
    ],
)
def test_the_name_of_a_pit_is_known_even_where_its_file_is_wrong(tmp_path, text, name):
    assert name_in(written(tmp_path, text)) == name


def test_sources_without_a_name_are_told_apart(tmp_path):
    tables = ["port = '/dev/a'", "port = '/dev/b'\nname = 'serial2'", "port = '/dev/c'", "port = '/dev/d'"]
    path = written(tmp_path, "\n".join(f"[[sources]]\nkind = 'serial'\n{table}" for table in tables))
    assert [source.name for source in load(path).sources] == ["serial", "serial2", "serial3", "serial4"]


def test_every_piece_of_a_file_in_the_readme_is_right(tmp_path):
    text = (Path(__file__).parents[3] / "README.md").read_text()
    pieces = [textwrap.dedent(piece) for piece in re.findall(r"```toml\n(.*?)```", text, re.DOTALL)]
    assert pieces
    for piece in pieces:
        load(written(tmp_path, piece))
    load(written(tmp_path, "".join(pieces)))


# --- where from ----------------------------------------------------------------------------------


def test_every_value_in_force_is_told_with_its_line_or_as_a_default(tmp_path):
    path = written(tmp_path, '[units]\ndegrees = "C"\n[target]\nband = 5\n\n[[probes]]\nname = "grate2"\n')
    origins = {origin.key: (origin.value, origin.source) for origin in read(path).origins()}
    assert origins["units.degrees"] == ('"C"', "pit.toml, line 2")
    assert origins["target.band"] == ("5.0", "pit.toml, line 4")
    assert origins["target.temperature"] == ("121.0", "default")
    assert origins["target.high"] == ("146.0", "default")
    assert origins["probes[0].name"] == ('"grate2"', "pit.toml, line 7")
    assert origins["probes[0].role"] == ('"grate"', "default")
    assert origins["dampers.marks"] == ("8", "default")
    assert origins["wood.species"] == ('"oak"', "default")
    assert origins["notices.bell"] == ("true", "default")


def test_defaults_are_told_in_the_cooks_degrees(tmp_path):
    origins = {origin.key: origin.value for origin in read(written(tmp_path, "")).origins()}
    assert (origins["target.temperature"], origins["target.band"]) == ("249.8", "14.4")


# --- finding -------------------------------------------------------------------------------------


def test_everything_is_in_one_folder_where_the_environment_names_one(home):
    assert locations.config_file("north") == home / "config" / "north.toml"
    assert locations.journal_file("north").parent == locations.log_file("north").parent == home / "state"


def test_without_such_a_folder_files_are_where_the_system_has_them(monkeypatch, tmp_path):
    monkeypatch.delenv("FIREBOX_HOME", raising=False)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "conf"))
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    assert locations.config_file("north").name == "north.toml"
    assert locations.config_folder() != locations.state_folder()
    assert "firebox" in locations.state_folder().parts


def test_the_only_pit_is_the_one_that_is_meant(home):
    path = written(home, "", "config/north.toml")
    assert find() == path
    assert find(pit="north") == path
    assert find(Path("elsewhere.toml"), "north") == Path("elsewhere.toml")


def test_of_several_pits_one_has_to_be_named(home):
    written(home, "", "config/north.toml")
    south = written(home, "", "config/south.toml")
    with pytest.raises(ConfigError, match=r"there are several pits; say --pit with one of north, south"):
        find()
    assert find(pit="south") == south
    with pytest.raises(ConfigError, match='there is no "west"; say --pit with one of north, south'):
        find(pit="west")


@pytest.mark.parametrize("pit", [None, "north"])
def test_where_no_pit_is_configured_the_way_to_a_first_file_is_told(home, pit):
    with pytest.raises(ConfigError, match=f"{home}/config: no pit is configured there; `firebox watch` writes"):
        find(pit=pit)


@pytest.mark.parametrize("pit", ["../secret", "/etc/passwd", "a/b", ""])
def test_a_pit_is_a_name_and_never_a_path(home, pit):
    written(home, "", "config/north.toml")
    written(home, "", "secret.toml")
    with pytest.raises(ConfigError, match="there is no"):
        find(pit=pit)


# --- the first file ------------------------------------------------------------------------------


def test_the_first_file_is_right_as_it_stands_and_is_never_written_over(home):
    path = locations.config_file("pit")
    assert write_first(path)
    config = load(find())
    assert config.sources == ()
    assert [probe.role for probe in config.setup(NOW).probes] == [Role.GRATE, Role.MEAT]
    path.write_text("# mine")
    assert not write_first(path)
    assert path.read_text() == "# mine"


def test_every_example_in_the_first_file_is_right_too(tmp_path):
    path = tmp_path / "pit.toml"
    write_first(path)
    lines = []
    for line in path.read_text().splitlines():
        bare = line.removeprefix("# ")
        is_example = bare.startswith("[") or " = " in bare.split("#")[0]
        lines.append(bare if line.startswith("# ") and is_example and "," not in bare.split("=")[0] else line)
    path.write_text("\n".join(lines))
    config = load(path)
    assert [source.name for source in config.sources] == [
        "serial",
        "serial2",
        "mqtt",
        "iio",
        "onewire",
        "spi",
        "modbus",
    ]
    assert config.mqtt is not None
    assert config.wood.large == 4
    assert config.dashboard.theme == "night"


def test_a_folder_that_cannot_be_made_is_told(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(ConfigError, match="cannot be written"):
        write_first(tmp_path / "file" / "pit.toml")


def test_the_first_file_names_every_table():
    text = Path(locations.__file__).with_name("first.toml").read_text()
    for table in Config.__struct_fields__:
        assert f"[{table}]" in text


# --- the look ------------------------------------------------------------------------------------


def test_the_looks_that_can_be_configured_are_those_of_the_dashboard():
    known = msgspec.inspect.type_info(Preferences)
    ours = msgspec.inspect.type_info(DashboardTable)
    assert isinstance(known, msgspec.inspect.StructType)
    assert isinstance(ours, msgspec.inspect.StructType)
    theirs = {field.name: field.type for field in known.fields}
    for field in ours.fields:
        assert isinstance(field.type, msgspec.inspect.UnionType)
        assert theirs[field.name] in field.type.types


def test_a_folder_of_devices_is_taken_from_the_files_own_folder_or_as_it_is(tmp_path):
    path = tmp_path / "pit.toml"
    path.write_text(
        '[[sources]]\nkind = "iio"\nroot = "sys"\n[[sources]]\nkind = "onewire"\nprobes = [{probe = "a"}]\n'
    )
    relative, usual = load(path).sources
    assert relative.root == str(tmp_path / "sys")
    assert usual.root == "/sys/bus/w1/devices"


def test_a_chips_own_temperature_has_to_be_among_the_probes_too(tmp_path):
    path = tmp_path / "pit.toml"
    path.write_text(
        '[[probes]]\nname = "grate"\n[[sources]]\nkind = "spi"\n'
        'probes = [ { kind = "max31856", probe = "grate", junction = "box" } ]\n'
    )
    with pytest.raises(
        ConfigError, match=r'line 5, sources\[0\].probes\[0\].junction: "box" is not among the probes'
    ):
        load(path)
