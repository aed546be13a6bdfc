"""Which cooks of a journal teach what is known of a pit."""

import shutil
from datetime import timedelta

import pytest
from msgspec.structs import replace

from firebox import study
from firebox.errors import JournalError
from firebox.journal import teaching
from firebox.ports import Kind
from firebox.records import Out, Reading, Undo
from firebox.setup import KnownPit

from .conftest import START


@pytest.fixture
def studied(monkeypatch):
    """Return the cooks that were gone over, by their beginning; each teaches that it was."""
    seen = []

    def stand_in(records, before):
        first = next(iter(records))
        seen.append(first.time)
        cooks = (*(before.cooks if before else ()), first.time)
        return KnownPit(parameters={}, cooks=cooks, hours=1.0, learned=first.time)

    monkeypatch.setattr(study, "study", stand_in)
    return seen


def begin(writer, days, kind=Kind.LIVE, minutes=120):
    time = START + timedelta(days=days)
    writer.journal.begin_cook(replace(writer.setup, time=time), kind)
    writer.take(Reading(time=time + timedelta(minutes=minutes), probe="grate", celsius=110.0))
    writer.journal.commit()
    return time


def test_every_cook_that_is_over_teaches_once_in_order(writer, studied):
    begun = [begin(writer, days) for days in (0, 7, 14)]
    known = teaching.learned(writer.path, None)
    assert studied == begun
    assert teaching.learned(writer.path, known) is known
    later = begin(writer, 21)
    assert teaching.learned(writer.path, known).cooks == (*begun, later)
    assert studied == [*begun, later]


def test_a_cook_that_goes_on_waits_and_what_was_practised_never_counts(writer, studied):
    first = begin(writer, 0)
    begin(writer, 7, Kind.PRACTICE)
    going_on = begin(writer, 14)
    teaching.learned(writer.path, None, until=going_on)
    assert studied == [first]


def test_of_many_cooks_only_the_newest_are_gone_over_and_it_is_said(writer, studied):
    begun = [begin(writer, days) for days in range(teaching.MOST + 2)]
    said = []
    teaching.learned(writer.path, None, say=said.append)
    assert studied == begun[2:]
    assert said[-1] == f"cook {teaching.MOST + 2}: learned from it"


def test_only_a_cook_of_two_hours_is_worth_going_over(writer):
    begin(writer, 0, minutes=30)
    assert not teaching.is_due(writer.path)
    begin(writer, 1, Kind.PRACTICE)
    assert not teaching.is_due(writer.path)
    begin(writer, 2)
    assert teaching.is_due(writer.path)


def test_a_journal_that_is_none_is_told(tmp_path, writer):
    with pytest.raises(JournalError):
        teaching.learned(tmp_path / "none.sqlite", None)
    broken = tmp_path / "broken.sqlite"
    begin(writer, 0)
    shutil.copy(writer.path, broken)
    broken.write_bytes(broken.read_bytes()[:4096] + b"x" * 20000)
    with pytest.raises(JournalError):
        teaching.learned(broken, None)


def test_a_cook_goes_on_until_its_fire_is_let_out(writer):
    begun = begin(writer, 0)
    assert teaching.going_on(writer.path) == begun
    time = begun + timedelta(hours=3)
    writer.take(Out(time=time, id="out"))
    writer.journal.commit()
    assert teaching.going_on(writer.path) is None
    writer.take(Undo(time=time, of="out"))
    writer.journal.commit()
    assert teaching.going_on(writer.path) == begun
    writer.journal.end_cook(time)
    writer.journal.commit()
    assert teaching.going_on(writer.path) is None
