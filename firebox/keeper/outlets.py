"""Outlets, supervised: opened, told what is on disk, and watched for being out of reach."""

import asyncio
import logging
from collections.abc import Awaitable, Callable, Sequence
from typing import Final

from firebox.journal.rows import name_of, type_of
from firebox.keeper.notices import Notices
from firebox.keeper.sources import CLOSE_DEADLINE, FIRST_PAUSE, LONGEST_PAUSE
from firebox.ports import Outlet
from firebox.records import Record

log = logging.getLogger(__name__)

AWAY: Final = 10.0
"""Real seconds after which an outlet that is not connected is a trouble; a broker restarts in less."""


class Told:
    """One outlet under supervision."""

    def __init__(
        self,
        outlet: Outlet,
        real: Callable[[], float],
        sleep: Callable[[float], Awaitable[None]] = asyncio.sleep,
    ) -> None:
        self._outlet = outlet
        self._real = real
        self._sleep = sleep
        self._open = False
        self._early: dict[tuple[str, str | None], Record] = {}
        self._failure: str | None = None
        self._here_at = real()

    @property
    def name(self) -> str:
        return self._outlet.name

    @property
    def calls_people(self) -> bool:
        """Whether it is a way to call people, of which each notice has to arrive."""
        return isinstance(self._outlet, Notices)

    @property
    def problem(self) -> str | None:
        """Why it cannot be reached, as far as known."""
        return self._failure or self._outlet.last_problem

    async def run(self) -> None:
        """Open the outlet, again and again until that works, and close it when cancelled."""
        pause = FIRST_PAUSE
        try:
            while not await self._opens():
                await self._sleep(pause)
                pause = min(2 * pause, LONGEST_PAUSE)
            await asyncio.Event().wait()
        finally:
            self._open = False
            await self._close()

    async def _opens(self) -> bool:
        try:
            await self._outlet.open()
        except Exception as error:  # the top of a supervised task: logged, recorded, tried again, told as an alarm
            self._failure = f"{type(error).__name__}: {error}"
            log.exception("outlet %s cannot be opened", self.name)
            return False
        self._failure, self._open = None, True
        early, self._early = list(self._early.values()), {}
        self.tell(early)
        return True

    async def _close(self) -> None:
        try:
            async with asyncio.timeout(CLOSE_DEADLINE):
                await self._outlet.close()
        except TimeoutError:
            log.exception("outlet %s did not close within %.0f s", self.name, CLOSE_DEADLINE)

    def tell(self, records: Sequence[Record]) -> None:
        """Hand records on; an outlet that breaks its promise never to raise ends neither the watch nor the others.

        Until it is open, the newest record of each sort is kept for it.
        """
        if not self._open:
            for record in records:
                self._early.pop(key := (type_of(record), name_of(record)), None)
                self._early[key] = record
            return
        try:
            self._outlet.tell(records)
        except Exception as error:  # as in `_opens`
            if self._failure is None:
                log.exception("outlet %s cannot be told", self.name)
            self._failure = f"{type(error).__name__}: {error}"
        else:
            self._failure = None

    def is_here(self) -> bool:
        """Tell whether the outlet is in reach."""
        here = self._open and self._failure is None and self._outlet.connected
        if here:
            self._here_at = self._real()
        return here

    def is_away(self) -> bool:
        """Tell whether the outlet has been out of reach for long enough to be a trouble."""
        return not self.is_here() and self._real() - self._here_at >= AWAY
