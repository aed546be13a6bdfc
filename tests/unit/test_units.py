"""The cook's units and the program's.

Fixed points of the temperature scales are definitions or follow from them: BIPM, "The International System of Units",
9th edition, 2019, section 2.3.1 (degree Celsius and kelvin), and the Fahrenheit scale as NIST SP 811 (2008), appendix
B.8, converts it: t/degC = (t/degF - 32) / 1.8. The pound is 0.453 592 37 kg exactly (same appendix). From memory.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firebox.units import (
    ABSOLUTE_ZERO_CELSIUS,
    Degrees,
    Mass,
    celsius_from,
    celsius_to,
    kelvin_from,
    kelvin_to,
    kg_from,
    kg_to,
)


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"),
    [(32, 0), (212, 100), (-40, -40), (-459.67, ABSOLUTE_ZERO_CELSIUS), (98.6, 37), (250, 1090 / 9)],
)
def test_the_fixed_points_of_the_two_scales(fahrenheit, celsius):
    # 1e-12: the few roundings of a subtraction and a division
    assert celsius_from(fahrenheit, Degrees.F) == pytest.approx(celsius, rel=1e-12, abs=1e-12)
    assert celsius_to(celsius, Degrees.F) == pytest.approx(fahrenheit, rel=1e-12, abs=1e-12)


def test_a_difference_has_no_zero_point():
    assert kelvin_from(18, Degrees.F) == pytest.approx(10)
    assert kelvin_to(10, Degrees.F) == pytest.approx(18)


def test_a_pound_is_what_the_agreement_of_1959_says():
    assert kg_from(1, Mass.LB) == 0.45359237
    assert kg_to(0.45359237, Mass.LB) == 1


def test_the_programs_own_units_are_left_as_they_are():
    assert celsius_from(121.1, Degrees.C) == celsius_to(121.1, Degrees.C) == 121.1
    assert kelvin_from(8.3, Degrees.C) == kelvin_to(8.3, Degrees.C) == 8.3
    assert kg_from(2.2, Mass.KG) == kg_to(2.2, Mass.KG) == 2.2


@given(st.floats(-1e4, 1e4), st.sampled_from(Degrees), st.sampled_from(Mass))
def test_there_and_back_is_where_it_began(value, degrees, mass):
    close = pytest.approx(value, rel=1e-12, abs=1e-11)  # the offset of 32 costs digits near zero
    assert celsius_to(celsius_from(value, degrees), degrees) == close
    assert kelvin_to(kelvin_from(value, degrees), degrees) == close
    assert kg_to(kg_from(value, mass), mass) == close
