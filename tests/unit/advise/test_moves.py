"""What the cook is told to do next, in short scenes."""

from itertools import pairwise

import msgspec
import pytest

from firebox.advise import moves
from firebox.estimate.forecast import FireView
from firebox.records import Damper, DamperName, Door, DoorName, Lit, Out, Phase, Split, Target
from firebox.setup import Setup, Wood
from tests.unit.advise.pit_talk import START, Talk, straight


@pytest.fixture(params=[True, False], ids=["forecast knows plans", "forecast knows none"])
def talk(request: pytest.FixtureRequest) -> Talk:
    return Talk(plans=request.param)


# --- leave it alone ------------------------------------------------------------------------------


def test_a_steady_pit_is_left_alone(talk: Talk) -> None:
    for move in (talk.wait(1), talk.wait(30)):
        assert move.hold
        assert move.split is None
        assert move.intake is move.stack is None
    assert talk.asked <= 4


def test_a_pit_below_its_band_that_rises_is_left_alone(talk: Talk) -> None:
    talk.celsius = 108.0
    move = talk.wait(5, drift=40.0)
    assert move.hold
    assert move.split is None


def test_what_leaving_it_alone_brings_is_said(talk: Talk) -> None:
    move = talk.wait(3, drift=-1.0)
    assert move.expected is not None
    assert move.expected.minutes == 30
    assert move.expected.celsius == pytest.approx(120.5, abs=0.6)


# --- wood ----------------------------------------------------------------------------------------


def test_wood_is_due_before_the_thermometer_shows_the_need(talk: Talk) -> None:
    move = talk.wait(4, drift=-18.0)
    assert move.split is not None
    assert talk.celsius is not None
    assert talk.celsius > 113.0
    left = (talk.celsius - 113.0) / 18.0 * 60.0
    assert move.split.in_minutes <= left
    assert move.hold == (move.split.in_minutes > 1.0)


def test_the_countdown_runs_and_ends_in_now(talk: Talk) -> None:
    talk.wait(4, drift=-12.0)
    dues = [(move.split.in_minutes, move.hold) for move in (talk.wait(1) for _ in range(40)) if move.split]
    assert dues[-1] == (0.0, False)
    assert all(later <= sooner for (sooner, _), (later, _) in pairwise(dues))


def test_a_cold_and_falling_pit_wants_wood_now(talk: Talk) -> None:
    talk.celsius = 108.0
    move = talk.wait(4, drift=-15.0)
    assert move.split is not None
    assert move.split.in_minutes == 0.0
    assert not move.hold


def test_a_split_that_went_in_is_done(talk: Talk) -> None:
    talk.celsius = 112.0
    talk.wait(4, drift=-15.0)
    talk.do(Split(time=talk.time, kg=1.3))
    move = talk.wait(1)
    assert move.split is None or move.split.in_minutes >= 10.0


def test_a_split_that_has_yet_to_catch_is_given_time(talk: Talk) -> None:
    talk.celsius = 110.0
    talk.do(Split(time=talk.time, kg=1.3))
    talk.plans = False
    move = talk.wait(4, drift=-15.0)
    assert move.split is None
    assert "caught" in move.reason or "catch" in move.reason


def test_wood_that_was_refused_is_thought_over_and_said_to_be_overdue(talk: Talk) -> None:
    talk.celsius = 110.0
    talk.wait(5, drift=-15.0)
    assert talk.wait(4).reason.startswith("Due for ")
    talk.celsius, talk.drift = 121.0, 0.0
    assert talk.wait(12).split is None


def test_a_dying_fire_wants_small_wood_first() -> None:
    talk = Talk(plans=False)
    talk.celsius = 100.0
    talk.fire = FireView(phase=Phase.DYING)
    move = talk.wait(4, drift=-30.0)
    assert move.split is not None
    assert move.split.kg < 1.0


def test_wood_weighs_what_the_cook_has() -> None:
    wood = Wood(small_kg=0.9, medium_kg=2.0, large_kg=3.1)
    talk = Talk(setup=Setup(time=START, wood=wood, intake_open=0.5))
    talk.celsius = 110.0
    move = talk.wait(4, drift=-15.0)
    assert move.split is not None
    assert move.split.kg in (0.9, 2.0, 3.1)


def test_wet_wood_is_not_recommended_without_a_word() -> None:
    talk = Talk(setup=Setup(time=START, wood=Wood(moisture=0.4)))
    talk.celsius = 110.0
    assert "driest" in talk.wait(4, drift=-15.0).reason


# --- air -----------------------------------------------------------------------------------------


def test_a_pit_that_drifts_above_its_band_gets_a_mark_less_air(talk: Talk) -> None:
    talk.celsius = 129.5
    move = talk.wait(4, drift=12.0)
    assert move.intake == pytest.approx(0.375)
    assert not move.hold
    assert move.split is None


def test_an_intake_that_was_just_moved_is_given_time(talk: Talk) -> None:
    talk.celsius = 129.5
    talk.do(Damper(time=talk.time, damper=DamperName.INTAKE, open=0.375))
    assert talk.wait(4, drift=12.0).intake is None


def test_an_intake_whose_place_is_not_known_is_moved_by_no_marks(talk: Talk) -> None:
    talk.setup = Setup(time=START)
    for celsius, drift in ((131.0, 12.0), (108.0, -15.0)):
        talk.celsius = celsius
        assert talk.wait(5, drift=drift).intake is None


# --- moments in which nothing is weighed ---------------------------------------------------------


def test_before_the_first_readings_the_watch_waits_and_calls_itself_not_blind(talk: Talk) -> None:
    talk.celsius = None
    assert talk.ask().reason == "Waiting for the first readings."
    assert talk.moves[-1].hold
    assert "Blind" in talk.wait(1.5).reason


def test_a_pit_lost_from_sight_is_blind_at_once(talk: Talk) -> None:
    talk.ask()
    talk.celsius = None
    assert "Blind" in talk.ask().reason


def test_blind_says_so_and_asks_for_a_look(talk: Talk) -> None:
    talk.celsius = None
    move = talk.wait(2)
    assert not move.hold
    assert (move.split, move.intake, move.expected) == (None, None, None)
    assert "Blind" in move.reason


@pytest.mark.parametrize("phase", [Phase.UNLIT, Phase.OUT])
def test_without_a_fire_nothing_is_burnt(talk: Talk, phase: Phase) -> None:
    talk.celsius = 20.0
    talk.fire = FireView(phase=phase)
    move = talk.wait(5)
    assert not move.hold
    assert move.split is None


def test_a_fire_let_die_is_let_die(talk: Talk) -> None:
    talk.celsius = 100.0
    talk.do(Out(time=talk.time))
    move = talk.wait(5, drift=-60.0)
    assert move.hold
    assert move.split is None


def test_an_open_door_comes_first_and_its_air_is_let_settle(talk: Talk) -> None:
    talk.do(Door(time=talk.time, door=DoorName.COOK, open=True))
    talk.celsius = 95.0
    assert "cook door is open" in talk.wait(1, drift=-300.0).reason
    talk.do(Door(time=talk.time, door=DoorName.COOK, open=False))
    move = talk.wait(4, drift=100.0)
    assert move.hold
    assert move.split is None


def test_a_pit_that_comes_up_is_let_come_up(talk: Talk) -> None:
    talk.setup = Setup(time=START, intake_open=1.0, stack_open=1.0)
    talk.celsius = 60.0
    talk.fire = FireView(phase=Phase.STARTING)
    talk.do(Lit(time=talk.time, kg=3.0))
    assert talk.wait(5, drift=80.0).hold


def test_a_pit_that_comes_up_too_fast_is_checked_before_it_runs_over(talk: Talk) -> None:
    talk.celsius = 100.0
    talk.fire = FireView(phase=Phase.STARTING)
    move = talk.wait(1, drift=180.0)
    assert move.intake is not None
    assert move.intake < 0.5


# --- safety --------------------------------------------------------------------------------------


def test_no_wood_on_a_runaway_whatever_stood_before(talk: Talk) -> None:
    talk.celsius = 112.0
    assert talk.wait(4, drift=-15.0).split is not None
    for celsius, drift in ((150.0, 0.0), (150.0, -20.0), (133.0, 60.0), (140.0, 200.0)):
        talk.celsius = celsius
        move = talk.wait(0.2, drift=drift)
        assert move.split is None
        assert "no wood" in move.reason


def test_a_runaway_gets_less_air_and_shut_doors(talk: Talk) -> None:
    talk.celsius = 133.0
    move = talk.wait(1, drift=80.0)
    assert move.intake == 0.25
    assert move.stack is None
    assert "doors shut" in move.reason


def test_the_intake_is_never_quite_shut(talk: Talk) -> None:
    talk.celsius = 150.0
    for opening in (0.5, 0.25, 0.125, 0.05, 0.0):
        talk.do(Damper(time=talk.time, damper=DamperName.INTAKE, open=opening))
        talk.wait(12, drift=1.0)
        move = talk.ask()
        assert move.intake is None or move.intake >= 1.0 / 8.0


def test_a_starved_fire_gets_air_and_flames_before_its_door_is_opened(talk: Talk) -> None:
    talk.do(Damper(time=talk.time, damper=DamperName.INTAKE, open=0.1))
    talk.celsius = 108.0
    talk.seconds += 1800.0
    move = talk.wait(4, drift=-20.0)
    assert move.split is not None
    assert move.split.in_minutes >= 5.0
    assert move.intake is not None
    assert move.intake > 0.1
    assert "crack the firebox door" in move.reason


def test_a_smouldering_fire_gets_air_not_wood(talk: Talk) -> None:
    talk.setup = Setup(time=START, intake_open=0.25, stack_open=0.5)
    talk.fire = FireView(phase=Phase.FALLING, smoulder_risk=0.8)
    talk.celsius = 110.0
    move = talk.wait(2, drift=-20.0)
    assert move.split is None
    assert move.stack == 1.0
    assert move.intake == 0.375


# --- stability, honesty, budget ------------------------------------------------------------------


def test_advice_does_not_flap_when_the_drift_trembles(talk: Talk) -> None:
    talk.celsius = 119.0
    for count in range(180):
        talk.drift = -8.0 + (4.0 if count % 2 else -4.0)
        talk.seconds += 30.0
        talk.celsius -= 8.0 * 30.0 / 3600.0 / 4.0
        talk.ask()
    dues = [None if move.split is None else move.split.in_minutes + i * 0.5 for i, move in enumerate(talk.moves)]
    jumps = sum(
        (a is None) != (b is None) or (a is not None and b is not None and abs(a - b) > 3.0)
        for a, b in pairwise(dues)
    )
    assert jumps <= 6


def test_a_change_says_that_it_is_one_and_why() -> None:
    talk = Talk(plans=False)
    talk.celsius = 132.0
    talk.wait(8, drift=-9.0)
    assert talk.moves[-1].split is not None
    talk.celsius = 123.5
    talk.wait(2, drift=-25.0)
    assert any(move.reason.startswith("Sooner than said before, it is colder than foretold.") for move in talk.moves)


def test_a_new_target_is_followed(talk: Talk) -> None:
    talk.wait(3)
    talk.do(Target(time=talk.time, celsius=140.0))
    move = talk.wait(5)
    assert move.split is not None


def test_a_forecast_that_ignores_plans_is_noticed_and_never_quoted_for_a_plan() -> None:
    talk = Talk(plans=False)
    talk.celsius = 110.0
    for _ in range(60):
        move = talk.wait(0.5, drift=-6.0)
        assert move.expected is None or move.split is None
    assert talk.asked <= 8


def test_a_forecast_that_knows_plans_says_what_the_move_brings() -> None:
    talk = Talk(plans=True)
    talk.celsius = 112.0
    move = talk.wait(4, drift=-20.0)
    assert move.split is not None
    assert move.expected is not None
    alone = straight(talk.celsius, talk.drift).at(0.5)[2]
    assert move.expected.celsius > alone + 5.0


@pytest.mark.parametrize(("every", "most"), [(1.0, 1), (10.0, 1), (60.0, 2), (300.0, 2)])
def test_no_call_asks_for_many_forecasts(talk: Talk, every: float, most: int) -> None:
    talk.celsius = 116.0
    talk.wait(60, every=every, drift=-10.0)
    assert talk.most_asked <= most


def test_a_forecast_that_fails_in_mid_thought_leaves_a_move(talk: Talk) -> None:
    talk.celsius = 112.0
    talk.foresee = lambda _: None
    move = talk.wait(4, drift=-15.0)
    assert move.split is not None


def test_the_same_calls_give_the_same_moves_and_the_state_can_be_written_down(talk: Talk) -> None:
    twin = Talk(plans=talk.plans)
    for each in (talk, twin):
        each.celsius = 117.0
        each.wait(20, drift=-11.0)
    assert talk.moves == twin.moves
    frozen = msgspec.msgpack.encode(talk.state)
    twin.state = msgspec.msgpack.decode(frozen, type=moves.AdviceState)
    assert twin.state == talk.state
    assert talk.wait(10) == twin.wait(10)


def test_reasons_carry_no_temperature_and_no_weight(talk: Talk) -> None:
    talk.celsius = 126.0
    talk.wait(120, every=30.0, drift=-14.0)
    talk.wait(60, every=30.0, drift=30.0)
    for move in talk.moves:
        words = move.reason.split()
        assert move.reason.endswith(".")
        assert not any(word.strip(".,").lower() in {"c", "f", "kg", "lb", "degrees", "celsius"} for word in words)
