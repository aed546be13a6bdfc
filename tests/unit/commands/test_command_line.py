"""The command line: what it takes, what it says, and the status it ends with."""

import json
import re
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from importlib import import_module
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from firebox import wiring
from firebox.__main__ import COMMANDS, cli
from firebox.config import locations
from firebox.errors import HeldError, SourceError
from firebox.journal.writer import Journal
from firebox.ports import Kind
from firebox.records import Split, Tick, decode
from firebox.setup import Setup
from tui.preferences import THEMES

ROOT = Path(__file__).parents[3]
TICK = '{"type":"tick","time":"2026-05-02T04:10:05Z"}\n'


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("FIREBOX_HOME", str(tmp_path))
    return tmp_path


def run(*arguments: str, given: str | bytes | None = None) -> Result:
    return CliRunner().invoke(cli, list(arguments), given)


def configure(home: Path, text: str, name: str = "north") -> Path:
    path = home / "config" / f"{name}.toml"
    path.parent.mkdir(exist_ok=True)
    path.write_text(text)
    return path


def recording(home: Path, *probes: str, minutes: int = 1) -> Path:
    """Write a recording: a reading of each probe every ten seconds."""
    start = datetime(2026, 5, 2, 4, 0, tzinfo=UTC)
    lines = [
        json.dumps(
            {"type": "reading", "time": (start + timedelta(seconds=at)).isoformat(), "probe": name, "celsius": 121}
        )
        for at in range(0, minutes * 60, 10)
        for name in probes
    ]
    path = home / "cook.jsonl"
    path.write_text("\n".join(lines))
    return path


# --- every command -------------------------------------------------------------------------------


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_every_command_has_help_for_itself_and_each_option(name):
    command = import_module(f"firebox.commands.{name}").command
    assert isinstance(command, click.Command)
    assert command.help is not None
    assert " ".join(command.help.split("\n\n")[0].split()) == COMMANDS[name]
    result = run(name, "--help")
    assert result.exit_code == 0
    described = [one for one in command.params if isinstance(one, click.Option) and one.name != "form"]
    assert all(one.help for one in described)


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_every_command_stands_in_the_readme(name):
    assert f"firebox {name}" in (ROOT / "README.md").read_text()


def test_every_module_with_a_command_is_listed():
    with_command = {
        path.stem for path in (ROOT / "firebox" / "commands").glob("*.py") if "def command(" in path.read_text()
    }
    assert with_command == set(COMMANDS)


def test_the_version_is_that_of_the_project():
    assert 'version = "0.1.0"' in (ROOT / "pyproject.toml").read_text()
    result = run("--version")
    assert (result.exit_code, result.output) == (0, "firebox 0.1.0\n")


@pytest.mark.parametrize(
    "arguments", [["burn"], ["stream", "--everry", "3"], ["stream", "--every", "0"], ["keep", "--rate", "1000"]]
)
def test_bad_usage_ends_with_two(arguments):
    assert run(*arguments).exit_code == 2


@pytest.mark.parametrize(
    "arguments", [["keep"], ["stop", "--pit", "south"], ["probes"], ["probes", "--check"], ["export"]]
)
def test_a_pit_that_is_not_configured_ends_with_two_and_says_how(arguments):
    result = run(*arguments)
    assert result.exit_code == 2
    assert "no pit is configured there; `firebox watch` writes a first file" in result.stderr


@pytest.mark.parametrize("arguments", [["keep"], ["probes"], ["probes", "--check"], ["stream", "--config"]])
def test_a_configuration_that_cannot_be_used_ends_with_two_and_names_the_line(home, arguments):
    path = configure(home, "[pit]\nwall_mm = -1")
    result = run(*arguments, *([str(path)] if arguments[-1] == "--config" else []))
    assert result.exit_code == 2
    assert result.stderr == "north.toml, line 2, pit.wall_mm: -1 is out of range; more than 0 up to 500\n"
    assert result.stdout == ""


def test_what_the_outside_refuses_ends_with_one_and_without_a_traceback(home, monkeypatch):
    configure(home, "[[sources]]\nkind = 'serial'\nport = '/dev/x'")

    def held(watched):
        raise HeldError("the pit is kept already, by process 7 on smokehouse")

    monkeypatch.setattr(wiring, "keep", held)
    result = run("keep")
    assert (result.exit_code, result.stderr) == (1, "the pit is kept already, by process 7 on smokehouse\n")


# --- what is loaded ------------------------------------------------------------------------------


def loaded_by(code: str) -> set[str]:
    script = f"import sys\n{code}\nprint('\\n'.join(sys.modules))"
    return set(
        subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True).stdout.split()
    )


@pytest.mark.parametrize("name", ["keep", "probes", "stop", "export", "stream"])
def test_only_the_dashboard_loads_the_dashboard(name):
    code = f"from firebox.commands import {name}\nimport firebox.wiring, firebox.keeper.loop, firebox.watch"
    modules = loaded_by(code)
    assert "textual" not in modules
    assert not any(module == "tui" or module.startswith("tui.") for module in modules)


def test_help_loads_no_command():
    code = (
        "from click.testing import CliRunner\nfrom firebox.__main__ import cli\nCliRunner().invoke(cli, ['--help'])"
    )
    modules = loaded_by(code)
    assert not {"numpy", "textual", "firebox.records", "msgspec", "firebox.commands.watch"} & modules


# --- stream --------------------------------------------------------------------------------------


def test_the_stream_answers_a_tick_and_closes_with_it():
    result = run("stream", given=TICK)
    assert result.exit_code == 0
    assert result.stderr == ""
    assert decode(result.stdout.splitlines()[-1]) == decode(TICK)


def test_the_stream_tells_of_a_bad_line_and_still_ends_with_zero():
    result = run("stream", given="nonsense\n" + TICK)
    assert result.exit_code == 0
    assert result.stderr.startswith("line 1: not JSON: ")


def test_the_stream_takes_the_pit_from_a_file(home):
    path = configure(home, "[[probes]]\nname = 'north end'\nrole = 'grate'")
    reading = '{"type":"reading","time":"2026-05-02T04:10:00Z","probe":"north end","celsius":121.4}\n'
    out = [
        json.loads(line) for line in run("stream", "--config", str(path), given=reading + TICK).stdout.splitlines()
    ]
    assert [record["role"] for record in out if record["type"] == "probe"] == ["grate"]
    bare = [json.loads(line) for line in run("stream", given=reading + TICK).stdout.splitlines()]
    assert [record["role"] for record in bare if record["type"] == "probe"] == ["meat"]


def test_the_same_input_gives_the_same_output_byte_for_byte(home):
    lines = recording(home, "grate", "flat", minutes=20).read_text()
    first, second = (run("stream", "--every", "60", given=lines).stdout_bytes for _ in range(2))
    assert first == second
    assert first.count(b'"type":"tick"') == 19


# --- probes --------------------------------------------------------------------------------------


def replayed(home: Path, *probes: str) -> Path:
    file = recording(home, "grate", "flat")
    table = "".join(f"[[probes]]\nname = '{name}'\n" for name in probes)
    return configure(home, f"{table}[[sources]]\nkind = 'replay'\nfile = '{file}'\n")


def test_configured_probes_are_listed_with_what_is_heard(home):
    replayed(home, "grate", "flat")
    result = run("probes", "--seconds", "5")
    assert result.exit_code == 0, result.output
    head, *rows = [line.split() for line in result.stdout.splitlines()]
    assert head == ["probe", "role", "source", "value", "status", "last", "heard", "signal"]
    assert [row[:6] for row in rows] == [
        ["grate", "grate", "replay", "249.8", "F", "good"],
        ["flat", "meat", "replay", "249.8", "F", "good"],
    ]


def test_a_configured_probe_that_is_not_heard_ends_with_one(home):
    replayed(home, "grate", "point")
    result = run("probes", "--seconds", "0.5")
    assert result.exit_code == 1
    assert "not heard within 0.5 s: point" in result.stderr
    rows = {line.split()[0]: line for line in result.stdout.splitlines()}
    assert rows["point"].split()[-5:] == ["never", "failure:", "not", "heard", "yet"]
    assert "(not configured)" in rows["flat"]


def test_a_source_that_is_not_there_is_told(home):
    configure(home, "[[sources]]\nkind = 'serial'\nport = '/dev/no-such-port'\n[[probes]]\nname = 'grate'")
    result = run("probes", "--seconds", "0.5")
    assert result.exit_code == 1
    assert "serial: " in result.stderr
    assert "/dev/no-such-port" in result.stderr


def test_a_defect_of_a_source_is_not_hidden(home, monkeypatch):
    class Broken:
        name = "broken"

        async def open(self):
            raise ZeroDivisionError

        async def close(self):
            pass

    replayed(home, "grate")
    monkeypatch.setattr(wiring, "sources", lambda config, clock: [Broken()])
    assert isinstance(run("probes").exception, ZeroDivisionError)


def test_a_source_that_fails_leaves_the_others_heard(home, monkeypatch):
    class Away:
        name = "away"

        async def open(self):
            raise SourceError("/dev/away: gone")

        async def close(self):
            pass

    replayed(home, "grate")
    real = wiring.sources
    monkeypatch.setattr(wiring, "sources", lambda config, clock: [Away(), *real(config, clock)])
    result = run("probes", "--seconds", "5")
    assert result.exit_code == 0
    assert "away: /dev/away: gone" in result.stderr


def test_the_check_tells_where_each_value_comes_from_and_what_may_not_be_meant(home):
    path = configure(home, "[[probes]]\nname = 'flat'\npoint = 200\n")
    result = run("probes", "--check", "--config", str(path))
    assert result.exit_code == 0
    rows = [re.split(r"\s{2,}", line) for line in result.stdout.splitlines()]
    assert ["probes[0].point", "200.0", "north.toml, line 3"] in rows
    assert "no probe has the role grate" in result.stderr
    assert "no [[sources]] yet" in result.stderr
    assert f"{path}: it can be used; look at the 2 notes above" in result.stderr


def test_the_check_misses_a_password_that_is_not_there(home, monkeypatch):
    monkeypatch.delenv("PIT_PASSWORD", raising=False)
    configure(home, "[mqtt]\nbroker = { user = 'cook', password_env = 'PIT_PASSWORD' }")
    result = run("probes", "--check")
    assert result.exit_code == 2
    assert "PIT_PASSWORD" in result.stderr
    monkeypatch.setenv("PIT_PASSWORD", "hickory")
    result = run("probes", "--check")
    assert result.exit_code == 0
    assert "hickory" not in result.output


# --- keep, stop, watch ---------------------------------------------------------------------------


def test_keeping_a_pit_without_sources_says_what_to_write(home):
    path = configure(home, "")
    result = run("keep")
    assert result.exit_code == 2
    assert result.stderr == (
        f"{path}: no [[sources]]: say where readings come from, as in\n"
        '  [[sources]]\n  kind = "serial"\n  port = "/dev/ttyACM0"\n'
    )


def test_a_real_fire_has_no_rate(home):
    configure(home, "[[sources]]\nkind = 'serial'\nport = '/dev/x'")
    result = run("keep", "--rate", "5")
    assert result.exit_code == 2
    assert "burns at its own pace" in result.stderr


def test_the_demo_is_kept_at_the_rate_that_is_asked_for(monkeypatch):
    kept = []
    monkeypatch.setattr(wiring, "keep", kept.append)
    assert run("keep", "--demo", "--rate", "60").exit_code == 0
    assert [(one.kind, one.rate) for one in kept] == [(Kind.DEMO, 60.0)]
    assert run("keep", "--demo", "--pit", "north").exit_code == 2


@pytest.mark.parametrize("arguments", [[], ["--demo"]])
def test_stopping_what_nobody_keeps_is_done_already(arguments):
    result = run("stop", *arguments)
    assert (result.exit_code, result.stderr) == (0, "demo: nobody keeps it\n")


def test_a_mistake_in_the_file_does_not_keep_anybody_from_ending_the_watch(home, monkeypatch):
    configure(home, "[pit]\nname = 'south'\nwall_mm = -1")
    stopped = []
    monkeypatch.setattr(wiring, "stop", lambda watched: stopped.append(watched.journal) or "process 7")
    result = run("stop")
    assert result.exit_code == 0
    assert stopped == [locations.journal_file("south")]
    assert result.stderr.splitlines() == [
        "north.toml, line 3, pit.wall_mm: -1 is out of range; more than 0 up to 500",
        "south: ended process 7",
    ]


def test_a_file_that_is_not_there_says_nothing_of_a_watch_to_end(home):
    result = run("stop", "--config", str(home / "none.toml"))
    assert result.exit_code == 2
    assert "cannot be read: No such file" in result.stderr


@pytest.fixture
def looked(monkeypatch):
    """Pretend a terminal, and remember what would be shown on it."""
    shown = []
    monkeypatch.setattr("firebox.commands.watch._has_terminal", lambda: True)
    monkeypatch.setattr(wiring, "watch", lambda watched, **look: shown.append((watched, look)))
    return shown


def test_a_dashboard_needs_a_terminal():
    result = run("watch", "--demo")
    assert result.exit_code == 2
    assert "`firebox keep` watches a pit without one" in result.stderr


def test_without_a_configuration_a_first_file_is_written_and_the_demo_offered(looked):
    result = run("watch", given="\n")
    assert result.exit_code == 0
    assert "No pit is configured yet. Watch the demo pit? [Y/n]" in result.stderr
    assert str(locations.config_file("pit")) in result.stderr
    assert locations.config_file("pit").exists()
    assert [watched.kind for watched, _ in looked] == [Kind.DEMO]


def test_the_demo_can_be_declined(looked):
    assert run("watch", given="n\n").exit_code == 0
    assert looked == []


def test_a_pit_without_sources_is_offered_the_demo_too(home, looked):
    configure(home, "")
    result = run("watch", given="y\n")
    assert "north.toml: no [[sources]] yet" in result.stderr
    assert [watched.kind for watched, _ in looked] == [Kind.DEMO]


def test_asking_for_the_demo_asks_nothing_and_writes_nothing(looked):
    result = run("watch", "--demo", "--theme", "night", "--ascii")
    assert (result.exit_code, result.output) == (0, "")
    assert [look for _, look in looked] == [{"theme": "night", "ascii_only": True}]
    assert not locations.config_folder().exists()


def test_a_configured_pit_is_shown(home, looked):
    path = configure(home, "[[sources]]\nkind = 'serial'\nport = '/dev/x'")
    assert run("watch", "--pit", "north").exit_code == 0
    ((watched, _),) = looked
    assert (watched.name, watched.kind, watched.config_path) == ("north", Kind.LIVE, path)


@pytest.fixture
def practised(monkeypatch):
    """Pretend a terminal, and remember what would be practised on it."""
    wishes = []
    monkeypatch.setattr("firebox.commands.watch._has_terminal", lambda: True)
    monkeypatch.setattr(wiring, "practise", lambda wish, **look: wishes.append((wish, look)))
    return wishes


def test_practice_asks_what_to_practise_where_nothing_is_said(practised):
    assert run("watch", "--practice", "--theme", "night").exit_code == 0
    assert practised == [(wiring.PracticeWish(), {"theme": "night", "ascii_only": False})]
    assert not locations.config_folder().exists()


def test_a_practice_round_is_said_in_words_with_or_without_dashes(practised):
    said = ("--scenario", "windy-night", "--size", "wren", "--weather", "cold dawn", "--wood", "wet", "--seed", "7")
    assert run("watch", "--practice", *said, "--rate", "60", "--advice", "hidden").exit_code == 0
    ((wish, _),) = practised
    assert wish == wiring.PracticeWish(
        scenario="windy night", pit="wren", weather="cold dawn", wood="wet", seed=7, pace=60.0, advice="hidden"
    )


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--scenario", "hold"), "belong to --practice"),
        (("--practice", "--demo"), "--practice is a fire of its own"),
        (("--practice", "--pit", "north"), "--practice is a fire of its own"),
        (("--practice", "--scenario", "sailing"), "'sailing' is not one of"),
        (("--practice", "--rate", "500"), "1<=x<=120"),
    ],
)
def test_what_contradicts_practice_is_refused_with_what_is_meant(practised, arguments, words):
    result = run("watch", *arguments)
    assert result.exit_code == 2
    assert words in " ".join(result.stderr.split())
    assert practised == []


# --- export --------------------------------------------------------------------------------------


def test_exporting_where_nothing_was_watched_is_told(home):
    configure(home, "")
    result = run("export")
    assert result.exit_code == 1
    assert str(locations.journal_file("north")) in result.stderr


@pytest.fixture
def cooks(home):
    """Two cooks in the journal of the pit north; the second has a split and a tick."""
    configure(home, "")
    journal = Journal(locations.journal_file("north"))
    start = datetime(2026, 5, 2, 4, 0, tzinfo=UTC)
    locations.state_folder().mkdir(exist_ok=True)
    for day in range(2):
        time = start + timedelta(days=day)
        journal.begin_cook(Setup(time=time, pit="north"), Kind.LIVE)
        if day:
            journal.take(Split(time=time, kg=1.4))
            journal.take(Tick(time=time))
            journal.tell([Tick(time=time)])
    journal.flush()
    journal.commit()
    journal.close()
    return start


def words(result: Result) -> list[str]:
    return [json.loads(line).get("entry", json.loads(line)["type"]) for line in result.stdout.splitlines()]


def test_the_last_cook_is_exported_as_lines_that_the_stream_takes(cooks):
    result = run("export")
    assert result.exit_code == 0, result.output
    assert words(result) == ["setup", "split", "tick"]
    streamed = run("stream", given=result.stdout)
    assert (streamed.exit_code, streamed.stderr) == (0, "")


def test_one_cook_or_all_of_them_can_be_asked_for(cooks):
    assert words(run("export", "--cook", "1")) == ["setup"]
    assert words(run("export", "--cook", "all")) == ["setup", "setup", "split", "tick"]
    result = run("export", "--cook", "3")
    assert result.exit_code == 2
    assert 'no cook "3"; there are 1, 2' in result.stderr


def test_the_cooks_can_be_listed(cooks):
    rows = [line.split() for line in run("export", "--list").stdout.splitlines()]
    assert [row[:3] for row in rows] == [
        ["1", "live", "2026-05-02T04:00:00+00:00"],
        ["2", "live", "2026-05-03T04:00:00+00:00"],
    ]


def test_csv_has_its_columns_named_once(cooks):
    rows = run("export", "--format", "csv", "--cook", "all").stdout.splitlines()
    assert rows[0] == "time,type,probe,celsius,status,name,body"
    assert sum(row.startswith("time,") for row in rows) == 1
    assert len(rows) == 5


def test_a_cook_can_be_written_to_a_file(cooks, tmp_path):
    file = tmp_path / "cook.jsonl"
    result = run("export", "-o", str(file))
    assert (result.exit_code, result.output) == (0, "")
    assert file.read_text() == run("export").stdout
    result = run("export", "-o", str(tmp_path / "nowhere" / "cook.jsonl"))
    assert result.exit_code == 1
    assert "nowhere" in result.stderr


def test_whoever_stops_reading_is_not_told_of_it(cooks):
    command = f"{sys.executable} -m firebox export | true; echo ${{PIPESTATUS[0]}}"
    result = subprocess.run(["bash", "-c", command], capture_output=True, text=True, check=True, cwd=ROOT)
    assert (result.stdout, result.stderr) == ("0\n", "")


@pytest.mark.parametrize("command", ["export", "probes --check"])
def test_a_full_disk_behind_standard_output_is_told(cooks, command):
    line = f"{sys.executable} -m firebox {command} > /dev/full"
    result = subprocess.run(["bash", "-c", line], capture_output=True, text=True, cwd=ROOT)
    assert result.returncode == 1
    assert result.stderr.splitlines()[-1] == "standard output: No space left on device"
    assert "Traceback" not in result.stderr


def test_a_stream_without_an_input_is_told():
    result = subprocess.run(
        ["bash", "-c", f"{sys.executable} -m firebox stream <&-"], capture_output=True, text=True, cwd=ROOT
    )
    assert result.returncode == 2
    assert "standard input or output is closed" in result.stderr


def test_the_colours_that_can_be_asked_for_are_those_of_the_dashboard():
    command = import_module("firebox.commands.watch").command
    (theme,) = (one for one in command.params if one.name == "theme")
    assert tuple(theme.type.choices) == THEMES
