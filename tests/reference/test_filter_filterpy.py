"""Our filters against an independent one on the same linear system: PyPI `filterpy`, `KalmanFilter`."""

import numpy as np
import pytest
from filterpy.kalman import KalmanFilter
from msgspec.structs import replace

from firebox.estimate import greybox, trendbank
from firebox.estimate.deeds import FUEL
from firebox.estimate.model import FIRST_PARAMETER, SIZE, At
from firebox.estimate.priors import prior
from firebox.setup import PitBuild, Wood


def test_a_trend_member_is_the_textbook_filter_of_a_damped_trend():
    member = 8
    bank = trendbank.start(0.0, 120.0)
    tau, wander = trendbank.DAMPED[member], float(np.tile(trendbank.WANDER, trendbank.DAMPING.size)[member])
    other = KalmanFilter(dim_x=2, dim_z=1)
    other.x = bank.mean[member][:, None].copy()
    other.P = np.diag(bank.cov[member, :2])
    other.H = np.array([[1.0, 0.0]])
    dt, level = 10.0, 2e-3
    keep, reach = np.exp(-dt / tau), tau * -np.expm1(-dt / tau)
    other.F = np.array([[1.0, reach], [0.0, keep]])
    q = wander**2 * dt
    other.Q = np.array([[level**2 * dt + q * reach**2 / 3.0, q * reach / 2.0], [q * reach / 2.0, q]])
    for count in range(1, 40):
        # Readings a quarter of an SD off: none is doubted, so the robust filter has to be the plain one.
        other.predict()
        reading = float(other.x[0, 0]) + 0.25 * (-1.0) ** count
        bank = trendbank.hear(bank, count * dt, reading)
        other.R = np.array([[bank.noise]])
        other.update(reading)
        assert bank.mean[member] == pytest.approx(other.x[:, 0], rel=1e-9)
        assert bank.cov[member, :2] == pytest.approx(np.diag(other.P), rel=1e-6)


def test_a_correction_of_the_grey_box_is_the_textbook_one_in_its_states():
    box = greybox.start(0.0, 110.0, prior(PitBuild(), Wood()), 15.0)
    rng = np.random.default_rng(3)
    mix = np.eye(SIZE) + 0.1 * rng.normal(size=(SIZE, SIZE))
    mean = box.mean.copy()
    mean[FUEL] = 50.0  # far from none, where the filter holds it
    box = replace(box, mean=mean, cov=mix @ box.cov @ mix.T)
    other = KalmanFilter(dim_x=SIZE, dim_z=1)
    other.x, other.P = box.mean[:, None].copy(), box.cov.copy()
    other.H = np.eye(SIZE)[[At.PROBE]]
    other.R = np.array([[1.0]])
    other.update(111.0)
    ours = greybox.correct(box, At.PROBE, 111.0, 1.0)
    states = slice(0, FIRST_PARAMETER)
    assert ours.mean[states] == pytest.approx(other.x[states, 0], rel=1e-9, abs=1e-9)
    assert ours.cov[states, states] == pytest.approx(other.P[states, states], rel=1e-7, abs=1e-9)


def test_parameters_take_their_part_of_the_textbook_correction():
    box = greybox.start(0.0, 110.0, prior(PitBuild(), Wood()), 15.0)
    cov = box.cov.copy()
    cov[At.PROBE, At.HEAT] = cov[At.HEAT, At.PROBE] = 0.1
    ours = greybox.correct(replace(box, cov=cov), At.PROBE, 111.0, 1.0)
    whole = 0.1 / (cov[At.PROBE, At.PROBE] + 1.0)
    assert ours.mean[At.HEAT] == pytest.approx(greybox.LEARNING * whole)
