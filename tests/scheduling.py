"""Who of several workers (`pytest -n 3`) runs which tests: whole files, the ones that wait first.

Tests with real parts mostly wait, so that another worker has the processor meanwhile. Those that measure how long
something takes are run one after another by one worker: beside what computes, never beside each other.
"""

from collections.abc import Sequence
from pathlib import PurePosixPath
from typing import Final

import pytest
from xdist.scheduler import LoadFileScheduling

REAL: Final = "tests/e2e/"

MEASURED: Final = frozenset({"test_notices.py", "test_kill.py", "test_heartbeat.py", "test_watch_afar.py"})


class Files(LoadFileScheduling):
    """Hands out tests by file, and all of `MEASURED` as if they were one."""

    def _split_scope(self, nodeid: str) -> str:
        file: str = super()._split_scope(nodeid)
        return REAL if is_measured(file) else file


def is_measured(file: str) -> bool:
    """Tell whether what a test file finds depends on how soon things happen."""
    return file.startswith(REAL) and PurePosixPath(file).name in MEASURED


def in_order(items: Sequence[pytest.Item]) -> list[pytest.Item]:
    """Return tests with those that are measured first, then the others with real parts, then the rest."""

    def place(item: pytest.Item) -> int:
        return 0 if is_measured(item.nodeid.split("::")[0]) else 1 if item.nodeid.startswith(REAL) else 2

    return sorted(items, key=place)
