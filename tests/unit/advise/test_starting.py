"""From a cold pit to a steady one, back from a dying fire, down from a runaway, and the end."""

import pytest

from firebox.estimate.forecast import FireView
from firebox.records import Damper, DamperName, Lit, Out, Phase, Split
from firebox.setup import Setup
from tests.unit.advise.pit_talk import START, Talk


@pytest.fixture
def cold() -> Talk:
    talk = Talk(plans=False)
    talk.celsius, talk.fire = 15.0, FireView(phase=Phase.UNLIT)
    return talk


def _light(talk: Talk) -> None:
    talk.do(Lit(time=talk.time, kg=2.5))
    talk.fire = FireView(phase=Phase.STARTING)


# --- coming up -----------------------------------------------------------------------------------


def test_a_cold_pit_is_to_be_lit_and_that_logged(cold: Talk) -> None:
    move = cold.wait(2)
    assert "light it" in move.reason
    assert move.split is None


def test_fresh_kindling_gets_all_the_air_and_no_split(cold: Talk) -> None:
    _light(cold)
    move = cold.wait(2, drift=60.0)
    assert (move.split, move.intake, move.stack) == (None, 1.0, None)
    cold.do(Damper(time=cold.time, damper=DamperName.INTAKE, open=1.0))
    assert cold.wait(2).hold


def test_two_splits_build_the_coals_and_then_it_is_let_come_up(cold: Talk) -> None:
    cold.setup = Setup(time=START, intake_open=1.0, stack_open=1.0)
    _light(cold)
    move = cold.wait(9, drift=60.0)
    assert move.split is not None
    assert "first split" in move.reason
    cold.do(Split(time=cold.time, kg=1.3))
    assert cold.wait(3).hold
    move = cold.wait(7)
    assert "second split" in move.reason
    cold.do(Split(time=cold.time, kg=1.3))
    move = cold.wait(15, drift=60.0)
    assert move.hold
    assert move.split is None


def test_a_pit_that_stops_rising_on_its_way_up_gets_another_split(cold: Talk) -> None:
    _light(cold)
    for _ in range(2):
        cold.seconds += 600.0
        cold.do(Split(time=cold.time, kg=1.3))
    cold.celsius = 75.0
    move = cold.wait(20, drift=10.0)
    assert move.split is not None
    assert "stopped rising" in move.reason


def test_a_fast_rise_is_checked_before_the_target_and_no_wood_goes_on(cold: Talk) -> None:
    _light(cold)
    cold.celsius = 100.0
    move = cold.wait(1, drift=200.0)
    assert move.intake == 0.25
    assert move.split is None
    cold.do(Damper(time=cold.time, damper=DamperName.INTAKE, open=0.25))
    assert cold.wait(2).hold


def test_once_up_it_is_kept_and_started_no_more(cold: Talk) -> None:
    _light(cold)
    cold.celsius = 121.0
    cold.wait(2, drift=0.0)
    cold.celsius = 90.0
    assert "coming up" not in cold.wait(2, drift=-20.0).reason


# --- back from a dying fire ----------------------------------------------------------------------


def test_a_dying_fire_gets_small_dry_wood_and_kindling_is_named_first_where_nothing_glows() -> None:
    talk = Talk(plans=False)
    talk.celsius, talk.alarms = 98.0, frozenset({"fire-dying"})
    move = talk.wait(1, drift=-40.0)
    assert move.split is not None
    assert move.split.kg < talk.setup.wood.medium_kg if talk.setup.wood.medium_kg else move.split.kg < 1.0
    assert "kindling" in move.reason


def test_a_fire_choked_by_its_ash_is_raked_not_fed() -> None:
    talk = Talk(plans=False)
    talk.celsius, talk.alarms = 105.0, frozenset({"ash-choking"})
    move = talk.wait(1, drift=-20.0)
    assert move.split is None
    assert not move.hold
    assert "rake" in move.reason


# --- down from a runaway -------------------------------------------------------------------------


def test_a_runaway_is_closed_two_marks_at_a_time_and_left_alone_once_it_falls() -> None:
    talk = Talk(plans=False, setup=Setup(time=START, intake_open=0.75, stack_open=1.0))
    talk.celsius = 150.0
    move = talk.wait(1, drift=60.0)
    assert (move.intake, move.stack, move.split) == (0.5, None, None)
    talk.do(Damper(time=talk.time, damper=DamperName.INTAKE, open=0.5))
    assert talk.wait(5).hold
    talk.celsius = 150.0
    assert talk.wait(5, drift=40.0).intake == 0.25
    move = talk.wait(1, drift=-60.0)
    assert move.hold
    assert "no longer running" in move.reason


# --- the end -------------------------------------------------------------------------------------


def test_a_fire_left_to_die_gets_no_wood_and_its_stack_stays_open() -> None:
    talk = Talk(plans=False)
    talk.do(Out(time=talk.time))
    for celsius in (121.0, 90.0, 40.0):
        talk.celsius = celsius
        move = talk.wait(10, drift=-60.0)
        assert (move.split, move.intake, move.stack) == (None, None, None)
        assert "stack stays open" in move.reason
        assert "lidded metal bucket" in move.reason


# --- lit again -----------------------------------------------------------------------------------


def test_a_warm_pit_that_was_lit_again_gets_no_wood_before_its_kindling_has_taken() -> None:
    talk = Talk(plans=False)
    talk.wait(2)
    talk.celsius = 95.0
    talk.do(Lit(time=talk.time, kg=2.0))
    move = talk.wait(2, drift=-60.0)
    assert move.hold
    assert "lit again" in move.reason
    talk.seconds += 600.0
    assert "lit again" not in talk.wait(1, drift=-20.0).reason
