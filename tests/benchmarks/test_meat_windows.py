"""The windows of plan and watch over a few cooks of meat that they were not shaped after; the benchmark takes 200."""

import pytest

from tests.benchmarks import meat_windows, strange_meat


@pytest.mark.slow
def test_most_windows_hold_what_came():
    """24 cooks: a window that holds 80 % holds 62 % or more in all but 2 of 100 such tests (binomial, 15 of 24)."""
    scores = {one.what: one for one in meat_windows.score(strange_meat.play(24, 7))}
    assert scores["plan, before the fire"].held >= 0.62
    assert scores["probe 2 h ahead"].held >= 0.62
    assert scores["probe 4 h ahead"].held >= 0.55


def test_strange_meat_shows_what_cooks_see():
    """A plateau, and an end by feel from the low 80s to 99 C: otherwise it would judge nothing."""
    cooks = strange_meat.play(30, 11)
    ended = [(number, when) for number, when in enumerate(cooks.ready) if when == when]
    assert len(ended) >= 25
    at_end = sorted(float(cooks.probe[min(int(60 * when), len(cooks.minutes) - 1), number]) for number, when in ended)
    assert at_end[len(at_end) // 10] >= 80.0
    assert at_end[-len(at_end) // 10] <= 101.0
