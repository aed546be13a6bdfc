"""Lines of probe nodes: what is said is heard, and nothing else becomes a temperature."""

import pytest

from drivers.lines import Framer, Sample, celsius_of, make_parser
from firebox.links import LineField, LineFormat, Scale
from firebox.records import Status

OPEN, SHORTED, FAILED = (Sample("flat", None, status) for status in (Status.OPEN, Status.SHORTED, Status.FAILED))


def flat(value, **options):
    """What a JSON line says of the probe `flat`."""
    return make_parser(LineFormat(**options))(b'{"flat": %s}' % value.encode())


def test_a_line_gives_a_sample_for_each_probe_in_its_order():
    heard = make_parser(LineFormat())(
        b'{"grate": 121.4, "firebox": 402, "flat": {"celsius": null, "status": "open"}}'
    )
    assert heard.samples == (Sample("grate", 121.4), Sample("firebox", 402.0), OPEN)
    assert heard.problems == ()


@pytest.mark.parametrize(
    ("value", "sample"),
    [
        ("63.1", Sample("flat", 63.1)),
        ("-40", Sample("flat", -40.0)),
        ('{"celsius": 63.1}', Sample("flat", 63.1)),
        ('{"celsius": 63.1, "status": "good"}', Sample("flat", 63.1)),
        ('{"celsius": 63.1, "status": "open"}', OPEN),
        ('{"celsius": null, "status": "shorted"}', SHORTED),
        ('{"celsius": null}', FAILED),
        ('"open"', OPEN),
        ('"63.1"', Sample("flat", 63.1)),
        ("null", FAILED),
        ("nan", FAILED),
        ("-inf", FAILED),
        ("NaN ", FAILED),
        ('"nan"', FAILED),
    ],
)
def test_every_way_to_tell_a_value_is_understood(value, sample):
    assert flat(value).samples == (sample,)
    assert flat(value).problems == ()


@pytest.mark.parametrize("value", ["1e9", "-300", "1" + "0" * 400, "3000.1"])
def test_an_impossible_number_is_a_failed_probe_and_a_problem(value):
    heard = flat(value)
    assert heard.samples == (FAILED,) or heard.samples == ()
    assert heard.problems


@pytest.mark.parametrize(
    "value",
    ["true", "[1]", '"warm"', '{"celsius": "1"}', '{"celsius": true}', '{"status": "tired"}', '{"status": []}'],
)
def test_what_is_no_temperature_is_a_problem_that_names_the_probe(value):
    heard = flat(value)
    assert heard.samples == ()
    assert heard.problems[0].startswith("flat: ")


@pytest.mark.parametrize("line", [b"", b"{", b"\xff\xfe", b"[]", b"12", b'"x"', b'{"a":1}{"b":2}', b"[" * 5000])
def test_a_line_that_is_no_object_is_one_problem(line):
    heard = make_parser(LineFormat())(line)
    assert heard.samples == ()
    assert len(heard.problems) == 1
    assert len(heard.problems[0]) < 250


def test_a_dead_probe_that_writes_nan_does_not_take_the_others_with_it():
    heard = make_parser(LineFormat())(b'{"grate": 121.4, "flat": nan, "point":-NAN}')
    assert heard.samples == (Sample("grate", 121.4), FAILED, Sample("point", None, Status.FAILED))


def test_a_node_may_describe_itself():
    heard = make_parser(LineFormat())(b'{"node": {"name": "north", "version": 3}}')
    assert heard.node == {"name": "north", "version": 3}
    assert heard.samples == heard.problems == ()


def test_names_and_scales_are_mapped_and_fields_passed_over():
    form = LineFormat(
        unit=Scale.F,
        fields={"t1": LineField(probe="grate"), "t2": LineField(probe="flat", unit=Scale.K)},
        ignore=("volts",),
    )
    heard = make_parser(form)(b'{"t1": 212, "t2": 300.15, "volts": 5000, "stack": 32}')
    assert heard.samples == (Sample("grate", 100.0), Sample("flat", pytest.approx(27.0)), Sample("stack", 0.0))


def test_an_object_with_celsius_is_celsius_whatever_the_scale_of_the_line():
    assert flat('{"celsius": 100}', unit=Scale.F).samples == (Sample("flat", 100.0),)


@pytest.mark.parametrize("name", ["", "x" * 65, "a\\u0000b", "a\\u001b[2J"])
def test_a_name_that_would_spoil_a_screen_is_refused(name):
    heard = make_parser(LineFormat())(b'{"%s": 1}' % name.encode())
    assert heard.samples == ()
    assert "cannot name a probe" in heard.problems[0]


def test_named_groups_are_probes():
    form = LineFormat(
        format="pattern", pattern=r"P=(?P<grate>\S+) M=(?P<flat>\S*)(?: A=(?P<ambient>\S+))?", unit=Scale.F
    )
    read = make_parser(form)
    assert read(b"#7 P=250.0 M=145.4").samples == (
        Sample("grate", pytest.approx(121.11, abs=0.01)),
        Sample("flat", 63.0),
    )
    assert read(b"P=250.0 M=").samples[1] == FAILED
    assert read(b"P=OPEN M=Shorted").samples == (Sample("grate", None, Status.OPEN), SHORTED)
    assert read(b"nothing of the kind").problems
    assert read(b"P=2,5 M=1").problems == ("grate: '2,5' is no number; write 121.4, open, shorted or failed",)


def test_columns_are_probes_and_a_torn_row_is_none():
    form = LineFormat(format="columns", columns=("", "grate", "flat"), separator=";", words={"---": "open"})
    read = make_parser(form)
    assert read(b"17; 121.4 ;---").samples == (Sample("grate", 121.4), OPEN)
    assert read(b"17;121.4").samples == ()
    assert "2 columns instead of 3" in read(b"17;121.4").problems[0]


@pytest.mark.parametrize("text", ["1_0", "٣", "0x10", "1e", "--1", "1 2", "infinite"])
def test_only_plain_decimal_numbers_count(text):
    form = LineFormat(format="columns", columns=("flat",))
    heard = make_parser(form)(text.encode())
    assert heard.samples == ()
    assert len(heard.problems) == 1


def test_scales_meet_at_the_fixed_points():
    """SI Brochure, 9th edition (2019), 2.3.1: 0 degC = 273.15 K; 32 degF and 212 degF by definition of that scale."""
    assert celsius_of(273.15, Scale.K) == celsius_of(32.0, Scale.F) == celsius_of(0.0, Scale.C) == 0.0
    assert celsius_of(212.0, Scale.F) == 100.0
    assert celsius_of(-1.0, Scale.K) is None


# --- framing ---------------------------------------------------------------------------------------


def test_crumbs_and_both_line_ends_give_whole_lines():
    framer = Framer()
    found = [line for crumb in (b"a", b"b\r", b"\nc", b"d\n\n") for line in framer.feed(crumb)]
    assert [line.data for line in found] == [b"ab", b"cd", b""]
    assert [line.number for line in found] == [1, 2, 3]
    assert [line.torn for line in found] == [True, False, False]


def test_a_line_too_long_is_told_once_and_skipped_to_its_end():
    framer = Framer()
    assert [line.data for line in framer.feed(b"x" * 512 + b"\n")] == [b"x" * 512]
    (told,) = framer.feed(b"y" * 513)
    assert told.too_long
    assert len(told.data) == 512
    assert framer.feed(b"z" * 100_000) == []
    assert [line.data for line in framer.feed(b"zz\nwell\n")] == [b"well"]


def test_a_stream_without_line_ends_takes_no_memory():
    framer = Framer()
    for _ in range(1000):
        framer.feed(b"\x00" * 4096)
    assert len(framer._rest) <= 513
