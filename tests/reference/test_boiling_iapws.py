"""The boiling point of water against its published formulation.

IAPWS R7-97(2012), "Revised Release on the IAPWS Industrial Formulation 1997", table 36 (saturation temperatures at three
pressures): from memory, agreed with the package `iapws` 1.5.5. `tests/data/boiling_pressure.csv` and
`boiling_altitude.csv`: that package, with the U.S. Standard Atmosphere 1976 as evaluated by the package `fluids`. Verified.
"""

import pytest

from firebox.errors import RangeError
from firebox.thermo import boiling
from tests.reference.tables import rows


@pytest.mark.parametrize(("pascal", "kelvin"), [(1e5, 372.755919), (1e6, 453.035632), (1e7, 584.149488)])
def test_the_formulations_own_check_values(pascal, kelvin):
    assert boiling._saturation_kelvin(pascal) == pytest.approx(kelvin, abs=1e-6)  # as printed


def test_by_pressure():
    table = rows("boiling_pressure.csv")
    assert len(table) == 22
    for row in table:
        # printed to a millikelvin
        assert boiling.celsius(float(row["pressure_hpa"]) * 100.0) == pytest.approx(
            float(row["boiling_c"]), abs=0.0006
        )


def test_by_altitude():
    table = rows("boiling_altitude.csv")
    assert len(table) == 21
    for row in table:
        pascal = boiling.standard_pascal(float(row["altitude_m"]))
        # the table is by geopotential altitude, which differs by 0.5 m at 2000 m and 1.5 m at 3000: 0.2 hPa, 0.005 K
        assert pascal == pytest.approx(float(row["pressure_hpa"]) * 100.0, abs=25.0)
        assert boiling.celsius(pascal) == pytest.approx(float(row["boiling_c"]), abs=0.008)


def test_a_weather_report_is_reduced_to_the_place():
    # in a standard atmosphere the reduction gives the standard pressure; 5 Pa for its rounded exponent
    for metres in (0.0, 300.0, 1000.0, 2000.0):
        air = 15.0 - 0.0065 * metres
        assert boiling.station_pascal(101_325.0, metres, air) == pytest.approx(
            boiling.standard_pascal(metres), abs=5.0 + metres / 300
        )


def test_weather_moves_it_by_half_a_degree():
    assert boiling.celsius(102_000.0) == pytest.approx(100.160, abs=0.001)
    assert boiling.celsius(98_000.0) == pytest.approx(99.042, abs=0.001)
    slope = (boiling.celsius(102_000.0) - boiling.celsius(98_000.0)) / 4000.0
    assert slope == pytest.approx(boiling.KELVIN_A_PASCAL, rel=0.01)


@pytest.mark.parametrize("pascal", [0.0, 1013.25, 49_000.0, 120_000.0, float("nan")])
def test_a_pressure_that_there_is_not_is_refused(pascal):
    with pytest.raises(RangeError, match="hPa"):
        boiling.celsius(pascal)


@pytest.mark.parametrize("metres", [-900.0, 9000.0, float("nan")])
def test_an_altitude_where_nobody_cooks_is_refused(metres):
    with pytest.raises(RangeError, match="altitude"):
        boiling.standard_pascal(metres)
