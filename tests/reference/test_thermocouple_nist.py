"""Thermocouples against the published tables.

NIST ITS-90 Thermocouple Database, Standard Reference Database 60, version 2.0 (the tables of NIST Monograph 175,
Burns, Scroger, Strouse, Croarkin, Guthrie, 1993), types K J T N E R S. `tests/data/thermocouple_nist_srd60.csv` holds
461 of their points, read from the text tables as distributed; its third column is the printed value, rounded to a
microvolt, its first two letter and temperature. Verified.

The worked cold junctions and mix-ups were computed with two independent packages that evaluate the same functions.
"""

import pytest

from firebox.errors import RangeError
from firebox.thermo.thermocouple import LINE, RANGES, Couple, emf, straighten, temperature
from tests.reference.tables import rows

POINTS = [
    (Couple(row["type"]), float(row["t90_celsius"]), float(row["emf_mv_nist_table"]))
    for row in rows("thermocouple_nist_srd60.csv")
]

# (true K) -> what a voltmeter shows at a cold junction, and what the two usual mistakes make of it. [degC, mV]
WORKED = [
    (121.0, 25.0, 3.960598),
    (400.0, 35.0, 14.989993),
    (121.0, 5.0, 4.762990),
    (121.0, 45.0, 3.143712),
]

# What each wire shows at 121 degC (cold junction 25) where another letter is set: two printed digits, so 0.06 K.
MIXED = {
    "K": {"K": 121.0, "J": 99.4, "T": 114.3, "N": 160.0, "E": 87.1},
    "J": {"K": 150.0, "J": 121.0, "T": 138.5, "N": 196.4, "E": 104.6},
    "T": {"K": 128.9, "J": 105.4, "T": 121.0, "N": 170.2, "E": 92.0},
    "N": {"K": 91.6, "J": 77.0, "T": 88.3, "N": 121.0, "E": 68.6},
    "E": {"K": 178.0, "J": 141.4, "T": 160.8, "N": 230.1, "E": 121.0},
}


def test_the_table_is_there_for_every_letter():
    assert len(POINTS) == 461
    assert {couple for couple, _, _ in POINTS} == set(Couple)


def test_voltages_are_those_of_the_tables():
    # the tables are rounded to 0.001 mV: half of that, and what is lost in the sixth digit
    for couple, celsius, millivolts in POINTS:
        assert emf(couple, celsius) == pytest.approx(millivolts, abs=0.00051), (couple, celsius)


def test_the_way_back_is_exact():
    # the inverse is refined on the function itself, so only arithmetic is lost
    for couple, celsius, _ in POINTS:
        low, high = RANGES[couple]
        if low <= celsius <= high:
            assert temperature(couple, emf(couple, celsius), 0.0) == pytest.approx(celsius, abs=1e-6), (
                couple,
                celsius,
            )


@pytest.mark.parametrize(("hot", "cold", "millivolts"), WORKED)
def test_a_cold_junction_is_added_as_a_voltage(hot, cold, millivolts):
    # six digits of a millivolt are 0.00003 K
    assert temperature(Couple.K, millivolts, cold) == pytest.approx(hot, abs=1e-4)


@pytest.mark.parametrize("wire", MIXED)
def test_wire_of_one_letter_read_as_another_shows_the_known_nonsense(wire):
    millivolts = emf(Couple(wire), 121.0) - emf(Couple(wire), 25.0)
    for letter, shown in MIXED[wire].items():
        assert temperature(Couple(letter), millivolts, 25.0) == pytest.approx(shown, abs=0.06)


def test_a_reversed_pair_falls_as_the_pit_heats():
    reversed_pair = emf(Couple.K, 25.0) - emf(Couple.K, 121.0)
    assert temperature(Couple.K, reversed_pair, 25.0) == pytest.approx(-81.2, abs=0.06)


@pytest.mark.parametrize("couple", Couple)
@pytest.mark.parametrize("cold", [-20.0, 5.0, 25.0, 45.0, 60.0])
def test_a_line_is_straightened_wherever_the_chip_is(couple, cold):
    for hot in (0.0, 60.0, 121.0, 200.0, 400.0):
        shown = cold + (emf(couple, hot) - emf(couple, cold)) / LINE[couple]
        assert straighten(couple, shown, cold) == pytest.approx(hot, abs=1e-6)


def test_what_the_line_costs_is_as_published():
    # K at 400 degC with the chip at 35: the line says 398.16, at 121 with 25: 120.95 (computed from the slope)
    for hot, cold, shown in ((400.0, 35.0, 398.16), (121.0, 25.0, 120.95)):
        line = cold + (emf(Couple.K, hot) - emf(Couple.K, cold)) / LINE[Couple.K]
        assert line == pytest.approx(shown, abs=0.006)


@pytest.mark.parametrize("couple", Couple)
def test_a_voltage_that_no_temperature_gives_is_refused(couple):
    for millivolts in (-50.0, 100.0, float("nan"), float("inf")):
        with pytest.raises(RangeError):
            temperature(couple, millivolts, 25.0)
    with pytest.raises(RangeError):
        emf(couple, 2000.0)
    low, _ = RANGES[couple]
    with pytest.raises(RangeError):
        temperature(couple, emf(couple, low) * 1.05, 0.0)
