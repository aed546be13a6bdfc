"""JSON lines in, JSON lines out: the watch as a filter for scripts, recordings and partners in lockstep.

Logical time only: the time is what the lines say. Each step of the way is one piece:

============  ====================================================================================
`numbered`    bytes -> numbered lines; what is too long is passed over without being kept
`Hearing`     a line -> a record, in the order of time; what cannot be used is told and passed over
`Cadence`     the ticks that fall due between two records where the input brings none of its own
`run`         the reducer in the middle, and what it answers as lines, flushed after every tick
============  ====================================================================================
"""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from typing import Any, BinaryIO, Final, Literal, Protocol

import msgspec
from msgspec import Struct

from firebox.errors import RecordError, UnknownRecordError, printable
from firebox.records import (
    Celsius,
    Clock,
    Entry,
    Instant,
    Name,
    Reading,
    Record,
    Status,
    Tick,
    encode,
    from_plain,
    parse,
    unknown_fields,
)
from firebox.setup import Setup

LONGEST_LINE: Final = 1 << 20
"""Bytes; hundreds of times what any record needs."""

EARLIEST: Final = datetime(1970, 1, 1, tzinfo=UTC)
LATEST: Final = datetime(2200, 1, 1, tzinfo=UTC)
"""Bounds of a believable time: a computer whose clock was never set says 1970."""

MOST_UNKNOWN: Final = 100
"""Fields and types that are told; a stream of anything else is no stream of records."""

LONGEST_WATCH: Final = 366 * 86_400.0
"""Logical seconds; a line that far from the first has a wrong time."""

LONGEST_PAUSE: Final = 86_400.0
"""Logical seconds of silence that are filled with ticks; a longer one is stepped over."""


class Answers(Protocol):
    """What a step of the reducer returns."""

    @property
    def state(self) -> Any: ...  # whatever the reducer wants back

    @property
    def out(self) -> tuple[Record, ...]: ...


class Reducer(Protocol):
    """`firebox.watch`, or a stand-in with the same two functions."""

    @property
    def begin(self) -> Callable[[Setup], Any]: ...  # the reducer's own state

    @property
    def step(self) -> Callable[[Any, Record], Answers]: ...


def run(
    source: BinaryIO,
    sink: BinaryIO,
    say: Callable[[str], None],
    reducer: Reducer,
    setup: Callable[[datetime], Setup],
    *,
    every: float | None = None,
) -> None:
    """Answer a stream of records until it ends.

    Parameters
    ----------
    source, sink : binary files
        JSON lines. A line is read only when it is needed, and `sink` is flushed after every tick, so a partner may
        wait for each answer before it goes on.
    say : callable
        Takes what could not be used, one line of text at a time.
    reducer : Reducer
    setup : callable
        The pit to begin with, given the time of the first record; a `setup` in the input replaces it.
    every : float, optional
        Logical seconds between ticks where the input has none; None: no tick is added, save one at the end of an
        input that had none at all.
    """
    hearing, cadence = Hearing(say), Cadence(every)
    state: Any = None  # the reducer's own

    def answer(record: Record) -> None:
        nonlocal state
        if state is None:
            state = reducer.begin(record if isinstance(record, Setup) else setup(record.time))
        step = reducer.step(state, record)
        state = step.state
        sink.writelines(encode(told) + b"\n" for told in step.out)
        if isinstance(record, Tick):
            sink.flush()

    for number, line in numbered(source):
        record = hearing.hear(number, line)
        if record is not None:
            for tick in cadence.before(record):
                answer(tick)
            answer(record)
    for tick in cadence.end():
        answer(tick)
    sink.flush()


# --- lines ---------------------------------------------------------------------------------------


def numbered(source: BinaryIO) -> Iterator[tuple[int, bytes | None]]:
    """Yield (line number, line) from 1 on; None stands for a line that is too long to be a record."""
    number = 0
    while line := source.readline(LONGEST_LINE):
        number += 1
        if len(line) < LONGEST_LINE or line.endswith(b"\n"):
            yield number, line
            continue
        while line and not line.endswith(b"\n"):
            line = source.readline(LONGEST_LINE)
        yield number, None


class _PlainReading(Struct, frozen=True, forbid_unknown_fields=True):
    """A reading with nothing unusual about it: nearly every line of a recording, decoded in one go."""

    type: Literal["reading"]
    time: Instant
    probe: Name
    celsius: Celsius | None = None
    status: Status = Status.GOOD


_decode_plain: Final = msgspec.json.Decoder(_PlainReading).decode


class Hearing:
    """Turns lines into records, in the order of time.

    Whatever cannot be used is told through `say` with its line number and passed over. A field or type that this
    version does not know is told the first time it is met.
    """

    def __init__(self, say: Callable[[str], None]) -> None:
        self._say = say
        self._told: set[str] = set()
        self._first: datetime | None = None
        self._newest: datetime = EARLIEST

    def hear(self, number: int, line: bytes | None) -> Record | None:
        """Return the record on a line; None where there is none to be had."""
        if line is None:
            self._tell(number, f"longer than {LONGEST_LINE} bytes, skipped")
            return None
        if number == 1:
            line = line.removeprefix(b"\xef\xbb\xbf")
        if not line.strip():
            return None
        try:
            record = self._decode(number, line)
            self._place(record)
        except UnknownRecordError as error:
            self._tell_once(number, str(error))
        except RecordError as error:
            self._tell(number, f"{error}; skipped")
        else:
            return record
        return None

    def _decode(self, number: int, line: bytes) -> Record:
        try:
            plain = _decode_plain(line)
        except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
            return self._decode_any(number, line)
        if (plain.celsius is None) == (plain.status is Status.GOOD):
            return self._decode_any(number, line)
        return Reading(time=plain.time, probe=plain.probe, celsius=plain.celsius, status=plain.status)

    def _decode_any(self, number: int, line: bytes) -> Record:
        plain = parse(line)
        record = from_plain(plain)
        if not isinstance(record, Reading | Entry | Setup | Tick):
            raise UnknownRecordError(f'type "{plain["type"]}" is an answer, not an input')
        for field in unknown_fields(plain, record):
            word = f"{plain['type']} {plain['entry']}" if isinstance(record, Entry) else plain["type"]
            self._tell_once(number, f'"{field}" is not a known field of {word}')
        return record

    def _tell_once(self, number: int, text: str) -> None:
        if text in self._told or len(self._told) == MOST_UNKNOWN:
            return
        self._told.add(text)
        self._tell(number, f"{text}; ignored, here and in the lines to come")
        if len(self._told) == MOST_UNKNOWN:
            self._tell(number, "no more of the unknown fields and types are told")

    def _tell(self, number: int, text: str) -> None:
        self._say(f"line {number}: {printable(text)}")

    def _place(self, record: Record) -> None:
        """Put a record in the order of time, or refuse it (RecordError)."""
        reached = record.to if isinstance(record, Clock) else record.time
        for time in (record.time, reached):
            if not EARLIEST <= time < LATEST:
                raise RecordError(f"time {time.isoformat()} is outside {EARLIEST.year} to {LATEST.year}")
        first = record.time if self._first is None else self._first
        if self._first is not None and record.time < self._newest:
            raise RecordError(
                f"time runs backwards: {record.time.isoformat()} is before {self._newest.isoformat()}, which came"
                " earlier; a clock entry tells of a clock that was set back"
            )
        if (record.time - first).total_seconds() > LONGEST_WATCH:
            raise RecordError(f"time {record.time.isoformat()} is more than a year after the first line")
        self._first = first + (reached - record.time)
        self._newest = reached


# --- ticks ---------------------------------------------------------------------------------------


class Cadence:
    """Ticks every so many logical seconds after the first record, until the input brings a tick of its own."""

    def __init__(self, every: float | None) -> None:
        self._every = None if every is None else timedelta(seconds=every)
        self._due: datetime | None = None
        self._newest: datetime | None = None
        self._ticks = 0
        self._asked = False

    def before(self, record: Record) -> Iterator[Tick]:
        """Yield the ticks that fall due before a record; one at its very instant waits for what else happens then."""
        self._asked = self._asked or isinstance(record, Tick)
        yield from self._until(record.time)
        self._newest = record.time
        if isinstance(record, Clock):
            self._newest = record.to
            self._due = self._due and self._due + (record.to - record.time)

    def end(self) -> Iterator[Tick]:
        """Yield the ticks that are still due when the input has ended."""
        if self._newest is None:
            return
        yield from self._until(self._newest + timedelta.resolution)
        if not self._asked and not self._ticks:
            yield Tick(time=self._newest)

    def _until(self, time: datetime) -> Iterator[Tick]:
        if self._every is None or self._asked:
            return
        if self._due is None:
            self._due = time + self._every
        silent_from = self._newest or time
        while self._due < time:
            if (self._due - silent_from).total_seconds() <= LONGEST_PAUSE:
                self._ticks += 1
                yield Tick(time=self._due)
                self._due += self._every
            else:
                self._due += self._every * -((self._due - time) // self._every)  # the first one not before `time`
