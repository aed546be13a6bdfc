"""The questions about meat where a slip of a key, or a habit of writing, would mislead."""

from datetime import UTC, datetime

import pytest

from firebox.records import Feel, Serving, Wrap
from firebox.setup import Setup
from firebox.units import Degrees, Mass
from tui.preferences import Preferences
from tui.prompts import Desk, Prompt, Question, hint, press

NOW = datetime(2026, 5, 2, 4, 0, tzinfo=UTC)


def desk(**more):
    preferences = Preferences(degrees=Degrees.C, mass=Mass.KG)
    return Desk(
        setup=Setup(time=NOW), preferences=preferences, time=NOW, id="fresh", pieces=("flat",), zone=UTC, **more
    )


def answer(question, *keys, at):
    prompt = Prompt(question=question)
    for key in keys:
        prompt = press(prompt, key, key if len(key) == 1 else None, at)
        if not isinstance(prompt, Prompt):
            return prompt
    return prompt


@pytest.mark.parametrize(
    ("typed", "hour", "minute"),
    [("6pm", 18, 0), ("6:30PM", 18, 30), ("12am", 0, 0), ("12pm", 12, 0), ("6p", 18, 0), ("1800", 18, 0)],
)
def test_an_hour_of_half_a_day_is_that_hour(typed, hour, minute):
    served = answer(Question.SERVING, *typed, "enter", at=desk())
    assert isinstance(served, Serving)
    assert (served.serve.hour, served.serve.minute, served.people) == (hour, minute, 1)


def test_letters_that_go_on_with_no_hour_still_choose():
    assert answer(Question.SERVING, "p", "1", "8", "enter", at=desk()).people == 2
    assert answer(Question.SERVING, *"18:30", "p", "enter", at=desk()).people == 2
    refused = answer(Question.SERVING, *"25", "enter", at=desk())
    assert "6pm" in refused.complaint


def test_a_feel_that_can_hardly_be_is_asked_again():
    doubting = desk(feel_doubts={"flat": "it reads 66C and is thought 1% tender"})
    asked = answer(Question.FEEL, "g", at=doubting)
    assert "really giving? it reads 66C" in asked.complaint
    assert answer(Question.FEEL, "g", "x", at=doubting).complaint.startswith("really gone?")
    assert answer(Question.FEEL, "g", "g", at=doubting) == Feel(time=NOW, id="fresh", probe="flat", answer="giving")
    assert isinstance(answer(Question.FEEL, "s", at=doubting), Feel)
    assert isinstance(answer(Question.FEEL, "g", at=desk()), Feel)


def test_a_wrap_before_there_is_bark_is_asked_again():
    doubting = desk(wrap_doubts={"flat": "its bark is 0%: none sets in a wrap"})
    assert "none sets in a wrap" in answer(Question.WRAP, "f", at=doubting).complaint
    assert isinstance(answer(Question.WRAP, "f", "f", at=doubting), Wrap)
    assert isinstance(answer(Question.WRAP, "n", at=doubting), Wrap)
    assert isinstance(answer(Question.WRAP, "enter", at=desk()), Wrap)


def test_the_plan_begins_with_the_meat_as_it_lies():
    lying = desk(lies={"flat": ("oven", "paper")})
    words = dict(hint(Prompt(question=Question.SERVING), lying).keys)
    assert (words["w"], words["r"]) == ("wrap: paper", "rest: oven")
    served = answer(Question.SERVING, "1", "8", "enter", at=lying)
    assert (served.wrap, served.rest) == ("paper", "oven")
