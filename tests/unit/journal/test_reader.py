"""What a dashboard sees of a running watch."""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from itertools import pairwise

import msgspec
import pytest

from firebox.errors import JournalError
from firebox.journal.lock import Lock
from firebox.journal.reader import JournalLink, KeeperNote
from firebox.ports import Kind, SourceHealth, WatchLink
from firebox.records import Alarm, Fire, Move, Note, Outlook, Rake, Reading, Split, Tick
from firebox.setup import Setup

from .conftest import START, Writer, cook


@pytest.fixture
def link(writer: Writer) -> Iterator[JournalLink]:
    link = JournalLink(writer.path, "north")
    yield link
    link.close()


def test_the_link_is_a_watch_link(link: JournalLink) -> None:
    as_port: WatchLink = link
    assert as_port.status().pit == "north"


def test_the_first_news_is_the_cook_so_far_thinned(writer: Writer, link: JournalLink) -> None:
    writer.begin()
    writer.take(*cook(3600))
    writer.take(Reading(time=START + timedelta(hours=2), probe="grate0", celsius=300.0))
    writer.journal.commit()
    news = link.news()
    readings = [r for r in news if isinstance(r, Reading) and r.probe == "grate1"]
    gaps = [(b.time - a.time).total_seconds() for a, b in pairwise(readings)]
    assert len(readings) == 360
    assert min(gaps) >= 10
    assert sum(isinstance(r, Split) for r in news) == 6
    assert sum(isinstance(r, Alarm) for r in news) == 1
    assert [sum(isinstance(r, kind) for r in news) for kind in (Setup, Outlook, Move, Tick)] == [1] * 4
    assert [r.time for r in news] == sorted(r.time for r in news)


def test_the_fire_of_the_past_is_news_once_a_minute(writer: Writer, link: JournalLink) -> None:
    writer.begin()
    writer.take(*cook(3600))
    writer.journal.commit()
    fires = [r for r in link.news() if isinstance(r, Fire)]
    assert 60 <= len(fires) <= 60 + 2 + 6, "one a minute, one after each of the splits, and the newest"
    apart = [(b.time - a.time).total_seconds() for a, b in pairwise(fires)]
    assert max(apart) <= 60
    writer.take(*cook(120, first=3600))
    writer.journal.commit()
    assert sum(isinstance(r, Fire) for r in link.news()) == 1, "later news has the newest alone"


def test_later_news_is_all_that_came_since_and_nothing_twice(writer: Writer, link: JournalLink) -> None:
    writer.begin()
    writer.take(*cook(100))
    writer.journal.commit()
    assert link.news()
    assert link.news() == ()
    more = list(cook(7, first=100))
    writer.take(*more)
    writer.journal.commit()
    news = link.news()
    assert [r for r in news if isinstance(r, Reading | Tick)] == more
    assert sum(isinstance(r, Move) for r in news) == 1
    assert link.news() == ()


def test_news_begins_with_the_newest_cook(writer: Writer, link: JournalLink) -> None:
    writer.begin()
    writer.take(*cook(100))
    writer.setup = Setup(time=START + timedelta(hours=1), pit="second")
    writer.begin()
    writer.journal.commit()
    assert link.news() == [writer.setup]


def test_a_cook_that_begins_while_a_dashboard_looks_is_news(writer: Writer, link: JournalLink) -> None:
    writer.begin()
    writer.journal.commit()
    link.news()
    writer.setup = Setup(time=START + timedelta(hours=1), pit="second")
    writer.begin()
    writer.journal.commit()
    assert link.news() == [writer.setup]


def test_before_there_is_a_journal_there_is_no_news(writer: Writer) -> None:
    link = JournalLink(writer.path.with_name("none.db"))
    assert link.news() == ()
    assert not link.status().alive


def test_a_journal_that_was_exchanged_is_followed(writer: Writer, link: JournalLink) -> None:
    writer.begin()
    writer.take(*cook(20))
    writer.journal.commit()
    link.news()
    for end in ("", "-wal", "-shm"):
        writer.path.with_name(writer.path.name + end).unlink()
    writer.take(*cook(5, first=20))
    writer.journal.commit()
    news = link.news()
    assert [r for r in news if isinstance(r, Reading | Tick)] == list(cook(5, first=20))
    link.close()


def test_an_entry_that_is_left_waits_for_the_keeper(writer: Writer, link: JournalLink) -> None:
    writer.begin()
    writer.journal.commit()
    entry = Split(time=START, kg=1.4)
    link.leave(entry)
    link.leave(Note(time=START, text="still raining"))
    assert [found for _, found in writer.journal.inbox()] == [entry, Note(time=START, text="still raining")]
    assert writer.journal.inbox() == []


def test_an_entry_that_cannot_be_left_is_said_to_be_lost(writer: Writer) -> None:
    link = JournalLink(writer.path.with_name("no such folder") / "pit.db")
    with pytest.raises(JournalError, match="could not be left"):
        link.leave(Rake(time=START))


def test_whether_the_keeper_lives_is_told_by_its_lock(writer: Writer, link: JournalLink) -> None:
    assert not link.status().alive
    health = SourceHealth(connected=True, lines=12, last_problem="a torn line")
    note = KeeperNote(pit="yard", kind=Kind.PRACTICE, rate=20.0, sources={"node": health})
    lock = Lock.take(writer.path)
    lock.note("disk is full")
    writer.begin()
    writer.journal.describe_keeper(msgspec.json.encode(note).decode())
    writer.journal.commit()
    link.news()
    status = link.status()
    assert (status.alive, status.pit, status.kind, status.rate) == (True, "yard", Kind.PRACTICE, 20.0)
    assert status.pid is not None
    assert status.problem == "disk is full"
    assert status.sources == {"node": health}
    lock.close()
    assert not link.status().alive


def test_a_link_that_is_read_in_one_thread_may_be_closed_in_another(writer: Writer, link: JournalLink) -> None:
    writer.begin()
    writer.journal.commit()
    with ThreadPoolExecutor(1) as thread:
        assert thread.submit(link.news).result() == [writer.setup]
    link.close()
    assert not link.news()
