"""Platinum sensors against the standard and against a converter's own table.

IEC 60751:2022, "Industrial platinum resistance thermometers and platinum temperature sensors":
`tests/data/pt100_iec60751.csv`, computed from its constants (four digits), not from `firebox`.
Maxim MAX31865 datasheet, table 9 (Pt100 with a reference of 400 ohm): `tests/data/max31865_table9.csv`, 46 rows,
verified against the datasheet.
"""

import pytest

from firebox.errors import RangeError
from firebox.thermo import platinum
from tests.reference.tables import rows

STANDARD = rows("pt100_iec60751.csv")
CONVERTER = rows("max31865_table9.csv")


def test_resistances_are_those_of_the_standard():
    assert len(STANDARD) == 41
    for row in STANDARD:
        celsius = float(row["t_celsius"])
        # printed to 0.0001 and 0.001 ohm
        assert platinum.ohm(celsius) == pytest.approx(float(row["pt100_ohm"]), abs=0.000051)
        assert platinum.ohm(celsius, ohm_at_zero=1000.0) == pytest.approx(float(row["pt1000_ohm"]), abs=0.00051)


def test_the_way_back_is_exact():
    for row in STANDARD:
        celsius = float(row["t_celsius"])
        for at_zero in (100.0, 1000.0):
            resistance = platinum.ohm(celsius, ohm_at_zero=at_zero)
            assert platinum.temperature(resistance, ohm_at_zero=at_zero) == pytest.approx(celsius, abs=1e-5)


def test_the_converters_table_is_reproduced():
    assert len(CONVERTER) == 46
    for row in CONVERTER:
        # the table prints resistances to 0.01 ohm
        assert platinum.ohm(float(row["temperature_c"])) == pytest.approx(float(row["rtd_ohm"]), abs=0.0051)


@pytest.mark.parametrize(
    ("ohm", "celsius"), [(138.5055, 100.0), (146.0, 119.8196), (110.0, 25.6840), (18.5201, -200.0)]
)
def test_worked_values(ohm, celsius):
    # four digits of an ohm are 0.0003 K
    assert platinum.temperature(ohm) == pytest.approx(celsius, abs=3e-4)


def test_a_resistance_outside_the_standard_is_refused():
    for ohm in (-1.0, 0.0, 10.0, 400.0, float("nan"), float("inf")):
        with pytest.raises(RangeError):
            platinum.temperature(ohm)
    for celsius in (-201.0, 851.0, float("nan")):
        with pytest.raises(RangeError):
            platinum.ohm(celsius)
