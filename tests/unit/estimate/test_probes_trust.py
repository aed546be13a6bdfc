"""Order of heat, votes among probes, baths and mirrors: short stories of several probes."""

import math
from collections.abc import Callable
from datetime import UTC, datetime

import pytest

from firebox.estimate import pitfilter
from firebox.estimate.probes import describe, lead
from firebox.records import Health, Signal, Status
from firebox.setup import Probe, Role, Setup
from tests.unit.estimate.test_probes import SETUP, Bench


def hump(celsius: float, height: float, turn: float = 600.0) -> Callable[[float], float]:
    return lambda s: celsius + height * math.sin(s / turn)


# --- the order of heat ---------------------------------------------------------------------------


def test_plugs_of_grate_and_firebox_in_each_others_place_are_seen_as_the_fire_comes_up() -> None:
    bench = Bench("grate", "firebox")
    bench.run(
        30,
        grate=bench.noisy(lambda s: 15.0 + s / 4.0),
        firebox=bench.noisy(lambda s: 15.0 + s / 20.0),
    )
    assert bench.healths()[-1] is Health.IMPLAUSIBLE
    assert "grate and firebox seem to be swapped" in describe(bench.grate, bench.seconds)
    assert "grate and firebox seem to be swapped" in describe(bench.tracks["firebox"], bench.seconds)


def test_grease_that_burns_at_the_grate_is_no_swap() -> None:
    """The fire has shown the right order before: the chamber is truly the hottest now."""
    bench = Bench("grate", "firebox")
    bench.run(20, grate=bench.noisy(121.0), firebox=bench.noisy(260.0))
    bench.run(10, grate=bench.noisy(lambda s: min(420.0, 121.0 + s)), firebox=bench.noisy(260.0))
    assert bench.grate.health is Health.GOOD
    assert bench.grate.celsius is not None
    assert bench.grate.celsius > 400.0


def test_a_fire_that_dies_is_no_swap() -> None:
    bench = Bench("grate", "firebox")
    bench.run(20, grate=bench.noisy(121.0), firebox=bench.noisy(260.0))
    bench.run(
        60,
        grate=bench.noisy(lambda s: 20.0 + 101.0 * math.exp(-s / 5400.0)),
        firebox=bench.noisy(lambda s: 20.0 + 240.0 * math.exp(-s / 900.0)),
    )
    assert bench.healths() == bench.healths("firebox") == [Health.GOOD]


def test_plugs_put_into_each_others_place_in_the_middle_of_a_cook() -> None:
    bench = Bench("grate", "firebox", "ambient", "flat")
    rest = {"ambient": bench.noisy(12.0, 0.1), "flat": bench.noisy(lambda s: 60.0 + s / 500.0, 0.1)}
    grate, firebox = bench.noisy(hump(121.0, 6.0)), bench.noisy(hump(260.0, 30.0))
    bench.run(20, grate=grate, firebox=firebox, **rest)
    bench.run(1, grate=Status.OPEN, firebox=Status.OPEN, **rest)
    bench.run(7, grate=firebox, firebox=grate, **rest)
    assert bench.healths()[-1] is bench.healths("firebox")[-1] is Health.IMPLAUSIBLE
    bench.run(1, grate=Status.OPEN, firebox=Status.OPEN, **rest)
    bench.run(4, grate=grate, firebox=firebox, **rest)
    assert bench.healths()[-1] is bench.healths("firebox")[-1] is Health.GOOD


def test_a_finding_of_swapped_plugs_lasts_as_long_as_they_are_swapped() -> None:
    """Longer than any trail of readings reaches back to the exchange."""
    bench = Bench("grate", "firebox")
    grate, firebox = bench.noisy(hump(121.0, 6.0)), bench.noisy(hump(260.0, 30.0))
    bench.run(20, grate=grate, firebox=firebox)
    bench.run(40, grate=firebox, firebox=grate)
    assert bench.grate.health is Health.IMPLAUSIBLE
    assert bench.healths().count(Health.IMPLAUSIBLE) == 1


@pytest.mark.parametrize("every", [1.0, 10.0])
def test_plugs_of_grate_and_ambient_in_each_others_place(every: float) -> None:
    bench = Bench("grate", "ambient", every=every)
    bench.run(
        30, grate=bench.noisy(12.0, 0.1), ambient=bench.noisy(lambda s: 12.0 + 100.0 * (1 - math.exp(-s / 900.0)))
    )
    assert "grate and ambient seem to be swapped" in describe(bench.grate, bench.seconds)


def test_sun_on_the_ambient_probe_of_a_cold_pit_is_no_swap() -> None:
    bench = Bench("grate", "ambient")
    bench.run(30, grate=bench.noisy(12.0, 0.1), ambient=bench.noisy(35.0, 0.1))
    assert bench.healths() == bench.healths("ambient") == [Health.GOOD]


def test_plugs_of_grate_and_meat_in_each_others_place() -> None:
    bench = Bench("grate", "flat")
    bench.run(30, grate=bench.noisy(lambda s: 40.0 + s / 600.0, 0.1), flat=bench.noisy(hump(108.0, 5.0)))
    assert "grate and flat seem to be swapped" in describe(bench.grate, bench.seconds)


def test_done_meat_in_a_pit_gone_cold_is_no_swap() -> None:
    bench = Bench("grate", "flat")
    bench.run(20, grate=bench.noisy(hump(115.0, 4.0)), flat=bench.noisy(93.0, 0.1))
    bench.run(
        90,
        grate=bench.noisy(lambda s: 30.0 + 85.0 * math.exp(-s / 2400.0)),
        flat=bench.noisy(lambda s: 93.0 - s / 900.0, 0.1),
    )
    assert "swapped" not in describe(bench.grate, bench.seconds)
    assert bench.healths() == [Health.GOOD]


# --- mirrors -------------------------------------------------------------------------------------


def test_a_probe_with_its_wires_swapped_mirrors_the_others_about_the_air() -> None:
    bench = Bench("grate", "grate2", "ambient")

    def rise(seconds: float) -> float:
        return 15.0 + seconds / 30.0

    bench.run(
        15, ambient=bench.noisy(15.0, 0.1), grate=bench.noisy(rise), grate2=bench.noisy(lambda s: 30.0 - rise(s))
    )
    assert bench.tracks["grate2"].health is Health.IMPLAUSIBLE
    assert "wires swapped" in describe(bench.tracks["grate2"], bench.seconds)
    assert bench.tracks["grate2"].signal is Signal.OUT_OF_SPECIFICATION
    assert bench.grate.health is Health.GOOD


def test_a_frosty_night_is_no_mirror() -> None:
    bench = Bench("grate", "grate2", "ambient")
    cold = bench.noisy(lambda s: -8.0 - s / 1200.0, 0.1)
    bench.run(30, ambient=cold, grate=cold, grate2=cold)
    bench.run(
        30, ambient=cold, grate=bench.noisy(lambda s: -9.0 + s / 20.0), grate2=bench.noisy(lambda s: -9.0 + s / 30.0)
    )
    assert bench.healths() == bench.healths("grate2") == [Health.GOOD]


# --- checks --------------------------------------------------------------------------------------


@pytest.mark.parametrize("every", [1.0, 5.0])
def test_a_probe_put_into_ice_water_is_being_checked(every: float) -> None:
    bench = Bench("grate", "grate2", every=every)
    bench.run(20, grate=bench.noisy(121.0), grate2=bench.noisy(115.0))
    bench.run(8, grate=bench.noisy(lambda s: 0.3 + 120.7 * math.exp(-s / 8.0)), grate2=bench.noisy(115.0))
    assert bench.healths()[-1] is Health.CHECKED
    assert bench.grate.signal is Signal.FUNCTION_CHECK
    assert bench.grate.celsius is None
    assert lead(bench.tracks, SETUP) == "grate2"
    bench.run(8, grate=bench.noisy(lambda s: 121.0 - 120.7 * math.exp(-s / 40.0)), grate2=bench.noisy(115.0))
    assert bench.healths()[-1] is Health.GOOD


def test_a_line_that_goes_dead_and_says_nought_is_no_bath() -> None:
    bench = Bench("grate", "grate2")
    bench.run(20, grate=bench.noisy(121.0), grate2=bench.noisy(115.0))
    bench.run(12, grate=0.0, grate2=bench.noisy(115.0))
    assert bench.grate.health is not Health.GOOD
    assert "ice" not in bench.grate.why


def test_a_probe_in_a_pit_that_freezes_overnight_is_not_being_checked() -> None:
    bench = Bench("grate")
    bench.run(90, grate=bench.noisy(lambda s: 22.0 - s / 220.0, 0.1))
    assert bench.healths() == [Health.GOOD]


# --- agreement -----------------------------------------------------------------------------------


def test_a_gap_that_grows_with_the_fire_is_no_disagreement() -> None:
    """The cold end rises by 0.6 of what the hot end does, over and over."""
    bench = Bench("grate", "grate2")
    hot = hump(121.0, 20.0, 500.0)
    bench.run(240, grate=bench.noisy(hot), grate2=bench.noisy(lambda s: 15.0 + 0.6 * (hot(s) - 15.0)))
    assert bench.healths() == bench.healths("grate2") == [Health.GOOD]


@pytest.mark.parametrize("rate", [-1.0, 1.0])
def test_a_slow_drift_is_found_within_half_an_hour_with_a_second_probe(rate: float) -> None:
    bench = Bench("grate", "grate2", every=5.0)
    courses = {"grate": hump(121.0, 8.0), "grate2": hump(110.0, 6.0)}
    bench.run(100, **{name: bench.noisy(course) for name, course in courses.items()})
    begin = bench.seconds
    bench.run(30, grate=bench.noisy(hump(121.0, 8.0)), grate2=bench.noisy(lambda s: 110.0 + rate * s / 60.0))
    at = next(at for at, name, health in bench.seen if health is Health.DISAGREEING and name == "grate2")
    assert at - begin <= 1800.0
    assert bench.tracks["grate2"].signal is Signal.MAINTENANCE_REQUIRED


def test_a_drifting_lead_is_voted_out_by_two_others() -> None:
    bench = Bench("grate", "grate2", "grate3", every=5.0)
    others = {"grate2": bench.noisy(hump(112.0, 6.0)), "grate3": bench.noisy(hump(105.0, 5.0))}
    bench.run(100, grate=bench.noisy(hump(121.0, 8.0)), **others)
    bench.run(30, grate=bench.noisy(lambda s: 121.0 + s / 60.0), **others)
    assert bench.grate.health is Health.DISAGREEING
    assert bench.healths("grate2") == bench.healths("grate3") == [Health.GOOD]
    assert lead(bench.tracks, SETUP) == "grate2"


def test_the_stack_has_a_vote_where_two_probes_at_the_grate_disagree() -> None:
    bench = Bench("grate", "grate2", "stack", every=5.0)
    others = {"grate2": bench.noisy(hump(112.0, 6.0)), "stack": bench.noisy(hump(100.0, 6.0))}
    bench.run(100, grate=bench.noisy(hump(121.0, 8.0)), **others)
    bench.run(15, grate=bench.noisy(lambda s: 121.0 - min(35.0, s / 3.0)), **others)
    assert bench.grate.health is Health.DISAGREEING
    assert bench.tracks["grate2"].health is Health.GOOD


# --- welcomed back -------------------------------------------------------------------------------


def test_a_lead_that_is_back_leads_again_once_it_has_proved_itself() -> None:
    bench = Bench("grate", "grate2")
    bench.run(5, grate=bench.noisy(121.0), grate2=bench.noisy(110.0))
    bench.run(2, grate=Status.OPEN, grate2=bench.noisy(110.0))
    assert lead(bench.tracks, SETUP) == "grate2"
    bench.run(3, grate=bench.noisy(121.0), grate2=bench.noisy(110.0))
    assert bench.grate.health is Health.GOOD
    assert lead(bench.tracks, SETUP) == "grate2"
    bench.run(3, grate=bench.noisy(121.0), grate2=bench.noisy(110.0))
    assert lead(bench.tracks, SETUP) == "grate"


def test_a_change_of_the_lead_is_no_rise_or_fall_of_the_pit() -> None:
    """Two places 15 K apart, both steady: the forecast follows to the other place and stays level."""
    setup = Setup(
        time=datetime(2026, 5, 2, tzinfo=UTC),
        probes=(Probe(name="grate", role=Role.GRATE), Probe(name="grate2", role=Role.GRATE)),
    )
    bench = Bench("grate", "grate2", setup=setup, every=5.0)
    estimate = pitfilter.begin(setup)
    leads: list[str | None] = []

    def watch(minutes: float, **probe: object) -> None:
        nonlocal estimate
        for _ in range(round(minutes * 6)):
            bench.run(1 / 6, **probe)
            name = lead(bench.tracks, setup)
            leads.append(name)
            estimate = pitfilter.advance(
                estimate, 10.0 * round(bench.seconds / 10.0), bench.cell, bench.log, setup, name
            )
            ahead = pitfilter.foresee(estimate, bench.seconds, bench.log, setup)
            if len(leads) > 180 and ahead is not None and ahead.drift_per_hour is not None:
                assert abs(ahead.drift_per_hour) < 100.0  # 15 K in a cell of 10 s would be 5400

    steady, other = bench.noisy(121.0, 0.2), bench.noisy(106.0, 0.2)
    watch(40, grate=steady, grate2=other)
    watch(3, grate=Status.OPEN, grate2=other)
    watch(10, grate=steady, grate2=other)
    assert list(dict.fromkeys(leads)) == ["grate", "grate2"]
    assert leads[-1] == "grate"
    ahead = pitfilter.foresee(estimate, bench.seconds, bench.log, setup)
    assert ahead is not None
    assert ahead.celsius == pytest.approx(121.0, abs=1.5)


def test_a_coarse_probe_in_something_steady_is_neither_stuck_nor_erratic_for_its_spikes() -> None:
    """Whole degrees, no change for an hour but two spikes: they say nothing of its resolution nor of its noise."""
    bench = Bench("flat", every=2.0)
    bench.run(60, flat=lambda s: 47.0 if s in {600.0, 2400.0} else 12.0)
    assert bench.healths("flat") == [Health.GOOD]
