"""Bad files, and exactly what the owner is told of each."""

from pathlib import Path
from typing import get_args

import pytest

from firebox.config import load
from firebox.errors import ConfigError
from firebox.links import SourceOptions

KINDS = [kind.__struct_config__.tag for kind in get_args(SourceOptions)]

GOOD = """\
[pit]
name = "north"
[units]
degrees = "F"
mass = "lb"
[target]
temperature = 250
band = 15
[[probes]]
name = "grate"
role = "grate"
[[probes]]
name = "flat"
role = "meat"
"""


def refusal(folder: Path, text: str | bytes) -> list[str]:
    path = folder / "pit.toml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(ConfigError) as caught:
        load(path)
    return str(caught.value).splitlines()


SHAPE = {
    "a role that is none": (
        '[[probes]]\nname = "grate"\nrole = "grade"\n',
        (
            'pit.toml, line 3, probes[0].role: "grade" is not a role; one of grate, firebox, stack, ambient, meat'
            ' (did you mean "grate"?)'
        ),
    ),
    "a unit that is none": (
        '[units]\ndegrees = "K"\n',
        'pit.toml, line 2, units.degrees: "K" does not go with degrees; one of C, F',
    ),
    "a unit that no device speaks": (
        "[[sources]]\nkind = 'serial'\nport = '/dev/x'\nlines = { unit = 'R' }",
        'pit.toml, line 4, sources[0].lines.unit: "R" is not a unit; one of C, F, K',
    ),
    "a clock of thirteen hours": (
        "[units]\nclock = 13",
        "pit.toml, line 2, units.clock: 13 is not a clock; one of 12, 24",
    ),
    "a number in quotes": (
        '[target]\ntemperature = "250"',
        'pit.toml, line 2, target.temperature: "250" is not a number, without quotes',
    ),
    "a fraction where a whole number belongs": (
        "[dampers]\nmarks = 8.5",
        "pit.toml, line 2, dampers.marks: 8.5 is not a whole number, without quotes",
    ),
    "a truth in words": (
        '[pit]\nfirebox_insulated = "yes"',
        'pit.toml, line 2, pit.firebox_insulated: "yes" is not true or false, without quotes',
    ),
    "a text without quotes": ("[pit]\nname = 7", "pit.toml, line 2, pit.name: 7 is not a text; write it in quotes"),
    "a name that is no file": (
        '[pit]\nname = "../x"',
        'pit.toml, line 2, pit.name: "../x" names files and topics: no / \\ + # in it, no dot or space before it',
    ),
    "a name that says nothing": (
        '[[probes]]\nname = ""',
        "pit.toml, line 2, probes[0].name: is empty; leave the key out where there is nothing to say",
    ),
    "a name without end": (
        f'[[probes]]\nname = "{"x" * 65}"',
        "pit.toml, line 2, probes[0].name: is 65 characters long; at most 64",
    ),
    "a probe without a name": (
        "[[probes]]\nrole = 'meat'",
        "pit.toml, line 1, probes[0]: has no name, which must be given",
    ),
    "an opening in eighths": (
        "[dampers]\nintake_open = 4",
        "pit.toml, line 2, dampers.intake_open: 4 is out of range; from 0 up to 1",
    ),
    "a wall of nothing": (
        "[pit]\nwall_mm = 0",
        "pit.toml, line 2, pit.wall_mm: 0 is out of range; more than 0 up to 500",
    ),
    "no number at all": (
        "[target]\nband = nan",
        "pit.toml, line 2, target.band: nan is not a number to reckon with",
    ),
    "a number beyond reason": (
        f"[target]\ntemperature = 1{'0' * 400}",
        "pit.toml, line 2, target.temperature: a number of more than 20 digits is not a number to reckon with",
    ),
    "a key misspelt": (
        "[target]\ntemprature = 250",
        'pit.toml, line 2, target.temprature: not a known key; did you mean "temperature"?',
    ),
    "a table misspelt": ("[traget]", 'pit.toml, line 1, traget: not a known key; did you mean "target"?'),
    "a key like no other": (
        "[notices]\nxyz = 1",
        "pit.toml, line 2, notices.xyz: not a known key; known here: bell, to",
    ),
    "a probe instead of probes": (
        "[probes]\nname = 'grate'",
        "pit.toml, line 1, probes: a table is not a list; write [[probes]], one such table each",
    ),
    "a table that is a value": ("pit = 'north'", 'pit.toml, line 1, pit: "north" is not a table'),
    "a date for a name": (
        "[pit]\nname = 2026-05-02",
        "pit.toml, line 2, pit.name: 2026-05-02 is not a text; write it in quotes",
    ),
    "a source of no kind": (
        "[[sources]]\nport = '/dev/x'",
        "pit.toml, line 1, sources[0]: has no kind; write kind = " + " or ".join(f'"{kind}"' for kind in KINDS),
    ),
    "a source of an unknown kind": (
        "[[sources]]\nkind = 'serail'",
        (
            'pit.toml, line 2, sources[0].kind: "serail" is not a kind; one of '
            + ", ".join(KINDS)
            + ' (did you mean "serial"?)'
        ),
    ),
    "a source that is a word": ("sources = ['serial']", 'pit.toml, line 1, sources[0]: "serial" is not a table'),
    "a mapping of no topics": (
        "[[sources]]\nkind = 'mqtt'\ntopics = []",
        "pit.toml, line 3, sources[0].topics: is empty; at least 1 is needed",
    ),
    "parts that do not go together": (
        "[[sources]]\nkind = 'serial'\nport = '/dev/x'\nlines = { format = 'pattern' }",
        'pit.toml, line 4, sources[0].lines: pattern and format = "pattern" go together; one is there without the other',
    ),
    "a password": (
        "[mqtt]\n[mqtt.broker]\npassword = 'oak'",
        (
            "pit.toml, line 3, mqtt.broker.password: a secret does not stand in this file; name a file that only you can"
            " read with password_file, or an environment variable with password_env"
        ),
    ),
    "a password in the wrong table": (
        "[mqtt]\nPassword = 'oak'",
        (
            "pit.toml, line 2, mqtt.Password: a secret does not stand in this file; it goes in a file or an environment"
            " variable, named in the broker's table"
        ),
    ),
    "the same key twice": (
        "[pit]\nname = 'a'\nname = 'b'\n",
        "pit.toml, line 3: not TOML: Cannot overwrite a value",
    ),
    "no TOML": ("[pit\nname", "pit.toml, line 1: not TOML: Expected ']' at the end of a table declaration"),
    "an unfinished file": ("[pit]\nname =", "pit.toml, line 2: not TOML: Invalid value"),
    "bytes that are no text": (b"[pit]\n\xff", "pit.toml, line 2: not UTF-8 text; save the file as UTF-8"),
}

SENSE = {
    "a probe twice": (
        '[[probes]]\nname = "grate"\n',
        'pit.toml, line 16, probes[2].name: a probe named "grate" is already probes[0]; give it another',
    ),
    "two sources of one name": (
        "[[sources]]\nkind = 'serial'\nport = '/dev/a'\n[[sources]]\nkind = 'serial'\nname = 'serial'\nport = '/dev/b'\n",
        'pit.toml, line 20, sources[1].name: a source named "serial" is already sources[0]; give it another',
    ),
    "a column that is no probe": (
        "[[sources]]\nkind = 'serial'\nport = '/dev/a'\nlines = { format = 'columns', columns = ['grate', '', 'flatt'] }\n",
        (
            'pit.toml, line 18, sources[0].lines.columns[2]: "flatt" is not among the probes: grate, flat'
            ' (did you mean "flat"?)'
        ),
    ),
    "a group that is no probe": (
        "[[sources]]\nkind = 'serial'\nport = '/dev/a'\n[sources.lines]\nformat = 'pattern'\npattern = 'T=(?P<north>.*)'\n",
        'pit.toml, line 20, sources[0].lines.pattern: "north" is not among the probes: grate, flat',
    ),
    "a field renamed to no probe": (
        "[[sources]]\nkind = 'serial'\nport = '/dev/a'\n[sources.lines.fields]\nt1 = { probe = 'gate' }\n",
        (
            'pit.toml, line 19, sources[0].lines.fields.t1.probe: "gate" is not among the probes: grate, flat'
            ' (did you mean "grate"?)'
        ),
    ),
    "a topic for no probe": (
        "[[sources]]\nkind = 'mqtt'\ntopics = [{ topic = 'a', probe = 'point' }]\n",
        'pit.toml, line 17, sources[0].topics[0].probe: "point" is not among the probes: grate, flat',
    ),
    "a channel for no probe": (
        "[[sources]]\nkind = 'iio'\nprobes = [\n  { probe = 'grate' },\n  { probe = 'gate', channel = 'temp2' },\n]\n",
        (
            'pit.toml, line 19, sources[0].probes[1].probe: "gate" is not among the probes: grate, flat'
            ' (did you mean "grate"?)'
        ),
    ),
    "sizes in disorder": (
        "[wood]\nsmall = 3\nlarge = 2\n",
        "pit.toml, line 17, wood.large: the sizes do not go up from small to medium to large",
    ),
    "a split that nobody lifts": (
        "[wood]\nlarge = 300\n",
        "pit.toml, line 16, wood.large: 300 lb is out of range; up to 220 lb",
    ),
    "a point for a grate": (
        "[[probes]]\nname = 'g2'\nrole = 'grate'\npoint = 200\n",
        'pit.toml, line 18, probes[2].point: is for meat, and "g2" has the role grate; leave it out',
    ),
    "a point no meat reaches": (
        "[[probes]]\nname = 'point'\npoint = 950\n",
        "pit.toml, line 17, probes[2].point: 950 F is out of range; from 32 up to 302 F",
    ),
}

TARGET = {
    "a pit as hot as a forge": (
        "temperature = 1500",
        "pit.toml, line 2, target.temperature: 1500 F is out of range; from 32 F up to 752 F",
    ),
    "a limit inside the band": (
        "temperature = 250\nband = 15\nhigh = 260",
        "pit.toml, line 4, target.high: the upper limit, 260 F, is not above the band, 235 F to 265 F",
    ),
    "a lower limit above the target": (
        "temperature = 250\nband = 15\nlow = 280",
        "pit.toml, line 4, target.low: the lower limit, 280 F, is not below the band, 235 F to 265 F",
    ),
    "a band wider than the usual limits": (
        "temperature = 250\nband = 50",
        "pit.toml, line 3, target.band: the upper limit, 295 F, is not above the band, 200 F to 300 F",
    ),
    "a band without bounds": (
        "band = 200\nhigh = 700",
        "pit.toml, line 2, target.band: 200 is out of range; up to 180 degrees F either way",
    ),
}


@pytest.mark.parametrize(("text", "message"), SHAPE.values(), ids=SHAPE)
def test_a_value_that_cannot_be_is_told_with_its_line_and_what_is_right(tmp_path, text, message):
    assert refusal(tmp_path, text) == [message]


@pytest.mark.parametrize(("text", "message"), SENSE.values(), ids=SENSE)
def test_values_that_do_not_go_together_are_told(tmp_path, text, message):
    assert refusal(tmp_path, GOOD + text) == [message]


@pytest.mark.parametrize(("text", "message"), TARGET.values(), ids=TARGET)
def test_a_target_that_makes_no_sense_is_told_in_the_cooks_degrees(tmp_path, text, message):
    assert refusal(tmp_path, "[target]\n" + text) == [message]


def test_everything_wrong_is_told_at_once_in_the_order_of_the_file(tmp_path):
    lines = refusal(
        tmp_path,
        "[pit]\nwall = 6\n[units]\ndegrees = 'K'\n[[probes]]\n[[probes]]\nname = 'a'\nlag_seconds = -1\n",
    )
    assert [line.split(": ")[0] for line in lines] == [
        "pit.toml, line 2, pit.wall",
        "pit.toml, line 4, units.degrees",
        "pit.toml, line 5, probes[0]",
        "pit.toml, line 8, probes[1].lag_seconds",
    ]


def test_a_secret_is_not_repeated_in_the_message(tmp_path):
    assert "hickory" not in "".join(refusal(tmp_path, "[mqtt.broker]\npassword = 'hickory'"))


def test_a_file_that_is_not_there_or_no_file_is_told(tmp_path):
    with pytest.raises(ConfigError, match=r"south\.toml: cannot be read: No such file"):
        load(tmp_path / "south.toml")
    with pytest.raises(ConfigError, match="cannot be read: Is a directory"):
        load(tmp_path)


def test_a_file_beyond_reason_is_not_read(tmp_path):
    (line,) = refusal(tmp_path, "# " + "x" * (1 << 20))
    assert line.endswith("more than 1048576 bytes; a pit's file is a page or two of text")


def test_a_file_nested_beyond_reason_is_told(tmp_path):
    (line,) = refusal(tmp_path, "a = " + "[" * 50_000)
    assert line.startswith("pit.toml: not a usable TOML file")
