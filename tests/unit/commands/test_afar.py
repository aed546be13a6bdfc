"""Looking at a pit that another computer keeps: what the command wants to know for that."""

import pytest
from click.testing import CliRunner, Result

from firebox.__main__ import cli


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("FIREBOX_HOME", str(tmp_path))
    monkeypatch.setattr("firebox.commands.watch._has_terminal", lambda: True)
    (tmp_path / "config").mkdir()
    return tmp_path


def run(*arguments: str) -> Result:
    return CliRunner().invoke(cli, ["watch", "--afar", *arguments])


def test_without_a_broker_it_says_what_to_write(home):
    (home / "config" / "north.toml").write_text("")
    result = run()
    assert result.exit_code == 2
    assert "no [mqtt]: say over which broker the pit is told" in result.output


def test_a_certificate_that_is_not_there_is_told(home):
    (home / "config" / "north.toml").write_text('[mqtt]\nbroker = { tls = { ca_file = "no-such-file" } }')
    result = run()
    assert result.exit_code == 2
    assert "no-such-file" in result.output


@pytest.mark.parametrize("more", [("--demo",), ("--rate", "20")])
def test_a_pit_afar_is_neither_a_demo_nor_faster_than_life(home, more):
    (home / "config" / "north.toml").write_text("[mqtt]")
    result = run(*more)
    assert result.exit_code == 2
    assert "--afar looks at a pit that another computer keeps" in result.output
