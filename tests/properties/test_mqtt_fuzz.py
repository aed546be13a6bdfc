"""No MQTT message crashes a source or the door for entries, and names never collide in topics."""

import json
import math

from hypothesis import given
from hypothesis import strategies as st
from paho.mqtt.client import topic_matches_sub

from drivers.fakes.clock import SteppedClock
from drivers.mqtt_outlet import read_entry, topic_safe
from drivers.payloads import TopicReader, filter_pattern
from drivers.recordings import read_csv, read_json_lines
from firebox.errors import RecordError
from firebox.links import Scale, TopicMap
from firebox.records import ENTRIES, Entry, Status, word_of

SCRAPS = st.sampled_from(
    [
        b'{"t":',
        b"121.4",
        b"}",
        b"[",
        b"]",
        b",",
        b'"open"',
        b"nan",
        b"null",
        b'"celsius":',
        b'"probe":"x"',
        b"1e999",
        b"\xff",
    ]
)
PAYLOADS = st.one_of(st.binary(max_size=500), st.lists(SCRAPS, max_size=30).map(b"".join))
MAPPINGS = st.sampled_from(
    [
        TopicMap(topic="#"),
        TopicMap(topic="#", probe="x"),
        TopicMap(topic="#", probe="{1}", unit=Scale.K),
        TopicMap(topic="#", probe="x", pointer="/t"),
        TopicMap(topic="#", probe="x", pointer="/0/t", unit=Scale.F),
    ]
)
LEVELS = st.text(alphabet="ab/$.", max_size=8)


@given(LEVELS, PAYLOADS, MAPPINGS)
def test_no_message_crashes_a_source_or_becomes_an_impossible_temperature(topic, payload, mapping):
    heard = TopicReader(mapping).hear(topic, payload)
    for sample in heard.samples if heard else ():
        assert (sample.celsius is None) == (sample.status is not Status.GOOD)
        assert sample.celsius is None or (math.isfinite(sample.celsius) and -273.15 <= sample.celsius <= 3000)
        assert 1 <= len(sample.probe) <= 64
    for text in heard.problems if heard else ():
        assert text.isprintable()


@given(
    st.lists(st.sampled_from(["a", "b", "", "+", "$x", "#"]), min_size=1, max_size=5),
    st.text("ab/$x", min_size=1, max_size=8),
)
def test_filters_match_as_an_independent_reading_of_the_standard_does(levels, topic):
    if "#" in levels[:-1]:
        levels = [level for level in levels if level != "#"] or ["a"]
    topic_filter = "/".join(levels)
    if topic_filter:
        assert bool(filter_pattern(topic_filter).fullmatch(topic)) == topic_matches_sub(topic_filter, topic)


@given(st.text(max_size=64), st.text(max_size=64))
def test_names_that_differ_have_topics_that_differ_and_are_safe(one, other):
    topic = topic_safe(one)
    assert not set(topic) & set("/+#\0")
    assert topic.isprintable()
    assert (topic == topic_safe(other)) == (one == other)


ENTRY_SCRAPS = st.dictionaries(
    st.sampled_from(["entry", "kg", "open", "damper", "door", "celsius", "to", "id", "at", "time", "type", "alarm", "of", "text"]),
    st.one_of(
        st.sampled_from([*ENTRIES, "intake", "cook", "2026-05-02T04:10:05Z", "0001-01-01T00:00:00Z"]),
        st.none(), st.booleans(), st.floats(), st.integers(), st.text(max_size=5),
    ),
)  # fmt: skip


@given(st.one_of(PAYLOADS, ENTRY_SCRAPS.map(lambda plain: json.dumps(plain).encode())))
def test_no_message_to_the_door_for_entries_does_more_than_be_refused(payload):
    clock = SteppedClock()
    try:
        entry = read_entry(payload, clock)
    except RecordError:
        return
    assert isinstance(entry, Entry)
    assert entry.time == clock.now()
    assert word_of(entry) not in {"clock", "resumed", "trouble"}


@given(st.one_of(st.binary(max_size=1000), st.lists(SCRAPS, max_size=50).map(b"".join)))
def test_no_bytes_crash_the_reading_of_a_recording(data):
    lines = data.splitlines(keepends=True)
    list(read_json_lines(lines))
    list(read_csv(lines))
    list(read_csv([b"time,probe,celsius,body\n", *lines]))
    list(read_csv([b"time,grate\n", *(b"2026-05-02T04:10:05Z," + line for line in lines)]))
