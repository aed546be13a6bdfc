"""No bytes from a serial line crash a parser, and how they are cut changes nothing."""

import json
import math
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from drivers.lines import Framer, make_parser
from firebox.links import LineField, LineFormat, Scale
from firebox.records import Status

FORMATS = st.sampled_from(
    [
        LineFormat(),
        LineFormat(unit=Scale.F, fields={"grate": LineField(probe="other", unit=Scale.K)}, ignore=("flat",)),
        LineFormat(format="pattern", pattern=r"(?P<grate>[^,]*),(?P<flat>.*)"),
        LineFormat(format="columns", columns=("grate", "", "flat"), words={"-": "open"}),
    ]
)
SCRAPS = st.sampled_from(
    [
        b'{"grate":',
        b"121.4",
        b"}",
        b"{",
        b",",
        b"\n",
        b"\r\n",
        b"nan",
        b"-inf",
        b'{"celsius":null,"status":"open"}',
        b"\xff\x00",
        b"1e999",
    ]
)
STREAMS = st.one_of(st.binary(max_size=3000), st.lists(SCRAPS, max_size=200).map(b"".join))


@given(STREAMS, FORMATS)
def test_no_bytes_crash_a_parser_or_become_an_impossible_temperature(data, form):
    read = make_parser(form)
    for line in Framer().feed(data + b"\n"):
        heard = read(line.data)
        for sample in heard.samples:
            assert (sample.celsius is None) == (sample.status is not Status.GOOD)
            assert sample.celsius is None or (math.isfinite(sample.celsius) and -273.15 <= sample.celsius <= 3000)
            assert 1 <= len(sample.probe) <= 64
        assert all(text and len(text) < 500 and text.isprintable() for text in heard.problems)


@given(STREAMS, st.lists(st.integers(min_value=0, max_value=3000), max_size=20))
def test_how_the_bytes_are_cut_changes_nothing(data, cuts):
    whole = Framer().feed(data)
    edges = [0, *sorted(min(cut, len(data)) for cut in cuts), len(data)]
    framer = Framer()
    crumbs = [line for start, end in pairwise(edges) for line in framer.feed(data[start:end])]
    assert crumbs == whole
    one_by_one = Framer()
    assert [line for byte in data for line in one_by_one.feed(bytes([byte]))] == whole


@given(st.dictionaries(st.from_regex(r"[a-z]{1,10}", fullmatch=True), st.floats(-200, 2900), max_size=8))
def test_what_a_node_writes_is_what_is_heard(celsius):
    celsius.pop("node", None)
    heard = make_parser(LineFormat())(json.dumps(celsius).encode())
    assert {sample.probe: sample.celsius for sample in heard.samples} == celsius
    assert heard.problems == ()
