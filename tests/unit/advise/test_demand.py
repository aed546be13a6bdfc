"""The controller behind the advice: logical time, no windup, no bumps, and a state that can be written down."""

import math

import msgspec
import pytest

from firebox.advise.demand import LIMITS, PROPORTIONAL, PidState, follow


def run(state: PidState, celsius: float, *, minutes: float, start: float, target: float = 121.0) -> PidState:
    for count in range(1, round(minutes * 6) + 1):
        state = follow(state, start + 10.0 * count, celsius, target, 8.0, disturbed=False)
    return state


def test_a_cold_pit_wants_more_and_a_hot_one_less() -> None:
    assert run(PidState(), 115.0, minutes=5, start=0.0).share > 0.0
    assert run(PidState(), 127.0, minutes=5, start=0.0).share < 0.0
    assert run(PidState(), 121.0, minutes=5, start=0.0).share == 0.0


def test_a_standing_error_asks_for_more_and_more() -> None:
    early = run(PidState(), 116.0, minutes=5, start=0.0)
    late = run(early, 116.0, minutes=60, start=300.0)
    assert late.share > early.share


def test_a_falling_pit_wants_more_than_a_still_one() -> None:
    still = follow(PidState(), 10.0, 121.0, 121.0, 8.0, disturbed=False)
    falling = follow(still, 20.0, 120.9, 121.0, 8.0, disturbed=False)
    assert falling.share > PROPORTIONAL * 0.1


def test_hours_far_from_the_target_wind_nothing_up() -> None:
    state = run(PidState(), 60.0, minutes=300, start=0.0)
    assert state.share > 0.6
    assert state.integral == 0.0
    back = run(state, 125.0, minutes=1, start=18_000.0)
    assert back.share < 0.0


def test_the_output_keeps_its_limits() -> None:
    for celsius in (-50.0, 60.0, 121.0, 180.0, 900.0):
        state = run(PidState(), celsius, minutes=200, start=0.0)
        assert LIMITS[0] <= state.share <= LIMITS[1]


def test_a_new_target_makes_no_bump() -> None:
    state = run(PidState(), 119.0, minutes=20, start=0.0)
    moved = follow(state, 1210.0, 119.0, 126.0, 8.0, disturbed=False)
    assert moved.share == pytest.approx(state.share, abs=0.005)
    later = run(moved, 119.0, minutes=20, start=1210.0, target=126.0)
    assert later.share > moved.share


def test_a_door_makes_no_bump() -> None:
    state = run(PidState(), 119.0, minutes=20, start=0.0)
    opened = state
    for count in range(60):
        opened = follow(opened, 1210.0 + 10.0 * count, 80.0, 121.0, 8.0, disturbed=True)
        assert opened.share == state.share
    after = follow(opened, 1810.0, 119.0, 121.0, 8.0, disturbed=False)
    assert after.share == pytest.approx(state.share, abs=0.01)


def test_blindness_leaves_everything_as_it_is() -> None:
    state = run(PidState(), 119.0, minutes=20, start=0.0)
    blind = follow(state, 5000.0, None, 121.0, 8.0, disturbed=False)
    assert (blind.share, blind.integral) == (state.share, state.integral)


def test_calls_that_come_often_count_no_more_than_calls_that_come_seldom() -> None:
    often, seldom = PidState(), PidState()
    for count in range(3600):
        often = follow(often, float(count), 117.0, 121.0, 8.0, disturbed=False)
        if count % 10 == 0:
            seldom = follow(seldom, float(count), 117.0, 121.0, 8.0, disturbed=False)
    assert often == seldom


def test_a_controller_written_down_goes_on_bit_for_bit() -> None:
    state = PidState()
    thawed = state
    for count in range(1, 200):
        celsius = 121.0 + 5.0 * math.sin(count / 9.0)
        state = follow(state, 10.0 * count, celsius, 121.0, 8.0, disturbed=False)
        thawed = msgspec.msgpack.decode(msgspec.msgpack.encode(thawed), type=PidState)
        thawed = follow(thawed, 10.0 * count, celsius, 121.0, 8.0, disturbed=False)
        assert thawed == state
