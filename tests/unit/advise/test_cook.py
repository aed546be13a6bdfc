"""A person is in the loop: how late he is, how heavy his wood, and that he sleeps."""

import pytest
from msgspec.structs import replace

from firebox.advise.habits import Habits, answered
from firebox.advise.moves import AdviceState
from firebox.cooklog import CookLog, enter
from firebox.records import Awake, Sleep, Split, Undo
from tests.unit.advise.pit_talk import START, Talk

# --- habits --------------------------------------------------------------------------------------


def _after(count: int, minutes: float, kg: float | None = 1.3) -> Habits:
    habits = Habits()
    for _ in range(count):
        habits = answered(habits, minutes, kg, 1.3)
    return habits


def test_a_slow_cook_is_known_as_slow_and_a_prompt_one_as_prompt() -> None:
    assert _after(12, 8.0).delay == pytest.approx(8.0, abs=0.3)
    assert _after(12, -2.0).delay == pytest.approx(0.0, abs=0.2)


def test_wood_that_went_in_much_later_was_no_answer() -> None:
    assert _after(12, 40.0) == Habits()


def test_a_cook_whose_splits_are_heavier_is_known_for_it() -> None:
    assert _after(12, 3.0, kg=1.69).heavier == pytest.approx(1.3, abs=0.02)
    assert _after(12, 3.0, kg=None).heavier == 1.0
    assert _after(12, 3.0, kg=13.0).heavier == 1.0


def test_a_slow_cook_is_told_sooner() -> None:
    lead = []
    for delay in (1.0, 9.0):
        talk = Talk(plans=False)
        talk.ask()
        talk.celsius = 133.0
        for _ in range(6):
            talk.state = _taught(talk, delay)
        move = talk.wait(3, drift=-30.0)
        assert move.split is not None
        lead.append(move.split.in_minutes)
    assert lead[1] < lead[0] - 5.0


def _taught(talk: Talk, delay: float) -> AdviceState:
    return replace(talk.state, habits=answered(talk.state.habits, delay, 1.3, 1.3))


def test_what_was_advised_and_then_logged_teaches() -> None:
    talk = Talk(plans=False)
    talk.celsius = 112.0
    move = talk.wait(2, drift=-20.0)
    assert move.split is not None
    talk.wait(8)
    talk.do(Split(time=talk.time, kg=round(1.3 * move.split.kg, 2)))
    talk.ask()
    assert talk.state.habits.delay > 4.0
    assert talk.state.habits.heavier > 1.03


# --- sleep ---------------------------------------------------------------------------------------


def test_a_sleeper_reads_how_long_he_is_left_in_peace() -> None:
    talk = Talk(plans=False)
    talk.do(Split(time=talk.time, kg=1.3))
    talk.do(Sleep(time=talk.time))
    talk.celsius = 124.0
    move = talk.wait(12, drift=20.0)
    assert move.hold
    assert "Sleep on" in move.reason
    assert "you are called" in move.reason


def test_a_sleeper_is_called_later_than_a_cook_who_is_up_and_for_more_wood() -> None:
    due, sizes = [], []
    for asleep in (False, True):
        talk = Talk(plans=False)
        talk.do(Split(time=talk.time, kg=1.3))
        if asleep:
            talk.do(Sleep(time=talk.time))
        talk.seconds += 1500.0
        talk.celsius = 128.0
        for minutes in range(60):
            move = talk.wait(1, drift=-24.0)
            if move.split is not None and not move.hold:
                due.append(minutes)
                sizes.append(move.split.kg)
                break
    assert due[1] > due[0]
    assert sizes[1] >= sizes[0]


def test_a_sleeper_is_not_got_up_for_a_mark_of_air() -> None:
    for asleep in (False, True):
        talk = Talk(plans=False)
        if asleep:
            talk.do(Sleep(time=talk.time))
        talk.celsius = 131.0
        assert (talk.wait(4, drift=6.0).intake is None) == asleep


def test_up_again_he_is_told_as_before() -> None:
    talk = Talk(plans=False)
    talk.do(Sleep(time=talk.time))
    talk.wait(2)
    talk.do(Awake(time=talk.time))
    assert "Sleep" not in talk.wait(2).reason


def test_an_undone_lying_down_counts_as_up() -> None:
    log = enter(CookLog(), Sleep(time=START, id="a"), 100.0)
    assert log.asleep_since(200.0) == 100.0
    assert log.asleep_since(50.0) is None
    assert enter(log, Undo(time=START, of="a"), 300.0).asleep_since(400.0) is None
