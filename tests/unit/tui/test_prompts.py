"""The questions behind the keys, as a pure machine."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firebox.records import DamperName, Entry, Split
from firebox.setup import PitBuild, Setup, Wood
from firebox.units import Degrees, Mass
from tui.keys import KEYS
from tui.preferences import Preferences
from tui.prompts import Desk, Prompt, Question, hint, press, sizes, turns_away, usual_kg

NOW = datetime(2026, 5, 2, 4, 0, tzinfo=UTC)
BARE = Setup(time=NOW)
OWNED = Setup(time=NOW, wood=Wood(species="hickory", moisture=0.2, small_kg=0.9, medium_kg=1.4, large_kg=2.0))
METRIC = Preferences(degrees=Degrees.C, mass=Mass.KG)


def desk(setup=OWNED, preferences=METRIC, **more):
    return Desk(setup=setup, preferences=preferences, time=NOW, id="fresh", **more)


def answer(question, *keys, at=None, **more):
    """Press keys on a question until it is answered."""
    prompt = Prompt(question=question, **more)
    for key in keys:
        prompt = press(prompt, key, key if len(key) == 1 else None, at or desk())
        if not isinstance(prompt, Prompt):
            return prompt
    return prompt


def test_only_sizes_that_the_owner_told_are_offered():
    assert sizes(BARE) == {}
    assert sizes(Setup(time=NOW, build=PitBuild(usual_split_kg=2.2))) == {"2": ("medium", 2.2)}
    assert set(sizes(OWNED)) == {"1", "2", "3"}


def test_a_size_that_was_not_told_is_typed_as_a_weight():
    prompt = answer(Question.SPLIT, "3", at=desk(BARE))
    assert prompt.typed == "3"


def test_the_usual_is_the_last_weight_then_the_medium_size_then_untold():
    assert usual_kg(OWNED, 1.1) == 1.1
    assert usual_kg(OWNED, None) == 1.4
    assert usual_kg(BARE, None) is None
    split = answer(Question.SPLIT, "enter", at=desk(BARE))
    assert isinstance(split, Split)
    assert split.kg is None


def test_a_split_carries_the_owners_wood():
    split = answer(Question.SPLIT, "1")
    assert (split.kg, split.species, split.moisture, split.id, split.at) == (0.9, "hickory", 0.2, "fresh", None)


@pytest.mark.parametrize("typed", ["0", "200", ".", "1.1.1"])
def test_what_is_no_weight_of_a_split_is_refused(typed):
    prompt = answer(Question.SPLIT, "w", *typed, "enter")
    assert isinstance(prompt, Prompt)
    assert "no weight of a split" in prompt.complaint


def test_a_backspace_takes_the_last_character_away():
    assert answer(Question.SPLIT, "w", "1", "9", "backspace", ".", "5", "enter").kg == 1.5


def test_back_dating_stops_at_two_hours_and_comes_forward_again():
    prompt = answer(Question.SPLIT, *["b"] * 50)
    assert prompt.minutes_ago == 120
    assert answer(Question.SPLIT, "b", "up", "down").minutes_ago == 5
    assert answer(Question.SPLIT, "down").minutes_ago == 0
    assert answer(Question.DAMPER, "b", "i", "4").at == NOW - timedelta(minutes=5)


def test_a_damper_of_many_marks_waits_for_enter():
    many = desk(Setup(time=NOW, damper_marks=16))
    assert isinstance(answer(Question.DAMPER, "i", "1", at=many), Prompt)
    assert answer(Question.DAMPER, "t", "1", "2", "enter", at=many).open == 0.75
    assert "marks 0 to 16" in answer(Question.DAMPER, "t", "1", "7", "enter", at=many).complaint


def test_a_mark_before_the_damper_is_named_is_no_answer():
    assert answer(Question.DAMPER, "4") == Prompt(question=Question.DAMPER, complaint="4 is no answer here")


@pytest.mark.parametrize("question", [Question.SPLIT, Question.DAMPER, Question.WRAP, Question.SHELVE])
def test_a_key_of_another_question_leaves_this_one_as_long_as_nothing_is_typed(question):
    assert turns_away(Prompt(question=question), "d", "d")
    assert turns_away(Prompt(question=question), "question_mark", "?")
    assert not turns_away(Prompt(question=question, typed="1"), "d", "d")


def test_no_key_that_would_enter_something_acts_from_within_a_question():
    entering = [key.key for key in KEYS if key.action.startswith("enter")]
    assert [key for key in entering if turns_away(Prompt(question=Question.SPLIT), key, key)] == []


@pytest.mark.parametrize("question", [Question.NOTE, Question.TARGET])
def test_a_question_that_is_typed_keeps_every_key(question):
    assert not turns_away(Prompt(question=question), "s", "s")


def test_on_a_simulated_fire_nothing_is_dated_back():
    here = desk(dates_back=False)
    assert answer(Question.SPLIT, "b", "b", "2", at=here).at is None
    assert "min ago" not in str(hint(Prompt(question=Question.SPLIT), here))


@pytest.mark.parametrize("typed", ["", "abc", "20", "900", "120 0.1", "1 2 3"])
def test_a_target_that_no_pit_holds_is_refused_with_what_would_be_right(typed):
    prompt = answer(Question.TARGET, *typed, "enter")
    assert isinstance(prompt, Prompt)
    assert prompt.complaint
    assert prompt.typed == ""


def test_an_empty_note_is_no_entry():
    assert answer(Question.NOTE, " ", "enter") is None
    assert answer(Question.NOTE, "b", "enter").text == "b"


def test_a_shelving_names_its_alarm():
    entry = answer(Question.SHELVE, "x", "3", alarm="wet-wood")
    assert (entry.alarm, entry.minutes) == ("wet-wood", 240)


@pytest.mark.parametrize("question", Question)
def test_escape_leaves_every_question(question):
    assert answer(question, "escape") is None


@pytest.mark.parametrize("question", Question)
def test_every_question_shows_its_keys_and_the_way_out(question):
    shown = hint(Prompt(question=question, alarm="wet-wood"), desk(dampers={DamperName.INTAKE: 0.5}))
    assert shown.asked
    assert ("esc", "leave") in shown.keys
    assert len(shown.keys) >= 3 or question is Question.HUSH


@given(
    question=st.sampled_from(Question),
    keys=st.lists(
        st.sampled_from([*"0123456789., bitpfnwx", "é", "enter", "backspace", "up", "down", "space", "f5"]),
        max_size=30,
    ),
    setup=st.sampled_from([BARE, OWNED, Setup(time=NOW, damper_marks=64)]),
    preferences=st.sampled_from([METRIC, Preferences()]),
)
def test_no_keys_break_a_question(question, keys, setup, preferences):
    here = desk(setup, preferences)
    now = Prompt(question=question, alarm="a")
    for key in keys:
        now = press(now, key, key if len(key) == 1 else None, here)
        if not isinstance(now, Prompt):
            assert now is None or (isinstance(now, Entry) and now.id == "fresh")
            return
        assert hint(now, here).asked
