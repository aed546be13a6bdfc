"""Thermistors against printed curves.

Steinhart, Hart, "Calibration curves for thermistors", Deep-Sea Research 15, 1968, pages 497-503, with coefficients and
curve points of the common 2252 ohm and 10 kohm precision parts: both from memory; that they agree with one another is
computed. Beta curves: computed from the definition.
"""

import math

import pytest

from firebox.errors import RangeError
from firebox.thermo.thermistor import Curve, by_beta, by_points, divider_ohm

TEN_K = Curve(1.129241e-3, 2.341077e-4, 8.775468e-8)
TWO_K = Curve(1.468e-3, 2.383e-4, 1.007e-7)


@pytest.mark.parametrize(
    ("curve", "ohm", "celsius", "tolerance"),
    [
        # printed to 4 digits: 0.5 of 1752 ohm is 0.006 K
        (TEN_K, 32650.0, 0.0, 0.01),
        (TEN_K, 10000.0, 25.0, 0.01),
        (TEN_K, 1752.0, 70.0, 0.01),
        # coefficients of four digits: within 0.09 K of the curve's own points
        (TWO_K, 7355.0, 0.0, 0.09),
        (TWO_K, 2252.0, 25.0, 0.09),
        (TWO_K, 394.5, 70.0, 0.09),
        (TWO_K, 152.8, 100.0, 0.09),
    ],
)
def test_coefficients_give_the_printed_curve(curve, ohm, celsius, tolerance):
    assert curve.celsius(ohm) == pytest.approx(celsius, abs=tolerance)


@pytest.mark.parametrize(
    ("celsius", "ohm"),
    [(0.0, 33620.60), (50.0, 3588.18), (85.0, 1086.67), (100.0, 697.52), (121.0, 396.84), (150.0, 199.68)],
)
def test_a_beta_curve_is_its_definition(celsius, ohm):
    curve = by_beta(3950.0, 10_000.0)
    assert curve.ohm(celsius) == pytest.approx(ohm, rel=2e-5)  # five digits
    assert curve.celsius(ohm) == pytest.approx(celsius, abs=0.002)


@pytest.mark.parametrize(("celsius", "ohm"), [(60.0, 24861.6), (93.0, 8539.8), (121.0, 3968.4), (150.0, 1996.8)])
def test_a_beta_curve_of_a_meat_probe(celsius, ohm):
    assert by_beta(3950.0, 100_000.0).celsius(ohm) == pytest.approx(celsius, abs=0.002)


def test_three_points_give_the_published_fit():
    curve = by_points(((25.0, 2252.0), (70.0, 394.5), (0.0, 7355.0)))
    # published to seven digits
    assert curve.a == pytest.approx(1.470506e-3, rel=1e-6)
    assert curve.b == pytest.approx(2.378007e-4, rel=1e-6)
    assert curve.c == pytest.approx(1.038861e-7, rel=1e-5)
    assert curve.celsius(152.8) == pytest.approx(100.033, abs=0.001)


@pytest.mark.parametrize("curve", [TEN_K, TWO_K, by_beta(3950.0, 100_000.0)])
def test_there_and_back(curve):
    for celsius in (-40.0, 0.0, 25.0, 93.0, 121.0, 250.0):
        assert curve.celsius(curve.ohm(celsius)) == pytest.approx(celsius, abs=1e-7)


@pytest.mark.parametrize(
    "points",
    [
        (),
        ((0.0, 7355.0), (25.0, 2252.0)),
        ((0.0, 7355.0), (25.0, 2252.0), (25.0, 394.5)),
        ((0.0, 2252.0), (25.0, 7355.0), (70.0, 394.5)),
        ((0.0, 7355.0), (25.0, 7300.0), (26.0, 394.5)),
        ((0.0, 7355.0), (25.0, 2252.0), (70.0, 0.0)),
        ((-300.0, 7355.0), (25.0, 2252.0), (70.0, 394.5)),
    ],
)
def test_points_that_no_thermistor_has_are_refused(points):
    with pytest.raises(RangeError):
        by_points(points)


def test_what_is_no_resistance_or_hotter_than_any_thermistor_is_refused():
    for ohm in (0.0, -5.0, math.inf, math.nan, 0.01):
        with pytest.raises(RangeError):
            TEN_K.celsius(ohm)
    for beta, ohm in ((0.0, 1000.0), (3950.0, 0.0)):
        with pytest.raises(RangeError):
            by_beta(beta, ohm)
    for curve in (Curve(1e-3, 1e-9), Curve(1e-3, -2e-4), Curve(1e-3, 1e-9, -1e-4)):
        with pytest.raises(RangeError, match="no resistance"):
            curve.ohm(25.0)


@pytest.mark.parametrize("grounded", [True, False])
def test_a_divider_is_undone_either_way_round(grounded):
    for ohm in (10.0, 3968.4, 1e6):
        low = ohm if grounded else 22_000.0
        assert divider_ohm(low / (ohm + 22_000.0), 22_000.0, grounded=grounded) == pytest.approx(ohm)
    assert divider_ohm(1.0 if grounded else 0.0, 22_000.0, grounded=grounded) == math.inf
