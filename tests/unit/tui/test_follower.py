"""The one thread that talks to the watch."""

import threading
from datetime import UTC, datetime

import pytest

from firebox.errors import JournalError
from firebox.ports import KeeperStatus, Kind
from firebox.records import Rake, Tick
from tui.follow import Follower
from tui.messages import Delivered, Seen
from tui.view import ViewState

START = datetime(2026, 5, 2, 4, 0, tzinfo=UTC)
PATIENCE = 5.0


class Link:
    """Remembers who called what; does what the test laid into it."""

    def __init__(self):
        self.batches, self.left, self.callers, self.closed = [], [], set(), False
        self.problem = None

    def news(self):
        self.callers.add(threading.current_thread().name)
        if self.problem:
            raise self.problem
        return self.batches.pop(0) if self.batches else ()

    def status(self):
        self.callers.add(threading.current_thread().name)
        return KeeperStatus(alive=True, pit="p", kind=Kind.LIVE, rate=1.0)

    def leave(self, entry):
        self.callers.add(threading.current_thread().name)
        if self.problem:
            raise self.problem
        self.left.append(entry)

    def close(self):
        self.callers.add(threading.current_thread().name)
        self.closed = True


@pytest.fixture
def running():
    link, posted, told = Link(), [], threading.Condition()

    def post(message):
        with told:
            posted.append(message)
            told.notify_all()

    follower = Follower(link, post)
    thread = threading.Thread(target=follower.run, name="follow-test")

    def wait(fact):
        with told:
            assert told.wait_for(lambda: any(fact(message) for message in posted), PATIENCE)
            return next(message for message in posted if fact(message))

    yield link, follower, thread, wait, posted
    follower.outbox.put(None)
    thread.join(PATIENCE)
    assert not thread.is_alive()


def test_news_are_folded_and_only_one_thread_touches_the_link(running):
    link, follower, thread, wait, _ = running
    link.batches.append((Tick(time=START),))
    thread.start()
    seen = wait(lambda message: isinstance(message, Seen) and message.heard)
    assert seen.view.epoch == START
    assert seen.status.pit == "p"
    follower.outbox.put(Rake(time=START, id="r"))
    assert wait(lambda message: isinstance(message, Delivered)).problem == ""
    follower.outbox.put(None)
    thread.join(PATIENCE)
    assert link.closed
    assert link.callers == {"follow-test"}


def test_silence_posts_nothing(running):
    link, follower, thread, wait, posted = running
    thread.start()
    wait(lambda message: isinstance(message, Seen))
    follower.outbox.put(Rake(time=START, id="r"))
    wait(lambda message: isinstance(message, Delivered))
    assert len([message for message in posted if isinstance(message, Seen)]) == 1
    assert link.left[0].id == "r"


def test_a_refusal_comes_back_with_its_reason(running):
    link, follower, thread, wait, _ = running
    thread.start()
    wait(lambda message: isinstance(message, Seen))
    link.problem = JournalError("the disk is full")
    follower.outbox.put(Rake(time=START, id="r"))
    assert wait(lambda message: isinstance(message, Delivered)).problem == "the disk is full"
    assert wait(lambda message: isinstance(message, Seen) and message.problem).problem == "the disk is full"
    link.problem = None
    link.batches.append((Tick(time=START),))
    assert wait(lambda message: isinstance(message, Seen) and message.heard).problem == ""


def test_a_newer_view_takes_the_place_of_one_that_was_not_drawn_but_never_hides_that_something_was_heard():
    heard = Seen(ViewState(), None, heard=True)
    unheard = Seen(ViewState(), None, heard=False)
    assert heard.can_replace(unheard)
    assert heard.can_replace(heard)
    assert unheard.can_replace(unheard)
    assert not unheard.can_replace(heard)
    assert not heard.can_replace(Delivered(Rake(time=START, id="r")))
