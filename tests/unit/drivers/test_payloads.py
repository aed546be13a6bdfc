"""MQTT messages: topics, pointers and values.

The pointers are the examples of RFC 6901 (P. Bryan, K. Zyp, M. Nottingham, "JavaScript Object Notation (JSON)
Pointer", IETF, April 2013), section 5, with the escapes of section 3 and the array indices of section 4; from memory.
"""

import json

import pytest

from drivers.lines import Sample
from drivers.payloads import TopicReader, filter_pattern, point
from firebox.links import Scale, TopicMap
from firebox.records import Status

DOCUMENT = json.loads(
    r"""{"foo": ["bar", "baz"], "": 0, "a/b": 1, "c%d": 2, "e^f": 3, "g|h": 4, "i\\j": 5, "k\"l": 6, " ": 7, "m~n": 8}"""
)


@pytest.mark.parametrize(
    ("pointer", "value"),
    [
        ("", DOCUMENT), ("/foo", ["bar", "baz"]), ("/foo/0", "bar"), ("/", 0), ("/a~1b", 1), ("/c%d", 2), ("/e^f", 3),
        ("/g|h", 4), ("/i\\j", 5), ('/k"l', 6), ("/ ", 7), ("/m~0n", 8),
    ],
)  # fmt: skip
def test_a_pointer_finds_what_the_standard_says(pointer, value):
    assert point(DOCUMENT, pointer) == value


def test_an_escaped_tilde_is_not_unescaped_twice():
    assert point({"~1": 1, "/": 2}, "/~01") == 1


@pytest.mark.parametrize(
    "pointer", ["/nothing", "/foo/2", "/foo/00", "/foo/01", "/foo/-", "/foo/-1", "/foo/bar", "/foo/0/x", "/foo/٠"]
)
def test_a_pointer_to_nothing_is_an_error(pointer):
    with pytest.raises(LookupError, match="nothing at"):
        point(DOCUMENT, pointer)


@pytest.mark.parametrize(
    ("topic_filter", "topic", "groups"),
    [
        ("a/b", "a/b", ()),
        ("a/+/c", "a/b/c", ("b",)),
        ("a/+/c", "a//c", ("",)),
        ("a/#", "a", (None,)),
        ("a/#", "a/b/c", ("b/c",)),
        ("#", "a/b", ("a/b",)),
        ("+/+", "/b", ("", "b")),
        ("a/b", "a/b/", None),
        ("a/+", "a", None),
        ("a/+", "a/b/c", None),
        ("a/#", "ab", None),
        ("#", "$SYS/uptime", None),
        ("+/uptime", "$SYS/uptime", None),
        ("$SYS/#", "$SYS/uptime", ("uptime",)),
        ("a.b", "axb", None),
    ],
)
def test_filters_match_as_the_standard_says(topic_filter, topic, groups):
    """OASIS, "MQTT Version 5.0" (2019), 4.7.1 and 4.7.2, with its own examples among others; from memory."""
    match = filter_pattern(topic_filter).fullmatch(topic)
    assert (match and match.groups()) == groups


def hear(payload, **mapping):
    return TopicReader(TopicMap(topic="+/temp", **mapping)).hear("north/temp", payload)


@pytest.mark.parametrize(
    ("payload", "mapping", "sample"),
    [
        (b"121.4", {}, Sample("x", 121.4)),
        (b" 121.4\n", {}, Sample("x", 121.4)),
        (b'"121.4"', {}, Sample("x", 121.4)),
        (b"212", {"unit": Scale.F}, Sample("x", 100.0)),
        (b"open", {}, Sample("x", None, Status.OPEN)),
        (b"NaN", {}, Sample("x", None, Status.FAILED)),
        (b"", {}, Sample("x", None, Status.FAILED)),
        (b"null", {}, Sample("x", None, Status.FAILED)),
        (b'{"celsius":121.4,"status":"good"}', {}, Sample("x", 121.4)),
        (b'{"t":[1,{"c":121.4}]}', {"pointer": "/t/1/c"}, Sample("x", 121.4)),
        (b'{"t":"121.4"}', {"pointer": "/t"}, Sample("x", 121.4)),
    ],
)
def test_a_message_is_a_value_wherever_it_stands(payload, mapping, sample):
    heard = hear(payload, probe="x", **mapping)
    assert heard.samples == (sample,)
    assert heard.problems == ()


@pytest.mark.parametrize(
    ("payload", "mapping", "word"),
    [
        (b"warm", {"probe": "x"}, "no number"),
        (b"\xff\xfe", {"probe": "x"}, "no number"),
        (b"warm", {"probe": "x", "pointer": "/t"}, "not JSON"),
        (b"[1]", {"probe": "x"}, "a list is no temperature"),
        (b"{}", {"probe": "x", "pointer": "/t"}, 'nothing at "/t"'),
        (b"121.4", {}, "not a JSON object"),
        (b"1" * 70_000, {"probe": "x"}, "70000 bytes"),
        (b"[" * 60_000, {"probe": "x", "pointer": "/0"}, "not JSON"),
    ],
)
def test_what_is_no_reading_is_a_problem_that_names_the_topic(payload, mapping, word):
    heard = hear(payload, **mapping)
    assert heard.samples == ()
    assert heard.problems[0].startswith("'north/temp': ")
    assert word in heard.problems[0]


def test_a_probe_is_named_after_what_a_wildcard_matched():
    reader = TopicReader(TopicMap(topic="+/probes/#", probe="{2} of {1}"))
    assert reader.hear("north/probes/flat", b"63").samples == (Sample("flat of north", 63.0),)
    assert reader.hear("elsewhere", b"63") is None
    assert "cannot name a probe" in reader.hear("n" * 70 + "/probes/x", b"63").problems[0]


def test_a_message_may_name_its_probes_itself():
    assert hear(b'{"time":"2026-05-02T04:10:05Z","probe":"grate","celsius":121.4,"status":"good"}').samples == (
        Sample("grate", 121.4),
    )
    assert hear(b'{"grate":250,"flat":null}', unit=Scale.F).samples[1] == Sample("flat", None, Status.FAILED)
