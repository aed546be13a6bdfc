"""The records as they stand in the published interface: these lines keep their meaning."""

from datetime import UTC, datetime, timedelta

import pytest

from firebox.errors import RecordError, UnknownRecordError
from firebox.records import (
    Acknowledge,
    Alarm,
    AlarmState,
    Damper,
    DamperName,
    Door,
    DoorName,
    Lit,
    Pit,
    Priority,
    Rake,
    Reading,
    Split,
    Status,
    Target,
    Tick,
    decode,
    encode,
    from_plain,
    payload,
    unknown_fields,
)

TIME = datetime(2026, 5, 2, 4, 10, 5, tzinfo=UTC)
STAMP = '"time":"2026-05-02T04:10:05Z"'

PUBLISHED = [
    (f'{{"type":"reading",{STAMP},"probe":"grate","celsius":121.4,"status":"good"}}', Reading(time=TIME, probe="grate", celsius=121.4)),
    (f'{{"type":"reading",{STAMP},"probe":"grate","celsius":null,"status":"open"}}', Reading(time=TIME, probe="grate", status=Status.OPEN)),
    (
        f'{{"type":"entry",{STAMP},"entry":"split","kg":1.4,"species":"oak","moisture":0.18}}',
        Split(time=TIME, kg=1.4, species="oak", moisture=0.18),
    ),
    (f'{{"type":"entry",{STAMP},"entry":"split"}}', Split(time=TIME)),
    (f'{{"type":"entry",{STAMP},"entry":"damper","damper":"intake","open":0.5}}', Damper(time=TIME, damper=DamperName.INTAKE, open=0.5)),
    (f'{{"type":"entry",{STAMP},"entry":"damper","damper":"stack","open":1}}', Damper(time=TIME, damper=DamperName.STACK, open=1)),
    (f'{{"type":"entry",{STAMP},"entry":"door","door":"cook","open":true}}', Door(time=TIME, door=DoorName.COOK, open=True)),
    (f'{{"type":"entry",{STAMP},"entry":"door","door":"firebox","open":false}}', Door(time=TIME, door=DoorName.FIREBOX, open=False)),
    (f'{{"type":"entry",{STAMP},"entry":"target","celsius":121,"band":8}}', Target(time=TIME, celsius=121, band=8)),
    (f'{{"type":"entry",{STAMP},"entry":"lit","kg":2.5}}', Lit(time=TIME, kg=2.5)),
    (f'{{"type":"entry",{STAMP},"entry":"rake"}}', Rake(time=TIME)),
    (
        f'{{"type":"entry",{STAMP},"entry":"pit","chamber_litres":950,"wall_mm":8,"firebox_insulated":false,"usual_split_kg":2.2}}',
        Pit(time=TIME, chamber_litres=950, wall_mm=8, firebox_insulated=False, usual_split_kg=2.2),
    ),
    (f'{{"type":"entry",{STAMP},"entry":"acknowledge","alarm":"fire-dying"}}', Acknowledge(time=TIME, alarm="fire-dying")),
    (f'{{"type":"tick",{STAMP}}}', Tick(time=TIME)),
]  # fmt: skip


@pytest.mark.parametrize(("line", "record"), PUBLISHED, ids=[line[9:70] for line, _ in PUBLISHED])
def test_a_published_line_means_what_it_always_meant(line, record):
    assert decode(line) == record


def test_an_alarm_is_told_with_the_published_words():
    alarm = Alarm(
        time=TIME, alarm="fire-dying", state=AlarmState.UNACKNOWLEDGED, priority=Priority.HIGH, probe="grate",
        text="The fire is dying.", first="Look at the coals.", minutes_until=18.0,
    )  # fmt: skip
    assert encode(alarm) == (
        b'{"type":"alarm","time":"2026-05-02T04:10:05Z","alarm":"fire-dying","state":"unacknowledged",'
        b'"priority":"high","probe":"grate","text":"The fire is dying.","first":"Look at the coals.","minutes_until":18.0}'
    )
    assert payload(alarm).startswith(b'{"time":"2026-05-02T04:10:05Z","alarm":"fire-dying"')


def test_the_states_of_an_alarm_are_those_of_the_standard():
    assert [str(state) for state in AlarmState] == [
        "normal", "unacknowledged", "acknowledged", "returned-unacknowledged", "shelved", "suppressed", "out-of-service",
    ]  # fmt: skip


def test_a_time_keeps_its_offset():
    tick = decode('{"type":"tick","time":"2026-05-02T06:10:05+02:00"}')
    assert tick.time == TIME
    assert tick.time.utcoffset() == timedelta(hours=2)


def test_unknown_fields_are_named_and_passed_over():
    plain = {"type": "tick", "time": "2026-05-02T04:10:05Z", "zeal": 1, "mood": 2}
    assert unknown_fields(plain, from_plain(plain)) == ["mood", "zeal"]


def test_unknown_fields_of_a_part_are_named_with_it():
    probes = [{"name": "grate", "role": "grate"}, {"name": "flat", "role": "meat", "breed": "x"}]
    plain = {"type": "setup", "time": "2026-05-02T04:10:05Z", "probes": probes, "wood": {"bark": True}}
    assert unknown_fields(plain, from_plain(plain)) == ["probes.breed", "wood.bark"]


@pytest.mark.parametrize("line", [f'{{"type":"weather",{STAMP}}}', f'{{"type":"entry","entry":"dance",{STAMP}}}'])
def test_a_type_of_a_later_version_is_told_apart_from_nonsense(line):
    with pytest.raises(UnknownRecordError, match="is not a known"):
        decode(line)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("", "not JSON"),
        ("[]", "not a JSON object"),
        (f"{{{STAMP}}}", 'no "type"'),
        ('{"type":"tick"}', "time"),
        (
            '{"type":"tick","time":"2026-05-02T04:10:05"}',
            "timezone.*; a time is written with its offset, as in 2026-05-02T04:10:05Z",
        ),
        (f'{{"type":"reading",{STAMP},"probe":"grate"}}', "celsius is null exactly when not good"),
        (f'{{"type":"reading",{STAMP},"probe":"grate","celsius":1,"status":"open"}}', "exactly when not good"),
        (f'{{"type":"reading",{STAMP},"probe":"grate","celsius":3001}}', "celsius"),
        (f'{{"type":"entry",{STAMP},"entry":"damper","damper":"flue","open":1}}', "damper.*; one of intake, stack"),
        (f'{{"type":"entry",{STAMP},"entry":"target","celsius":121,"band":0}}', "band"),
    ],
)
def test_nonsense_is_refused_in_words(line, words):
    with pytest.raises(RecordError, match=words):
        decode(line)
