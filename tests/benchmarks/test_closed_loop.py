"""The closed loop's own parts: the same seed gives the same night, and hands do what their cook decides."""

from datetime import UTC, datetime

import pytest

from firebox.records import Move, NextSplit
from tests.benchmarks.closed_loop import COOKS, Follower, Keeping, Score, Wish, mean

TIME = datetime(2026, 1, 10, 20, 0, tzinfo=UTC)


def _move(minutes: float, *, intake: float | None = None) -> Move:
    split = NextSplit(in_minutes=minutes, kg=1.2)
    return Move(time=TIME, split=split, intake=intake, stack=None, hold=False, expected=None, reason="So.")


def test_the_same_seed_gives_the_same_night_and_the_clock_feeds_every_45_minutes() -> None:
    scores = [Keeping("strange", 300, COOKS["clockwork"], watched=False).keep(1.0) for _ in range(2)]
    assert scores[0] == scores[1]
    assert scores[0].wood > 0.0
    assert 0.0 <= scores[0].in_band <= 100.0


def test_the_follower_hears_the_watch_and_writes_down_what_it_said() -> None:
    keeping = Keeping("strange", 301, COOKS["follower"], watched=True)
    keeping.keep(0.5)
    assert keeping.move is not None
    assert any("hold" in line or "DO" in line for line in keeping.lines)


def test_a_follower_walks_for_wood_that_is_due_and_lets_some_pass() -> None:
    keeping = Keeping("strange", 300, COOKS["clockwork"], watched=False)
    keeping.move = _move(8.0)
    assert Follower(1).wish(keeping) is None
    keeping.move = _move(0.0, intake=0.5)
    wishes = [Follower(seed).wish(keeping) for seed in range(200)]
    assert {wish for wish in wishes if wish is not None} == {Wish(kg=1.2, intake=0.5)}
    assert 5 <= wishes.count(None) <= 40


def test_the_mean_of_scores_keeps_the_worst_excursions() -> None:
    def score(in_band: float, lowest: float) -> Score:
        return Score(
            in_band=in_band, mean=1.0, below=0.0, lowest=lowest, highest=-lowest, wood=1.0, visits=1.0, rescues=0.0
        )

    both = mean([score(40.0, -10.0), score(60.0, -30.0)])
    assert both.in_band == pytest.approx(50.0)
    assert (both.lowest, both.highest) == (-30.0, 30.0)
