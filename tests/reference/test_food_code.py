"""Roasts, poultry, holding and cooling against the published rules.

Sources: FDA Food Code 3-401.11(B) (as reprinted by a county guide and in the CDC Vessel Sanitation Program manual, 2018),
3-501.14, 3-501.16 (as cited by several states). The poultry figure of 2017 is from memory, the older one verified.
"""

import csv
from pathlib import Path

import pytest

from firebox.meat import safety
from firebox.meat.safety_tables import least_oven_celsius, seconds_for_roast

DATA = Path(__file__).parents[1] / "data" / "meat"
ROWS = list(
    csv.DictReader(
        line for line in (DATA / "food_code_roasts.csv").read_text().splitlines() if not line.startswith("#")
    )
)
HOUR = 3600.0


def fahrenheit(value):
    return (value - 32.0) / 1.8


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["temperature_f"])
def test_the_roast_table_is_the_published_one(row):
    assert seconds_for_roast(fahrenheit(float(row["temperature_f"]))) == float(row["seconds"])


def test_a_roast_below_the_table_has_no_time_that_is_enough():
    assert seconds_for_roast(54.0) is None


@pytest.mark.parametrize(
    ("pounds", "still_dry", "oven"),
    [(9.9, True, 350.0), (10.0, True, 250.0), (9.9, False, 325.0), (10.0, False, 250.0)],
)
def test_the_oven_is_as_hot_as_the_code_asks(pounds, still_dry, oven):
    assert least_oven_celsius(pounds * 0.45359237 + 1e-4 * (pounds == 10.0), still_dry=still_dry) == pytest.approx(
        fahrenheit(oven)
    )


def play(course, *, poultry=False, every=60.0):
    """Return the clocks after a course of (hours, degC or None) pieces."""
    clocks, seconds = safety.Clocks(), 0.0
    for hours, celsius in course:
        for _ in range(round(hours * HOUR / every)):
            seconds += every
            clocks = safety.tick(clocks, seconds, every, celsius, poultry=poultry)
    return clocks, seconds


def said(course, *, poultry=False):
    clocks, seconds = play(course, poultry=poultry)
    return safety.statements(clocks, seconds, poultry=poultry)


def test_poultry_is_not_safe_by_the_beef_table():
    clocks, _ = play([(1.0, 65.0)], poultry=True)
    assert clocks.log > 100.0
    assert clocks.safe_at is None
    assert play([(1.0, 65.0), (1 / 60, 73.9)], poultry=True)[0].safe_at is not None


COOKED = (1.0, 80.0)


@pytest.mark.parametrize(
    ("cooling", "wrong"),
    [
        ([(1.9, 40.0), (3.9, 15.0), (0.5, 4.0)], False),
        ([(2.2, 40.0)], True),
        ([(1.9, 40.0), (4.4, 15.0)], True),
        ([(1.9, 40.0), (4.4, 15.0), (1.0, 4.0)], True),
        ([(2.2, 40.0), (1.0, 15.0), (1.0, 4.0)], True),
    ],
    ids=["in time", "slow to 21 C", "slow to 5 C", "slow to 5 C and there", "slow to 21 C and cold"],
)
def test_cooling_is_held_against_two_and_six_hours(cooling, wrong):
    found = said([COOKED, *cooling])
    assert any("do not keep it" in one.text and one.urgent for one in found) is wrong


def test_hot_holding_starts_a_clock_below_135_f_and_ends_it_above():
    assert not any("hot holding" in one.text for one in said([COOKED, (5.0, 57.3)]))
    assert any("hot holding" in one.text for one in said([COOKED, (0.5, 57.0)]))
    assert not any("hot holding" in one.text for one in said([COOKED, (0.5, 57.0), (0.1, 62.0)]))


def test_more_than_six_hours_on_the_way_up_is_urgent_and_stays_said():
    found = said([(3.0, 20.0), (3.5, 45.0), (2.0, 70.0)])
    assert found[0].urgent
    assert "too long" in found[0].text
    assert "rules of the place" in found[0].text


def test_a_probe_that_is_not_trusted_lets_the_growth_clock_run_and_kills_nothing():
    clocks, _ = play([(1.0, 30.0), (2.0, None)])
    assert clocks.growth == pytest.approx(3 * HOUR)
    assert clocks.log == 0.0


def test_meat_that_came_up_in_time_is_not_nagged_about():
    assert not any("between 10 and 54" in one.text for one in said([(0.2, 5.0), (4.0, 30.0), (1.0, 60.0)]))


def test_the_tables_time_is_told_while_it_is_not_yet_met():
    assert any("at 60 C (140 F) the tables ask for 12 min" in one.text for one in said([(0.1, 60.0)]))


def test_every_statement_names_its_source():
    for course in ([(6.5, 30.0)], [COOKED], [COOKED, (1.0, 40.0)], [COOKED, (3.0, 40.0)], [(0.02, 60.0)]):
        assert said(course)
        assert all(one.source for one in said(course))
