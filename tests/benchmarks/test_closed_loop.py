"""The closed loop's own parts: the same seed gives the same night, and hands do what their cook decides."""

from datetime import UTC, datetime

import pytest

from firebox.records import Move, NextSplit
from tests.benchmarks.closed_loop import mean, paired
from tests.benchmarks.closed_loop_cooks import COOKS, Follower, Sleeper
from tests.benchmarks.closed_loop_night import BED, Night, Score, Wish

TIME = datetime(2026, 1, 10, 20, 0, tzinfo=UTC)


def _move(minutes: float, *, intake: float | None = None) -> Move:
    split = NextSplit(in_minutes=minutes, kg=1.2)
    return Move(time=TIME, split=split, intake=intake, stack=None, hold=False, expected=None, reason="So.")


def _score(in_band: float, lowest: float, asleep: float | None = None) -> Score:
    return Score(
        in_band=in_band, mean=1.0, below=0.0, lowest=lowest, highest=-lowest, wood=1.0, visits=1.0, rescues=0.0,
        smoulder=0.0, rest=60.0, asleep=asleep, calls=None,
    )  # fmt: skip


def test_the_same_seed_gives_the_same_night_and_the_clock_feeds_every_45_minutes() -> None:
    nights = [Night("strange", 300, COOKS["clockwork"]) for _ in range(2)]
    scores = [night.keep(1.0) for night in nights]
    assert scores[0] == scores[1]
    assert nights[0].deeds[0][1] == "split"
    assert 25.0 <= nights[0].deeds[0][0] / 60.0 <= 30.0
    assert 0.0 <= scores[0].in_band <= 100.0
    assert scores[0].rest < 60.0


@pytest.mark.parametrize("name", ["skilled", "skilled, prompt"])
def test_a_skilled_keeper_keeps_a_practice_pit_warm(name: str) -> None:
    score = Night("practice", 302, COOKS[name]).keep(1.5)
    assert score.mean < 25.0
    assert score.asleep is None


def test_the_follower_hears_the_watch_and_writes_down_what_it_said() -> None:
    night = Night("strange", 301, COOKS["follower"])
    night.keep(0.5)
    assert night.move is not None
    assert any("hold" in line or "DO" in line for line in night.lines)


def test_a_follower_walks_for_wood_that_is_due_and_lets_some_pass() -> None:
    night = Night("strange", 300, COOKS["clockwork"])
    night.move = _move(8.0)
    assert Follower(1).wish(night) is None
    night.move = _move(0.0, intake=0.5)
    wishes = [Follower(seed).wish(night) for seed in range(200)]
    assert {wish for wish in wishes if wish is not None} == {Wish(kg=1.2, intake=0.5)}
    assert 5 <= wishes.count(None) <= 40


def test_a_sleeper_gets_up_when_he_is_called_and_not_before() -> None:
    night = Night("strange", 300, COOKS["clockwork"])
    sleeper = Sleeper(3)
    night.begun -= BED[0]
    night.move = _move(0.0)
    assert [sleeper.wish(night) for _ in range(30)] == [None] * 30
    assert night.asleep
    night.ringing.add("wake-up")
    assert sleeper.wish(night) is None
    assert night.calls == 1
    night.begun -= 300.0
    assert Wish(kg=1.2) in [sleeper.wish(night) for _ in range(3)]


def test_the_mean_of_scores_keeps_the_worst_excursions_and_the_sleepers_alone() -> None:
    both = mean([_score(40.0, -10.0), _score(60.0, -30.0, asleep=70.0)])
    assert both.in_band == pytest.approx(50.0)
    assert (both.lowest, both.highest, both.asleep) == (-30.0, 30.0, 70.0)


def test_pairs_are_compared_seed_by_seed() -> None:
    text = paired([_score(50.0, 0.0), _score(70.0, 0.0)], [_score(40.0, 0.0), _score(80.0, 0.0)])
    assert text.startswith("  +0.0 +- 10.0")
    assert text.endswith("better on 1 of 2 pits")
