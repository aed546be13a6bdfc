"""Several probes at the grate: what they tell together, and a lead that goes from one to the other."""

import msgspec
import numpy as np
import pytest

from firebox.cooklog import CookLog, enter
from firebox.estimate import company, pitfilter
from firebox.estimate.company import Company
from firebox.records import Split
from firebox.setup import Setup
from tests.unit.estimate.cooks import EPOCH

SETUP = Setup(time=EPOCH)


def pit(seconds):
    """Return a fed pit's course. [degC]"""
    return 118.0 + 9.0 * np.sin(seconds / 420.0) + 3.0 * np.sin(seconds / 1700.0)


def cells(until, *, noise=0.8, other=lambda truth: 1.15 * truth - 30.0, seed=1):
    """Yield (seconds, truth, cell) of two probes at the grate; the other one stands at another place."""
    rng = np.random.default_rng(seed)
    for step in range(1, int(until // 10) + 1):
        seconds = 10.0 * step
        truth = pit(seconds)
        cell = {
            "grate": float(truth + noise * rng.normal()),
            "grate2": float(other(truth) + 0.1 * rng.normal()),
        }
        yield seconds, truth, cell


def learned(until=5400.0, noise=0.8, **how):
    """Return the company, and (truth, lead probe, together) of the second half."""
    known, rows = Company(lead="grate"), []
    for seconds, truth, cell in cells(until, noise=noise, **how):
        known, heard = company.heard(known, seconds, cell, noise**2, SETUP)
        if seconds > 0.5 * until:
            rows.append((truth, cell["grate"], heard.celsius, heard.variance))
    return known, np.array(rows)


def test_two_probes_together_are_nearer_the_truth_than_the_noisy_one_that_leads():
    _, rows = learned()
    alone, together = (np.sqrt(np.mean((rows[:, column] - rows[:, 0]) ** 2)) for column in (1, 2))
    assert together < 0.7 * alone
    assert np.all(rows[-10:, 3] < 0.64)


def test_a_probe_that_hangs_badly_weighs_nothing():
    wild = np.random.default_rng(7)
    _, rows = learned(noise=0.2, other=lambda _: 90.0 + 25.0 * wild.normal())
    assert np.max(np.abs(rows[:, 2] - rows[:, 1])) < 0.2


def test_others_speak_for_a_lead_that_is_silent_for_a_moment():
    known, _ = learned()
    told = 1.15 * pit(5410.0) - 30.0
    known, heard = company.heard(known, 5410.0, {"grate2": told}, 0.64, SETUP)
    assert heard.celsius == pytest.approx(pit(5410.0), abs=1.0)


def test_nobody_is_heard_before_he_is_known_and_no_probe_in_meat_ever():
    known, heard = company.heard(Company(lead="grate"), 10.0, {"grate2": 100.0, "brisket": 60.0}, 0.25, SETUP)
    assert heard is None
    for seconds, _, cell in cells(1800.0):
        known, heard = company.heard(known, seconds, {**cell, "brisket": 60.0}, 0.25, SETUP)
    assert set(known.lines) == {"grate2"}


def test_the_way_back_is_known_when_the_lead_returns():
    known, _ = learned()
    away = company.led(known, "grate2", 5400.0)
    there = company.led_by(away.lines["grate"], 120.0)
    assert company.led_by(known.lines["grate2"], there) == pytest.approx(120.0, abs=0.3)


def outlooks(apart, *, dies):
    """Return what is foreseen each ten seconds about the moment at which the leading probe dies, at its place. [degC]"""
    log = enter(CookLog(), Split(time=EPOCH, kg=1.0), 5.0, EPOCH)
    estimate, foreseen = pitfilter.begin(SETUP), []
    for seconds, _, cell in cells(3720.0, noise=0.3, other=lambda truth: truth + apart):
        dead = dies and seconds > 3600.0
        heard = {"grate2": cell["grate2"]} if dead else cell
        estimate = pitfilter.advance(estimate, seconds, heard, log, SETUP, "grate2" if dead else "grate")
        if seconds > 3550.0:
            forecast = pitfilter.foresee(estimate, seconds, log, SETUP)
            foreseen.append(np.array(forecast.at(0.5)) - (apart if dead else 0.0))
    return np.array(foreseen)


@pytest.mark.parametrize("apart", [14.0, -9.0])
def test_a_lead_that_dies_hands_over_without_a_jump(apart):
    # What is foreseen goes on at the other place as it would have gone on here.
    assert np.max(np.abs(outlooks(apart, dies=True) - outlooks(apart, dies=False))) < 1.5


def test_a_stand_in_far_from_the_place_that_is_followed_is_hardly_believed():
    wild = np.random.default_rng(7)
    known, _ = learned(noise=0.2, other=lambda _: 90.0 + 15.0 * wild.normal())
    known, heard = company.heard(company.led(known, "grate2", 5410.0), 5410.0, {"grate2": 80.0}, 0.04, SETUP)
    assert heard.celsius == 80.0
    assert heard.variance > 9.0
    back = company.led(known, "grate", 5500.0)
    assert company.vagueness(back, 5500.0) == 0.0


def test_a_lead_that_comes_back_stands_where_it_stood():
    log = enter(CookLog(), Split(time=EPOCH, kg=1.0), 5.0, EPOCH)
    estimate = pitfilter.begin(SETUP)
    for seconds, _, cell in cells(2400.0, noise=0.3, other=lambda truth: 0.7 * truth):
        away = 1200.0 < seconds < 1500.0
        heard = {"grate2": cell["grate2"]} if away else cell
        estimate = pitfilter.advance(estimate, seconds, heard, log, SETUP, "grate2" if away else "grate")
        if away:
            assert estimate.course.offset < -20.0
    assert estimate.course.offset == 0.0


def test_a_company_goes_through_bytes_and_back():
    known, _ = learned()
    assert msgspec.msgpack.decode(msgspec.msgpack.encode(known), type=Company) == known
