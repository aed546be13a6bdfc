"""The rhythm of the splits: intervals, sizes, the hump of each, and the drift of it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import theilslopes

from firebox.review.rhythm import drift

from .hand_made import cook, door, hump, lit, looked, split


def humps(*splits, minutes=None, base=116.0, rise=12.0, peak=15.0):
    """Return a cook whose every split makes the same hump."""
    end = minutes or max(splits) + 45.0
    return lambda m: base + sum(hump(m - at, rise, peak) for at in splits), end


def test_a_hump_has_the_rise_and_the_top_that_it_was_made_with():
    times = (30.0, 75.0, 120.0)
    celsius, end = humps(*times)
    fed = looked(cook(end, celsius, lit(), *(split(m) for m in times))).rhythm.fed
    assert [one.rise for one in fed] == [pytest.approx(12.0, abs=0.3)] * 3
    assert [one.peak_minutes for one in fed] == [pytest.approx(15.0, abs=0.7)] * 3
    assert [one.from_celsius for one in fed] == [pytest.approx(116.0)] * 3
    assert [one.interval_minutes for one in fed] == [30.0, 45.0, 45.0]


def test_a_split_that_does_not_catch_has_no_hump():
    rhythm = looked(cook(90, lambda m: 120.0 - 0.1 * m, split(30), split(60))).rhythm
    assert all(one.rise is not None and one.rise <= 0.0 for one in rhythm.fed)
    assert all(one.peak_minutes is None for one in rhythm.fed)


def test_a_hump_whose_top_was_not_seen_has_a_rise_but_no_top():
    fed = looked(cook(42, lambda m: 116.0 + hump(m - 30, 12.0), split(30))).rhythm.fed
    assert fed[0].rise == pytest.approx(12.0 * 12.0 / 15.0, abs=0.8)
    assert fed[0].peak_minutes is None


def test_a_split_under_an_open_door_is_shown_but_not_counted():
    times = (30.0, 75.0, 120.0)
    celsius, end = humps(*times)
    rhythm = looked(cook(end, celsius, *(split(m) for m in times), *door(80.0, 1.0))).rhythm
    assert [one.disturbed for one in rhythm.fed] == [False, True, False]
    assert rhythm.rise is not None
    assert rhythm.rise.median == pytest.approx(12.0, abs=0.3)


def test_pieces_laid_together_have_one_response():
    celsius, end = humps(30.0, 75.0)
    fed = looked(cook(end, celsius, split(30, 0.8), split(31.5, 0.6), split(75, 1.4))).rhythm.fed
    assert [(one.pieces, round(one.kg, 2)) for one in fed] == [(2, 1.4), (1, 1.4)]


def test_a_split_without_a_weight_counts_as_a_usual_one():
    celsius, end = humps(30.0, 75.0, 120.0)
    fed = looked(cook(end, celsius, split(30, 1.2), split(75, None), split(120, 1.4))).rhythm.fed
    assert [(round(one.kg, 2), one.weighed) for one in fed] == [(1.2, True), (1.3, False), (1.4, True)]


def test_a_response_that_shrinks_through_the_night_is_told():
    times = [30.0 + 45.0 * number for number in range(10)]
    rises = [20.0 - 0.75 * number for number in range(10)]  # 1 K an hour less
    celsius = lambda m: 116.0 + sum(hump(m - at, rise) for at, rise in zip(times, rises, strict=True))  # noqa: E731
    found = looked(cook(times[-1] + 45.0, celsius, *(split(m) for m in times))).rhythm.rise_drift
    assert found is not None
    assert found.per_hour == pytest.approx(-1.0, abs=0.05)
    assert found.is_sure


def test_an_even_response_has_no_sure_drift_and_few_have_none():
    times = [30.0 + 45.0 * number for number in range(8)]
    rises = [12.0, 14.0, 11.0, 13.0, 14.0, 12.0, 13.0, 12.0]
    celsius = lambda m: 114.0 + sum(hump(m - at, rise) for at, rise in zip(times, rises, strict=True))  # noqa: E731
    found = looked(cook(times[-1] + 45.0, celsius, *(split(m) for m in times))).rhythm.rise_drift
    assert found is not None
    assert not found.is_sure
    celsius, end = humps(30.0, 75.0)
    assert looked(cook(end, celsius, split(30), split(75))).rhythm.rise_drift is None


@given(
    st.lists(st.floats(-50.0, 50.0, allow_subnormal=False), min_size=6, max_size=25, unique=True),
    st.floats(0.2, 1.5),
)
def test_the_drift_is_the_slope_of_theil_and_sen_as_scipy_has_it(values, step):
    """scipy.stats.theilslopes (method "separate" changes only the intercept), alpha 0.9: exact to rounding."""
    hours = step * np.arange(len(values)) + 0.01 * np.arange(len(values)) ** 2
    slope, _, low, high = theilslopes(values, hours, alpha=0.9)
    found = drift(hours, np.array(values))
    assert (found.per_hour, found.low, found.high) == pytest.approx((slope, low, high), rel=1e-9, abs=1e-9)
