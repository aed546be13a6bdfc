"""The instructor: says what a deed does, asks before the hump, names mistakes kindly and seldom."""

from typing import Any

import pytest

from firebox.lessons import Coals, Figure, Flame, Lesson, LessonKind, Measure, Sight, Smoke
from firebox.practice import instructor, mistakes
from firebox.practice.instructor import AHEAD, ASK_AFTER, ASK_EVERY, PRAISE_AFTER, Instruction
from firebox.practice.mistakes import FORGIVEN, MISTAKES, Facts
from firebox.records import Damper, DamperName, Door, Entry, Lit, Rake, Split
from tests.unit.practice.test_rounds import START

CLEAN = Sight(flame=Flame.STEADY, smoke=Smoke.THIN, coals=Coals.BRIGHT)


def facts(seconds: float = 3600.0, **more: Any) -> Facts:
    return Facts(**{"seconds": seconds, "celsius": 121.0, "sight": CLEAN, "split_at": seconds - 2400.0, **more})


def split(kg: float = 1.4) -> Split:
    return Split(time=START, kg=kg)


def intake(mark: float) -> Damper:
    return Damper(time=START, damper=DamperName.INTAKE, open=mark)


def effect(seconds: float = 3600.0) -> Lesson:
    figures = (Figure(Measure.KG, 1.4), Figure(Measure.CLOCK, seconds + 300.0))
    return Lesson(
        seconds=seconds, kind=LessonKind.EFFECT, topic="split", text="{0} laid, shows from {1}.", figures=figures
    )


def topics(entry: Entry, **more: Any) -> list[str]:
    return [one.topic for one in mistakes.after(facts(**more), entry)]


# --- mistakes ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("topic", "entry", "more"),
    [
        ("fed on top", split(), {"split_at": 3300.0, "split_kg": 1.4}),
        ("fed hot", split(), {"celsius": 140.0, "wood_left": 0.9}),
        ("a log", split(2.6), {}),
        ("nothing burns", split(0.9), {"sight": Sight()}),
        ("dull coals", split(), {"sight": Sight(coals=Coals.DULL)}),
        ("large and wet", split(), {"wet": True}),
        ("air in the hump", intake(0.6), {"slope": 1.2, "wood_left": 0.9}),
        ("stack shut", Damper(time=START, damper=DamperName.STACK, open=0.25), {}),
        ("starved", intake(0.0), {}),
        ("chasing", intake(0.5), {"damper_at": (3300.0, 3500.0)}),
        ("lid on grease", Door(time=START, open=True), {"sight": Sight(grease=True)}),
        ("lit twice", Lit(time=START), {}),
    ],
)
def test_a_deed_that_is_a_mistake_is_known(topic: str, entry: Entry, more: dict[str, Any]) -> None:
    assert topic in topics(entry, **more)


@pytest.mark.parametrize(
    ("entry", "more"),
    [
        (split(), {}),
        (split(0.9), {"wet": True}),
        (split(0.9), {"sight": Sight(coals=Coals.DULL)}),
        (split(), {"split_at": 3300.0, "split_kg": 1.4, "celsius": 90.0}),
        (intake(0.5), {}),
        (intake(0.0), {"celsius": 150.0}),
        (intake(0.0), {"sight": Sight(grease=True)}),
        (Door(time=START, open=True), {}),
        (Lit(time=START), {"sight": Sight()}),
        (Rake(time=START), {}),
    ],
)
def test_what_a_good_cook_does_is_none(entry: Entry, more: dict[str, Any]) -> None:
    assert topics(entry, **more) == []


@pytest.mark.parametrize(
    ("topic", "more"),
    [
        ("door open", {"cook_open_for": 120.0}),
        ("fire door open", {"fire_open_for": 120.0}),
        ("smoulder", {"dirty_for": 300.0}),
        ("ash", {"sight": Sight(ash=True)}),
        ("waited", {"celsius": 100.0, "slope": -0.5}),
    ],
)
def test_what_stands_and_should_not_is_known(topic: str, more: dict[str, Any]) -> None:
    assert [one.topic for one in mistakes.standing(facts(**more))] == [topic]


def test_every_mistake_is_told_with_its_physics_and_without_blame() -> None:
    assert len({one.topic for one in MISTAKES}) == len(MISTAKES)
    for one in MISTAKES:
        assert (one.done is None) != (one.seen is None)
        assert ":" in one.text or ";" in one.text or "because" in one.text
        assert not any(word in one.text.lower() for word in ("wrong", "bad", "fault", "stupid", "never do"))


def test_a_mistake_is_named_once_and_again_only_later() -> None:
    state = instructor.acted(Instruction(asks=False), facts(), split(2.6), None)
    state = instructor.acted(state, facts(3660.0), split(2.6), None)
    assert [one.topic for one in state.lessons] == ["a log"]
    state = instructor.acted(state, facts(3600.0 + FORGIVEN), split(2.6), None)
    assert state.counts == {"a log": 2}


# --- questions -----------------------------------------------------------------------------------


def asked(celsius: float = 120.0) -> Instruction:
    state = instructor.acted(Instruction(), facts(3600.0), split(), effect())
    return instructor.look(state, facts(3600.0 + ASK_AFTER, celsius=celsius))


def test_the_question_comes_before_what_would_give_it_away() -> None:
    state = instructor.acted(Instruction(), facts(), split(), effect())
    assert [one.text for one in state.lessons] == ["{0} laid. What will come of it?"]
    state = asked()
    assert instructor.waiting(state)
    state = instructor.answer(state, 2)
    assert state.lessons == (effect(),)
    assert not instructor.waiting(state)


@pytest.mark.parametrize(
    ("guess", "celsius", "words"), [(2, 130.0, "saw it coming"), (1, 130.0, "more than"), (3, 130.0, "less than")]
)
def test_the_answer_is_told_in_a_quarter_of_an_hour(guess: int, celsius: float, words: str) -> None:
    state = instructor.answer(asked(), guess)
    early = instructor.look(state, facts(3600.0 + ASK_AFTER + 60.0 * AHEAD - 10.0))
    assert early.quiz is not None
    state = instructor.look(early, facts(3600.0 + ASK_AFTER + 60.0 * AHEAD, celsius=celsius))
    assert words in state.lessons[-1].text
    assert state.lessons[-1].figures[0] == Figure(Measure.CELSIUS, celsius)
    assert (state.right, state.answered) == (int(guess == 2), 1)
    assert state.quiz is None


def test_the_answer_says_what_the_watch_expected() -> None:
    state = instructor.acted(Instruction(), facts(3600.0), split(), effect())
    state = instructor.look(state, facts(3600.0 + ASK_AFTER, expected=126.0))
    state = instructor.look(instructor.answer(state, 1), facts(3600.0 + ASK_AFTER + 60.0 * AHEAD))
    assert "The watch expected {2}" in state.lessons[-1].text
    assert state.lessons[-1].figures[2] == Figure(Measure.CELSIUS, 126.0)


def test_a_question_may_be_passed_over_and_is_not_counted() -> None:
    state = instructor.answer(asked(), None)
    assert state.quiz is None
    assert state.lessons[-1] == effect()
    assert state.answered == 0


@pytest.mark.parametrize("deed", [intake(0.5), Door(time=START, open=True), split(), Lit(time=START)])
def test_a_question_is_dropped_when_something_is_done_meanwhile(deed: Entry) -> None:
    state = instructor.answer(asked(), 2)
    state = instructor.acted(state, facts(3900.0), deed, None)
    assert state.quiz is None
    assert "is dropped" in state.lessons[-1].text or "is dropped" in state.lessons[-2].text
    late = instructor.look(state, facts(3600.0 + ASK_AFTER + 60.0 * AHEAD))
    assert late.answered == 0


def test_nothing_is_asked_where_nothing_burns_or_a_door_stands_open() -> None:
    cold = instructor.acted(Instruction(), facts(sight=Sight()), split(), effect())
    assert cold.ask_at is None
    state = instructor.acted(Instruction(), facts(), split(), effect())
    state = instructor.look(state, facts(3600.0 + ASK_AFTER, cook_open_for=30.0))
    assert state.quiz is None
    assert state.lessons == (effect(),)


def test_questions_keep_their_distance() -> None:
    state = instructor.answer(asked(), None)
    soon = instructor.acted(state, facts(4200.0), split(), effect(4200.0))
    assert soon.ask_at is None
    later = instructor.acted(state, facts(3640.0 + ASK_EVERY), split(), effect(3640.0 + ASK_EVERY))
    assert later.ask_at is not None


def test_whoever_wants_no_questions_gets_none_and_hears_what_the_split_does() -> None:
    state = instructor.with_questions(asked(), asks=False)
    assert state.quiz is None
    assert state.lessons[-1] == effect()
    state = instructor.acted(state, facts(9000.0), split(), effect(9000.0))
    assert state.ask_at is None


def test_an_answer_that_does_not_exist_changes_nothing() -> None:
    assert instructor.answer(asked(), 9) == asked()
    assert instructor.answer(Instruction(), 1) == Instruction()


# --- praise --------------------------------------------------------------------------------------


def test_half_an_hour_well_kept_is_praised_once() -> None:
    state = Instruction()
    for seconds in range(0, int(PRAISE_AFTER) + 600, 10):
        state = instructor.look(state, facts(float(seconds), split_at=-1e9))
    assert [one.kind for one in state.lessons] == [LessonKind.PRAISE]


def test_dirty_smoke_ends_the_half_hour() -> None:
    state = instructor.look(Instruction(), facts(0.0, split_at=-1e9))
    state = instructor.look(state, facts(1000.0, sight=Sight(smoke=Smoke.DIRTY)))
    state = instructor.look(state, facts(PRAISE_AFTER + 10.0))
    assert state.lessons == ()
