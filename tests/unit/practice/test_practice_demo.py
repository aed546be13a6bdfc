"""The demo scene: what a newcomer sees within minutes has to happen."""

from datetime import UTC, datetime, timedelta

import pytest

from firebox.practice.scenarios import DEMO, setup, stage
from firebox.records import Damper, DamperName, Entry, Reading, Split, Status

START = datetime(2026, 5, 2, 2, 0, tzinfo=UTC)


def play(hours: float, doings: dict[float, Entry] | None = None) -> list[Reading | Entry]:
    session = stage(DEMO)
    todo = dict(doings or {})
    records: list[Reading | Entry] = []
    for step in range(round(hours * 3600.0 / 10.0) + 1):
        seconds = 10.0 * step
        for due in [when for when in todo if when <= seconds]:
            session.act(todo.pop(due))
        records.extend(session.advance(START + timedelta(seconds=seconds)))
    return records


def grate(records: list[Reading | Entry], after: float = 0.0) -> list[float]:
    since = START + timedelta(seconds=after)
    return [
        r.celsius
        for r in records
        if isinstance(r, Reading) and r.probe == "grate" and r.celsius is not None and r.time >= since
    ]


@pytest.fixture(scope="module")
def evening() -> list[Reading | Entry]:
    return play(2.0)


def test_the_demo_begins_near_its_target(evening: list[Reading | Entry]) -> None:
    assert abs(grate(evening)[0] - setup(DEMO, START).target_celsius) < 8.0


def test_a_split_comes_due_and_is_logged_within_a_quarter_of_an_hour(evening: list[Reading | Entry]) -> None:
    splits = [r for r in evening if isinstance(r, Split)]
    assert splits[0].time - START < timedelta(minutes=15)


def test_the_split_makes_a_hump_of_some_degrees(evening: list[Reading | Entry]) -> None:
    first = next(r for r in evening if isinstance(r, Split))
    seconds = (first.time - START).total_seconds()
    dip = min(grate(evening, seconds)[:24])
    hump = max(grate(evening, seconds + 240.0)[:120])
    assert 6.0 < hump - dip < 40.0


def test_a_probe_falls_out_and_comes_back(evening: list[Reading | Entry]) -> None:
    said = [r.status for r in evening if isinstance(r, Reading) and r.probe == "grate2"]
    assert Status.OPEN in said
    assert said[0] is Status.GOOD
    assert said[-1] is Status.GOOD


def test_the_fire_runs_away_from_a_split_too_large_and_an_intake_left_open(evening: list[Reading | Entry]) -> None:
    assert max(grate(evening, 3600.0)) > setup(DEMO, START).target_celsius + 25.0


def test_the_intake_left_open_is_never_logged(evening: list[Reading | Entry]) -> None:
    opened = [r for r in evening if isinstance(r, Damper) and r.damper is DamperName.INTAKE and r.open > 0.9]
    assert not opened


def test_shutting_the_intake_in_time_tames_it() -> None:
    shut = Damper(time=START, damper=DamperName.INTAKE, open=0.2)
    calm = play(2.0, {72.0 * 60.0: shut})
    wild = play(2.0)
    assert max(grate(calm, 4500.0)) < max(grate(wild, 4500.0)) - 8.0


def test_the_cooks_own_split_warms_the_pit_and_keeps_the_hand_away() -> None:
    mine = play(0.6, {60.0: Split(time=START, kg=1.6)})
    assert max(grate(mine, 600.0)) > 125.0
    hands = [r for r in mine if isinstance(r, Split)]
    assert all(r.time - START > timedelta(minutes=14) for r in hands)


def test_every_entry_of_the_hand_has_a_name_of_its_own(evening: list[Reading | Entry]) -> None:
    names = [record.id for record in evening if isinstance(record, Entry)]
    assert len(set(names)) == len(names)
    assert None not in names


def test_the_same_scene_plays_the_same_twice() -> None:
    assert play(0.5) == play(0.5)
