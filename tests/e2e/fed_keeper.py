"""A real keeper process for the tests: it reads records from standard input and acknowledges on standard output.

Usage: fed_keeper.py JOURNAL tally|watch. One JSON line in for each record; one line out for each entry and alarm, when
the keeper tells it, and `ready` when it has begun.
"""

import asyncio
import sys
from collections.abc import AsyncIterator, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from drivers.fakes import tally
from firebox.journal.resume import Reducer
from firebox.keeper.loop import keep
from firebox.ports import Clock, SourceHealth
from firebox.records import Alarm, Entry, Problem, Reading, Record, decode
from firebox.setup import Setup


class StandardInput:
    """A source that hears what comes in on standard input, and stamps it."""

    name = "stdin"
    health = SourceHealth(connected=True)

    def __init__(self, clock: Clock) -> None:
        self._clock = clock

    async def open(self) -> None:
        self._lines = asyncio.StreamReader()
        loop = asyncio.get_running_loop()
        await loop.connect_read_pipe(lambda: asyncio.StreamReaderProtocol(self._lines), sys.stdin)

    async def records(self) -> AsyncIterator[Reading | Entry | Problem]:
        while line := await self._lines.readline():
            record = decode(line)
            assert isinstance(record, Reading | Entry)
            yield replace(record, time=self._clock.now())

    async def close(self) -> None:
        return


class StandardOutput:
    """An outlet that says on standard output what it is told of entries and alarms."""

    name = "stdout"
    connected = True
    last_problem = None

    async def open(self) -> None:
        print("ready", flush=True)

    def tell(self, records: Sequence[Record]) -> None:
        for record in records:
            if isinstance(record, Entry):
                print(f"entry {record.id}", flush=True)
            elif isinstance(record, Alarm):
                print(f"alarm {record.text}", flush=True)

    async def close(self) -> None:
        return


def setup(time: datetime) -> Setup:
    return Setup(time=time, pit="test")


def reducer(word: str) -> Reducer[Any]:
    if word == "watch":
        from firebox.keeper.mind import watch_reducer  # noqa: PLC0415  loads numpy, which the tally does not need

        return watch_reducer()
    return Reducer(begin=tally.begin, step=tally.step, freeze=tally.freeze, thaw=tally.thaw, version=tally.VERSION)


if __name__ == "__main__":
    asyncio.run(
        keep(
            Path(sys.argv[1]),
            setup,
            reducer(sys.argv[2]),
            sources=lambda clock: [StandardInput(clock)],
            outlets=lambda _clock, _hear: [StandardOutput()],
        )
    )
