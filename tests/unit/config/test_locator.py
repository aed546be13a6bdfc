"""The line of every key, whatever way of writing TOML the owner prefers."""

import tomllib
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from firebox.config.locator import locate

TEXT = '''\
# a comment [not.a.table]
title = "a # in a string" # x = 1

[pit]
name = "north"   # [[probes]]
"quoted.key" = 'raw \\'

[[probes]]
name = "grate"
[probes.more]
a.b.c = 1

[[probes]]
name = "flat"
text = """
name = "not a key"
[neither]
"\\""""
more = [
  1, [2,
  3], # ]
  { x = 1, y = [
    4 ] },
]
after = 1979-05-27 07:32:00
[links.mqtt]
broker = { host = "h", tls = {} }
'''


def test_every_key_table_and_element_has_its_line():
    lines = locate(TEXT)
    assert {".".join(map(str, place)): line for place, line in lines.items()} == {
        "title": 2,
        "pit": 4,
        "pit.name": 5,
        "pit.quoted.key": 6,
        "probes": 8,
        "probes.0": 8,
        "probes.0.name": 9,
        "probes.0.more": 10,
        "probes.0.more.a": 11,
        "probes.0.more.a.b": 11,
        "probes.0.more.a.b.c": 11,
        "probes.1": 13,
        "probes.1.name": 14,
        "probes.1.text": 15,
        "probes.1.more": 19,
        "probes.1.more.0": 20,
        "probes.1.more.1": 20,
        "probes.1.more.1.0": 20,
        "probes.1.more.1.1": 21,
        "probes.1.more.2": 22,
        "probes.1.more.2.x": 22,
        "probes.1.more.2.y": 22,
        "probes.1.more.2.y.0": 23,
        "probes.1.after": 25,
        "links": 26,
        "links.mqtt": 26,
        "links.mqtt.broker": 27,
        "links.mqtt.broker.host": 27,
        "links.mqtt.broker.tls": 27,
    }
    assert ("pit", "quoted.key") in lines


def places(value: Any, place: tuple[str | int, ...] = ()) -> set[tuple[str | int, ...]]:
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    below = {found for key, item in inside for found in places(item, (*place, key))}
    return below | ({place} if place else set())


def test_no_place_is_missed_and_none_invented():
    assert set(locate(TEXT)) == places(tomllib.loads(TEXT))


keys = st.sampled_from(["a", "b-c", '"d e"', "'f'", "g.h", '"\\u00e4"'])
scalars = st.sampled_from(["1", "true", '"x"', "'#'", '""', "''", '"""a\n"b" """', "'''\n'a''''", '"\\\\"', "1e3"])
values = st.recursive(
    scalars,
    lambda inner: (
        st.lists(inner, max_size=3).map(lambda items: "[\n" + ", # c\n".join(items) + "\n]")
        | st.dictionaries(keys, inner, max_size=2).map(
            lambda pairs: "{" + ", ".join(f"{key} = {value}" for key, value in pairs.items()) + "}"
        )
    ),
    max_leaves=6,
)
headers = st.tuples(st.sampled_from(["[t]", "[t.u]", "[[s]]", "[s.v]", "[[s.w]]", "[ 'x' . y ]"]))
chunks = st.lists(st.tuples(headers, st.dictionaries(keys, values, max_size=3)), max_size=4)


@given(chunks)
def test_whatever_toml_is_written_every_place_in_it_is_found(written):
    text = "\n".join(
        header + "\n" + "".join(f"{key} = {value}  # note\n" for key, value in pairs.items())
        for (header,), pairs in written
    )
    try:
        plain = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    assert set(locate(text)) == places(plain)


@given(st.text("[]{}=.\"'#\n, a1\\"))
def test_a_text_that_is_no_toml_does_not_trap_the_locator(text):
    locate(text)
