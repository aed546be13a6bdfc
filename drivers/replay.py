"""A recorded cook as a source: the same readings and entries, moved to the present, at the pace of the clock."""

import asyncio
from collections.abc import AsyncIterator, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import BinaryIO, Final

from msgspec.structs import replace

from drivers.recordings import LINE_LIMIT, Found, read_csv, read_json_lines
from firebox.errors import SourceError
from firebox.links import ReplayOptions
from firebox.ports import Clock, SourceHealth
from firebox.records import Clock as ClockSet
from firebox.records import Entry, Problem, Reading, Record

BREATH: Final = 64
"""Records that are given out in a row before others get a turn on the loop."""

EARLIEST: Final = datetime(1970, 1, 1, tzinfo=UTC)
LATEST: Final = datetime(2200, 1, 1, tzinfo=UTC)
LONGEST: Final = timedelta(days=366)
"""Bounds of a believable recording; a time beyond is a slip of the pen, and would be waited for."""


class ReplaySource:
    """Readings and entries of a recording.

    The first record of the recording happens when the source is opened, and every other as long after it as it did
    then, by the clock: a clock that runs fast plays fast. What the recorded watch concluded, and what its keeper noted
    of itself, is left out; the watch that looks at the replay does its own thinking. Opened again, it starts anew.

    Parameters
    ----------
    name : str
        What messages call it.
    clock : Clock
    options : ReplayOptions
    """

    def __init__(self, name: str, clock: Clock, *, options: ReplayOptions) -> None:
        self._name = name
        self._clock = clock
        self._options = options
        self._health = SourceHealth()
        self._file: BinaryIO | None = None

    @property
    def name(self) -> str:
        return self._name

    @property
    def health(self) -> SourceHealth:
        return self._health

    async def open(self) -> None:
        """Open the file.

        Raises
        ------
        SourceError
            It cannot be read; the message says why.
        """
        await self.close()
        try:
            self._file = Path(self._options.file).open("rb")  # noqa: ASYNC230, SIM115  local, and held till close
        except OSError as error:
            text = f"{self._options.file}: cannot be read: {error.strerror}"
            self._health = replace(self._health, last_problem=text)
            raise SourceError(text) from error
        self._health = replace(self._health, connected=True)

    async def records(self) -> AsyncIterator[Reading | Entry | Problem]:
        """Yield the recording at the pace of the clock; ends with it.

        Raises
        ------
        SourceError
            Not open, or the file cannot be read on.
        """
        if self._file is None:
            raise SourceError(f"{self._options.file}: not open")
        file, timeline = self._file, _Timeline(self._clock.now())
        try:
            for count, found in enumerate(self._read(file)):
                for item in self._place(found, timeline):
                    if not isinstance(item, Problem):
                        await self._wait(item.time)
                    if self._file is not file:
                        return
                    yield item
                if count % BREATH == 0:
                    await asyncio.sleep(0)
        except OSError as error:
            raise SourceError(f"{self._options.file}: {error}") from error

    async def close(self) -> None:
        """Close the file."""
        file, self._file = self._file, None
        if file is not None:
            file.close()
        self._health = replace(self._health, connected=False)

    def _read(self, file: BinaryIO) -> Iterator[Found]:
        lines = _cut(file)
        return read_csv(lines) if self._options.file.lower().endswith(".csv") else read_json_lines(lines)

    async def _wait(self, due: datetime) -> None:
        seconds = (due - self._clock.now()).total_seconds()
        if seconds > 0:
            await self._clock.sleep(seconds)

    def _place(self, found: Found, timeline: "_Timeline") -> Iterator[Reading | Entry | Problem]:
        problem = found.problem
        for record in found.records:
            backwards = timeline.refusal(record)
            if backwards is None:
                moved = timeline.move(record)
                if moved is not None:
                    yield moved
            problem = problem or backwards
        self._health = replace(self._health, lines=self._health.lines + 1)
        if problem is not None:
            text = f"{self._options.file}, line {found.line}: {problem}"
            self._health = replace(self._health, bad_lines=self._health.bad_lines + 1, last_problem=text)
            yield Problem(source=self._name, line=found.line, text=text)


class _Timeline:
    """Moves recorded times to the present."""

    def __init__(self, start: datetime) -> None:
        self._start = start
        self._shift: timedelta | None = None
        self._first: datetime | None = None
        self._last: datetime | None = None

    def refusal(self, record: Record) -> str | None:
        """Return why a record cannot follow the last one; None where it can."""
        if not EARLIEST <= record.time <= LATEST:
            return f"{record.time.isoformat()} is no believable time"
        first = self._first = self._first or record.time
        if record.time - first > LONGEST:
            return f"{record.time.isoformat()} is more than {LONGEST.days} days after the first, {first.isoformat()}"
        if self._last is not None and record.time < self._last:
            return f"{record.time.isoformat()} is earlier than the line before; time does not run backwards"
        self._last = record.time
        return None

    def move(self, record: Record) -> Reading | Entry | None:
        """Return the record at its present time; None for one that is not replayed."""
        if self._shift is None:
            self._shift = self._start - record.time
        if isinstance(record, ClockSet):  # from here on the recording calls the same instant by another time
            self._shift -= record.to - record.time
            self._first = self._last = record.to
            return None
        if isinstance(record, Reading):
            return replace(record, time=record.time + self._shift)
        if isinstance(record, Entry):
            at = None if record.at is None else max(record.at, EARLIEST) + self._shift
            return replace(record, time=record.time + self._shift, at=at)
        return None


def _cut(file: BinaryIO) -> Iterator[bytes]:
    """Yield lines until the end, or until the file is closed; of one too long only so much that it is seen to be."""
    while not file.closed and (line := file.readline(LINE_LIMIT + 2)):
        rest = line
        while rest and not rest.endswith(b"\n"):
            rest = file.readline(LINE_LIMIT)
        yield line
