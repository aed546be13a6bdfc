"""The checker of a pit's file says no exactly where the types say no, and always says where."""

import tomllib
from pathlib import Path
from typing import Any

import msgspec
from hypothesis import given, settings
from hypothesis import strategies as st

from firebox.config import load
from firebox.config.check import dotted, shape_problems
from firebox.config.locator import locate
from firebox.config.schema import Config, shape
from firebox.errors import ConfigError

KEYS = sorted(
    {
        *Config.__struct_fields__,
        *(
            "name",
            "role",
            "kind",
            "port",
            "lines",
            "format",
            "pattern",
            "columns",
            "topics",
            "topic",
            "probe",
            "broker",
        ),
        *("host", "tls", "password", "marks", "temperature", "degrees", "clock", "theme", "bell", "fields", "words"),
        *("seed", "file", "point", "unit", "nonsense"),
    }
)
scalars = st.one_of(
    st.booleans(),
    st.integers(-5, 2**70),
    st.floats(),
    st.text(max_size=4),
    st.sampled_from(["grate", "F", "C", "serial", "mqtt", "practice", "json", "open", "night", 12, 24, 8, 0.5, 250]),
)
values = st.recursive(
    scalars,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(KEYS), inner, max_size=4),
    max_leaves=8,
)
wired = st.fixed_dictionaries(
    {"probe": st.text(max_size=3)},
    optional={
        "id": st.sampled_from(["28-0316a2797c3f", "28"]), "device": scalars, "channel": scalars,
        "thermocouple": st.sampled_from(["K", "Q"]),
        "kind": st.sampled_from(["max31855", "max31865", "ads1115", "serial"]), "select": scalars, "mains": scalars,
        "register": scalars, "codes": st.sampled_from([{}, {"32767": "open"}, {"x": "open"}, {"1": "good"}]),
        "sensor": st.fixed_dictionaries(
            {"kind": st.sampled_from(["thermistor", "platinum", "serial"])},
            optional={"beta": scalars, "ohm": scalars, "series_ohm": scalars, "reference_ohm": scalars, "points": values},
        ),
    },
)  # fmt: skip
sources = st.fixed_dictionaries(
    {"kind": st.sampled_from(["serial", "mqtt", "replay", "practice", "iio", "hwmon", "onewire", "spi", "i2c", "modbus"])},
    optional={
        "port": st.just("/dev/x"), "file": st.just("f"), "topics": values, "lines": values, "seed": scalars,
        "probes": st.lists(wired, max_size=2) | values, "every": scalars,
    },
)  # fmt: skip
probes = st.fixed_dictionaries(
    {"name": st.text(max_size=3)}, optional={"role": st.sampled_from(["grate", "meat", "x"]), "point": scalars}
)
files = st.fixed_dictionaries(
    {},
    optional={
        "pit": st.dictionaries(st.sampled_from(["name", "wall_mm", "firebox_insulated"]), scalars) | values,
        "units": st.dictionaries(st.sampled_from(["degrees", "mass", "clock"]), scalars),
        "target": st.dictionaries(st.sampled_from(["temperature", "band", "high", "low"]), scalars),
        "dampers": st.dictionaries(st.sampled_from(["marks", "intake_open"]), scalars),
        "probes": st.lists(probes, max_size=3) | values,
        "sources": st.lists(sources, max_size=3) | values,
        "mqtt": values,
        "dashboard": st.dictionaries(st.sampled_from(["theme", "ascii"]), scalars),
        "nonsense": values,
    },
)


def is_finite(value: Any) -> bool:
    if isinstance(value, dict):
        return all(map(is_finite, value.values()))
    if isinstance(value, list):
        return all(map(is_finite, value))
    return not isinstance(value, float) or abs(value) < 1e300


@settings(max_examples=300)
@given(files)
def test_the_checker_and_the_types_agree(plain):
    flaws = list(shape_problems(plain, shape()))
    try:
        msgspec.convert(plain, Config)
    except msgspec.ValidationError:
        assert flaws
    else:
        assert not flaws or not is_finite(plain), [(dotted(flaw.place), flaw.text) for flaw in flaws]
    assert all(flaw.text for flaw in flaws)


def toml(value: Any) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f'"{key}" = {toml(item)}' for key, item in value.items()) + "}"
    if isinstance(value, list):
        return "[\n" + ",\n".join(map(toml, value)) + "\n]"
    if isinstance(value, float):
        return str(value)
    return msgspec.json.encode(value).decode().replace("\x7f", "\\u007f") if abs_small(value) else str(value)


def abs_small(value: Any) -> bool:
    return not isinstance(value, int) or isinstance(value, bool) or abs(value) < 2**60


@given(files)
def test_each_thing_that_is_wrong_has_a_line_of_the_file(tmp_path_factory, plain):
    text = "".join(f"{key} = {toml(value)}\n" for key, value in plain.items())
    lines = locate(text)
    path = tmp_path_factory.getbasetemp() / "any.toml"
    path.write_text(text, encoding="utf-8")
    for flaw in shape_problems(tomllib.loads(text), shape()):
        assert flaw.place in lines
    assert all(line.startswith("any.toml, line ") for line in refusal(path))


def refusal(path: Path) -> list[str]:
    try:
        load(path)
    except ConfigError as error:
        return str(error).splitlines()
    return []
