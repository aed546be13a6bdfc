"""The state of a watch after a restart: the newest snapshot and what came after it, or the whole cook again.

A replay takes the records that came in, in their order, through the same reducer; what came out is in the journal
already. Snapshots are a shortcut: one of another version, damaged or not decoding is passed over.
"""

import logging
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Generic, Protocol, TypeVar

from firebox.errors import JournalError, RecordError
from firebox.journal import history
from firebox.journal.doings import CURRENT, Doings, follow
from firebox.journal.history import Cook
from firebox.journal.reader import read_note
from firebox.journal.salvage import DamagedError, is_damage
from firebox.journal.schema import open_reading
from firebox.journal.writer import digest
from firebox.ports import Kind
from firebox.records import Entry, Record, Trouble, decode
from firebox.setup import Setup

log = logging.getLogger(__name__)

S = TypeVar("S")


class Answered(Protocol):
    """What a step returns."""

    @property
    def state(self) -> Any: ...  # what the reducer wants back

    @property
    def out(self) -> tuple[Record, ...]: ...


@dataclass(frozen=True)
class Reducer(Generic[S]):
    """The functions of `firebox.watch`, or of a stand-in, and the version that its frozen states belong to."""

    begin: Callable[[Setup], S]
    step: Callable[[S, Record], Answered]
    freeze: Callable[[S], bytes]
    thaw: Callable[[bytes], S]
    version: str

    def advance(self, state: S, record: Record) -> tuple[S, tuple[Record, ...], str | None]:
        """Return the state after a record, what came out, and what went wrong.

        A reducer does not raise on a record that decoded. If it does all the same, the record is passed over, here
        and in every replay, so that one defect does not end the watch of a burning fire.
        """
        try:
            step = self.step(state, record)
        except Exception as error:  # the top of the watch: logged, recorded by the caller, told as an alarm
            log.exception("a record could not be taken: %s", record)
            return state, (), f"{type(error).__name__}: {error}"
        return step.state, step.out, None


@dataclass(frozen=True)
class Resumption(Generic[S]):
    """A cook taken up again.

    Attributes
    ----------
    state : S
        As it was after the last record that is on disk.
    cook : Cook
    setup : Setup
        The newest of the cook.
    last : datetime
        The instant that the journal had reached.
    troubles : tuple of Trouble
        Troubles that were on.
    doings : Doings
    newest : tuple of Record
        The newest of each alarm, probe's health and answer: what the outside should know, and may not have heard.
    boot : str or None
        Which start of the machine the keeper ran under before.
    replayed : int
        How many records it took.
    """

    state: S
    cook: Cook
    setup: Setup
    last: datetime
    troubles: tuple[Trouble, ...]
    doings: Doings
    newest: tuple[Record, ...]
    boot: str | None
    replayed: int


def newest_instant(path: Path) -> datetime | None:
    """Return the instant that a journal has reached; None where there is none, or nothing in it."""
    try:
        connection = open_reading(path)
    except JournalError:
        return None
    try:
        newest = history.last(connection)
    except sqlite3.DatabaseError:
        return None
    finally:
        connection.close()
    return newest[1] if newest else None


def resume(path: Path, reducer: Reducer[S], now: datetime, kind: Kind = Kind.LIVE) -> Resumption[S] | None:
    """Return the current cook of a journal, taken up again; None where none of this kind is current.

    Raises
    ------
    DamagedError
        The journal is damaged; it may be resumed once `Journal.renew` has saved what can be read.
    JournalError
        It cannot be read at all; a new cook is all that is left.
    """
    if not path.exists():
        return None
    connection = open_reading(path)
    try:
        return _resume(connection, reducer, now, kind)
    except sqlite3.DatabaseError as error:
        if is_damage(error):
            raise DamagedError(f"{path}: {error}") from error
        raise JournalError(f"{path}: {error}") from error
    finally:
        connection.close()


def _resume(connection: sqlite3.Connection, reducer: Reducer[S], now: datetime, kind: Kind) -> Resumption[S] | None:
    known = history.cooks(connection)
    newest = history.last(connection)
    if (
        not known
        or newest is None
        or known[-1].ended is not None
        or known[-1].kind != kind
        or now - newest[1] >= CURRENT
    ):
        return None
    cook = known[-1]
    setups = [record for record in _of(connection, cook, "type = 'setup'") if isinstance(record, Setup)]
    if not setups:
        return None
    state, after = _from_snapshot(connection, reducer, cook) or (reducer.begin(setups[0]), cook.first_seq - 1)
    replayed = 0
    for _, record in history.records(connection, after + 1, say=log.warning):
        state, _, _ = reducer.advance(state, record)
        replayed += 1
    doings, troubles = Doings(), dict[tuple[str, str], Trouble]()
    for record in _of(connection, cook, "type = 'entry'"):
        assert isinstance(record, Entry)
        doings = follow(doings, record)
        if isinstance(record, Trouble):
            troubles.pop((record.what, record.name), None)
            if record.on:
                troubles[record.what, record.name] = record
    return Resumption(
        state=state,
        cook=cook,
        setup=setups[-1],
        last=newest[1],
        doings=doings,
        troubles=tuple(troubles.values()),
        newest=_newest(connection, cook),
        boot=note.boot if (note := read_note(connection)) else None,
        replayed=replayed,
    )


def _from_snapshot(connection: sqlite3.Connection, reducer: Reducer[S], cook: Cook) -> tuple[S, int] | None:
    rows = connection.execute(
        "SELECT seq, digest, state FROM snapshots WHERE cook = ? AND version = ? ORDER BY id DESC",
        (cook.id, reducer.version),
    )
    for seq, mark, frozen in rows:
        if digest(frozen) != mark:
            log.warning("a snapshot is damaged and passed over")
            continue
        try:
            return reducer.thaw(frozen), seq
        except ValueError as error:  # msgspec's errors are ValueErrors
            log.warning("a snapshot does not decode and is passed over: %s", error)
    return None


_NEWEST = """
SELECT body FROM records WHERE seq IN (
  SELECT max(seq) FROM records WHERE seq >= ? AND way = 'out' AND type IN ('alarm', 'probe') GROUP BY type, name
) UNION ALL SELECT body FROM latest
"""


def _newest(connection: sqlite3.Connection, cook: Cook) -> tuple[Record, ...]:
    return tuple(_decoded(connection.execute(_NEWEST, (cook.first_seq,))))


def _of(connection: sqlite3.Connection, cook: Cook, condition: str) -> list[Record]:
    query = f"SELECT body FROM records WHERE seq >= ? AND way = 'in' AND {condition} ORDER BY seq"  # noqa: S608
    return _decoded(connection.execute(query, (cook.first_seq,)))


def _decoded(rows: sqlite3.Cursor) -> list[Record]:
    found = []
    for (body,) in rows:
        try:
            found.append(decode(body))
        except RecordError as error:
            log.warning("a record of the journal is passed over: %s", error)
    return found
