"""Where it is kept what cooks have taught of a pit."""

from datetime import UTC, datetime

import pytest

from firebox.config import known
from firebox.errors import ConfigError
from firebox.setup import KnownPit, Learned

TAUGHT = KnownPit(
    parameters={"heat": Learned(value=0.8, spread=0.1)},
    cooks=(datetime(2026, 5, 1, 18, tzinfo=UTC),),
    hours=11.5,
    learned=datetime(2026, 5, 2, 5, 30, tzinfo=UTC),
)


def test_what_is_kept_is_found_again_and_can_be_forgotten(tmp_path):
    path = tmp_path / "state" / "north.known.json"
    assert known.read(path) is None
    known.keep(path, TAUGHT)
    assert known.read(path) == TAUGHT
    assert [one.name for one in path.parent.iterdir()] == ["north.known.json"]
    assert known.forget(path)
    assert known.read(path) is None
    assert not known.forget(path)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{}",
        "not json",
        '{"parameters":{"heat":{"value":-1,"spread":0.1}},"cooks":[],"hours":1,"learned":"2026-05-02T05:30:00Z"}',
    ],
)
def test_a_file_that_cannot_be_used_says_what_to_do_and_can_be_forgotten(tmp_path, text):
    path = tmp_path / "north.known.json"
    path.write_text(text)
    with pytest.raises(ConfigError, match=r"north\.known\.json.*firebox review --forget"):
        known.read(path)
    assert known.forget(path)


def test_a_folder_that_cannot_be_written_is_told(tmp_path):
    (tmp_path / "state").write_text("in the way")
    with pytest.raises(ConfigError, match="cannot be written"):
        known.keep(tmp_path / "state" / "north.known.json", TAUGHT)
