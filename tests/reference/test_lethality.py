"""Killing by heat against the published table.

Source: USDA FSIS, time-temperature table for cooked beef, roast beef and cooked corned beef (Appendix A, June 1999), as
seen in a stored copy of the agency's text. All rows verified.
"""

import csv
from pathlib import Path

import pytest

from firebox.errors import RangeError
from firebox.meat import safety
from firebox.meat.safety_tables import COUNT_FROM_CELSIUS, kill_rate, seconds_for_beef

DATA = Path(__file__).parents[1] / "data" / "meat"
ROWS = [
    {key: value if key == "status" else float(value) for key, value in row.items()}
    for row in csv.DictReader(
        line for line in (DATA / "fsis_lethality.csv").read_text().splitlines() if not line.startswith("#")
    )
]


def celsius(row):
    return (row["temperature_f"] - 32.0) / 1.8


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['temperature_f']:.0f}F")
def test_the_table_is_the_published_one(row):
    assert seconds_for_beef(celsius(row)) == row["seconds_6_5_log"]
    assert seconds_for_beef(celsius(row), log=7.0) == row["seconds_7_log"]


@pytest.mark.parametrize(
    "row",
    [row for row in ROWS if celsius(row) >= COUNT_FROM_CELSIUS and row["seconds_6_5_log"]],
    ids=lambda row: f"{row['temperature_f']:.0f}F",
)
def test_the_gauge_counts_the_reduction_that_the_table_gives(row):
    """6.40-6.68 for the rows the law was fitted to; up to 7.3 at 139-145 F, where the table rounds up to whole minutes."""
    counted = row["seconds_6_5_log"] * kill_rate(celsius(row))
    most = 7.3 if 139 <= row["temperature_f"] <= 145 else 6.7
    assert 6.39 <= counted <= most


def test_nothing_counts_where_a_study_found_the_table_wanting():
    assert kill_rate(56.9) == 0.0


def test_between_two_rows_the_colder_counts_and_below_the_table_nothing_does():
    assert seconds_for_beef(60.3) == seconds_for_beef(60.0) == 720.0
    assert seconds_for_beef(54.0) is None
    with pytest.raises(RangeError, match=r"6\.5 or 7"):
        seconds_for_beef(60.0, log=5.0)


@pytest.mark.parametrize(
    "row",
    [row for row in ROWS if celsius(row) >= 58.0 and row["seconds_6_5_log"]],
    ids=lambda row: f"{row['temperature_f']:.0f}F",
)
def test_a_probe_held_for_the_tables_time_makes_the_clock_say_so(row):
    clocks = safety.Clocks()
    seconds = 0.0
    while seconds <= 1.03 * row["seconds_6_5_log"]:
        seconds += 1.0
        clocks = safety.tick(clocks, seconds, 1.0, celsius(row), poultry=False)
    assert clocks.safe_at is not None
    assert clocks.safe_at >= 0.85 * row["seconds_6_5_log"]
