"""The grey box's physics: heat closes, air limits, wood runs out."""

import numpy as np
import pytest

from firebox.estimate.model import SIZE, At, Controls, heat_of, march, parameters, seen
from firebox.estimate.priors import TEMPERS, prior
from firebox.pit import wood
from firebox.setup import PitBuild, Wood

PIT = prior(PitBuild(chamber_litres=450, wall_mm=6, firebox_insulated=False, usual_split_kg=1.5), Wood())
OPEN = Controls(0.6, 1.0, False, False)


def member(**rows):
    states = np.zeros((SIZE, 1))
    for row, value in {
        "FIREBOX": 200.0,
        "WALL": 80.0,
        "MASS": 110.0,
        "PROBE": 120.0,
        "AMBIENT": 15.0,
        **rows,
    }.items():
        states[At[row]] = value
    return states


def run(states, controls, minutes, dt=30.0):
    p = parameters(states, PIT)
    shown = []
    for _ in range(int(minutes * 60 / dt)):
        states = march(states, p, PIT, controls, dt)
        shown.append(float(seen(states, p, PIT, controls)[0]))
    return states, np.array(shown)


def heat(states, controls=OPEN):
    return float(heat_of(states, parameters(states, PIT), PIT, controls)[0])


def test_all_the_heat_of_a_split_comes_out_and_no_more():
    states = member(FRESH=1.0, FLAMING=0.3, COAL=0.3, FIREBOX=300.0)
    p = parameters(states, PIT)
    before = 1.3 * wood.LHV_DRY + 0.3 * 30.0e6
    given = 0.0
    for _ in range(3 * 3600 // 5):
        given += heat(states) * 5.0
        states = march(states, p, PIT, OPEN, 5.0)
    left = (
        float(states[At.FRESH, 0] + states[At.WARM, 0] + states[At.FLAMING, 0]) * wood.LHV_DRY
        + float(states[At.COAL, 0]) * 30.0e6
    )
    efficiency = float(p[At.HEAT - At.DRYING_TIME, 0])
    # Strides of five seconds leave a percent or two.
    assert given == pytest.approx(efficiency * (before - left), rel=0.03)


def test_a_pit_without_fire_comes_to_the_air_s_temperature():
    _states, shown = run(member(), OPEN, 24 * 60, dt=60.0)
    assert shown[-1] == pytest.approx(15.0, abs=2.0)
    assert np.all(np.diff(shown[10:]) < 0.01)


def test_a_split_makes_a_hump_and_the_hump_has_an_end():
    steady = member(FLAMING=0.3, COAL=0.6)
    _, alone = run(steady, OPEN, 60)
    fed = steady.copy()
    fed[At.FRESH] += 1.3
    _, with_wood = run(fed, OPEN, 180)
    more = with_wood[: alone.size] - alone
    assert more[3] < 0.5  # cold wood gives nothing yet
    assert more[40] > 5.0
    assert with_wood[-1] < with_wood.max() - 20.0


def test_shutting_the_intake_on_a_big_flame_drops_the_heat_at_once():
    blaze = member(FLAMING=3.0, COAL=1.0)
    assert heat(blaze, Controls(0.0, 1.0, False, False)) < 0.5 * heat(blaze, Controls(1.0, 1.0, False, False))


def test_opening_it_again_brings_the_heat_back_with_a_leap():
    blaze = member(FLAMING=3.0, COAL=1.0)
    starved, _ = run(blaze, Controls(0.0, 1.0, False, False), 15)
    fanned, _ = run(blaze, Controls(1.0, 1.0, False, False), 15)
    assert starved[At.FLAMING, 0] > fanned[At.FLAMING, 0]
    shut, opened = (heat(starved, Controls(intake, 1.0, False, False)) for intake in (0.0, 1.0))
    assert opened > 2.0 * shut


def test_more_air_never_cools_the_fire():
    states = member(FLAMING=0.8, COAL=0.8)
    heats = [heat(states, Controls(opening / 8.0, 1.0, False, False)) for opening in range(9)]
    assert heats == sorted(heats)


def test_an_open_door_lets_the_chamber_s_heat_out():
    states = member(FLAMING=0.5, COAL=0.8)
    _, shut = run(states, OPEN, 2)
    _, opened = run(states, Controls(0.6, 1.0, True, False), 2)
    assert opened[-1] < shut[-1] - 5.0


def test_a_bigger_pit_needs_more_heat_and_holds_it_longer():
    big = prior(PitBuild(chamber_litres=1900, wall_mm=8), Wood())
    small = prior(PitBuild(chamber_litres=230, wall_mm=3), Wood())
    assert big.need_watts > 2.0 * small.need_watts
    assert big.value[At.WALL_CAPACITY - At.DRYING_TIME] > 5.0 * small.value[At.WALL_CAPACITY - At.DRYING_TIME]


def test_an_unknown_pit_is_doubted_more_than_a_told_one():
    told, unknown = PIT, prior(PitBuild(), Wood())
    assert np.all(unknown.spread >= told.spread)
    assert unknown.spread[At.WALL_CAPACITY - At.DRYING_TIME] > 1.5 * told.spread[At.WALL_CAPACITY - At.DRYING_TIME]


def test_a_brisk_temper_burns_its_wood_first():
    brisk, _, slow = (prior(PitBuild(), Wood(), temper) for temper in TEMPERS)
    row = At.FLAMING_TIME - At.DRYING_TIME
    assert brisk.value[row] < 0.5 * slow.value[row]
