"""The plan on its way to other devices."""

import json
from datetime import UTC, datetime

from drivers.mqtt_link import WORDS
from drivers.mqtt_outlet import message_for
from drivers.recordings import CONCLUSIONS
from firebox.records import Timetable, from_plain

NOW = datetime(2026, 5, 2, 9, tzinfo=UTC)
PLAN = Timetable(
    time=NOW,
    serve=NOW,
    probability=0.5,
    minutes_late=0.0,
    verdict="tight",
    wood_kg=1.0,
    splits=1,
    split_kg=1.0,
    minutes_between=40.0,
    fire_hours=1.0,
)


def test_a_plan_is_told_under_its_own_topic_and_can_be_read_back():
    message = message_for(PLAN)
    assert message.topic == "plan"
    assert message.topic in WORDS
    assert from_plain({"type": "plan", **json.loads(message.payload)}) == PLAN


def test_a_plan_that_was_recorded_is_no_input_of_a_replay():
    assert "plan" in CONCLUSIONS
