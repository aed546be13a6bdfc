"""Wood as fuel, against published figures.

Sources and status:

- Equilibrium moisture: Simpson, FPL-RN-0268 (1998); Wood Handbook FPL-GTR-190 (2010), eq. 4-5 (coefficients verified in
  public implementations) and table 4-2 (from memory; agrees with the equation within rounding).
- Heating value: 8600 Btu/lb oven dry (verified, secondary copies); net heat in the form of EN ISO 18125 (from memory),
  worked values computed.
- Air demand: Kubler, Wood and Fiber Science 1991, about 6 kg/kg (verified, abstract).
- Heat capacity: Wood Handbook eqs. 4-16a to 4-18; example of the `chemics` package, 1.91 kJ/(kg K) (verified).
"""

import pytest

from firebox.errors import RangeError
from firebox.pit import wood
from tests.reference.tables import rows


def test_equilibrium_moisture_meets_the_equation_s_own_values():
    # Printed to three decimals of a percent, in degC rounded from degF: a thousandth of moisture is far more than that.
    for row in rows("wood_emc.csv"):
        found = wood.equilibrium_moisture(float(row["t_celsius"]), float(row["rh_percent"]) / 100.0)
        assert 100.0 * found == pytest.approx(float(row["emc_percent_equation"]), abs=0.002)


def test_equilibrium_moisture_meets_the_handbook_s_table():
    # The table prints tenths of a percent; 0.062 is the largest gap known between it and the equation.
    for row in rows("wood_emc.csv"):
        found = wood.equilibrium_moisture(float(row["t_celsius"]), float(row["rh_percent"]) / 100.0)
        assert 100.0 * found == pytest.approx(float(row["emc_percent_table"]), abs=0.065)


@pytest.mark.parametrize(
    ("celsius", "humidity", "percent"), [(60.0, 0.55, 8.37), (20.0, 0.65, 12.00), (60.0, 0.80, 13.56)]
)
def test_equilibrium_moisture_meets_published_examples(celsius, humidity, percent):
    assert 100.0 * wood.equilibrium_moisture(celsius, humidity) == pytest.approx(percent, abs=0.005)


@pytest.mark.parametrize(
    ("wet", "fired", "dry"),
    [
        (0.0, 18.681, 18.681),
        (0.10, 16.569, 18.410),
        (0.20, 14.457, 18.071),
        (0.30, 12.344, 17.635),
        (0.50, 8.120, 16.239),
    ],
)
def test_net_heat_falls_with_moisture_as_worked_out(wet, fired, dry):
    moisture = wet / (1.0 - wet)
    assert wood.net_heat(moisture) / 1e6 == pytest.approx(fired, abs=0.001)
    assert wood.net_heat(moisture) / (1.0 - wet) / 1e6 == pytest.approx(dry, abs=0.001)


def test_wood_at_a_fifth_of_moisture_gives_about_seven_thousand_btu_a_pound():
    # Iowa State extension, "about 7000 Btu/lb at 20 % moisture" (verified), gross; net is some 7 % less.
    assert pytest.approx(7000.0, rel=0.03) == wood.HHV_DRY / 1.2 / 2326.0


def test_complete_burning_takes_six_kilograms_of_air():
    assert wood.air_demand() == pytest.approx(5.956, abs=0.001)
    assert wood.air_demand(0.51, 0.06, 0.42) == pytest.approx(6.114, abs=0.001)
    assert wood.air_demand() == pytest.approx(wood.STOICHIOMETRIC_AIR, rel=0.02)


def test_heat_capacity_meets_the_handbook_s_equation():
    assert wood.heat_capacity(340.0, 0.12) == pytest.approx(1914.6, abs=1.0)
    assert wood.heat_capacity(300.0, 0.0) == pytest.approx(1263.0, abs=1.0)
    assert wood.heat_capacity(300.0, 0.20) == pytest.approx(1874.0, abs=1.5)


def test_a_humidity_in_percent_is_refused():
    with pytest.raises(RangeError, match="65"):
        wood.equilibrium_moisture(20.0, 65.0)
    with pytest.raises(RangeError, match="dry basis"):
        wood.wet_basis(-0.1)
