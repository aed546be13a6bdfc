"""No alarm is lost, whenever the keeper is killed; the thousand kills are `python -m tests.benchmarks.alarm_kills`."""

from pathlib import Path

import pytest

from tests.benchmarks.alarm_kills import run


@pytest.mark.e2e
@pytest.mark.slow
@pytest.mark.timeout(120)
def test_no_alarm_is_lost_over_sixty_kills_at_random_moments(tmp_path: Path) -> None:
    outcome = run(tmp_path / "pit.db", 60, seed=20261125)
    assert outcome.lost == ()
    assert outcome.told > 20
    assert outcome.told_late > 0
    assert 0 < outcome.while_beginning < 60
