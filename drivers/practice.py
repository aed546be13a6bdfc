"""The practice pit as a probe source: a simulated fire played out with the clock, through the door of real probes."""

from collections.abc import AsyncIterator, Sequence
from datetime import datetime
from typing import Final, Protocol

from firebox.ports import Clock, SourceHealth
from firebox.records import Entry, Problem, Reading

READINGS_A_SECOND: Final = 5.0
"""At most so many readings of a probe in a real second, whatever the clock's rate."""


class PlayedFire(Protocol):
    """A fire that can be played out; the wiring hands one over."""

    def advance(self, time: datetime) -> Sequence[Reading | Entry]:
        """Play on to an instant and return what was written down and read on the way."""
        ...

    def act(self, entry: Entry) -> None:
        """Let an entry of the person at the keys happen to the fire."""
        ...


class PracticeSource:
    """A source that reads a played fire: every logical second, or less often where the clock runs fast.

    Parameters
    ----------
    name : str
    clock : Clock
        Its `rate` says how fast the fire burns.
    fire : PlayedFire
    """

    def __init__(self, name: str, clock: Clock, *, fire: PlayedFire) -> None:
        self._name = name
        self._clock = clock
        self._fire = fire
        self._connected = False
        self._lines = 0

    @property
    def name(self) -> str:
        """The name given to it."""
        return self._name

    @property
    def health(self) -> SourceHealth:
        """Connected while open; a played fire has no bad lines."""
        return SourceHealth(connected=self._connected, lines=self._lines)

    async def open(self) -> None:
        """Begin to listen; a played fire is always there."""
        self._connected = True

    async def close(self) -> None:
        """Stop listening; the fire waits and catches up when it is opened again."""
        self._connected = False

    def act(self, entry: Entry) -> None:
        """Let an entry of the cook happen to the fire."""
        self._fire.act(entry)

    async def records(self) -> AsyncIterator[Reading | Entry | Problem]:
        """Yield readings and the simulated hand's entries as the clock runs, until the source is closed."""
        while self._connected:
            for record in self._fire.advance(self._clock.now()):
                self._lines += 1
                yield record
            await self._clock.sleep(max(1.0, self._clock.rate / READINGS_A_SECOND))
