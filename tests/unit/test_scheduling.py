"""What three workers are handed, and in which order."""

from pathlib import Path
from types import SimpleNamespace

import pytest

from tests.scheduling import MEASURED, REAL, in_order, is_measured

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("name", sorted(MEASURED))
def test_what_is_measured_is_there(name):
    assert (ROOT / REAL / name).is_file()
    assert is_measured(REAL + name)


def test_what_waits_comes_before_what_computes():
    places = (
        "tests/unit/test_units.py::a",
        "tests/e2e/test_first_run.py::b",
        "tests/e2e/test_kill.py::c",
        "firebox/units.py::d",
    )
    ordered = [item.nodeid[-1] for item in in_order([SimpleNamespace(nodeid=place) for place in places])]
    assert "".join(ordered) == "cbad"
