"""Probe sources, supervised: opened, read, closed, and opened again after a pause whenever they fail."""

import asyncio
import logging
from collections import deque
from collections.abc import Awaitable, Callable
from typing import Final

from firebox.errors import SourceError
from firebox.ports import ProbeSource
from firebox.records import Entry, Problem, Reading

log = logging.getLogger(__name__)

FIRST_PAUSE: Final = 1.0
LONGEST_PAUSE: Final = 30.0
"""Real seconds between two attempts: doubled from the first to the longest. A probe node that is plugged in again is
found within half a minute, and a broker that is down is not hammered."""

RAN_WELL: Final = 60.0
"""A source that ran so long before it failed starts again from the first pause."""

AWAY: Final = 10.0
"""Real seconds after which a source that is not there is a trouble: a cable that was bumped is back sooner."""

CLOSE_DEADLINE: Final = 3.0
"""Real seconds that a source may take to let go of its device."""

QUEUE: Final = 4096
"""Records that wait for the loop at most; eight probes at 1 Hz fill it in eight minutes."""


class Inlet:
    """What sources have heard and the loop has not taken: bounded, oldest readings go first, entries never."""

    def __init__(self, limit: int = QUEUE) -> None:
        self._limit = limit
        self._records: deque[Reading | Entry] = deque()
        self._news = asyncio.Event()
        self.dropped = 0
        """Readings that went unread."""

    def put(self, record: Reading | Entry) -> None:
        """Leave a record for the loop; from the loop's own thread."""
        if len(self._records) >= self._limit:
            self._drop_oldest_reading()
        self._records.append(record)
        self._news.set()

    def _drop_oldest_reading(self) -> None:
        for place, record in enumerate(self._records):
            if isinstance(record, Reading):
                del self._records[place]
                self.dropped += 1
                return

    def take(self) -> list[Reading | Entry]:
        """Return all that waits, in order."""
        records = list(self._records)
        self._records.clear()
        self._news.clear()
        return records

    async def wait(self, seconds: float) -> None:
        """Return when something waits, or after so many real seconds."""
        try:
            async with asyncio.timeout(seconds):
                await self._news.wait()
        except TimeoutError:
            return


class Supervised:
    """One source under supervision.

    Attributes
    ----------
    source : ProbeSource
    problem : str or None
        Why it failed last, or what it last said of a line that it could not use.
    finished : bool
        It has come to its end, as a replay does.
    """

    def __init__(
        self,
        source: ProbeSource,
        inlet: Inlet,
        real: Callable[[], float],
        sleep: Callable[[float], Awaitable[None]] = asyncio.sleep,
    ) -> None:
        self.source = source
        self.problem: str | None = None
        self.finished = False
        self._inlet = inlet
        self._real = real
        self._sleep = sleep
        self._open = False
        self._here_at = real()
        self._heard_at: float | None = None

    @property
    def name(self) -> str:
        return self.source.name

    async def run(self) -> None:
        """Read the source until it ends; whatever else happens, it is tried again."""
        pause = FIRST_PAUSE
        while True:
            began = self._real()
            try:
                await self._read()
            except SourceError as error:
                self.problem = str(error)
                log.warning("source %s: %s", self.source.name, error)
            except (
                Exception
            ) as error:  # the top of a supervised task: logged, recorded, tried again, told as an alarm
                self.problem = f"{type(error).__name__}: {error}"
                log.exception("source %s failed", self.source.name)
            else:
                self.finished = True
                log.info("source %s has ended", self.source.name)
                return
            if self._real() - began >= RAN_WELL:
                pause = FIRST_PAUSE
            await self._sleep(pause)
            pause = min(2 * pause, LONGEST_PAUSE)

    async def _read(self) -> None:
        try:
            await self.source.open()
            self._open = True
            async for record in self.source.records():
                if isinstance(record, Problem):
                    self.problem = record.text
                    log.info("source %s, line %d: %s", record.source, record.line, record.text)
                else:
                    self._heard_at = self._real()
                    self._inlet.put(record)
        finally:
            self._open = False
            await self._close()

    async def _close(self) -> None:
        try:
            async with asyncio.timeout(CLOSE_DEADLINE):
                await self.source.close()
        except TimeoutError:
            log.exception("source %s did not let go of its device within %.0f s", self.source.name, CLOSE_DEADLINE)

    def is_here(self) -> bool:
        """Tell whether the source is there, or has come to its end."""
        now = self._real()
        heard_lately = self._heard_at is not None and now - self._heard_at < AWAY
        here = self.finished or (self._open and (self.source.health.connected or heard_lately))
        if here:
            self._here_at = now
        return here

    def is_away(self) -> bool:
        """Tell whether the source has been gone for long enough to be a trouble."""
        return not self.is_here() and self._real() - self._here_at >= AWAY
