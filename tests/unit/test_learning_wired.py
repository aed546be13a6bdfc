"""From a journal to what is known of its pit, and from there to the setup that the next cook begins with."""

import logging
from datetime import UTC, datetime, timedelta

import pytest

from firebox import wiring
from firebox.config import locations
from firebox.config.schema import Config, PitTable, ProbeTable
from firebox.errors import JournalError
from firebox.journal.writer import Journal
from firebox.ports import Kind
from firebox.records import Lit, Out, Reading, Split
from firebox.setup import KnownPit, Learned
from firebox.wiring import lore

BEGUN = datetime(2026, 5, 2, 16, tzinfo=UTC)


@pytest.fixture
def watched(tmp_path, monkeypatch):
    monkeypatch.setenv("FIREBOX_HOME", str(tmp_path))
    config = Config(pit=PitTable(name="north"), probes=(ProbeTable(name="grate"),))
    return wiring.configured(config, None)


def cook(watched, hours):
    """Write a cook in which a pit comes up to its target and rises and falls with its splits."""
    watched.journal.parent.mkdir(parents=True, exist_ok=True)
    book = Journal(watched.journal)
    book.begin_cook(watched.config.setup(BEGUN), Kind.LIVE)
    book.take(Lit(time=BEGUN, id="lit", kg=2.0))
    for second in range(20, round(3600 * hours), 20):
        time, since = BEGUN + timedelta(seconds=second), second % 2400 / 60.0
        if second % 2400 == 0:
            book.take(Split(time=time, id=f"split-{second}", kg=1.2))
        hump = 12.0 * (since / 12.0) * 2.718 ** (1.0 - since / 12.0)
        book.take(
            Reading(
                time=time, probe="grate", celsius=round(15.0 + (1.0 - 2.718 ** (-second / 1500.0)) * 100.0 + hump, 2)
            )
        )
    book.commit()
    book.close()


def test_a_cook_that_is_over_is_learned_from_kept_and_begun_with(watched):
    cook(watched, 2.4)
    said = []
    found = wiring.learn(watched, say=said.append)
    assert said == ["cook 1: learned from it"]
    assert found.cooks == (BEGUN,)
    assert wiring.known(watched) == found
    assert locations.known_file("north").exists()
    assert lore.knowing(watched, watched.config.setup)(BEGUN).known == found
    assert wiring.learn(watched, say=said.append) == found
    assert len(said) == 1
    assert wiring.forget(watched)
    assert wiring.known(watched) is None
    assert not wiring.forget(watched)


def test_a_short_cook_teaches_nothing_and_writes_nothing(watched):
    cook(watched, 0.5)
    assert wiring.learn(watched) is None
    assert not locations.known_file("north").exists()


def test_without_a_journal_there_is_nothing_to_learn_from(watched):
    with pytest.raises(JournalError):
        wiring.learn(watched)


def test_a_store_that_cannot_be_read_keeps_nobody_from_watching(watched, caplog):
    path = locations.known_file("north")
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("spoiled")
    with caplog.at_level(logging.WARNING):
        assert lore.knowing(watched, watched.config.setup)(BEGUN).known is None
    assert "begun without what earlier cooks taught" in caplog.text


def test_only_after_a_long_cook_a_process_is_left_to_learn(watched, monkeypatch):
    left = []
    monkeypatch.setattr("firebox.keeper.background.leave", lambda command, output: left.append(command))
    lore.learn_later(watched)
    cook(watched, 0.5)
    lore.learn_later(watched)
    assert not left
    watched.journal.unlink()
    cook(watched, 2.0)
    lore.learn_later(watched)
    assert left == [watched.learn_command()]
    assert left[0][-2:] == ["review", "--learn"]


def test_a_fire_that_is_let_out_is_learned_from_while_its_keeper_goes_on(watched, monkeypatch):
    left = []
    monkeypatch.setattr("firebox.keeper.background.leave", lambda command, output: left.append(command))
    cook(watched, 2.0)
    heed = lore.heeding(watched)
    heed(Lit(time=BEGUN))
    assert not left
    heed(Out(time=BEGUN))
    assert len(left) == 1


def test_what_is_known_is_a_part_of_the_setup_and_so_of_every_journal(watched):
    known = KnownPit(parameters={"heat": Learned(value=0.8, spread=0.1)}, cooks=(BEGUN,), hours=9.0, learned=BEGUN)
    from firebox.config import known as kept  # noqa: PLC0415

    kept.keep(locations.known_file("north"), known)
    assert lore.knowing(watched, watched.config.setup)(BEGUN).known == known
