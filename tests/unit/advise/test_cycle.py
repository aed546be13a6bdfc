"""What one split to the next teaches."""

from firebox.advise.cycle import Cycle, follow


def _live(cycle: Cycle, split_at: float, off: float | None, minutes: float) -> Cycle:
    for _ in range(round(2 * minutes)):
        cycle = follow(cycle, split_at, off, 30.0, 8.0)
    return cycle


def test_a_pit_that_runs_hot_between_splits_lowers_the_aim() -> None:
    hot = _live(_live(Cycle(), 0.0, 6.0, 40.0), 2400.0, 6.0, 1.0)
    cold = _live(_live(Cycle(), 0.0, -6.0, 40.0), 2400.0, -6.0, 1.0)
    assert hot.trim > 2.0
    assert cold.trim < -2.0


def test_the_aim_settles_within_its_bounds() -> None:
    cycle = Cycle()
    for count in range(40):
        cycle = _live(cycle, 2400.0 * count, 20.0, 40.0)
    assert cycle.trim == 10.0


def test_short_cycles_blindness_and_a_pit_coming_up_teach_nothing() -> None:
    for off, minutes in ((6.0, 5.0), (None, 40.0), (-60.0, 40.0)):
        assert _live(_live(Cycle(), 0.0, off, minutes), 9999.0, off, 1.0).trim == 0.0
