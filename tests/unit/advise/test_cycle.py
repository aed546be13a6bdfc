"""What one split to the next teaches."""

import pytest

from firebox.advise.cycle import Cycle, follow


def _live(cycle: Cycle, split_at: float, off: float | None, minutes: float, kg: float = 1.0) -> Cycle:
    for _ in range(round(2 * minutes)):
        cycle = follow(cycle, split_at, kg, off, 30.0, 8.0)
    return cycle


def _cycles(count: int, minutes: float, off: float = 0.0, kg: float = 1.0) -> Cycle:
    cycle = Cycle()
    for number in range(count):
        cycle = _live(cycle, 60.0 * minutes * number, off, minutes, kg)
    return cycle


def test_a_pit_that_runs_hot_between_splits_lowers_the_aim() -> None:
    hot = _live(_live(Cycle(), 0.0, 6.0, 40.0), 2400.0, 6.0, 1.0)
    cold = _live(_live(Cycle(), 0.0, -6.0, 40.0), 2400.0, -6.0, 1.0)
    assert hot.trim > 2.0
    assert cold.trim < -2.0


def test_the_aim_settles_within_its_bounds() -> None:
    assert _cycles(40, 40.0, off=11.0).trim == 8.0
    assert _cycles(40, 40.0, off=-11.0).trim == -6.0


def test_cycles_that_went_wrong_do_not_move_the_aim() -> None:
    assert _cycles(4, 40.0, off=-20.0).trim == 0.0


def test_short_cycles_and_blindness_teach_nothing() -> None:
    for off, minutes in ((6.0, 5.0), (None, 40.0)):
        after = _live(_live(Cycle(), 0.0, off, minutes), 9999.0, off, 1.0)
        assert (after.trim, after.carry) == (0.0, None)


@pytest.mark.parametrize(("minutes", "kg"), [(20.0, 1.0), (30.0, 0.6), (45.0, 2.0)])
def test_how_long_wood_lasts_is_learned_from_split_to_split(minutes: float, kg: float) -> None:
    assert _cycles(4, minutes, kg=kg).carry == pytest.approx(minutes / kg)


def test_wood_that_left_the_pit_hot_would_have_lasted_longer_and_one_odd_cycle_is_not_believed() -> None:
    hot = _cycles(4, 20.0, off=5.0).carry
    assert hot is not None
    assert hot > 20.0
    usual = _cycles(4, 20.0)
    odd = _live(_live(usual, 4800.0, 0.0, 70.0), 9000.0, 0.0, 1.0).carry
    assert odd is not None
    assert 20.0 < odd < 30.0


def test_a_night_slept_through_tells_nothing_of_how_long_wood_lasts() -> None:
    before = _cycles(4, 20.0)
    after = _live(_live(before, 4800.0, 0.0, 300.0), 23000.0, 0.0, 1.0)
    assert after.carry == before.carry
