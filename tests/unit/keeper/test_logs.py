"""The keeper's log is a file that does not grow without end."""

import logging
from pathlib import Path

import pytest

from firebox.keeper.logs import write_log


def test_what_is_logged_is_written_and_the_file_is_turned_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("firebox.keeper.logs.BYTES", 2000)
    root = logging.getLogger()
    level = root.level
    path = tmp_path / "state" / "pit.log"
    handler = write_log(path)
    try:
        for number in range(200):
            logging.getLogger("firebox.test").info("source %s: number %d", "node", number)
    finally:
        root.removeHandler(handler)
        root.setLevel(level)
        handler.close()
    assert "INFO firebox.test: source node: number 199" in path.read_text()
    assert sum(name.stat().st_size for name in path.parent.iterdir()) <= 4 * 2000
    assert len(list(path.parent.iterdir())) == 4
