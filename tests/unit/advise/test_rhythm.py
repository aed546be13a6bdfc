"""Rhythms of feeding: what may be thought about, what it lays, what it costs, and which one is begun."""

import numpy as np
import pytest

from firebox.advise import rhythm
from firebox.advise.candidates import Candidate
from firebox.advise.rhythm import Rhythm
from firebox.estimate.fork import Fork
from firebox.records import Sleep, Split
from tests.unit.advise.pit_talk import Talk, moment_of


def test_no_wood_is_planned_upon_wood_that_was_just_laid() -> None:
    talk = Talk()
    talk.celsius = 112.0
    talk.do(Split(time=talk.time, kg=1.3))
    talk.wait(1, drift=-10.0)
    options = rhythm.rhythms(moment_of(talk), None)
    assert options
    assert all(option.after >= 8.0 for option in options)


def test_what_is_due_in_a_fall_is_not_put_off() -> None:
    talk = Talk()
    talk.celsius = 115.0
    talk.wait(1, drift=-20.0)
    moment = moment_of(talk)
    due = Candidate(split_at=moment.seconds, kg=1.3)
    assert {option.after for option in rhythm.rhythms(moment, due)} == {0.0}
    later = Candidate(split_at=moment.seconds + 600.0, kg=1.3)
    assert len({option.after for option in rhythm.rhythms(moment, later)}) > 4


def test_a_sleeper_is_left_in_peace_with_his_pit_a_little_off_and_called_where_it_leaves() -> None:
    talk = Talk()
    talk.do(Split(time=talk.time, kg=1.3))
    talk.do(Sleep(time=talk.time))
    talk.celsius = 112.0
    talk.wait(12, drift=-3.0)
    assert rhythm.earliest(moment_of(talk)) > 10.0
    talk.wait(10)
    talk.celsius = 104.0
    talk.ask()
    assert rhythm.earliest(moment_of(talk)) == 0.0


def test_plans_come_as_late_as_the_cook_and_go_on() -> None:
    talk = Talk()
    talk.wait(1)
    moment = moment_of(talk)
    (plan,) = rhythm.plans((Rhythm(after=10.0, kg=1.3, gap=25.0),), moment)
    minutes = [(deed.seconds - moment.seconds) / 60.0 for deed in plan]
    assert minutes == pytest.approx([10.0 + moment.answer, 35.0 + moment.answer, 60.0 + moment.answer])


def test_a_course_on_target_costs_its_walks_and_one_far_off_costs_more() -> None:
    talk = Talk()
    talk.wait(1)
    moment = moment_of(talk)
    options = tuple(Rhythm(after=10.0, kg=1.3, gap=gap) for gap in (25.0, 15.0, 25.0, 25.0))
    looks = len(rhythm.minutes(moment))
    aim = moment.target - moment.trim
    celsius = np.array([[np.full(looks, aim + off) for off in (0.0, 0.0, 8.0, -30.0)]])
    on, often, off, far = rhythm.costs(options, Fork(celsius, np.ones(1)), moment)
    assert 0.0 < on < often < off < far
    assert off - on == pytest.approx(1.0)


def test_the_time_lies_between_those_that_were_tried_where_the_costs_beside_it_say_so() -> None:
    options = tuple(Rhythm(after=after, kg=1.3, gap=25.0) for after in (5.0, 10.0, 15.0))
    assert rhythm.best(options, np.array([2.0, 1.0, 2.0])).after == 10.0
    assert rhythm.best(options, np.array([1.2, 1.0, 2.0])).after == 8.0
    assert rhythm.best(options, np.array([1.0, 2.0, 3.0])).after == 5.0


@pytest.mark.parametrize("costs", [[1.0, 1.0, 1.0], [3.0, 1.0, 1.0], [1.0, 1.0, 3.0]])
def test_equal_costs_leave_a_time_that_was_between(costs: list[float]) -> None:
    options = tuple(Rhythm(after=after, kg=1.3, gap=25.0) for after in (5.0, 10.0, 15.0))
    assert 5.0 <= rhythm.best(options, np.array(costs)).after <= 15.0
