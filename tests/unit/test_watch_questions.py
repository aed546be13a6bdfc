"""What the reducer asks, what an answer does, and that a settled question stays settled."""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from firebox import watch
from firebox.estimate import unlogged
from firebox.records import Answer, Question, Reading, Split, Tick, Undo, decode, encode
from tests.unit.estimate.cooks import EPOCH, entry, played, setup_of

ASKED_AT = 5400.0
HAPPENED = EPOCH + timedelta(seconds=ASKED_AT - 900.0)
NAME = f"split-{round(ASKED_AT - 900.0)}"


def at(seconds):
    return EPOCH + timedelta(seconds=seconds)


@pytest.fixture(scope="module")
def asking():
    """Return a watch that believes in a split that nobody logged, a quarter of an hour ago."""
    cook = played(3)
    state = watch.begin(setup_of(cook))
    came = [entry(deed) for deed in cook.deeds if deed[0] < ASKED_AT - 2400.0]
    came += [
        Reading(time=at(seconds), probe="grate", celsius=round(celsius, 2))
        for seconds, celsius in zip(cook.times.tolist(), cook.readings.tolist(), strict=True)
        if celsius == celsius and seconds <= ASKED_AT
    ]
    for record in sorted(came, key=lambda one: one.time):
        state = watch.step(state, record).state
    course = replace(state.estimate.course, guessed=(unlogged.guess(ASKED_AT - 900.0),))
    return replace(state, estimate=replace(state.estimate, course=course))


def steps(state, *records):
    out = []
    for record in records:
        step = watch.step(state, record)
        state = step.state
        out += [one for one in step.out if isinstance(one, Question)]
    return state, out


def guesses(state):
    return [deed.seconds for deed in state.estimate.course.guessed]


def test_a_question_is_told_once_with_the_entry_that_a_yes_stands_for(asking):
    state, out = steps(asking, Tick(time=at(5401)), Tick(time=at(5406)))
    (question,) = out
    assert (question.question, question.open) == (NAME, True)
    assert question.suggests == Split(time=HAPPENED, at=HAPPENED)
    assert decode(encode(question)) == question
    assert set(state.asked) == {NAME}


@pytest.mark.parametrize("how", ["answer", "entry"])
def test_yes_becomes_a_back_dated_split_and_the_question_is_closed(asking, how):
    told = (
        Answer(time=at(5410), id="a", question=NAME, yes=True)
        if how == "answer"
        else Split(time=at(5410), id="a", at=HAPPENED)
    )
    state, out = steps(asking, Tick(time=at(5401)), told, Reading(time=at(5421), probe="grate", celsius=115.0))
    assert (ASKED_AT - 900.0, "a") in [(deed.seconds, deed.entry.id) for deed in state.log.deeds]
    assert guesses(state) == []
    state, out = steps(state, Tick(time=at(5425)))
    assert [(one.question, one.open) for one in out] == [(NAME, False)]
    assert state.asked == {}


def test_no_drops_what_was_assumed_and_it_is_not_asked_again(asking):
    no = Answer(time=at(5410), id="a", question=NAME, at=HAPPENED, yes=False)
    state, _ = steps(asking, Tick(time=at(5401)), no, Reading(time=at(5421), probe="grate", celsius=115.0))
    assert guesses(state) == []
    assert not state.log.splits() or state.log.splits()[-1][0] < ASKED_AT - 2400.0
    near, later = unlogged.guess(ASKED_AT - 600.0), unlogged.guess(ASKED_AT + 2400.0)
    assert unlogged.still_guessed(state.log, (near, later)) == (later,)
    state, out = steps(state, Tick(time=at(5425)))
    assert [one.open for one in out] == [False]


def test_an_answer_can_be_taken_back(asking):
    no = Answer(time=at(5410), id="a", question=NAME, at=HAPPENED, yes=False)
    state, _ = steps(asking, Tick(time=at(5401)), no, Undo(time=at(5415), of="a"))
    assert state.log.denied == ()
    yes = Answer(time=at(5410), id="a", question=NAME, yes=True)
    state, _ = steps(asking, Tick(time=at(5401)), yes, Undo(time=at(5415), of="a"))
    assert "a" not in [deed.entry.id for deed in state.log.deeds]


def test_a_yes_to_what_was_never_asked_enters_nothing(asking):
    state, _ = steps(asking, Answer(time=at(5410), question="split-1", yes=True))
    assert state.log == asking.log


def test_the_wood_that_was_answered_for_is_in_the_fire_and_what_was_denied_is_not(asking):
    wood = []
    for yes in (True, False):
        answer = Answer(time=at(5410), id="a", question=NAME, at=HAPPENED, yes=yes)
        state, _ = steps(asking, Tick(time=at(5401)), answer, Reading(time=at(5421), probe="grate", celsius=115.0))
        wood.append(sum(state.estimate.course.box.mean[4:8]))
    assert wood[0] > wood[1] + 0.02


def test_questions_survive_a_restart(asking):
    state, _ = steps(asking, Tick(time=at(5401)))
    assert watch.thaw(watch.freeze(state)).asked == state.asked
