"""State and journal of a watch: every record goes through here, once, in order."""

import logging
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Final, Generic, Literal, TypeVar

from msgspec.structs import replace

from firebox.errors import JournalError, RecordError
from firebox.journal.doings import CURRENT, Doings, follow, is_new_fire
from firebox.journal.resume import Reducer, Resumption, resume
from firebox.journal.rows import micros
from firebox.journal.salvage import DamagedError
from firebox.journal.writer import Journal
from firebox.keeper.clock import SteadyClock
from firebox.ports import Kind
from firebox.records import (
    Clock,
    Entry,
    Notice,
    Reading,
    Record,
    Resumed,
    Status,
    Tick,
    Trouble,
    decode,
    encode,
)
from firebox.setup import Setup

log = logging.getLogger(__name__)

S = TypeVar("S")
R = TypeVar("R", bound=Record)

SNAPSHOT_EVERY: Final = timedelta(minutes=10)
"""Logical time between two snapshots: what has to be replayed after a kill takes a second or two."""

SNAPSHOT_PAUSE: Final = 60.0
"""Real seconds between two snapshots at least, however fast a demo runs."""

LONG_REPLAY: Final = 5000
"""A resume that had to replay more records than this is followed by a snapshot at once."""

CLOCK_UNSURE: Final = 900.0
"""Real seconds after a reboot in which a clock that is set forward only catches up with the time that went by while
the machine was off: without a battery clock it goes on from where it was switched off until a time server answers."""

NEVER_SET: Final = datetime(2026, 1, 1, tzinfo=UTC)
"""A clock that says less was never set: this program is younger. What it is set to then tells nothing of a gap."""

LATE: Final = timedelta(seconds=5)
"""An entry that lay in the inbox for longer happened when it was entered, not when it was found."""

OWN_ENTRIES: Final = (Clock, Resumed, Trouble)
"""What only the keeper itself may enter."""

LONGEST_NAME: Final = 64
COLDEST: Final = -273.15
HOTTEST: Final = 3000.0
"""Bounds of what `firebox.records` reads back."""

What = Literal["journal", "source", "outlet", "notice", "clock", "keeper", "disk", "power", "heat"]


class Watchbook(Generic[S]):
    """The watch of one pit: its state, its journal, and what was not yet told to the outside.

    Parameters
    ----------
    journal : Journal
    reducer : Reducer
    clock : SteadyClock
    setup : Setup
        The pit as configured now.
    kind : Kind
        Only a live watch is resumed; a practice fire starts anew, and so does its cook.
    heed : callable, optional
        Called with each entry that a dashboard left, before it is taken.
    boot : str, optional
        Mark of this start of the machine.
    renew : callable, optional
        Gives the setup of a cook that begins while the keeper runs; None: the same as before.
    """

    def __init__(
        self,
        journal: Journal,
        reducer: Reducer[S],
        clock: SteadyClock,
        setup: Setup,
        *,
        kind: Kind = Kind.LIVE,
        boot: str | None = None,
        heed: Callable[[Entry], None] | None = None,
        renew: Callable[[datetime], Setup] | None = None,
    ) -> None:
        self._heed = heed
        self._renew = renew
        self.journal = journal
        self.state: S = reducer.begin(setup)
        self._reducer = reducer
        self._clock = clock
        self._setup = setup
        self._kind = kind
        self._boot = boot
        self._unsure_until: float | None = None
        self._last = clock.now()
        self._untold: list[Record] = []
        self._troubles: dict[tuple[str, str], Trouble] = {}
        self._doings = Doings()
        self._looked = False
        self._ids = 0
        self._snapshot_at: datetime | None = None
        self._snapshot_real = clock.real()
        self._failed_at: float | None = None

    # --- beginning and end -----------------------------------------------------------------------

    def start(self) -> None:
        """Take the current cook up again, or begin one."""
        if self._kind is not Kind.LIVE or not self._resume():
            self.begin_cook(self._setup)

    def begin_cook(self, setup: Setup) -> None:
        """Begin a cook now; troubles that are on are told to it anew."""
        time = self._moment(self._clock.now())
        self._setup = _as_read(replace(setup, time=time))
        self._doings = Doings()
        self._snapshot_at = time
        self.journal.begin_cook(self._setup, self._kind)
        self.state = self._reducer.begin(self._setup)
        self._step(self._setup)
        standing, self._troubles = list(self._troubles.values()), {}
        for trouble in standing:
            self.report(trouble.what, trouble.name, trouble.text)

    def _resume(self) -> bool:
        found = self._find_cook()
        if found is None:
            return False
        self.state = found.state
        self._last = max(found.last, self._last)
        self._troubles = {(trouble.what, trouble.name): trouble for trouble in found.troubles}
        self._doings = found.doings
        self._untold.extend(found.newest)
        self.journal.continue_cook(found.cook, found.setup)
        gap = max(0.0, (self._last - found.last).total_seconds())
        if self._clock.started_behind or found.boot not in {None, self._boot}:
            self._unsure_until = self._clock.real() + CLOCK_UNSURE
        log.info("cook %d resumed after %.1f s, %d records replayed", found.cook.id, gap, found.replayed)
        if replace(found.setup, time=self._last) != replace(self._setup, time=self._last):
            self.take(_as_read(replace(self._setup, time=self._last)))
        self.take(Resumed(time=self._last, gap_seconds=gap))
        self._snapshot_at = None if found.replayed > LONG_REPLAY else self._last
        return True

    def _find_cook(self) -> Resumption[S] | None:
        path, now = self.journal.path, self._clock.now()
        try:
            try:
                return resume(path, self._reducer, now, self._kind)
            except DamagedError as error:
                log.warning("the journal is damaged: %s", error)
                self.journal.renew()
                return resume(path, self._reducer, now, self._kind)
        except JournalError as error:
            log.warning("no cook can be resumed: %s", error)
            return None

    def finish(self) -> None:
        """Write all that waits and a last snapshot; a cook whose fire was let out is over."""
        self.journal.snapshot(self._reducer.version, self._reducer.freeze(self.state))
        if self._doings.out is not None:
            self.journal.end_cook(self._last)
        self.journal.close()

    # --- records ---------------------------------------------------------------------------------

    def hear(self, record: Reading | Entry) -> None:
        """Take a record from outside; what only the keeper may say is refused."""
        if isinstance(record, OWN_ENTRIES):
            log.warning("an entry %s from outside was refused", type(record).__name__.lower())
            return
        try:
            record = _sound(record) if isinstance(record, Reading) else _as_read(record)
        except RecordError as error:
            log.warning("a record from outside was refused: %s", error)
            return
        if isinstance(record, Entry) and is_new_fire(self._doings, record, self._clock.now()):
            self.begin_cook(self._setup if self._renew is None else self._renew(self._clock.now()))
        self.take(record)

    def take_inbox(self) -> None:
        """Take the entries that dashboards have left; those found first may have lain there since before the start."""
        first, self._looked = not self._looked, True
        for number, entry in self.journal.inbox():
            self.journal.take_from_inbox(number)
            waited = self._clock.now() - entry.time
            if self._heed is not None:
                self._heed(entry)
            late = first and self._clock.rate == 1.0 and entry.at is None and LATE < waited < CURRENT
            self.hear(replace(entry, at=entry.time) if late else entry)

    def tick(self) -> None:
        """Ask the watch for an answer as of now."""
        self.take(Tick(time=self._clock.now()))

    def take(self, record: Record) -> None:
        """Put a record into the journal and through the reducer; its time is made to fit the order."""
        time = self._moment(record.time)
        if isinstance(record, Entry):
            if record.id is None:
                self._ids += 1
                record = replace(record, id=f"{micros(time):x}-{self._ids}")
            self._doings = follow(self._doings, replace(record, time=time))
        if record.time is not time:
            record = replace(record, time=time)
        self.journal.take(record)
        if isinstance(record, Setup):
            self._setup = record
        self._step(record)

    def write_down(self, notice: Notice) -> None:
        """Put into the journal what became of telling people; the watch does not think about it."""
        self.journal.tell((replace(notice, time=self._moment(notice.time)),))

    def _step(self, record: Record) -> None:
        self.state, out, failure = self._reducer.advance(self.state, record)
        self.journal.tell(out)
        self._untold.append(record)
        self._untold.extend(told for told in out if told is not record)
        if failure is not None and not isinstance(record, Trouble):
            self._failed_at = self._clock.real()
            self.report("keeper", "watch", f"the watch could not take a record and went on without it: {failure}")

    def _moment(self, time: datetime) -> datetime:
        """Return a time in the order of the records: not before the last one, and not in the future."""
        latest = max(self._clock.now(), self._last)
        if not self._last <= time <= latest:
            time = self._last if time < self._last else latest
        self._last = time = time.astimezone(UTC)
        return time

    def set_clock(self) -> None:
        """Look whether the wall clock was set; if so, time goes on from there.

        As a rule no time passes by that, and the journal is told with a clock entry. Soon after a reboot, though, a
        clock that is set forward shows how long the machine was off: that time has passed.
        """
        jump = self._clock.jump()
        if jump is None:
            return
        log.warning("the clock was set from %s to %s", jump.time.isoformat(), jump.to.isoformat())
        time = max(jump.time, self._last)
        if self._shows_a_gap(time, jump.to):
            self._catch_up(time, jump.to)
            return
        record = Clock(time=time, to=jump.to, id=f"{micros(time):x}-clock")
        self._doings = follow(self._doings, record)
        self.journal.take(record)
        self._last = jump.to
        if self._snapshot_at is not None:
            self._snapshot_at += jump.to - time
        self._step(record)

    def _shows_a_gap(self, time: datetime, to: datetime) -> bool:
        until, self._unsure_until = self._unsure_until, None
        return until is not None and self._clock.real() <= until and NEVER_SET <= time < to

    def _catch_up(self, time: datetime, to: datetime) -> None:
        if to - time >= CURRENT:
            log.info("the cook was not current after all")
            self.begin_cook(self._setup)
        else:
            self.take(Resumed(time=to, gap_seconds=(to - time).total_seconds()))

    # --- troubles --------------------------------------------------------------------------------

    def report(self, what: What, name: str, text: str | None) -> None:
        """Tell the watch of a trouble (`text`), or that there is none (None); what it knows already is not repeated."""
        standing = self._troubles.get((what, name))
        if (standing is None) == (text is None):
            return
        on = text is not None
        trouble = Trouble(time=self._clock.now(), what=what, name=name, on=on, text=text or "all is well again")
        if on:
            self._troubles[what, name] = trouble
        else:
            del self._troubles[what, name]
        log.warning("trouble %s: %s %s: %s", "begins" if on else "ends", what, name, trouble.text)
        self.take(trouble)

    def standing(self, what: What) -> set[str]:
        """Return the names of the troubles of a kind that are on."""
        return {name for kind, name in self._troubles if kind == what}

    def forget_failure(self, after_seconds: float) -> None:
        """End the trouble of a record that could not be taken when that was long enough ago."""
        if self._failed_at is None or self._clock.real() - self._failed_at >= after_seconds:
            self._failed_at = None
            self.report("keeper", "watch", None)

    # --- disk ------------------------------------------------------------------------------------

    def flush(self) -> list[Record]:
        """Write what is due; return what may be told to the outside now, because it is on disk or the disk refuses."""
        self.journal.flush()
        self._snapshot_if_due()
        if self.journal.waiting and self.journal.problem is None:
            return []
        told, self._untold = self._untold, []
        return told

    def _snapshot_if_due(self) -> None:
        real = self._clock.real()
        if not self.journal.renewed:
            if self._snapshot_at is not None and self._last - self._snapshot_at < SNAPSHOT_EVERY:
                return
            if self._snapshot_at is not None and real - self._snapshot_real < SNAPSHOT_PAUSE:
                return
        if self.journal.problem is not None:
            return
        self._snapshot_at, self._snapshot_real = self._last, real
        if self.journal.snapshot(self._reducer.version, self._reducer.freeze(self.state)):
            self.journal.renewed = False


def _as_read(record: R) -> R:
    """Return a record as the journal will give it back: a whole number where a fraction may stand becomes one.

    Raises
    ------
    RecordError
        It would not be read back; it did not come through a decoder.
    """
    again = decode(encode(record))
    assert isinstance(again, type(record))
    return again


def _sound(reading: Reading) -> Reading:
    """Return a reading as the journal will give it back; a number that is no temperature is a failure of the probe.

    Raises
    ------
    RecordError
        It is of no probe.
    """
    if not 1 <= len(reading.probe) <= LONGEST_NAME:
        raise RecordError(f'"{reading.probe[:80]}" is no name of a probe: it has 1 to {LONGEST_NAME} characters')
    celsius, status = reading.celsius, reading.status
    if status is Status.GOOD and (celsius is None or not COLDEST <= celsius <= HOTTEST):
        status = Status.FAILED
    if celsius is None or status is not Status.GOOD:
        return Reading(time=reading.time, probe=reading.probe, status=status)
    # A negative zero would come back as zero.
    return Reading(time=reading.time, probe=reading.probe, celsius=float(celsius) + 0.0)
