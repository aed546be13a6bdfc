"""What a steel chamber weighs, holds and loses, against computed tables.

Sources: loss table computed with the PyPI package `ht` (Churchill-Chu, Churchill-Bernstein) and CoolProp air, cylinder of
0.5 m, emissivity 0.9 (verified by library). Steel 7850 kg/m3, 490 J/(kg K): from memory.
"""

import pytest

from firebox.pit import shell


@pytest.mark.parametrize(
    ("wall", "air", "natural", "radiation", "loss"),
    [
        (60.0, 20.0, 4.68, 6.29, 439.0),
        (90.0, 20.0, 5.42, 7.30, 890.0),
        (90.0, 0.0, 5.98, 6.71, 1141.0),
        (110.0, 20.0, 5.76, 8.03, 1241.0),
    ],
)
def test_loss_in_still_air_meets_the_table(wall, air, natural, radiation, loss):
    assert shell.radiation(wall, air) == pytest.approx(radiation, abs=0.01)
    # One convective figure stands for all wall temperatures of a chamber: that costs up to 8 % of the loss.
    assert shell.convection(0.0) == pytest.approx(natural, rel=0.16)
    assert shell.loss(wall, air, 0.0) == pytest.approx(loss, rel=0.08)


@pytest.mark.parametrize(("wind", "forced"), [(3.0, 10.6), (5.0, 15.0), (10.0, 24.7)])
def test_wind_takes_heat_as_the_table_says(wind, forced):
    assert shell.convection(wind) == pytest.approx(forced)


def test_a_wind_of_five_metres_a_second_raises_the_loss_by_three_quarters():
    assert shell.loss(90.0, 20.0, 5.0) / shell.loss(90.0, 20.0, 0.0) == pytest.approx(1.75, abs=0.02)


def test_the_worked_chamber_has_its_surface_and_heat():
    # 0.5 m by 1.2 m, 6.35 mm, both ends: 2.28 m2, 55.6 kJ/K (computed).
    assert shell.area(235.6) == pytest.approx(2.28, abs=0.01)
    assert shell.heat_capacity(2.28, 6.35) == pytest.approx(55.6e3, rel=0.005)
