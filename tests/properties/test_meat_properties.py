"""What holds of meat whatever its size, its pit and its course."""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from firebox.meat import belief, conduction, herd, kinetics, safety, surface, vapour
from firebox.meat.cuts import CUTS, piece
from firebox.meat.places import COVER, place

few = settings(max_examples=25, deadline=None)
celsius = st.floats(-5.0, 100.0)
cuts = st.sampled_from(sorted(CUTS))
stays = st.lists(
    st.tuples(
        st.sampled_from(["grate", "counter", "cooler", "oven"]),
        st.sampled_from(["none", "paper", "foil"]),
        st.floats(0.0, 250.0),
    ),
    min_size=1,
    max_size=6,
)


def cooked(group, made, courses, *, seconds=300.0, steps=8):
    for rest, material, air in courses:
        for _ in range(steps):
            group = herd.warm_walls(group, air, seconds)
            group = herd.step(group, made, herd.surroundings(group, made, place(rest, material), air), seconds)
    return group


@few
@given(cuts, st.floats(1.0, 60.0), stays)
def test_no_course_of_places_drives_meat_out_of_its_bounds(cut, start, courses):
    one = piece(CUTS[cut])
    group = herd.begin(start, members=12)
    made = herd.figures(group, one)
    with np.errstate(all="raise", under="ignore"):
        after = cooked(group, made, courses)
    hottest = max(100.0, start + 10.0, *(air + 30.0 for *_, air in courses))
    assert np.all(np.isfinite(after.celsius))
    assert after.celsius.min() > -20.0
    assert after.celsius.max() <= hottest
    assert np.all(after.crust >= 0.0)
    assert np.all(after.hottest >= after.celsius - 1e-9)


@few
@given(cuts, stays)
def test_what_heat_has_done_is_never_undone(cut, courses):
    one = piece(CUTS[cut])
    before = herd.begin(5.0, members=8)
    made = herd.figures(before, one)
    for course in courses:
        after = cooked(before, made, [course])
        assert np.all(after.collagen >= before.collagen)
        assert np.all(after.render >= before.render)
        assert np.all(after.bark >= before.bark)
        assert np.all(kinetics.water_held(after.hottest) <= kinetics.water_held(before.hottest) + 1e-12)
        before = after


@few
@example(cut="chicken", gas=152.0, more=2.0)
@example(cut="pork ribs", gas=148.62299952588833, more=2.223487860127485)
@given(cuts, st.floats(90.0, 160.0), st.floats(2.0, 25.0))
def test_a_hotter_pit_makes_every_piece_hotter(cut, gas, more):
    """In steps of a minute; in those of five, thin pieces err by up to 0.3 K, which may hide two kelvins of air."""
    one = piece(CUTS[cut])
    group = herd.begin(5.0, members=8)
    made = herd.figures(group, one)
    cool, hot = (
        cooked(group, made, [("grate", "none", air)] * 4, seconds=60.0, steps=40) for air in (gas, gas + more)
    )
    assert np.all(hot.celsius[:, 0] >= cool.celsius[:, 0] - 1e-9)


@few
@given(cuts, st.floats(100.0, 150.0))
def test_the_tighter_the_wrap_the_less_water_leaves(cut, gas):
    one = piece(CUTS[cut])
    group = herd.begin(60.0, members=8)
    made = herd.figures(group, one)
    gone = [cooked(group, made, [("grate", wrap, gas)] * 2).gone for wrap in sorted(COVER, key=COVER.get)]
    assert np.all(gone[0] >= gone[1] - 1e-9)
    assert np.all(gone[1] >= gone[2] - 1e-9)


@few
@given(st.floats(20.0, 300.0), st.floats(60.0, 900.0))
def test_big_steps_tell_the_same_as_small_ones(gas, seconds):
    """Within 2.5 K after two hours: the look-ahead goes in steps of five to fifteen minutes."""
    one = piece(CUTS["brisket"])
    group = herd.begin(10.0, members=6)
    made = herd.figures(group, one)
    air = min(gas, 160.0)
    steps = round(7200.0 / seconds)
    coarse = cooked(group, made, [("grate", "none", air)], seconds=7200.0 / steps, steps=steps)
    fine = cooked(group, made, [("grate", "none", air)], seconds=30.0, steps=240)
    assert coarse.celsius[:, 0] == pytest.approx(fine.celsius[:, 0], abs=2.5)


@given(celsius, st.floats(0.0, 0.3))
def test_evaporation_grows_with_heat_and_its_slope_is_its_own(where, humidity):
    at = np.array([where, where + 1e-4]) * 0.95
    drive, slope = vapour.driving_force(at, np.array(humidity))
    assert drive[1] >= drive[0]
    assert (drive[1] - drive[0]) / (at[1] - at[0]) == pytest.approx(slope[0], rel=1e-3)


@few
@given(st.floats(-20.0, 150.0), st.floats(0.05, 5.0))
def test_a_reading_draws_the_herd_towards_it_and_never_out_of_bounds(reading, noise):
    group = herd.begin(50.0, members=20, spread=6.0)
    made = herd.figures(group, piece(CUTS["brisket"]))
    seen = herd.probed(group, made)
    after = belief.hear(group, seen, reading, noise, every=300.0)
    moved = herd.probed(after, herd.figures(after, piece(CUTS["brisket"]))).mean()
    assert abs(moved - reading) <= abs(seen.mean() - reading) + 0.3
    assert np.all(np.isfinite(after.knobs))
    assert after.celsius.min() >= belief.COLDEST
    assert after.celsius.max() <= belief.HOTTEST


@given(
    st.lists(st.tuples(st.floats(1.0, 3600.0), st.none() | st.floats(-10.0, 110.0)), min_size=1, max_size=40),
    st.booleans(),
)
def test_the_clocks_only_ever_run_forwards(course, poultry):
    clocks, seconds = safety.Clocks(), 0.0
    for lasted, reading in course:
        seconds += lasted
        after = safety.tick(clocks, seconds, lasted, reading, poultry=poultry)
        assert after.growth >= clocks.growth
        assert after.log >= clocks.log
        assert clocks.safe_at is None or after.safe_at == clocks.safe_at
        clocks = after
        for one in safety.statements(clocks, seconds, poultry=poultry):
            assert one.text
            assert one.source


@given(st.floats(0.0, 0.02), st.floats(0.0, 40000.0))
def test_wetness_is_a_share_and_falls_with_crust_and_cover(crust, cover):
    one = np.ones(1)
    around = surface.Surroundings(
        gas=120 * one,
        wall=105 * one,
        humidity=0.02 * one,
        film=6 * one,
        emissivity=0.9 * one,
        cover=cover * one,
        blanket=0 * one,
    )
    wet = surface.wetness(around, crust * one, 2.6e-6 * one)[0]
    assert 0.0 < wet <= 1.0
    assert surface.wetness(around, (crust + 1e-3) * one, 2.6e-6 * one)[0] < wet


@given(st.floats(0.001, 0.2), st.floats(0.0, 2.0), st.integers(3, 20))
def test_the_cells_of_a_body_fill_it(half, shape, cells):
    one = np.ones(1)
    body = conduction.body(half * one, one, 2.0 * one, shape=shape, cells=cells)
    assert body.volumes.sum() == pytest.approx(1.0)
    assert body.capacity.sum() == pytest.approx(2.0 * half / (shape + 1.0))
