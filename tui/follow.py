"""The one thread that talks to the watch: news in, the cook's entries out."""

import queue
from collections.abc import Callable
from typing import Final

from textual.message import Message

from firebox.errors import FireboxError
from firebox.ports import KeeperStatus, WatchLink
from firebox.records import Entry, Record
from tui.messages import Delivered, Seen
from tui.view import ViewState, fold

POLL_SECONDS: Final = 0.2
"""Real seconds between two looks for news: with the keeper's own second, an alarm is on the screen within two."""

STATUS_POLLS: Final = 5
"""Polls between two looks at the keeper's status."""


class Follower:
    """Follows a watch from a thread of its own; everything it learns goes out through `post`.

    The link is touched from that thread alone. An entry put into `outbox` wakes it at once; None ends it.
    """

    def __init__(self, link: WatchLink, post: Callable[[Message], object]) -> None:
        self.outbox: queue.SimpleQueue[Entry | None] = queue.SimpleQueue()
        self._link = link
        self._post = post
        self._view = ViewState()
        self._status: KeeperStatus | None = None
        self._problem = ""

    def run(self) -> None:
        """Follow until None lies in the outbox; closes the link."""
        try:
            polls = 0
            while True:
                self._look(with_status=polls % STATUS_POLLS == 0)
                polls += 1
                if not self._wait():
                    return
        finally:
            self._link.close()

    def _wait(self) -> bool:
        """Wait for the next poll or an entry; tell whether to go on."""
        try:
            entry = self.outbox.get(timeout=POLL_SECONDS)
        except queue.Empty:
            return True
        if entry is None:
            return False
        self._leave(entry)
        return True

    def _leave(self, entry: Entry) -> None:
        try:
            self._link.leave(entry)
        except FireboxError as error:
            self._post(Delivered(entry, str(error)))
        else:
            self._post(Delivered(entry))

    def _look(self, *, with_status: bool) -> None:
        status, problem = self._status, ""
        news: tuple[Record, ...] = ()
        try:
            news = tuple(self._link.news())
            if with_status:
                status = self._link.status()
        except FireboxError as error:
            problem = str(error)
        for record in news:
            self._view = fold(self._view, record)
        if news or status != self._status or problem != self._problem:
            self._status, self._problem = status, problem
            self._post(Seen(self._view, status, bool(news), problem))
