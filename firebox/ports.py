"""The doors between the program and the outside, as Protocols; drivers and fakes stand behind them."""

from collections.abc import AsyncIterator, Sequence
from datetime import datetime
from enum import StrEnum
from typing import Literal, Protocol

from msgspec import Struct

from firebox.lessons import Coaching
from firebox.records import Entry, Notice, Problem, Reading, Record


class Clock(Protocol):
    """Logical time: never runs backwards, whatever the wall clock does."""

    @property
    def rate(self) -> float:
        """Logical seconds a real second; 1 except in demos, replays and practice."""
        ...

    def now(self) -> datetime:
        """Return the present instant, aware, in UTC."""
        ...

    async def sleep(self, seconds: float) -> None:
        """Return after so many logical seconds."""
        ...


class SourceHealth(Struct, frozen=True, kw_only=True):
    """What a source knows of itself."""

    connected: bool = False
    lines: int = 0
    """Lines or messages heard since the program started."""
    bad_lines: int = 0
    last_problem: str | None = None


class ProbeSource(Protocol):
    """Where readings come from. It knows nothing of files it does not own, nor of the estimate.

    A source is opened, iterated until it ends or raises, and closed; the keeper then opens it again after a pause.
    Every method may be called again after `close`. Readings are stamped by the source with the `Clock` it was given.
    """

    @property
    def name(self) -> str: ...

    @property
    def health(self) -> SourceHealth: ...

    async def open(self) -> None:
        """Get hold of the device.

        Raises
        ------
        SourceError
            It is not there, or refuses; the message says what and where.
        """
        ...

    def records(self) -> AsyncIterator[Reading | Entry | Problem]:
        """Yield what is heard, as it is heard. Ends when the source is exhausted (a replay).

        Raises
        ------
        SourceError
            The device has gone away.
        """
        ...

    async def close(self) -> None:
        """Let go of the device; never raises, may be called twice."""
        ...


class Outlet(Protocol):
    """Where records out are told beyond the journal: a broker, a sounder, a message service.

    The keeper calls `tell` only after the records are on disk. A slow outlet must queue, not block.
    """

    @property
    def name(self) -> str: ...

    @property
    def connected(self) -> bool: ...

    @property
    def last_problem(self) -> str | None: ...

    async def open(self) -> None: ...

    def tell(self, records: Sequence[Record]) -> None:
        """Queue records for the outside; never raises, never blocks."""
        ...

    async def close(self) -> None: ...


class Announcer(Protocol):
    """A way to make a person notice: a sounder, a message service. When and what to say is decided elsewhere."""

    @property
    def name(self) -> str: ...

    async def announce(self, notice: Notice) -> None:
        """Sound it or hand it over; return when that is done, within half a minute.

        Raises
        ------
        NoticeError
            It did not get out; the message says why, and holds no secret.
        """
        ...

    async def close(self) -> None:
        """Be silent and let go of everything; never raises, may be called twice."""
        ...


class Ailment(Struct, frozen=True, kw_only=True):
    """Something that ails the machine the keeper runs on (`text`), or that does not (None)."""

    what: Literal["power", "heat"]
    name: str
    text: str | None


class Machine(Protocol):
    """The machine that the keeper runs on, as far as its kernel tells of it."""

    def look(self) -> Sequence[Ailment]:
        """Return how it is now; nothing where it tells nothing. Never raises, returns at once."""
        ...


class Kind(StrEnum):
    """What sort of fire a watch looks at."""

    LIVE = "live"
    DEMO = "demo"
    REPLAY = "replay"
    PRACTICE = "practice"


class KeeperStatus(Struct, frozen=True, kw_only=True):
    """What a dashboard may know of the keeper."""

    alive: bool
    pit: str
    kind: Kind
    rate: float
    pid: int | None = None
    problem: str | None = None
    """Why the journal is not being written, where it is not."""
    sources: dict[str, SourceHealth] = {}


class WatchLink(Protocol):
    """What a dashboard is handed: records out, entries in. Safe to use from one thread."""

    def news(self) -> Sequence[Record]:
        """Return the records since the last call, oldest first; the first call returns the history of this cook.

        History is thinned: readings to at most one a probe every ten seconds, answers to the newest of each.
        Includes records in (readings, entries, setup, ticks) and out (outlooks, moves, fires, meats, alarms, probes).
        """
        ...

    def status(self) -> KeeperStatus: ...

    def leave(self, entry: Entry) -> None:
        """Leave one of the cook's entries for the keeper; durable when this returns.

        Raises
        ------
        JournalError
            The entry could not be left; the message says why.
        """
        ...

    def close(self) -> None: ...


class PracticeLink(WatchLink, Protocol):
    """What a dashboard is handed of a practice round: the fire burns while `news` is asked for.

    The parts below may be used from another thread than the link itself.
    """

    @property
    def coaching(self) -> Coaching: ...

    def set_pace(self, pace: float) -> None:
        """Let the fire burn so many seconds in a real second."""
        ...

    def pause(self, *, on: bool) -> None: ...

    def answer(self, choice: int | None) -> None:
        """Answer the open question; None passes it over."""
        ...

    def ask(self, *, wanted: bool) -> None:
        """Ask questions from now on, or none."""
        ...

    def finish(self) -> None:
        """End the round here and tell the score."""
        ...
