"""The benchmark's own parts: scores against the package `scoringrules`, yardsticks against what they are called."""

import numpy as np
import pytest
import scoringrules

from firebox.estimate.forecast import LEVELS
from firebox.practice.weather import SKIES
from firebox.records import DamperName, Reading
from tests.benchmarks.forecast_cooks import HORIZONS, Spec, play
from tests.benchmarks.forecast_score import Table, covered, crps, mean
from tests.benchmarks.strange_pits import StrangePit
from tests.benchmarks.yardsticks import by_the_minute, yardsticks

ROW = (110.0, 116.0, 119.0, 121.0, 122.5, 125.0, 131.0)


@pytest.mark.parametrize("y", [100.0, 112.0, 118.0, 121.0, 124.0, 140.0])
def test_crps_from_quantiles_agrees_with_an_ensemble_drawn_from_them(y: float) -> None:
    levels = (np.arange(20_000) + 0.5) / 20_000
    members = np.interp(levels, LEVELS, ROW)
    # 1 %: the score's grid has 400 levels
    assert crps(ROW, y) == pytest.approx(float(scoringrules.crps_ensemble(y, members)), rel=0.01, abs=0.01)


def test_crps_of_a_point_is_its_error() -> None:
    assert crps((121.0,) * 7, 127.0) == pytest.approx(6.0)


def test_the_band_is_from_a_tenth_to_nine_tenths() -> None:
    assert covered(ROW, 116.0)
    assert covered(ROW, 125.0)
    assert not covered(ROW, 115.9)


def test_a_missing_forecast_is_left_out_of_the_means() -> None:
    table = Table([None, (ROW, ROW)], np.array([[121.0, 121.0], [120.0, 122.0]]))
    every = np.ones(2, dtype=bool)
    assert mean(table.error, every).tolist() == [1.0, 1.0]


def test_medians_by_the_minute_drop_spikes_and_bridge_gaps() -> None:
    series = by_the_minute([0.0, 10.0, 20.0, 130.0], [100.0, 100.0, 400.0, 110.0], 180.0)
    assert series.tolist() == [100.0, 100.0, 110.0]


@pytest.mark.parametrize("name", ["linear", "damped Holt", "local trend", "ARIMA"])
def test_yardsticks_follow_a_straight_line(name: str) -> None:
    yardstick = next(one for one in yardsticks() if one.name == name)
    noise = np.random.Generator(np.random.Philox(key=5)).standard_normal(120)
    past = 100.0 + 0.2 * np.arange(120.0) + 0.05 * noise
    ahead = yardstick.forecast(past, (5, 15)).median()
    # a damped trend and a differenced ARMA may lag behind; persistence would be 3 K off
    assert ahead[1] == pytest.approx(past[-1] + 3.0, abs=1.6)


def test_persistence_stays() -> None:
    first = yardsticks()[0]
    assert first.forecast(np.linspace(90.0, 120.0, 60), (5, 60)).median() == (120.0, 120.0)


def test_bands_of_yardsticks_are_in_order() -> None:
    rng = np.random.Generator(np.random.Philox(key=6))
    past = 120.0 + np.cumsum(rng.standard_normal(200))
    for yardstick in yardsticks():
        for minutes in range(20, 200, 20):
            guess = yardstick.forecast(past[:minutes], (5, 15))
            assert all(list(row) == sorted(row) for row in guess.quantiles)
            yardstick.learn(past[:minutes], (5, 15))


# --- cooks -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("family", ["practice", "strange"])
def test_the_same_spec_gives_the_same_cook(family: str) -> None:
    spec = Spec(family=family, seed=1, hours=1.0, every_minutes=20.0)
    first, second = play(spec), play(spec)
    assert first == second
    assert all(len(origin.truth) == len(HORIZONS) for origin in first.origins)


def test_records_of_a_cook_are_in_the_order_of_time() -> None:
    cook = play(Spec(family="strange", seed=3, hours=3.0, logging="sloppy"))
    times = [record.time for record in cook.records]
    assert times == sorted(times)
    assert sum(isinstance(record, Reading) for record in cook.records) > 900


def test_the_truth_starts_from_what_the_probe_feels() -> None:
    cook = play(Spec(family="strange", seed=4, hours=3.0))
    steps = [abs(origin.truth[0] - origin.now) for origin in cook.origins]
    assert float(np.median(steps)) < 15.0


def test_a_strange_pit_copies_and_answers_its_intake() -> None:
    pit = StrangePit(7, SKIES["calm"])
    pit.light(2.0)
    pit.lay_split(pit.usual_split_kg)
    pit.run(1200.0)
    wide, shut = pit.copy(), pit.copy()
    wide.set_damper(DamperName.INTAKE, 1.0)
    shut.set_damper(DamperName.INTAKE, 0.0)
    twin = pit.copy()
    for one in (pit, wide, shut, twin):
        one.run(1200.0)
    assert twin.grate(0.5) == pit.grate(0.5)
    assert wide.grate(0.5) > shut.grate(0.5) + 3.0
