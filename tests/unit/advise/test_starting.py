"""From a cold pit to a steady one, back from a dying fire, down from a runaway, and the end."""

import pytest

from firebox.advise.supply import USUAL_KG, sizes
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


def _kindled(cold: Talk) -> None:
    """Let kindling take in a pit with both dampers wide."""
    cold.setup = Setup(time=START, intake_open=1.0, stack_open=1.0)
    _light(cold)
    cold.wait(12.5, drift=100.0)


def test_small_pieces_one_by_one_and_each_only_on_the_rise_of_the_one_before(cold: Talk) -> None:
    _kindled(cold)
    cold.wait(1, drift=60.0)
    laid: list[float] = []
    for words in ("first small piece", "has caught", "has its coals", "has its coals"):
        move = cold.wait(0.2, drift=60.0)
        assert move.split is not None
        assert words in move.reason.lower()
        laid.append(move.split.kg)
        cold.do(Split(time=cold.time, kg=move.split.kg))
        assert cold.wait(7, drift=60.0).split is None
        cold.wait(1.2, drift=60.0)
    assert laid[1] <= 0.65  # half a usual split
    assert laid == sorted(laid)
    assert laid[-1] <= 1.3


def test_no_wood_goes_on_a_piece_that_has_not_caught_and_the_fire_is_lit_again(cold: Talk) -> None:
    _kindled(cold)
    move = cold.wait(1, drift=60.0)
    assert move.split is not None
    cold.do(Split(time=cold.time, kg=0.45))
    cold.wait(9, drift=5.0)
    assert all(move.split is None for move in cold.moves[-50:])
    assert cold.moves[-1].hold
    said = len(cold.moves)
    for drift in (3.0, -6.0, 4.0, -20.0, 10.0):
        move = cold.wait(6, drift=drift)
        assert move.split is None
    told = ["light it again with kindling" in move.reason for move in cold.moves[said:]]
    assert told == sorted(told)
    assert told[-1]
    assert told.index(True) * 10.0 <= 660.0


def test_a_fire_that_did_not_take_and_never_seemed_lit_is_said_to_be_lit_again(cold: Talk) -> None:
    _kindled(cold)
    cold.fire = FireView(phase=Phase.UNLIT)
    move = cold.wait(3, drift=5.0)
    assert "light it again with kindling" in move.reason
    _light(cold)
    assert "just lit" in cold.wait(1).reason


def test_a_pit_that_holds_half_way_up_is_fed_and_not_lit_again(cold: Talk) -> None:
    _kindled(cold)
    cold.celsius = 85.0
    cold.do(Split(time=cold.time, kg=0.45))
    move = cold.wait(11, drift=-3.0)
    assert move.split is not None
    assert "half way" in move.reason
    cold.do(Split(time=cold.time, kg=0.45))
    assert "light it again" in cold.wait(12, drift=-45.0).reason


def test_the_pieces_that_build_a_fire_are_no_measure_of_a_usual_split(cold: Talk) -> None:
    _kindled(cold)
    for _ in range(4):
        cold.do(Split(time=cold.time, kg=0.3))
        cold.seconds += 600.0
    assert sizes(cold.setup, cold.log).medium == USUAL_KG
    cold.seconds += 3600.0
    cold.do(Split(time=cold.time, kg=0.9))
    assert sizes(cold.setup, cold.log).medium == 0.9


def test_a_pit_that_rises_after_all_is_not_lit_again(cold: Talk) -> None:
    _kindled(cold)
    cold.do(Split(time=cold.time, kg=0.45))
    assert "light it again" in cold.wait(12, drift=-10.0).reason
    assert "light it again" not in cold.wait(1, drift=90.0).reason


def test_a_pit_that_stops_rising_on_wood_that_caught_gets_another_small_split(cold: Talk) -> None:
    _kindled(cold)
    for _ in range(2):
        cold.do(Split(time=cold.time, kg=0.45))
        cold.wait(9, drift=60.0)
    move = cold.wait(2, drift=10.0)
    assert move.split is not None
    assert move.split.kg < 1.3
    assert "still needs wood" in move.reason


def test_a_pit_that_rises_to_its_target_by_itself_gets_no_more_wood(cold: Talk) -> None:
    _kindled(cold)
    cold.celsius = 92.5
    move = cold.wait(1, drift=140.0)
    assert move.hold
    assert move.split is None


def test_kindling_that_lifts_the_air_fast_turns_no_damper_down(cold: Talk) -> None:
    cold.setup = Setup(time=START, intake_open=1.0, stack_open=1.0)
    _light(cold)
    cold.wait(7.5, drift=600.0)
    assert all(move.intake is None for move in cold.moves)


def test_no_air_is_taken_from_a_pit_that_stays_below_its_band_by_its_own_outlook(cold: Talk) -> None:
    _kindled(cold)
    cold.celsius, cold.bend = 100.0, -230.0
    assert cold.wait(1, drift=200.0).intake is None


def test_a_fast_rise_is_checked_before_the_target_and_no_wood_goes_on(cold: Talk) -> None:
    _kindled(cold)
    cold.celsius = 100.0
    move = cold.wait(1, drift=200.0)
    assert move.intake == 0.75
    assert move.split is None
    cold.do(Damper(time=cold.time, damper=DamperName.INTAKE, open=0.75))
    assert cold.wait(0.5).hold


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
