"""A probe is put right between ice and steam, and a fault is never called a correction."""

import math
import random
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firebox.errors import RangeError
from firebox.thermo.calibration import (
    DUE,
    ICE,
    RANGE,
    Check,
    Correction,
    Reference,
    boiling_by_altitude,
    boiling_by_pressure,
    correction,
    is_due,
    steady,
)

BOIL = boiling_by_pressure(95_000.0)


def check(known, celsius, uncertainty=0.05):
    return Check(known=known, shown=Reference(celsius=celsius, uncertainty=uncertainty))


def test_the_worked_example():
    # ice 0.8, boiling 98.9 at 950 hPa: gain 1.000795, offset -0.8006, and 121.0 becomes 120.296 (computed by hand)
    made = correction(check(BOIL, 98.9), check(ICE, 0.8))
    assert made.gain == pytest.approx(1.000795, abs=5e-6)  # 98.178 has five digits
    assert made.offset == pytest.approx(-0.8006, abs=1e-4)
    assert made.correct(121.0) == pytest.approx(120.296, abs=0.001)
    assert made.correct(0.8) == pytest.approx(0.0, abs=1e-9)
    assert made.correct(98.9) == pytest.approx(BOIL.celsius, abs=1e-9)


@given(st.floats(-4.5, 4.5), st.floats(-2.5, 2.5), st.floats(*RANGE))
def test_a_probe_that_is_off_by_a_line_is_put_right_everywhere(at_ice, more_at_boil, celsius):
    def shows(true):
        return true + at_ice + more_at_boil * true / BOIL.celsius

    if abs(at_ice + more_at_boil) > 4.9:
        return
    made = correction(check(ICE, shows(0.0)), check(BOIL, shows(BOIL.celsius)))
    if RANGE[0] <= shows(celsius) <= RANGE[1]:
        assert made.correct(shows(celsius)) == pytest.approx(celsius, abs=1e-6)


def test_far_from_the_checks_it_is_not_stretched_and_makes_no_jump():
    made = correction(check(ICE, 1.0), check(BOIL, 100.5))
    at_edge = made.correct(150.0) - 150.0
    assert made.correct(400.0) - 400.0 == pytest.approx(at_edge)
    assert made.correct(150.001) - made.correct(149.999) == pytest.approx(0.002, abs=1e-4)
    assert made.correct(-40.0) - -40.0 == pytest.approx(made.correct(-20.0) - -20.0)


def test_one_check_is_an_offset_and_less_sure_the_further_away():
    made = correction(check(ICE, 0.8))
    assert (made.gain, made.correct(100.0)) == (1.0, pytest.approx(99.2))
    assert made.uncertainty(0.0) < made.uncertainty(60.0) < made.uncertainty(121.0)
    assert correction(check(ICE, 0.8), check(BOIL, 98.9)).uncertainty(121.0) < made.uncertainty(121.0)


def test_uncertainty_is_that_of_the_checks_at_the_checks_and_grows_outside():
    made = correction(check(ICE, 0.8), check(BOIL, 98.9))
    first, second = made.checks
    assert made.uncertainty(0.0) == pytest.approx(first.uncertainty)
    assert made.uncertainty(BOIL.celsius) == pytest.approx(second.uncertainty)
    # 0.3 K at the boil alone is 0.37 K at 121 degC, since 121 / 98.178 is 1.232
    alone = Correction(
        gain=1.0,
        offset=0.0,
        checks=(
            check(Reference(celsius=0.0, uncertainty=0.0), 0.0, 0.0),
            check(Reference(celsius=98.178, uncertainty=0.3), 98.178, 0.0),
        ),
    )
    assert alone.uncertainty(121.0) == pytest.approx(0.37, abs=0.001)


def test_uncertainty_is_what_repeated_checks_scatter_by():
    dice = random.Random(7)
    made = correction(check(ICE, 0.0), check(BOIL, BOIL.celsius))
    results = []
    for _ in range(4000):
        drawn = [check(one.known, dice.gauss(one.known.celsius, one.uncertainty)) for one in made.checks]
        results.append(correction(*drawn).correct(121.0))
    mean = math.fsum(results) / len(results)
    spread = math.sqrt(math.fsum((one - mean) ** 2 for one in results) / len(results))
    assert mean == pytest.approx(121.0, abs=0.02)
    assert spread == pytest.approx(made.uncertainty(121.0), rel=0.05)  # 4000 draws are good to 1.1 %


@pytest.mark.parametrize(
    ("checks", "word"),
    [
        ((), "one or two"),
        ((check(ICE, 0.1), check(BOIL, 98.0), check(BOIL, 98.0)), "one or two"),
        ((check(ICE, 12.0),), "12.0 K off; more than 5 K is a fault"),
        ((check(ICE, 0.0), check(BOIL, -20.0)), "swapped or wrong wires"),  # a reversed pair
        ((check(ICE, 0.0), check(ICE, 0.5)), "0 K apart"),
        ((check(ICE, 3.0), check(BOIL, 95.0)), "93.7 % of what it should"),
        ((check(ICE, math.nan),), "fault"),
    ],
)
def test_a_fault_is_refused_and_said_to_be_one(checks, word):
    with pytest.raises(RangeError, match=word):
        correction(*checks)


def test_altitude_alone_is_less_sure_than_a_barometer():
    assert boiling_by_altitude(540.0).celsius == pytest.approx(BOIL.celsius, abs=0.02)
    assert boiling_by_altitude(540.0).uncertainty > 1.9 * BOIL.uncertainty


def test_a_probe_is_steady_once_it_stands_still_and_not_before():
    still = [(second, 0.75 if second % 7 else 1.0) for second in range(90)]
    shown = steady(still)
    assert shown is not None
    assert shown.celsius == pytest.approx(0.79, abs=0.02)
    assert 0.07 < shown.uncertainty < 0.1
    assert steady(still[:60]) is None  # not long enough
    assert steady(still[::10]) is None  # too few
    falling = [(second, 20.0 * math.exp(-second / 20.0)) for second in range(300)]
    assert steady(falling[:61]) is None
    assert steady(falling) is not None
    restless = [(second, 0.8 if second % 2 else -0.8) for second in range(90)]
    assert steady(restless) is None
    assert steady([]) is None


def test_a_check_falls_due_after_half_a_year():
    checked = datetime(2026, 1, 1, tzinfo=UTC)
    assert not is_due(checked, checked + DUE - timedelta(seconds=1))
    assert is_due(checked, checked + DUE)
