"""Draft and flow of a warm stack, against worked cases.

Source: dp = 0.0342 p H (1/To - 1/Ti), Q = C A sqrt(2 g H (Ti - To)/Ti) with C 0.65 (forms verified in two stored copies);
the cases computed from them. Orifices in series: Bernoulli, any textbook of fluid mechanics.
"""

import math

import pytest

from firebox.errors import RangeError
from firebox.pit import draft

AREA = math.pi * 0.15**2 / 4.0


@pytest.mark.parametrize(
    ("height", "outside", "inside", "pascal", "flow"),
    [
        (1.0, 20.0, 120.0, 3.007, 0.02566),
        (1.2, 20.0, 150.0, 4.358, 0.03089),
        (1.2, 0.0, 120.0, 4.647, 0.03079),
        (1.5, 30.0, 110.0, 3.580, 0.02847),
        (0.9, 20.0, 200.0, 4.047, 0.02977),
    ],
)
def test_draft_and_flow_meet_the_worked_cases(height, outside, inside, pascal, flow):
    assert draft.pressure(height, outside, inside) == pytest.approx(pascal, abs=0.001)
    assert draft.volume_flow(AREA, height, outside, inside) == pytest.approx(flow, abs=1e-5)


def test_the_constant_is_gravity_over_the_gas_constant_of_air():
    assert pytest.approx(9.80665 * 0.0289647 / 8.314463, abs=5e-5) == draft.STACK_CONSTANT


def test_a_cold_stack_draws_nothing():
    assert draft.volume_flow(AREA, 1.0, 20.0, 10.0) == 0.0
    assert draft.relative_draft(20.0, 10.0) == 0.0


def test_the_tighter_of_two_dampers_decides():
    assert draft.in_series(0.1, 1.0) == pytest.approx(0.1 * math.sqrt(2.0), rel=0.01)
    assert draft.in_series(0.5, 1.0) == draft.in_series(1.0, 0.5)
    with pytest.raises(RangeError, match="more than 0"):
        draft.in_series(0.0, 1.0)
