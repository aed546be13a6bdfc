"""A practice session: what the person at the keys does happens to the fire."""

from datetime import UTC, datetime, timedelta

import pytest
from msgspec.structs import replace

from firebox.practice.scenarios import DEMO, setup, stage
from firebox.practice.session import Session
from firebox.records import (
    Damper,
    DamperName,
    Door,
    DoorName,
    Lit,
    MeatOn,
    Note,
    Rake,
    Reading,
    Split,
    decode,
    encode,
)
from firebox.setup import Role

START = datetime(2026, 5, 2, 2, 0, tzinfo=UTC)


@pytest.fixture
def alone() -> Session:
    """Return a warm session that nobody but the person at the keys tends."""
    session = stage(replace(DEMO, style=None))
    session.advance(START)
    return session


def test_a_split_goes_on_with_the_door_open_for_half_a_minute(alone: Session) -> None:
    wood = alone.fire.wood_left()
    alone.act(Split(time=START, kg=1.5, moisture=0.2))
    assert alone.fire.firebox_door
    assert alone.fire.wood_left() == pytest.approx(wood + 1.5 / 1.2, rel=0.01)
    alone.advance(START + timedelta(seconds=40))
    assert not alone.fire.firebox_door


def test_a_split_without_a_weight_is_a_usual_one(alone: Session) -> None:
    wood = alone.fire.wood_left()
    alone.act(Split(time=START))
    assert alone.fire.wood_left() - wood == pytest.approx(DEMO.build.usual_split_kg / 1.18, rel=0.01)


def test_dampers_and_doors_move(alone: Session) -> None:
    alone.act(Damper(time=START, damper=DamperName.STACK, open=0.5))
    alone.act(Door(time=START, door=DoorName.COOK, open=True))
    assert alone.fire.stack == 0.5
    assert alone.fire.cook_door


def test_ash_can_be_raked_meat_put_on_and_the_fire_lit_again(alone: Session) -> None:
    alone.fire.hearth.ash = 1.0
    coals = alone.fire.hearth.coals
    alone.act(Rake(time=START))
    alone.act(MeatOn(time=START))
    alone.act(Lit(time=START, kg=2.0))
    assert alone.fire.hearth.ash < 0.5
    assert alone.fire.chamber.meat_kg > 0.0
    assert alone.fire.hearth.coals > coals + 0.4


def test_a_note_leaves_the_fire_alone(alone: Session) -> None:
    before = alone.fire.stored()
    alone.act(Note(time=START, text="smells good"))
    assert alone.fire.stored() == before


def test_time_never_runs_back(alone: Session) -> None:
    alone.advance(START + timedelta(minutes=5))
    seconds = alone.fire.seconds
    alone.advance(START + timedelta(minutes=1))
    assert alone.fire.seconds == seconds


def test_what_a_session_says_are_records_that_travel(alone: Session) -> None:
    said = alone.advance(START + timedelta(seconds=10))
    assert {record.probe for record in said if isinstance(record, Reading)} == {"grate", "grate2", "flat", "ambient"}
    assert all(decode(encode(record)) == record for record in said)


def test_the_setup_names_every_probe_that_reads(alone: Session) -> None:
    told = setup(DEMO, START)
    roles = {probe.name: probe.role for probe in told.probes}
    assert roles["flat"] is Role.MEAT
    assert set(roles) == {gauge.name for gauge in alone.panel.gauges}
    assert decode(encode(told)) == told


def test_the_setup_of_a_session_tells_how_its_dampers_stand(alone: Session) -> None:
    told = setup(DEMO, START, alone)
    assert told.intake_open == pytest.approx(alone.fire.intake, abs=1e-3)
    assert told.stack_open == pytest.approx(alone.fire.stack, abs=1e-3)


def test_a_fire_that_nobody_tends_dies(alone: Session) -> None:
    alone.advance(START + timedelta(hours=3))
    assert alone.panel.felt("grate") < 90.0


def test_what_is_told_of_earlier_is_not_done_once_more(alone: Session) -> None:
    wood = alone.fire.wood_left()
    alone.act(Split(time=START, at=START - timedelta(minutes=5), kg=1.5))
    assert alone.fire.wood_left() == wood
    assert not alone.fire.firebox_door
