"""A clock that stands still unless it is moved."""

import asyncio
from datetime import UTC, datetime, timedelta


class SteppedClock:
    """Logical time that passes only in `sleep`, and there at once; so a test of hours takes no time.

    Examples
    --------
    >>> clock = SteppedClock()
    >>> asyncio.run(clock.sleep(90.0))
    >>> clock.now().isoformat()
    '2026-05-02T04:01:30+00:00'
    """

    rate = 1.0

    def __init__(self, start: datetime = datetime(2026, 5, 2, 4, 0, tzinfo=UTC)) -> None:
        self._now = start
        self.slept = 0.0

    def now(self) -> datetime:
        """Return the present instant."""
        return self._now

    async def sleep(self, seconds: float) -> None:
        """Let so many logical seconds pass, and others have a turn."""
        self.move(seconds)
        await asyncio.sleep(0)

    def move(self, seconds: float) -> None:
        """Let so many logical seconds pass."""
        self._now += timedelta(seconds=seconds)
        self.slept += seconds
