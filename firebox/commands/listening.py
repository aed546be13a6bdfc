"""What can be heard of a pit's probes just now: from its sources, or from the journal of the keeper that holds them."""

import asyncio
import time
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from msgspec import Struct

from firebox.errors import SourceError
from firebox.ports import Clock, ProbeSource
from firebox.records import ProbeHealth, Problem, Reading

GLANCE: Final = 0.2
"""Seconds between two looks at what has come in."""


class Heard(Struct):
    """What came in while listening.

    Attributes
    ----------
    readings : dict
        Probe -> its newest reading; heard before, where that is all there is.
    sources : dict
        Probe -> the name of the source that it came from, where that is known.
    healths : dict
        Probe -> what the keeper thinks of it, where one was overheard.
    fresh : set
        Probes heard while listening.
    troubles : list of str
        What a source could not do, or could not read, in words.
    """

    readings: dict[str, Reading] = {}
    sources: dict[str, str] = {}
    healths: dict[str, ProbeHealth] = {}
    fresh: set[str] = set()
    troubles: list[str] = []
    until: datetime | None = None
    """The instant at which listening ended, by the clock of the readings."""


async def listen(sources: list[ProbeSource], clock: Clock, seconds: float, wanted: set[str]) -> Heard:
    """Return what the sources themselves say within some real seconds, or as soon as all that is wanted was heard."""
    heard, enough = Heard(), asyncio.Event()
    following = [
        asyncio.create_task(_follow(source, heard, wanted, enough), name=f"source {source.name}")
        for source in sources
    ]
    ended = asyncio.create_task(_all_ended(following), name="all ended")
    satisfied = asyncio.create_task(enough.wait(), name="all heard")
    tasks: list[asyncio.Task[Any]] = [*following, ended, satisfied]  # of several results, none of them looked at
    await asyncio.wait(tasks[-2:], timeout=seconds, return_when=asyncio.FIRST_COMPLETED)
    for task in tasks:
        task.cancel()
    for failure in await asyncio.gather(*tasks, return_exceptions=True):
        if isinstance(failure, Exception):
            raise failure  # a defect: what a source may raise has been told
    heard.until = clock.now()
    return heard


async def _all_ended(tasks: "list[asyncio.Task[None]]") -> None:
    for task in tasks:
        await task


async def _follow(source: ProbeSource, heard: Heard, wanted: set[str], enough: asyncio.Event) -> None:
    try:
        await source.open()
        async for record in source.records():
            if isinstance(record, Reading):
                _take(heard, record, source.name)
            elif isinstance(record, Problem):
                heard.troubles.append(f"{record.source}, line {record.line}: {record.text}")
            if _is_enough(heard, wanted):
                enough.set()
    except SourceError as error:
        heard.troubles.append(f"{source.name}: {error}")
    finally:
        await source.close()


def overhear(journal: Path, pit: str, seconds: float, wanted: set[str]) -> Heard:
    """Return what the keeper of a pit hears within some real seconds, and what it heard last of each other probe."""
    from firebox.journal.reader import JournalLink

    heard = Heard()
    link = JournalLink(journal, pit)
    try:
        for record in link.news():
            if isinstance(record, Reading):
                heard.readings[record.probe] = record
            elif isinstance(record, ProbeHealth):
                heard.healths[record.probe] = record
            heard.until = max(heard.until or record.time, record.time)
        end = time.monotonic() + seconds
        while time.monotonic() < end and not _is_enough(heard, wanted):
            time.sleep(GLANCE)
            for record in link.news():
                if isinstance(record, Reading):
                    _take(heard, record, None)
                elif isinstance(record, ProbeHealth):
                    heard.healths[record.probe] = record
                heard.until = max(heard.until or record.time, record.time)
        for name, health in link.status().sources.items():
            if not health.connected:
                heard.troubles.append(
                    f"{name}: not connected{f': {health.last_problem}' if health.last_problem else ''}"
                )
    finally:
        link.close()
    return heard


def _take(heard: Heard, reading: Reading, source: str | None) -> None:
    heard.readings[reading.probe] = reading
    heard.fresh.add(reading.probe)
    if source is not None:
        heard.sources[reading.probe] = source


def _is_enough(heard: Heard, wanted: set[str]) -> bool:
    return bool(wanted) and wanted <= heard.fresh
