"""Time in the band, and how a cook is laid out by the clock."""

from datetime import timedelta

import numpy as np
import pytest

from firebox.records import Awake, Clock, Health, Note, Out, Resumed, Sleep, Target, Undo
from firebox.review.chronicle import Span, chronicle
from firebox.review.holding import held
from firebox.review.sheet import sheet
from firebox.review.wording import Look

from .hand_made import START, at, cook, damper, door, health, lit, looked, readings, setup, split


def test_the_time_in_the_band_is_counted_from_the_arrival_there():
    records = cook(240, lambda m: 20.0 + m if m < 100 else 120.0 if m < 190 else 135.0, lit(10))
    held_ = looked(records).holding
    assert held_.arrived_after_minutes == pytest.approx(92.0 - 10.0, abs=0.5)
    assert held_.minutes == pytest.approx(148.0, abs=0.5)
    assert held_.inside == pytest.approx(98.0 / 148.0, abs=0.01)
    assert held_.above == pytest.approx(50.0 / 148.0, abs=0.01)
    assert held_.below == 0.0
    assert held_.longest_minutes == pytest.approx(98.0, abs=0.5)
    assert [round(hour.inside_minutes) for hour in held_.hours] == [60, 38, 0]


def test_the_dying_fire_after_the_end_does_not_count():
    records = cook(200, lambda m: 120.0 if m < 100 else 120.0 - (m - 100), lit(0), Out(time=at(100)))
    held_ = looked(records).holding
    assert held_.minutes == pytest.approx(100.0, abs=0.5)
    assert held_.inside == 1.0


def test_a_pit_that_only_passes_through_its_band_has_not_come_to_it():
    holding = looked(cook(60, lambda m: 20.0 + 40.0 * m if m < 5 else 200.0)).holding
    assert holding.arrived_after_minutes is None
    assert holding.arrived_seconds is None


def test_what_no_trusted_probe_heard_is_neither_inside_nor_outside():
    records = cook(120, lambda m: None if 60 <= m < 80 else 120.0)
    held_ = looked(records).holding
    assert held_.unknown_minutes == pytest.approx(20.0, abs=0.5)
    assert held_.inside == 1.0


def test_a_moved_target_is_held_from_then_on():
    records = cook(120, lambda m: 120.0 if m < 60 else 140.0, Target(time=at(60), celsius=140.0, band=5.0))
    assert looked(records).holding.inside == 1.0


def test_a_probe_that_is_not_trusted_does_not_stand_for_the_pit():
    bad = [health(30, Health.OPEN), health(50, Health.GOOD)]
    records = cook(60, lambda m: 300.0 if 30 < m < 50 else 120.0, *bad, *readings(60, lambda _: 118.0, "grate2"))
    pit = chronicle(records).pit
    assert pit[6 * 40] == 118.0
    assert pit[6 * 20] == pit[6 * 55] == 120.0


def test_a_single_reading_that_stands_out_is_no_temperature_of_the_pit():
    pit = chronicle(cook(20, lambda m: 400.0 if m == 10.0 else 120.0)).pit
    assert np.nanmax(pit) == 120.0


def test_a_clock_that_was_set_takes_no_time():
    hour = timedelta(hours=1)
    before = [setup(), *readings(30, lambda _: 120.0)]
    clock = Clock(time=at(30), to=at(30) + hour)
    after = [type(r)(time=r.time + hour, probe="grate", celsius=120.0) for r in readings(60, lambda _: 120.0)[181:]]
    told = chronicle([*before, clock, *after])
    assert told.end == 3600.0
    assert told.epoch == START + hour
    assert np.isfinite(told.pit).all()


def test_notes_that_were_taken_back_are_not_told():
    notes = [
        Note(time=at(1), id="a", text="kept"),
        Note(time=at(2), id="b", text="gone"),
        Note(time=at(3), id="c", text="back"),
    ]
    undos = [Undo(time=at(4), id="u1", of="b"), Undo(time=at(5), id="u2", of="c"), Undo(time=at(6), id="u3", of="u2")]
    assert [text for _, text in looked(cook(10, lambda _: 120.0, *notes, *undos)).notes] == ["kept", "back"]


def test_doors_and_dampers_are_told_as_spans_and_steps():
    told = chronicle(cook(60, lambda _: 120.0, *door(10, 2), damper(20, 0.25), damper(30, 0.75), split(15)))
    assert told.doors(door(10, 2)[0].door) == (Span(start=600.0, end=720.0),)
    assert told.damper_moves(damper(20, 0.25).damper) == ((1200.0, 0.5, 0.25), (1800.0, 0.25, 0.75))


def test_a_gap_in_which_nobody_watched_is_told():
    told = looked(cook(60, lambda m: 120.0 if m < 20 or m > 40 else None, Resumed(time=at(40), gap_seconds=1200.0)))
    assert told.gap_minutes == 20.0


def test_a_cook_that_is_lit_again_is_held_until_its_last_fire_is_let_out():
    records = cook(300, lambda _: 120.0, lit(0), Out(time=at(100)), lit(150), Out(time=at(250)))
    span = held(chronicle(records))
    assert span == Span(start=0.0, end=250.0 * 60.0)


def test_how_the_pit_did_while_the_cook_slept():
    naps = [Sleep(time=at(60)), Awake(time=at(120)), Sleep(time=at(150))]
    made = looked(cook(180, lambda m: 120.0 if m < 90 else 140.0, *naps))
    assert [(one.seconds, one.minutes) for one in made.slept] == [(3600.0, 60.0), (9000.0, 30.0)]
    assert [one.inside for one in made.slept] == [pytest.approx(0.5, abs=0.01), 0.0]
    words = sheet(made, Look()).sections[0].words
    assert "You slept from 17:00 for 1\u00a0h\u00a000; the pit was in its band for 50\u00a0% of it." in words
