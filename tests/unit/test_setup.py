"""What the owner tells of a pit: roles by name, and limits that go with the target."""

from datetime import UTC, datetime

import msgspec
import pytest

from firebox.errors import RecordError
from firebox.records import decode, encode
from firebox.setup import LIMIT_KELVIN, Probe, Role, Setup, high_limit, low_limit, role_of

NOW = datetime(2026, 5, 2, 4, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("name", "role"),
    [
        ("grate", Role.GRATE),
        ("grate2", Role.GRATE),
        ("Grate 12", Role.GRATE),
        ("grate-2", Role.GRATE),
        ("stack", Role.STACK),
        ("firebox", Role.FIREBOX),
        ("firebox_1", Role.FIREBOX),
        ("ambient", Role.AMBIENT),
        ("meat", Role.MEAT),
        ("meat3", Role.MEAT),
        ("flat", Role.MEAT),
        ("great", Role.MEAT),
        ("grate left", Role.MEAT),
        ("7", Role.MEAT),
    ],
)
def test_without_a_configuration_the_name_gives_the_role(name, role):
    assert role_of(name) is role


def test_a_configured_role_goes_before_the_name():
    setup = Setup(time=NOW, probes=(Probe(name="grate", role=Role.AMBIENT),))
    assert role_of("grate", setup) is Role.AMBIENT
    assert role_of("grate2", setup) is Role.GRATE


def test_limits_the_owner_did_not_give_keep_their_distance_from_the_target():
    setup = Setup(time=NOW)
    assert (high_limit(setup, 110.0), low_limit(setup, 110.0)) == (110 + LIMIT_KELVIN, 110 - LIMIT_KELVIN)


def test_limits_the_owner_gave_move_with_the_target():
    setup = Setup(time=NOW, target_celsius=120, high_celsius=150, low_celsius=105)
    assert (high_limit(setup, 120), low_limit(setup, 120)) == (150, 105)
    assert (high_limit(setup, 130), low_limit(setup, 130)) == (160, 115)


def test_a_setup_is_a_record_like_any_other():
    setup = Setup(time=NOW, pit="north", probes=(Probe(name="flat", role=Role.MEAT, point_celsius=95),))
    assert decode(encode(setup)) == setup


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("target_celsius", 500),
        ("band", 0),
        ("damper_marks", 1),
        ("intake_open", 1.5),
        ("wood", {"small_kg": 0}),
        ("pit", ""),
    ],
)
def test_a_setup_from_outside_is_held_to_its_ranges(field, value):
    line = msgspec.json.encode({"type": "setup", "time": "2026-05-02T04:00:00Z", field: value})
    with pytest.raises(RecordError, match=field):
        decode(line)
