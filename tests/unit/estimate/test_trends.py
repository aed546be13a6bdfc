"""The trends that know nothing of fire, and the ledger that decides which of them to believe."""

import numpy as np
import pytest

from firebox.estimate import ledger as ledgers
from firebox.estimate import trendbank
from firebox.estimate.ledger import MINUTES


def heard(values, dt=10.0, start=0.0):
    bank = trendbank.start(start, values[0])
    for count, value in enumerate(values[1:], 1):
        bank = trendbank.hear(bank, start + count * dt, value)
    return bank


def test_a_line_is_run_on_by_the_member_without_end():
    bank = heard(20.0 + 0.01 * np.arange(0.0, 3600.0, 10.0))
    mean, _ = trendbank.ahead(bank, np.array([3590.0 + 1800.0]))
    endless = int(np.argmax(trendbank.DAMPED))
    assert mean[endless, 0] == pytest.approx(20.0 + 0.01 * 5390.0, abs=0.3)


def test_a_cooling_cup_is_foreseen_by_some_damping():
    times = np.arange(0.0, 5400.0, 10.0)
    bank = heard(20.0 + 70.0 * np.exp(-times / 2400.0))
    mean, _ = trendbank.ahead(bank, np.array([5390.0 + 3600.0]))
    assert np.min(np.abs(mean[:, 0] - (20.0 + 70.0 * np.exp(-8990.0 / 2400.0)))) < 0.5


def test_one_spike_moves_the_level_little():
    calm = heard(np.full(60, 121.0))
    struck = trendbank.hear(calm, 600.0, 300.0)
    assert struck.level == pytest.approx(121.0, abs=2.0)


def test_a_step_that_stays_is_believed_within_a_minute():
    bank = heard(np.concatenate([np.full(60, 121.0), np.full(6, 80.0)]))
    assert bank.level == pytest.approx(80.0, abs=2.0)


def test_a_gap_of_hours_leaves_the_spread_finite_and_wide():
    bank = heard(np.full(60, 121.0))
    _, near = trendbank.ahead(bank, np.array([900.0]))
    _, far = trendbank.ahead(bank, np.array([8 * 3600.0]))
    assert np.all(np.isfinite(far))
    assert np.all(far >= near)


def entry(book, seconds, said, regime=0):
    band = np.stack([said[0], np.full(MINUTES.size, 2.0), np.zeros(MINUTES.size)], axis=1)
    return ledgers.write(book, seconds, regime, said, band)


def test_a_forecaster_is_scored_when_its_time_has_come():
    book = entry(ledgers.begin(2), 0.0, np.array([[100.0] * 5, [110.0] * 5]))
    book = ledgers.score(book, 300.0, 103.0, touched=-1e9)
    assert book.error[0, :, 0].tolist() == [3.0, 7.0]
    assert book.count[0].tolist() == [1.0, 0.0, 0.0, 0.0, 0.0]


def test_a_window_in_which_something_was_done_teaches_nothing():
    book = entry(ledgers.begin(1), 0.0, np.array([[100.0] * 5]))
    assert ledgers.score(book, 300.0, 150.0, touched=200.0).count.sum() == 0.0


def test_the_common_width_grows_after_misses_and_shrinks_after_hits():
    book = entry(ledgers.begin(1), 0.0, np.array([[100.0] * 5]))
    assert ledgers.score(book, 300.0, 150.0, touched=-1e9).common > 0.0
    assert ledgers.score(book, 300.0, 100.5, touched=-1e9).common < 0.0


def test_the_better_forecaster_is_expected_to_err_less():
    book = ledgers.begin(2)
    for count in range(30):
        book = entry(book, 60.0 * count, np.array([[100.0] * 5, [110.0] * 5]))
        book = ledgers.score(book, 60.0 * count, 100.0, touched=-1e9)
    expected = ledgers.errors(book, 0, np.full((2, 5), 5.0), np.full(5, 4.0), handed=True)
    assert np.all(expected[0] < expected[1])


def test_a_fire_s_regime_is_the_time_since_it_was_touched():
    assert [ledgers.regime(60.0 * minutes) for minutes in (1, 12, 40)] == [0, 1, 2]
