"""The ways of calling people in a pit's file: read, named apart, and told what is wrong with them."""

from pathlib import Path

import pytest

from firebox.config import load
from firebox.config.passwords import address
from firebox.errors import ConfigError
from firebox.records import Priority
from firebox.secret import STARS
from firebox.ways import GpioOptions, PushOptions, SoundOptions


def written(folder: Path, text: str) -> Path:
    path = folder / "pit.toml"
    path.write_text(text)
    return path


def refusal(folder: Path, text: str) -> str:
    with pytest.raises(ConfigError) as refused:
        load(written(folder, text))
    return str(refused.value)


def test_every_way_is_read_with_its_common_keys(tmp_path):
    config = load(
        written(
            tmp_path,
            """
            [notices]
            bell = false
            [[notices.to]]
            kind = "sound"
            device = "plughw:1,0"
            [[notices.to]]
            kind = "gpio"
            pin = 17
            active_high = false
            [[notices.to]]
            kind = "push"
            url_file = "address"
            from_priority = "high"
            after_minutes = 10
            quiet = "22:00-06:00"
            """,
        )
    )
    assert not config.notices.bell
    assert config.notices.to == (
        SoundOptions(device="plughw:1,0"),
        GpioOptions(pin=17, active_high=False),
        PushOptions(
            url_file=str(tmp_path / "address"), from_priority=Priority.HIGH, after_minutes=10, quiet="22:00-06:00"
        ),
    )


def test_a_file_with_only_the_bell_stays_as_it_was(tmp_path):
    assert load(written(tmp_path, "[notices]\nbell = true")).notices.to == ()


def test_ways_without_a_name_are_told_apart_from_each_other_and_from_the_broker(tmp_path):
    push = "[[notices.to]]\nkind = 'push'\nurl_env = 'A'\n"
    config = load(written(tmp_path, f"[mqtt]\nname = 'push'\n{push}{push}[[notices.to]]\nkind = 'sound'\n"))
    assert [way.name for way in config.notices.to] == ["push2", "push3", "sound"]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("kind = 'horn'", '"horn" is not a kind; one of '),
        ("kind = 'push'\nurl = 'json://x'", "name a file that only you can read with url_file, or"),
        ("kind = 'push'\ntoken = 'abc'", "name a file that only you can read with url_file, or"),
        ("kind = 'push'", "an address is wanted: url_file"),
        ("kind = 'push'\nurl_file = 'a'\nurl_env = 'B'", "an address is wanted: url_file"),
        ("kind = 'sound'\nquiet = '22-6'", '"22:00-06:00" would be right'),
        ("kind = 'sound'\nfrom_priority = 'hihg'", 'did you mean "high"?'),
        ("kind = 'gpio'\npin = 1", "notices.to[0].pin: 1 is out of range; from 2 up to 27"),
        ("kind = 'gpio'", "has no pin, which must be given"),
        ("kind = 'sound'\nafter_minutes = -1", "notices.to[0].after_minutes: -1 is out of range"),
        ("kind = 'sound'\nname = 'a'\n[[notices.to]]\nkind = 'sound'\nname = 'a'", '"a" is another way out already'),
    ],
)
def test_what_cannot_be_is_told(tmp_path, text, message):
    assert message in refusal(tmp_path, f"[[notices.to]]\n{text}")


def test_an_address_is_read_from_a_file_or_the_environment_and_shown_nowhere(tmp_path, monkeypatch):
    (tmp_path / "address").write_text("json://yard.example/t0ken\n")
    monkeypatch.setenv("NEIGHBOUR", "json://yard.example/t0ken")
    for options in (PushOptions(url_file=str(tmp_path / "address")), PushOptions(url_env="NEIGHBOUR")):
        found = address(options)
        assert found.reveal() == "json://yard.example/t0ken"
        assert str(found) == STARS


@pytest.mark.parametrize("text", [None, "", "\n"])
def test_an_address_that_is_not_there_is_told(tmp_path, text):
    if text is not None:
        (tmp_path / "address").write_text(text)
    with pytest.raises(ConfigError, match="url_file: "):
        address(PushOptions(url_file=str(tmp_path / "address")))
