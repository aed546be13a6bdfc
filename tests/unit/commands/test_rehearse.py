"""The ways of calling people, tried from the command line."""

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from drivers.fakes.player import FakePlayer
from drivers.tones import wav
from firebox.__main__ import cli
from firebox.records import Priority


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("FIREBOX_HOME", str(tmp_path))
    return tmp_path


@pytest.fixture
def player(tmp_path, monkeypatch):
    player = FakePlayer(tmp_path / "player")
    monkeypatch.setenv("PATH", player.path())
    return player


def configure(home: Path, text: str) -> None:
    path = home / "config" / "north.toml"
    path.parent.mkdir(exist_ok=True)
    path.write_text(text)


def run(*arguments: str) -> Result:
    return CliRunner().invoke(cli, list(arguments))


def test_every_urgency_is_sounded_on_the_loudspeaker_that_is_configured(home, player):
    configure(home, "[[notices.to]]\nkind = 'sound'\nname = 'bedroom'\ndevice = 'plughw:1,0'")
    result = run("probes", "--sound")
    assert result.exit_code == 0
    assert result.stdout.splitlines() == [f"bedroom: {priority}: sounded" for priority in Priority]
    assert "from your bed" in result.stderr
    assert [played.sound for played in player.played] == [wav(priority, 1.0) for priority in Priority]
    assert all("plughw:1,0" in played.arguments for played in player.played)


def test_without_one_it_is_the_default_loudspeaker(home, player):
    configure(home, "")
    result = run("probes", "--sound")
    assert result.exit_code == 0
    assert "default loudspeaker" in result.stderr
    assert len(player.played) == len(Priority)


def test_a_loudspeaker_that_fails_is_said_with_a_status(home, player):
    player.fail("audio open error: No such device")
    configure(home, "")
    result = run("probes", "--sound")
    assert result.exit_code == 1
    assert "sound: low: failed: aplay ended with status 1: audio open error: No such device" in result.stdout


def test_a_test_goes_out_in_every_way_and_each_is_reported(home, player):
    (home / "config").mkdir()
    (home / "config" / "address").write_text("json://127.0.0.1:9/t0ken-of-the-neighbour\n")
    configure(
        home,
        "[[notices.to]]\nkind = 'sound'\n[[notices.to]]\nkind = 'push'\nname = 'neighbour'\nurl_file = 'address'",
    )
    result = run("probes", "--notices")
    assert result.exit_code == 1
    sound, neighbour = result.stdout.splitlines()
    assert sound == "sound: handed over; look whether it arrives"
    assert neighbour.startswith("neighbour: failed: ")
    assert "t0ken" not in result.output
    assert player.played[0].sound == wav(Priority.HIGH, 1.0)


def test_without_any_way_it_says_what_to_write(home):
    configure(home, "")
    result = run("probes", "--notices")
    assert result.exit_code == 2
    assert 'kind = "sound"' in result.output


def test_an_address_that_cannot_be_read_is_told_by_the_check(home):
    configure(home, "[[notices.to]]\nkind = 'push'\nurl_env = 'NO_SUCH_VARIABLE'")
    result = run("probes", "--check")
    assert result.exit_code == 2
    assert "url_env: the environment variable NO_SUCH_VARIABLE is not set" in result.output


def test_two_things_at_once_are_refused(home):
    configure(home, "")
    assert run("probes", "--sound", "--notices").exit_code == 2
