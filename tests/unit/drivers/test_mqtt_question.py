"""A question on its way to other devices."""

import json
from datetime import UTC, datetime, timedelta

from drivers.mqtt_link import WORDS
from drivers.mqtt_outlet import message_for
from drivers.recordings import CONCLUSIONS
from firebox.records import Question, Split, from_plain

TIME = datetime(2026, 5, 2, 4, 10, 5, tzinfo=UTC)
HAPPENED = TIME - timedelta(minutes=12)
QUESTION = Question(time=TIME, question="split-1080", text="?", open=True, suggests=Split(time=HAPPENED, at=HAPPENED))


def test_a_question_is_told_under_its_own_topic_and_can_be_read_back():
    message = message_for(QUESTION)
    assert message.topic == "question"
    assert message.topic in WORDS
    assert from_plain({"type": "question", **json.loads(message.payload)}) == QUESTION


def test_a_question_that_was_recorded_is_no_input_of_a_replay():
    assert "question" in CONCLUSIONS
