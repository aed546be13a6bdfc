"""The move, its reason, the drift on the screen and the alarms say one thing."""

from itertools import pairwise

import pytest

from firebox.advise.trend import Trend, trend
from firebox.estimate.forecast import FireView
from firebox.records import Damper, DamperName, Move, Phase, Split
from firebox.setup import Setup, Wood
from tests.unit.advise.pit_talk import START, Talk, straight


@pytest.fixture(params=[True, False], ids=["forecast knows plans", "forecast knows none"])
def talk(request: pytest.FixtureRequest) -> Talk:
    return Talk(plans=request.param)


# --- an action is in the move, not in its reason -------------------------------------------------


def test_a_runaway_whose_intake_nobody_told_of_is_still_given_an_opening(talk: Talk) -> None:
    talk.setup = Setup(time=START)
    talk.celsius = 135.0
    move = talk.wait(1, drift=120.0)
    assert (move.intake, move.hold, move.split) == (0.25, False, None)


@pytest.mark.parametrize("known", [True, False])
def test_no_reason_asks_for_air_that_the_move_does_not_give(talk: Talk, known: bool) -> None:
    talk.setup = Setup(time=START, intake_open=0.5 if known else None)
    for celsius, drift in ((135.0, 120.0), (150.0, 30.0), (131.0, 15.0), (108.0, -15.0), (98.0, -40.0)):
        talk.celsius = celsius
        move = talk.wait(6, drift=drift)
        if any(words in move.reason for words in ("less air", "more air", "open the intake", "close the intake")):
            assert move.intake is not None
            assert not move.hold


# --- alarms --------------------------------------------------------------------------------------


@pytest.mark.parametrize("alarm", ["fire-dying", "pit-too-cold"])
def test_under_the_alarm_of_a_dying_fire_small_wood_and_air_are_the_move(talk: Talk, alarm: str) -> None:
    talk.celsius = 104.0
    talk.wait(3, drift=-25.0)
    talk.alarms = frozenset({alarm})
    move = talk.ask()
    assert move.split is not None
    assert move.split.in_minutes == 0.0
    assert move.split.kg == pytest.approx(0.78)
    assert (move.intake, move.hold) == (0.625, False)


def test_after_its_wood_is_laid_a_dying_fire_is_waited_for_and_then_given_air(talk: Talk) -> None:
    talk.celsius, talk.alarms = 104.0, frozenset({"fire-dying"})
    talk.do(Split(time=talk.time, kg=1.3))
    talk.wait(2, drift=-25.0)
    assert talk.moves[-1].hold
    assert "flames" in talk.moves[-1].reason
    move = talk.wait(7)
    assert (move.split, move.intake) == (None, 0.625)
    move = talk.wait(3)
    assert move.split is not None
    assert move.split.kg == pytest.approx(0.78)


@pytest.mark.parametrize("alarm", ["pit-too-hot", "flare", "rising-fast", "running-away"])
def test_under_an_alarm_of_heat_the_intake_closes_by_two_marks(talk: Talk, alarm: str) -> None:
    talk.celsius, talk.drift, talk.alarms = 132.0, 20.0, frozenset({alarm})
    move = talk.ask()
    assert (move.split, move.intake, move.hold) == (None, 0.25, False)
    talk.do(Damper(time=talk.time, damper=DamperName.INTAKE, open=0.25))
    assert "just moved" in talk.ask().reason


# --- reasons hold now ----------------------------------------------------------------------------


def test_wood_that_is_due_is_never_said_to_be_carried_until_then(talk: Talk) -> None:
    talk.celsius = 119.0
    for _ in range(60):
        move = talk.wait(1, drift=-20.0)
        if move.split is not None and move.split.in_minutes < 1.0:
            assert "until about then" not in move.reason
            assert "in the band" in move.reason or talk.celsius < 113.5


def test_the_reason_follows_the_pit_while_the_advice_stands(talk: Talk) -> None:
    talk.celsius = 115.0
    talk.wait(4, drift=-20.0)
    assert "in the band" in talk.moves[-1].reason
    talk.celsius = 107.0
    assert "below the band" in talk.ask().reason


def test_no_reason_contradicts_the_drift_on_the_screen(talk: Talk) -> None:
    for celsius, drift, bend in (
        (108.0, 223.0, -300.0), (108.0, -280.0, 400.0), (118.0, -9.0, 0.0), (125.0, 9.0, 0.0), (119.0, 1.0, -30.0),
        (131.0, -40.0, 0.0), (106.0, 30.0, 0.0),
    ):  # fmt: skip
        talk.celsius, talk.drift, talk.bend = celsius, drift, bend
        reason = talk.ask().reason
        assert drift < 0.0 or " falls" not in reason
        assert drift > 0.0 or " rises" not in reason


def test_a_trend_is_kept_at_its_edge_and_turns_with_the_forecast() -> None:
    assert trend(5.0, None, Trend.LEVEL) is Trend.LEVEL
    assert trend(5.0, None, Trend.RISING) is Trend.RISING
    assert trend(20.0, straight(120.0, -30.0), Trend.RISING) is Trend.CRESTING
    assert trend(-20.0, straight(120.0, 30.0), Trend.FALLING) is Trend.RECOVERING


# --- one forecast for one act --------------------------------------------------------------------


def test_leaving_it_alone_expects_what_the_forecast_says_now(talk: Talk) -> None:
    talk.wait(10)
    talk.celsius = 123.0
    move = talk.ask()
    assert move.hold
    assert move.split is None
    assert move.expected is not None
    assert move.expected.celsius == pytest.approx(talk.ahead(123.0).at(0.5)[2], abs=0.01)


# --- stability -----------------------------------------------------------------------------------


def _sizes(moves: list[Move]) -> list[float]:
    return [move.split.kg for move in moves if move.split is not None]


def test_sizes_move_by_one_step_and_times_by_three_minutes(talk: Talk) -> None:
    talk.celsius = 119.0
    for count in range(120):
        talk.drift = -14.0 + (6.0 if count % 4 < 2 else -6.0)
        talk.wait(0.5, every=30.0)
    ladder = sorted(set(_sizes(talk.moves)))
    for one, other in pairwise(_sizes(talk.moves)):
        assert abs(ladder.index(one) - ladder.index(other)) <= 1
    for first, second in pairwise(talk.moves):
        if first.split and second.split and second.split.in_minutes > 0.0:
            moved = second.split.in_minutes - first.split.in_minutes + 0.5
            assert abs(moved) < 0.2 or abs(moved) >= 2.9


def test_new_advice_of_a_quiet_pit_stands_for_five_minutes(talk: Talk) -> None:
    talk.celsius = 121.0
    kinds = []
    for count in range(60):
        talk.drift = 4.0 if count % 2 else -8.0
        talk.seconds += 30.0
        move = talk.ask()
        kinds.append(move.split is not None)
    assert sum(one != other for one, other in pairwise(kinds)) <= 3


# --- a weak fire ---------------------------------------------------------------------------------


def test_few_coals_on_a_falling_fire_get_small_wood_and_air(talk: Talk) -> None:
    talk.celsius = 111.0
    talk.fire = FireView(phase=Phase.FALLING, coal_kg=0.2)
    move = talk.wait(2, drift=-30.0)
    assert move.split is not None
    assert move.split.kg == pytest.approx(0.78)
    assert move.intake is not None
    assert move.intake > 0.5


def test_a_split_that_has_not_caught_after_eight_minutes_gets_air_whatever_is_foretold(talk: Talk) -> None:
    talk.celsius = 110.0
    talk.do(Split(time=talk.time, kg=1.3))
    talk.wait(12, drift=-20.0)
    assert talk.moves[-1].intake is not None
    assert talk.moves[-1].intake > 0.5


def test_no_wood_is_laid_above_the_band_unless_the_pit_falls_through_it(talk: Talk) -> None:
    talk.celsius = 131.0
    for _ in range(30):
        move = talk.wait(0.5, drift=-10.0)
        assert talk.celsius < 129.0 or move.split is None or move.split.in_minutes >= 1.0


def test_small_wood_that_did_not_carry_the_pit_is_followed_by_more(talk: Talk) -> None:
    talk.setup = Setup(time=START, intake_open=0.5, wood=Wood(medium_kg=1.3))
    talk.celsius = 112.0
    talk.do(Split(time=talk.time, kg=0.7))
    talk.wait(8, drift=40.0)
    talk.seconds += 600.0
    talk.celsius = 112.0
    move = talk.wait(2, drift=-40.0)
    assert move.split is not None
    assert move.split.kg >= 1.3
    assert move.intake is not None


def test_wood_that_never_lifted_the_pit_is_given_air_before_more_wood(talk: Talk) -> None:
    talk.celsius = 118.0
    talk.do(Split(time=talk.time, kg=0.7))
    move = talk.wait(12, drift=-30.0)
    assert move.split is None
    assert move.intake is not None
    assert move.intake > 0.5


def test_the_rise_of_a_fresh_split_is_no_runaway(talk: Talk) -> None:
    talk.celsius = 130.0
    talk.do(Split(time=talk.time, kg=1.3))
    talk.seconds += 360.0
    talk.drift = 150.0
    assert talk.ask().intake is None
    talk.celsius = 138.0
    assert talk.ask().intake == 0.25


def test_a_smouldering_fire_under_a_warm_rising_pit_is_given_no_more_air(talk: Talk) -> None:
    talk.fire = FireView(phase=Phase.RISING, smoulder_risk=0.9)
    talk.celsius, talk.drift = 127.0, 40.0
    move = talk.ask()
    assert (move.intake, move.split, move.hold) == (None, None, True)


def test_no_large_split_without_the_coals_to_light_it(talk: Talk) -> None:
    for coals in (None, 0.3):
        talk.fire = FireView(phase=Phase.FALLING, coal_kg=coals)
        talk.celsius, talk.state = 119.0, Talk().state
        talk.wait(15, drift=-30.0)
    assert max(_sizes(talk.moves)) <= 1.3


def test_a_pit_over_its_limit_that_comes_down_is_left_alone_as_its_alarm_says(talk: Talk) -> None:
    talk.celsius, talk.drift, talk.alarms = 150.0, -45.0, frozenset({"pit-too-hot"})
    assert talk.ask().hold
    talk.state, talk.drift = Talk().state, -12.0
    assert talk.ask().intake == 0.25
