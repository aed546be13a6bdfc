"""How near a limit is, held against how near it was when earlier courses turned."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firebox.warn.nearness import COLD, COLD_FED, HOT, Bounds, Nearness, enough, excused, follow


def told_after(near: Nearness, minutes: float, *, fed: bool = False, just_fed: bool = False) -> float | None:
    """Seconds until it is told when the limit stays so near; None: not within an hour."""
    for count in range(360):
        near = follow(near, minutes, 10.0, COLD, fed=fed, just_fed=just_fed)
        if near.tells:
            return 10.0 * (count + 1)
    return None


def taught(*turns: float) -> Nearness:
    """What such falls leave behind, each of which turned when the limit was so near, too quickly to be told."""
    near = Nearness()
    for nearest in turns:
        near = follow(follow(near, nearest, 1.0, COLD), None, 600.0, COLD)
    return near


def test_the_nearer_the_limit_the_sooner_it_is_told() -> None:
    near, farther, far = (told_after(Nearness(), minutes) for minutes in (10.0, 26.0, 31.0))
    assert near is not None
    assert farther is not None
    assert near < 180.0 < farther
    assert far is None


def test_what_turned_as_near_before_is_not_told() -> None:
    habit = taught(15.0, 16.0, 14.0)
    assert habit.turns.before == (15.0, 16.0, 14.0)
    assert told_after(habit, 14.0) is None
    assert told_after(habit, 8.0) is not None


def test_one_dip_is_no_habit() -> None:
    assert enough((30.0, 30.0, 6.0, 30.0), COLD) > 2.0 * 6.0
    assert enough((30.0, 6.0, 6.0, 30.0), COLD) < 6.0


def test_a_turn_that_was_told_teaches_no_more_than_the_time_to_act() -> None:
    near = Nearness()
    for _ in range(5):
        for minutes in (12.0, 6.0, 3.0):
            near = follow(near, minutes, 300.0, COLD)
        near = follow(near, None, 900.0, COLD)
    assert near.turns.before == (COLD.told,) * 5


def test_a_limit_that_was_crossed_teaches_nothing_and_is_not_foretold_on_the_way_back() -> None:
    near = excused(follow(Nearness(), 2.0, 10.0, COLD), crossed=True)
    near = follow(near, 1.0, 600.0, COLD)
    assert not near.tells
    assert follow(near, None, 10.0, COLD).turns.before == ()


def test_nothing_speaks_while_fresh_wood_dries_and_more_once_it_should_burn() -> None:
    assert told_after(Nearness(), 20.0, just_fed=True) is None
    assert told_after(Nearness(), 36.0) is None
    assert told_after(Nearness(), 36.0, fed=True) is not None


def test_what_was_told_stays_told_for_a_while() -> None:
    near = follow(Nearness(), 5.0, 600.0, COLD)
    near = follow(near, 32.0, 60.0, COLD)
    assert near.tells
    near = follow(near, 75.0, 120.0, COLD)
    assert near.still_tells
    assert not near.tells


@pytest.mark.parametrize("bounds", [COLD, COLD_FED, HOT])
@given(st.lists(st.floats(0.0, 75.0), max_size=8))
def test_the_bound_lies_between_its_ends_and_never_beyond_what_turned(bounds: Bounds, before: list[float]) -> None:
    found = enough(tuple(before), bounds)
    assert bounds.least <= found <= bounds.most
    if len(before) > 1:
        assert found <= max(bounds.least, sorted(before)[1])
