"""Where a source's thread leaves what it heard, for the loop to take: bounded, in order."""

import asyncio
from collections import deque
from collections.abc import AsyncIterator
from typing import Final

from firebox.records import Entry, Problem, Reading

LIMIT: Final = 4096
"""Items that wait at most: eight probes at one a second for eight minutes."""


class Mailbox:
    """A queue that never blocks who fills it: when full, the oldest goes, and is counted.

    Only touched from the loop's own thread; others come in by `call_soon_threadsafe`. It ends once: when exhausted,
    or with the error that ended the device.
    """

    def __init__(self, source: str, limit: int = LIMIT) -> None:
        self._source = source
        self._items: deque[Reading | Entry | Problem] = deque(maxlen=limit)
        self._news = asyncio.Event()
        self._ended = False
        self._error: Exception | None = None
        self._dropped = 0

    def _report(self) -> Problem:
        dropped, self._dropped = self._dropped, 0
        return Problem(
            source=self._source, line=0, text=f"{dropped} dropped unread; they came faster than they were taken"
        )

    def put(self, item: Reading | Entry | Problem) -> None:
        """Leave one item; nothing happens after the end."""
        if self._ended:
            return
        if len(self._items) == self._items.maxlen:
            self._dropped += 1
        self._items.append(item)
        self._news.set()

    def end(self, error: Exception | None = None) -> None:
        """Let no more in; who reads gets what is left and then stops, or the error. The first end counts."""
        if not self._ended:
            self._ended, self._error = True, error
            self._news.set()

    async def items(self) -> AsyncIterator[Reading | Entry | Problem]:
        """Yield what was left, in order.

        Raises
        ------
        Exception
            The error given to `end`, after all that was left before it.
        """
        while True:
            while self._items:
                if self._dropped:
                    yield self._report()
                yield self._items.popleft()
            if self._ended:
                break
            self._news.clear()
            await self._news.wait()
        if self._error is not None:
            raise self._error
