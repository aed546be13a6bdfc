"""What one split to the next teaches."""

import pytest

from firebox.advise.cycle import Cycle, follow


def _live(cycle: Cycle, split_at: float, off: float | None, minutes: float, kg: float | None = 1.0) -> Cycle:
    for _ in range(round(2 * minutes)):
        cycle = follow(cycle, split_at, kg, off, 30.0, 8.0)
    return cycle


def _cycles(count: int, minutes: float, off: float = 0.0, kg: float | None = 1.0) -> Cycle:
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
    assert _live(_live(Cycle(), 0.0, 6.0, 5.0), 9999.0, 6.0, 1.0).trim == 0.0
    blind = _live(_live(Cycle(), 0.0, None, 40.0, kg=None), 9999.0, None, 1.0, kg=None)
    assert (blind.trim, blind.lasts(1.0)) == (0.0, Cycle().lasts(1.0))


@pytest.mark.parametrize(("minutes", "kg"), [(20.0, 1.0), (30.0, 0.6), (45.0, 2.0)])
def test_how_long_wood_lasts_is_learned_over_some_splits(minutes: float, kg: float) -> None:
    usual = Cycle().lasts(1.0)
    assert usual == pytest.approx(35.0)
    learned = _cycles(8, minutes, kg=kg).lasts(1.0)
    assert abs(learned - minutes / kg) < 0.5 * abs(usual - minutes / kg) + 1.0


def test_two_splits_close_together_are_not_taken_for_wood_that_burns_fast() -> None:
    steady = _cycles(6, 30.0)
    close = _live(_live(steady, 10800.0, 0.0, 9.0), 11340.0, 0.0, 9.0)
    assert close.lasts(1.0) > 0.75 * steady.lasts(1.0)


def test_wood_that_left_the_pit_hot_would_have_lasted_longer() -> None:
    assert _cycles(6, 30.0, off=6.0).lasts(1.0) > 1.05 * _cycles(6, 30.0).lasts(1.0)


def test_a_split_has_caught_once_the_pit_has_risen_from_its_lowest() -> None:
    cycle = _live(Cycle(), 0.0, -2.0, 5.0)
    assert not cycle.caught
    cycle = _live(cycle, 0.0, -5.0, 3.0)
    assert not _live(cycle, 0.0, -3.5, 3.0).caught
    assert _live(cycle, 0.0, -2.5, 1.0).caught
