"""How a practice fire behaves: what a cook knows of offset pits, as sentences."""

import pytest

from firebox.practice.build import draw, sized
from firebox.practice.fire import Fire
from firebox.practice.weather import SKIES, Weather
from firebox.records import DamperName, DoorName

BUILD = sized("pit", 950.0, 6.35, insulated=True)


def celsius(fire: Fire) -> float:
    return fire.grate(0.5) - 273.15


def tended(sky: str = "calm", seed: int = 1) -> Fire:
    """Return a fire two and a half hours old, fed by the clock, with its last split half burnt."""
    fire = Fire(BUILD, Weather(SKIES[sky], seed), intake=0.4)
    fire.light(2.2)
    for _ in range(5):
        fire.run(1500.0)
        fire.lay_split(1.3)
    fire.run(1200.0)
    return fire


WARM = tended()


@pytest.fixture
def fire() -> Fire:
    return WARM.copy()


def course(fire: Fire, minutes: int) -> list[float]:
    seen = []
    for _ in range(minutes):
        fire.run(60.0)
        seen.append(celsius(fire))
    return seen


def test_a_tended_pit_is_hot_enough_to_cook(fire: Fire) -> None:
    assert 95.0 < celsius(fire) < 160.0


def test_a_split_makes_a_hump(fire: Fire) -> None:
    fire.run(600.0)
    with_split, without = fire.copy(), fire.copy()
    with_split.lay_split(1.3)
    more = [a - b for a, b in zip(course(with_split, 60), course(without, 60), strict=True)]
    top = max(more)
    assert top > 8.0
    assert 5 <= more.index(top) <= 40
    assert more[0] < 0.3 * top


def test_left_alone_it_falls_away_within_an_hour_or_so(fire: Fire) -> None:
    before = celsius(fire)
    after = course(fire, 75)
    assert after[-1] < before - 30.0
    assert after[-1] > 30.0


def test_shutting_the_intake_on_a_big_flame_drops_the_heat_at_once(fire: Fire) -> None:
    fire.lay_split(2.0)
    fire.set_damper(DamperName.INTAKE, 1.0)
    fire.run(360.0)
    blazing = fire.flame_watts()
    fire.set_damper(DamperName.INTAKE, 0.0)
    fire.run(120.0)
    assert blazing > 8000.0
    assert fire.flame_watts() < 0.5 * blazing


def test_a_starved_fire_comes_back_with_a_leap(fire: Fire) -> None:
    fire.lay_split(2.0)
    fire.set_damper(DamperName.INTAKE, 1.0)
    fire.run(360.0)
    fire.set_damper(DamperName.INTAKE, 0.0)
    fire.run(240.0)
    starved = fire.flame_watts()
    assert fire.hearth.smoke_rate > 1e-5
    fire.set_damper(DamperName.INTAKE, 1.0)
    leap = 0.0
    for _ in range(30):
        fire.run(2.0)
        leap = max(leap, fire.flame_watts())
    assert leap > 3.0 * starved


def test_an_open_cook_door_dumps_the_heat_and_a_shut_one_brings_it_back(fire: Fire) -> None:
    before = celsius(fire)
    fire.set_door(DoorName.COOK, wide=True)
    fire.run(60.0)
    opened = celsius(fire)
    fire.set_door(DoorName.COOK, wide=False)
    fire.run(300.0)
    assert opened < before - 8.0
    assert celsius(fire) > opened + 5.0


def test_an_open_firebox_door_floods_the_fire_with_air(fire: Fire) -> None:
    shut = fire.inflow
    fire.set_door(DoorName.FIREBOX, wide=True)
    fire.run(10.0)
    assert fire.inflow > 1.5 * shut


def test_more_intake_makes_more_heat_within_minutes(fire: Fire) -> None:
    wide, narrow = fire.copy(), fire.copy()
    wide.set_damper(DamperName.INTAKE, 0.9)
    narrow.set_damper(DamperName.INTAKE, 0.15)
    assert course(wide, 15)[-1] > course(narrow, 15)[-1] + 3.0


def test_ash_chokes_the_grate_and_raking_clears_it(fire: Fire) -> None:
    clean, choked = fire.copy(), fire.copy()
    choked.hearth.ash = 4.0 * BUILD.ash_room
    raked = choked.copy()
    raked.rake()
    for one in (clean, choked, raked):
        one.run(60.0)
    assert choked.inflow < clean.inflow
    assert choked.hearth.char_rate < 0.7 * clean.hearth.char_rate
    assert raked.hearth.char_rate > choked.hearth.char_rate


def test_rain_and_wind_cost_heat() -> None:
    calm, wet = tended("calm"), tended("windy night")
    assert celsius(wet) < celsius(calm)


def test_burning_grease_shows_on_the_thermometer(fire: Fire) -> None:
    calm, flaring = fire.copy(), fire.copy()
    flaring.flare(0.25)
    assert course(flaring, 4)[-1] > course(calm, 4)[-1] + 10.0
    flaring.run(1800.0)
    assert not flaring.chamber.flaring


def test_cold_meat_slows_the_pit_and_warms_without_passing_it(fire: Fire) -> None:
    empty, loaded = fire.copy(), fire.copy()
    loaded.put_meat(8.0)
    assert course(loaded, 10)[-1] < course(empty, 10)[-1]
    loaded.run(4.0 * 3600.0)
    assert 283.0 < loaded.chamber.meat_core < 400.0


def test_a_copy_goes_the_same_way_in_the_same_weather(fire: Fire) -> None:
    twin = fire.copy()
    assert course(fire, 20) == course(twin, 20)


def test_a_copy_is_not_touched_by_what_is_done_to_the_first(fire: Fire) -> None:
    twin = fire.copy()
    alone = course(twin.copy(), 10)
    fire.lay_split(3.0)
    fire.set_damper(DamperName.INTAKE, 1.0)
    fire.set_door(DoorName.COOK, wide=True)
    course(fire, 10)
    assert course(twin, 10) == alone


def test_a_fire_that_was_never_lit_stays_cold() -> None:
    cold = Fire(BUILD, Weather(SKIES["calm"], 1))
    cold.lay_split(1.5)
    cold.run(3600.0)
    assert cold.heat_watts() < 1.0
    assert abs(celsius(cold) - (cold.air.kelvin - 273.15)) < 3.0


def test_dead_wood_can_be_pulled_out() -> None:
    cold = Fire(BUILD, Weather(SKIES["calm"], 1))
    cold.lay_split(1.5)
    cold.pull_dead_wood()
    assert cold.wood_left() == 0.0


@pytest.mark.parametrize("seed", range(12))
def test_drawn_pits_lie_between_the_smallest_and_the_largest(seed: int) -> None:
    build = draw(seed)
    assert 230.0 <= build.litres <= 1900.0
    assert build == draw(seed)
    assert 0.2 < build.usual_split_kg < 5.0


def test_weather_is_a_function_of_the_time() -> None:
    weather = Weather(SKIES["windy night"], 4)
    there = [weather.at(60.0 * minute) for minute in range(300)]
    back = [weather.at(60.0 * minute) for minute in reversed(range(300))]
    assert there == back[::-1]
    assert 3.0 < sum(air.wind for air in there) / 300 < 8.0


def test_it_rains_only_where_the_sky_says_so() -> None:
    def share(sky: str) -> float:
        weather = Weather(SKIES[sky], 2)
        return sum(weather.at(300.0 * step).rain > 0.0 for step in range(400)) / 400

    assert share("calm") == 0.0
    assert 0.1 < share("rain") < 0.8
