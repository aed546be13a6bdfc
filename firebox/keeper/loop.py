"""The loop that watches a pit: sources in, ticks, the inbox, outlets, troubles, and an orderly end.

One task owns state and journal (`Watchbook`); sources and outlets run as tasks of their own and only leave records
for it, or are left some.

====================  =============================================================================
every                 what
====================  =============================================================================
record, at once       journal and reducer; entries and alarms are on disk before the turn ends
1 s (real)            readings and ticks are written; troubles and the wall clock are looked at
5 s (real)            disk, supply and temperature of the machine are looked at
0.5 s (real)          the inbox
5 s (logical)         a tick, but no more than two a real second
5 s (real)            what dashboards may know of the keeper
10 min (logical)      a snapshot
====================  =============================================================================
"""

import asyncio
import logging
import shutil
import signal
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from datetime import datetime
from pathlib import Path
from typing import Final, Generic, Literal, TypeVar

import msgspec

from firebox.journal.lock import Lock
from firebox.journal.reader import KeeperNote
from firebox.journal.resume import Reducer, newest_instant
from firebox.journal.writer import Journal
from firebox.keeper.clock import SteadyClock, boot_mark
from firebox.keeper.heartbeat import SignOfLife
from firebox.keeper.outlets import Told
from firebox.keeper.sources import Inlet, Supervised
from firebox.keeper.watchbook import Watchbook
from firebox.ports import Clock, Kind, Machine, Outlet, ProbeSource
from firebox.records import Entry, Notice, Problem
from firebox.setup import Setup

log = logging.getLogger(__name__)

S = TypeVar("S")

PULSE: Final = 0.25
"""Real seconds between two turns of the loop where nothing is heard."""

TICK_LOGICAL: Final = 5.0
TICK_REAL: Final = 0.5
"""A tick is due after 5 logical seconds, but no more than two a real second: a fast demo stays fluid and affordable."""

INBOX_EVERY: Final = 0.5
LOOK_EVERY: Final = 1.0
NOTE_EVERY: Final = 5.0
MACHINE_EVERY: Final = 5.0
"""Real seconds between two looks at disk, supply and temperature of the machine."""

DISK_LOW: Final = 100_000_000
DISK_ENOUGH: Final = 150_000_000
"""Bytes free under which the disk is nearly full, and above which it is not: a cook of a day takes some ten megabytes,
and what else writes to the same disk is not known."""

FAILURE_STANDS: Final = 600.0
"""Real seconds after which a record that could not be taken is no trouble any more."""

DROPS_STAND: Final = 60.0
"""Real seconds after the last reading was dropped until that is no trouble any more."""

DAMAGED: Final = "damaged"
"""Name of the trouble of a journal that had to be made anew."""

DAMAGE_STANDS: Final = 600.0
"""Real seconds for which that is a trouble, so that it is seen."""

END_DEADLINE: Final = 5.0
"""Real seconds that sources and outlets may take to close."""


class Keeper(Generic[S]):
    """Watches one pit until it is stopped.

    Parameters
    ----------
    book : Watchbook
    clock : SteadyClock
    sources : sequence of ProbeSource
    outlets : sequence of Outlet
    lock : Lock
        Held; it is told when the journal is not being written.
    note : KeeperNote
        What dashboards may know, without the parts that change.
    stopping : asyncio.Event
        Set by whoever wants the keeper to end in order; `run` returns soon after.
    inlet : Inlet, optional
        Where others than the sources leave records too.
    life : SignOfLife, optional
        Told at every tick that has been taken; None: nobody wants to know.
    machine : Machine, optional
        Asked how it is; None: nobody knows.
    """

    def __init__(
        self,
        book: Watchbook[S],
        clock: SteadyClock,
        *,
        sources: Sequence[ProbeSource],
        outlets: Sequence[Outlet],
        lock: Lock,
        note: KeeperNote,
        stopping: asyncio.Event,
        inlet: Inlet | None = None,
        life: SignOfLife | None = None,
        machine: Machine | None = None,
    ) -> None:
        self._machine = machine
        self._life = life or SignOfLife()
        self._book = book
        self._clock = clock
        self._lock = lock
        self._note = note
        self._inlet = inlet or Inlet()
        self._sources = [Supervised(source, self._inlet, clock.real) for source in sources]
        self._outlets = [Told(outlet, clock.real) for outlet in outlets]
        self._stopping = stopping
        self._tick_every = max(TICK_LOGICAL / clock.rate, TICK_REAL)
        self._due = dict.fromkeys(("tick", "inbox", "look", "machine", "note"), clock.real())
        self._connected: tuple[bool, ...] = ()
        self._dropped, self._dropped_at = 0, clock.real() - DROPS_STAND
        self._problem: str | None = None
        self._damaged_at = clock.real() - DAMAGE_STANDS

    async def run(self) -> None:
        """Watch until stopped."""
        self._book.start()
        tasks = [asyncio.create_task(part.run(), name=f"source {part.name}") for part in self._sources]
        tasks += [asyncio.create_task(part.run(), name=f"outlet {part.name}") for part in self._outlets]
        try:
            while not self._stopping.is_set():
                self.turn()
                await self._inlet.wait(PULSE)
        finally:
            await self._end(tasks)

    async def _end(self, tasks: Sequence[asyncio.Task[None]]) -> None:
        self._life.end()
        for task in tasks:
            task.cancel()
        if tasks:
            done, late = await asyncio.wait(tasks, timeout=END_DEADLINE)
            for task in late:
                log.error("%s did not end within %.0f s", task.get_name(), END_DEADLINE)
            for task in done:
                if not task.cancelled() and (error := task.exception()) is not None:
                    log.error("%s failed", task.get_name(), exc_info=error)
        for record in self._inlet.take():
            self._book.hear(record)
        self._book.finish()

    def turn(self) -> None:
        """Do what is due now."""
        book = self._book
        for record in self._inlet.take():
            book.hear(record)
        if self._is_due("look", LOOK_EVERY):
            book.set_clock()
            self._look()
        if self._is_due("machine", MACHINE_EVERY):
            self._look_at_machine()
        if self._is_due("inbox", INBOX_EVERY):
            book.take_inbox()
        ticked = self._is_due("tick", self._tick_every)
        if ticked:
            book.tick()
        if self._is_due("note", NOTE_EVERY) or self._connected != self._connections():
            self._describe()
        told = book.flush()
        self._tell_of_journal()
        if told:
            for outlet in self._outlets:
                outlet.tell(told)
        if ticked:
            self._life.beat(self._status())

    def _status(self) -> str:
        """Return how the watch is, in a line for the service manager."""
        connected = self._connections()
        text = f"watching {self._note.pit}, {sum(connected)} of {len(connected)} sources connected"
        return f"{text}; in memory only: {self._problem}" if self._problem else text

    def _is_due(self, what: str, every: float) -> bool:
        now = self._clock.real()
        if now < self._due[what]:
            return False
        # The beat is kept, unless it was missed altogether.
        self._due[what] = max(self._due[what] + every, now)
        return True

    # --- troubles --------------------------------------------------------------------------------

    def _look(self) -> None:
        """Compare what is with the troubles that the watch knows of."""
        book = self._book
        for part in self._sources:
            self._judge("source", part, f"nothing from {part.name}: {part.problem or 'it does not answer'}")
        for outlet in self._outlets:
            if outlet.calls_people:
                self._judge("notice", outlet, f"the newest did not arrive: {outlet.problem or 'it does not run'}")
            else:
                self._judge("outlet", outlet, f"{outlet.name} cannot be reached: {outlet.problem or 'no connection'}")
        for gone in book.standing("source") - {part.name for part in self._sources}:
            book.report("source", gone, None)
        for gone in book.standing("outlet") - {outlet.name for outlet in self._outlets if not outlet.calls_people}:
            book.report("outlet", gone, None)
        for gone in book.standing("notice") - {outlet.name for outlet in self._outlets if outlet.calls_people}:
            book.report("notice", gone, None)
        self._look_at_queue()
        book.forget_failure(FAILURE_STANDS)

    def _judge(self, what: Literal["source", "outlet", "notice"], part: Supervised | Told, text: str) -> None:
        """Report a part that is away or here again; of one that has only just gone nothing is said yet."""
        if part.is_away():
            self._book.report(what, part.name, text)
        elif part.is_here():
            self._book.report(what, part.name, None)

    def _look_at_queue(self) -> None:
        now = self._clock.real()
        if self._inlet.dropped > self._dropped:
            text = (
                f"{self._inlet.dropped - self._dropped} readings were dropped; they come faster than they are taken"
            )
            self._dropped, self._dropped_at = self._inlet.dropped, now
            self._book.report("keeper", "queue", text)
        elif now - self._dropped_at >= DROPS_STAND:
            self._book.report("keeper", "queue", None)

    def _look_at_machine(self) -> None:
        book = self._book
        for one in self._machine.look() if self._machine else ():
            book.report(one.what, one.name, one.text)
        try:
            free = shutil.disk_usage(book.journal.path.parent).free
        except OSError as error:
            log.warning("the disk of the journal tells nothing: %s", error)
            return
        if free < (DISK_ENOUGH if book.standing("disk") else DISK_LOW):
            text = f"only {free / 1e6:.0f} MB are free on the disk that holds the journal"
            book.report("disk", "journal", text)
        else:
            book.report("disk", "journal", None)

    def _tell_of_journal(self) -> None:
        journal = self._book.journal
        if journal.notice is not None:
            log.warning("journal: %s", journal.notice)
            journal.notice = None
        if journal.damage is not None:
            damage, journal.damage, self._damaged_at = journal.damage, None, self._clock.real()
            self._book.report("journal", DAMAGED, damage)
        elif self._clock.real() - self._damaged_at >= DAMAGE_STANDS:
            self._book.report("journal", DAMAGED, None)
        if journal.problem != self._problem:
            self._problem = journal.problem
            self._lock.note(journal.problem)
        text = f"the journal is not being written, the watch goes on in memory: {journal.problem}"
        self._book.report("journal", journal.path.name, text if journal.problem else None)

    # --- what dashboards may know ----------------------------------------------------------------

    def _connections(self) -> tuple[bool, ...]:
        return tuple(part.source.health.connected for part in self._sources)

    def _describe(self) -> None:
        self._connected = self._connections()
        sources = {part.name: part.source.health for part in self._sources}
        note = msgspec.structs.replace(self._note, sources=sources)
        self._book.journal.describe_keeper(msgspec.json.encode(note).decode())


async def keep(
    path: Path,
    setup: Callable[[datetime], Setup],
    reducer: Reducer[S],
    *,
    sources: Callable[[Clock], Sequence[ProbeSource]],
    outlets: Callable[[Clock, Callable[[Entry | Problem | Notice], None]], Sequence[Outlet]],
    kind: Kind = Kind.LIVE,
    rate: float = 1.0,
    heed: Callable[[Entry], None] | None = None,
    lasting: float | None = None,
    clock: Callable[[datetime | None], SteadyClock] | None = None,
    machine: Machine | None = None,
) -> None:
    """Keep a pit until SIGTERM or SIGINT.

    Parameters
    ----------
    path : Path
        The journal.
    setup : callable
        The pit as configured, given the time.
    reducer : Reducer
    sources, outlets : callable
        Make what is read and what is told, given the clock; outlets are also given where to leave the entries that
        come in from other devices, the problems with those that were refused, and what became of notices.
    kind : Kind
        Only a live watch resumes its cook.
    rate : float
        Logical seconds a real second.
    heed : callable, optional
        Called with each entry of a person (not of a source) before it is taken: a simulated fire has to feel it.
    lasting : float, optional
        Real seconds after which the keeper ends by itself.
    clock : callable, optional
        Makes the clock, given the newest instant in the journal; None: the machine's, at `rate`.
    machine : Machine, optional
        What the keeper runs on; None: nobody knows how it is.

    Raises
    ------
    HeldError
        Another process keeps this pit.
    JournalError
        The journal is of a later version, or there is no place for a lock.
    """
    stopping = asyncio.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        asyncio.get_running_loop().add_signal_handler(number, stopping.set)
    with _held(path) as (lock, journal):
        newest = newest_instant(path)
        steady = clock(newest) if clock is not None else SteadyClock(rate=rate, not_before=newest)
        boot = boot_mark()
        pit = setup(steady.now())
        inlet = Inlet()
        book = Watchbook(journal, reducer, steady, pit, kind=kind, boot=boot, heed=heed, renew=setup)

        def hear(record: Entry | Problem | Notice) -> None:
            if isinstance(record, Problem):
                log.warning("%s: %s", record.source, record.text)
                return
            if isinstance(record, Notice):
                book.write_down(record)
                return
            if heed is not None:
                heed(record)
            inlet.put(record)

        if lasting is not None:
            asyncio.get_running_loop().call_later(lasting, stopping.set)
        keeper = Keeper(
            book,
            steady,
            sources=sources(steady),
            outlets=outlets(steady, hear),
            inlet=inlet,
            lock=lock,
            note=KeeperNote(pit=pit.pit, kind=kind, rate=steady.rate, boot=boot),
            stopping=stopping,
            life=SignOfLife.of(),
            machine=machine,
        )
        log.info("keeping %s in %s", pit.pit, path)
        await keeper.run()
        log.info("ended in order")


@contextmanager
def _held(path: Path) -> Iterator[tuple[Lock, Journal]]:
    """Hold the lock of a pit and have its journal open; both are let go of, whatever happens."""
    with closing(Lock.take(path)) as lock, closing(Journal(path)) as journal:
        yield lock, journal
