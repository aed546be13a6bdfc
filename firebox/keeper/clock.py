"""Logical time: anchored on the wall clock, counted on a steady one.

A small computer without a battery clock starts hours or months in the past and is set minutes later. Counting on the
steady clock, the keeper does not notice, except that it compares the two once a second.
"""

import asyncio
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

from msgspec import Struct

JUMP_SECONDS: Final = 2.0
"""A wall clock this far from where it should be was set; a clock that is merely disciplined is slewed by less."""

JUST_AFTER: Final = timedelta(milliseconds=1)
"""Where time starts when the wall clock is behind the journal."""


BOOT_MARK: Final = Path("/proc/sys/kernel/random/boot_id")
"""Made anew by Linux at every boot: random(4)."""


def wall_clock() -> datetime:
    """Return the wall clock's instant, in UTC."""
    return datetime.now(UTC)


def steady_clock() -> float:
    """Return seconds since boot, sleep of the machine included where the system counts it, else a monotonic clock."""
    if hasattr(time, "CLOCK_BOOTTIME"):
        return time.clock_gettime(time.CLOCK_BOOTTIME)
    return time.monotonic()


def boot_mark() -> str | None:
    """Return a mark of this start of the machine; None where the system has none."""
    try:
        return BOOT_MARK.read_text().strip()
    except OSError:
        return None


class Jump(Struct, frozen=True, kw_only=True):
    """The wall clock was set: what was `time` is called `to` from here on."""

    time: datetime
    to: datetime


class SteadyClock:
    """A `firebox.ports.Clock` that never runs backwards.

    Parameters
    ----------
    rate : float
        Logical seconds a real second. Only at 1 is the wall clock looked at again after the start.
    not_before : datetime, optional
        The newest instant of the journal; time starts just after it where the wall clock is behind.
    wall, steady : callable
        The clocks of the machine.
    """

    def __init__(
        self,
        *,
        rate: float = 1.0,
        not_before: datetime | None = None,
        wall: Callable[[], datetime] = wall_clock,
        steady: Callable[[], float] = steady_clock,
    ) -> None:
        self._rate = rate
        self._wall = wall
        self._steady = steady
        self._begin = steady()
        start = wall()
        self._expected = start
        self.started_behind = not_before is not None and start <= not_before
        self._start = not_before + JUST_AFTER if not_before is not None and start <= not_before else start

    @property
    def rate(self) -> float:
        return self._rate

    def now(self) -> datetime:
        """Return the present instant, in UTC."""
        return self._start + timedelta(seconds=(self._steady() - self._begin) * self._rate)

    def real(self) -> float:
        """Return real seconds, of no particular origin, for intervals."""
        return self._steady()

    async def sleep(self, seconds: float) -> None:
        """Return after so many logical seconds."""
        await asyncio.sleep(max(0.0, seconds) / self._rate)

    def jump(self) -> Jump | None:
        """Return how the wall clock was set since the last call, and go by it from now on; None where it was not."""
        if self._rate != 1.0:
            return None
        old, wall, steady = self.now(), self._wall(), self._steady()
        expected = self._expected + timedelta(seconds=steady - self._begin)
        if abs((wall - expected).total_seconds()) <= JUMP_SECONDS:
            return None
        self._start = self._expected = wall
        self._begin = steady
        return Jump(time=old, to=wall)
