"""Following the advice to the letter builds a fire from cold, at once or some minutes late, on either kind of pit."""

import pytest

from tests.benchmarks.from_cold import Case, Follower, other, practice


@pytest.mark.parametrize(
    ("case", "seed", "delay"),
    [
        (practice("lantern", "calm", "dry", 1), 1, 0.0),
        (practice("hedge", "calm", "seasoned", 2), 2, 300.0),
        (other("calm", 5), 5, 180.0),
    ],
    ids=["large and at once", "middling and late", "strange and late"],
)
def test_whoever_follows_to_the_letter_comes_up_within_about_an_hour(case: Case, seed: int, delay: float) -> None:
    follower = Follower(case, seed, delay)
    came = follower.come_up(75.0)
    done = "\n".join(follower.lines)
    assert came.into is not None, done
    assert came.into < 65.0, done
    assert came.highest < 25.0, done
    first = [share for minute, share in came.pieces if minute < came.into][:2]
    assert all(share <= 0.51 for share in first), done
