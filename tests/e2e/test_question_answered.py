"""A question of the watch on the real dashboard, over a real keeper: one key, and the journal has the split."""

from datetime import UTC, datetime, timedelta

import pytest

from firebox import config
from firebox.journal.lock import holder
from firebox.journal.reader import JournalLink
from firebox.journal.writer import Journal
from firebox.ports import Kind
from firebox.records import Answer, Lit, Question, Reading, Split
from tests.e2e.test_dashboard_tmux import Evening, evening, pytestmark
from tests.terminal import until

__all__ = ["evening", "pytestmark"]


def asked(evening: Evening) -> datetime:
    """Write a cook of half an hour that ends with a question, and return when what it asks about would have been."""
    now = datetime.now(UTC).replace(microsecond=0)
    begun, happened = now - timedelta(minutes=30), now - timedelta(minutes=12)
    evening.journal.parent.mkdir(parents=True)
    book = Journal(evening.journal)
    book.begin_cook(config.load(evening.config).setup(begun), Kind.LIVE)
    book.take(Lit(time=begun, id="lit", kg=2.0))
    for second in range(10, 1780, 10):
        book.take(Reading(time=begun + timedelta(seconds=second), probe="grate", celsius=119.0 + second % 7 * 0.1))
    suggests = Split(time=happened, at=happened)
    book.tell(
        (Question(time=now - timedelta(seconds=20), question="split-1080", text="?", open=True, suggests=suggests),)
    )
    book.commit()
    book.close()
    return happened


@pytest.mark.parametrize(("key", "kind"), [("Y", Split), ("N", Answer)])
def test_a_question_is_answered_with_one_key(evening: Evening, key: str, kind: type) -> None:
    happened = asked(evening)
    terminal = evening.watched(columns=100, lines=30)
    link, found = JournalLink(evening.journal), []
    try:
        terminal.shows("Did a split go on about")
        until("the keeper holds the pit", lambda: holder(evening.journal) is not None)
        terminal.press(key)

        def entered() -> bool:
            found.extend(record for record in link.news() if isinstance(record, kind))
            return any(getattr(record, "at", None) == happened for record in found)

        until("the answer is in the journal", entered)
        until("the question is gone", lambda: "Did a split go on" not in terminal.screen())
    finally:
        terminal.kill()
        link.close()
