"""The keeper's hand in the journal: what comes in and what is answered, in one order, durable in time.

Everything is first put in memory, in order, and written by `commit` in one transaction. So an alarm or entry takes
along the readings before it, and a disk that refuses (full, read-only, damaged) only makes the memory longer: the
next commit that succeeds writes it all. Sequence numbers are given when the rows are written.
"""

import sqlite3
import time
from collections.abc import Callable, Sequence
from datetime import datetime
from hashlib import blake2b
from pathlib import Path
from typing import Any, Final

from msgspec import Struct

from firebox.errors import JournalError, RecordError
from firebox.journal import history, salvage
from firebox.journal.rows import ANSWERS, NUMBERS, micros, name_of, type_of
from firebox.journal.schema import VERSION, open_writing
from firebox.ports import Kind
from firebox.records import Alarm, Clock, Entry, Reading, Record, Tick, decode, encode
from firebox.setup import Setup

BATCH_SECONDS: Final = 1.0
"""Age of the oldest unwritten reading at which it is time to write; a caller that looks twice a second keeps at most
1.5 s at risk."""

RETRY_SECONDS: Final = 5.0
"""Pause between two attempts at a disk that refuses."""

MEMORY_ROWS: Final = 40_000
"""Readings and ticks kept while the disk refuses: 80 minutes of 8 probes at 1 Hz, about 10 MB."""

ANSWERS_EVERY_MICROS: Final = 60_000_000
"""Logical time between two sets of answers in the history; they change slowly, and the newest is kept anyway."""

COARSE_MICROS: Final = 10_000_000
"""Logical time between two readings of a probe in the thinned history."""

SNAPSHOTS_KEPT: Final = 2
"""The newest, and one more in case it is damaged."""


class _Row(Struct, frozen=True):
    """One row to be; `values` are those of its table after `seq`."""

    table: str
    values: tuple[Any, ...]  # what SQLite stores: int, float, str or None


class _Running(Struct, frozen=True):
    """The cook that is being written, as much as is needed to go on with it in another file."""

    kind: str
    started: int
    setup: _Row
    id: int | None = None


class Journal:
    """The journal of one pit, open for writing.

    Attributes
    ----------
    problem : str or None
        Why nothing is being written at present. Memory takes its place, and every few seconds it is tried again.
    urgent : bool
        Something waits that must be on disk before anybody is told: an entry or an alarm.
    renewed : bool
        The file is not the one that was written before (it was damaged or gone); a snapshot is due. The reader of
        this attribute sets it back.
    notice : str or None
        What happened on the way, for the log. Set back by whoever has read it, as is `damage`.
    damage : str or None
        How the file came to be another one; the cook should know.
    lost_readings : int
        Readings that even the memory had no room for.
    """

    def __init__(self, path: Path, real: Callable[[], float] = time.monotonic) -> None:
        """Open or make the journal at `path`.

        Raises
        ------
        JournalError
            It was written by a later version of the program. Anything else that is wrong becomes `problem`.
        """
        self.path = path
        self.problem: str | None = None
        self.urgent = False
        self.renewed = False
        self.notice: str | None = None
        self.damage: str | None = None
        self.lost_readings = 0
        self._real = real
        self._connection: sqlite3.Connection | None = None
        self._file: tuple[int, int] | None = None
        self._seq = 0
        self._probes: dict[str, int] = {}
        self._cook: _Running | None = None
        self._rows: list[_Row] = []
        self._oldest: float | None = None
        self._tries_again = 0.0
        self._inbox_version: int | None = None
        self._taken: set[int] = set()
        self._latest: tuple[tuple[Any, ...], ...] | None = None  # rows of `latest`
        self._meta: str | None = None
        self._coarse: dict[str, int] = {}
        self._answered = -ANSWERS_EVERY_MICROS
        self._changed = True
        try:
            self._connect()
        except (sqlite3.Error, OSError) as error:
            self._fail(error)

    # --- what is put in --------------------------------------------------------------------------

    def begin_cook(self, setup: Setup, kind: Kind) -> None:
        """Begin a cook with its setup; one that was running ends."""
        row = _record_row(setup, "in")
        started = micros(setup.time)
        self._put(_Row("cooks", (started, None, kind.value)))
        self._put(row)
        self._cook = _Running(kind.value, started, row)
        self._latest = ()
        self._changed = self.urgent = True

    def continue_cook(self, cook: history.Cook, setup: Setup) -> None:
        """Go on with a cook that was resumed."""
        self._cook = _Running(cook.kind, micros(cook.started), _record_row(setup, "in"), cook.id)

    def end_cook(self, ended: datetime) -> None:
        """Note that the running cook is over."""
        self._put(_Row("end", (micros(ended),)))
        self.urgent = True

    def take(self, record: Record) -> None:
        """Put in one record that came in."""
        match record:
            case Reading():
                at = micros(record.time)
                coarse = at - self._coarse.get(record.probe, at - COARSE_MICROS) >= COARSE_MICROS
                if coarse:
                    self._coarse[record.probe] = at
                values = (at, record.probe, record.celsius, NUMBERS[record.status], int(coarse))
                self._put(_Row("readings", values))
            case Tick():
                self._put(_Row("ticks", (micros(record.time),)))
            case _:
                row = _record_row(record, "in")
                self._put(row)
                self.urgent = self._changed = True
                if isinstance(record, Clock):
                    self._coarse.clear()
                    self._answered = micros(record.to) - ANSWERS_EVERY_MICROS
                elif isinstance(record, Setup) and self._cook is not None:
                    self._cook = _Running(self._cook.kind, self._cook.started, row, self._cook.id)

    def tell(self, out: Sequence[Record]) -> None:
        """Put in what came out of a step.

        Alarms and changes of health are kept, all of them. Of the answers the newest set is kept, and a history of
        one set a logical minute, and whenever an entry or alarm changed something.
        """
        if any(isinstance(record, Alarm) for record in out):
            self.urgent = self._changed = True
        answers = [record for record in out if isinstance(record, ANSWERS)]
        for record in out:
            if not isinstance(record, (*ANSWERS, Tick)):
                self._put(_record_row(record, "out"))
        if not answers:
            return
        rows = [_record_row(record, "out") for record in answers]
        self._latest = tuple((kind, name or "", at, body) for at, _, kind, name, body in (row.values for row in rows))
        self._put(_Row("latest", ()))
        now = micros(answers[0].time)
        if self._changed or now - self._answered >= ANSWERS_EVERY_MICROS:
            self._changed, self._answered = False, now
            for row in rows:
                self._put(row)

    def describe_keeper(self, text: str) -> None:
        """Put in what a dashboard may know of the keeper (JSON); written with the readings of the moment."""
        self._meta = text
        self._wait()

    def _put(self, row: _Row) -> None:
        self._rows.append(row)
        self._wait()
        if len(self._rows) > MEMORY_ROWS and self.problem is not None:
            self._forget_oldest()

    def _wait(self) -> None:
        if self._oldest is None:
            self._oldest = self._real()

    def _forget_oldest(self) -> None:
        """Make room: a tenth of the readings and ticks go, oldest first; nothing else ever does."""
        spare, kept = MEMORY_ROWS // 10, []
        for row in self._rows:
            if spare and row.table in {"readings", "ticks", "latest"}:
                spare -= 1
                self.lost_readings += row.table == "readings"
            else:
                kept.append(row)
        self._rows = kept

    @property
    def waiting(self) -> bool:
        """Whether something is not yet on disk."""
        return bool(self._rows)

    # --- the inbox -------------------------------------------------------------------------------

    def inbox(self) -> list[tuple[int, Entry]]:
        """Return (number, entry) of what dashboards left and was not taken yet; what is no entry is thrown out."""
        if self._connection is None:
            return []
        try:
            (version,) = self._connection.execute("PRAGMA data_version").fetchone()
            if version == self._inbox_version:
                return []
            rows = self._connection.execute("SELECT id, body FROM inbox ORDER BY id").fetchall()
        except sqlite3.Error as error:
            self._fail(error)
            return []
        self._inbox_version = version
        left = []
        for number, body in rows:
            if number in self._taken:
                continue
            try:
                record = decode(body)
            except RecordError as error:
                self.notice = f"an entry left by a dashboard was thrown out: {error}"
                self.take_from_inbox(number)
                continue
            if isinstance(record, Entry):
                left.append((number, record))
        return left

    def take_from_inbox(self, number: int) -> None:
        """Note that an entry was taken; it leaves the inbox in the transaction that makes it a record."""
        self._taken.add(number)
        self._put(_Row("inbox", (number,)))
        self.urgent = True

    # --- writing ---------------------------------------------------------------------------------

    def flush(self) -> None:
        """Write what waits, if it is urgent or has waited long enough."""
        waited = self._oldest is not None and self._real() - self._oldest >= BATCH_SECONDS
        if self.urgent or waited or self.problem is not None:
            self.commit()

    def commit(self) -> bool:
        """Write all that waits; False where the disk refuses (then `problem` says why)."""
        if self.problem is not None and self._real() < self._tries_again:
            return False
        try:
            self._connect()
            assert self._connection is not None
            self._write(self._connection)
        except (sqlite3.Error, OSError, JournalError) as error:
            self._fail(error)
            return False
        self.problem = None
        self.urgent = False
        return True

    def _write(self, connection: sqlite3.Connection) -> None:
        if not self._rows and self._latest is None and self._meta is None and self.problem is None:
            return
        connection.execute("BEGIN IMMEDIATE")
        try:
            batch = _Batch(self._seq, self._probes, self._cook.id if self._cook else None)
            for row in self._rows:
                batch.add(row)
            batch.write(connection)
            if self._latest is not None:
                connection.execute("DELETE FROM latest")
                connection.executemany(
                    "INSERT OR REPLACE INTO latest (type, name, time, body, seq) VALUES (?, ?, ?, ?, ?)",
                    [(*row, batch.latest_seq) for row in self._latest],
                )
            if self._meta is not None:
                connection.execute("INSERT OR REPLACE INTO meta (key, value) VALUES ('keeper', ?)", (self._meta,))
            if self.problem is not None:
                connection.execute(f"PRAGMA user_version = {VERSION}")  # a write, to see whether one is possible
            connection.execute("COMMIT")
        except BaseException:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            raise
        self._seq, self._probes = batch.seq, batch.probes
        if self._cook is not None:
            self._cook = _Running(self._cook.kind, self._cook.started, self._cook.setup, batch.cook)
        self._taken -= {row.values[0] for row in self._rows if row.table == "inbox"}
        self._rows, self._oldest, self._latest, self._meta = [], None, None, None

    def snapshot(self, version: str, state: bytes) -> bool:
        """Write the frozen state of the watch after all that was put in; False where that fails."""
        if not self.commit() or self._connection is None or self._cook is None or self._cook.id is None:
            return False
        try:
            self._connection.execute("BEGIN IMMEDIATE")
            self._connection.execute(
                "INSERT INTO snapshots (cook, seq, version, digest, state) VALUES (?, ?, ?, ?, ?)",
                (self._cook.id, self._seq, version, digest(state), state),
            )
            self._connection.execute(
                "DELETE FROM snapshots WHERE id NOT IN (SELECT id FROM snapshots ORDER BY id DESC LIMIT ?)",
                (SNAPSHOTS_KEPT,),
            )
            self._connection.execute("COMMIT")
        except sqlite3.Error as error:
            self._fail(error)
            return False
        return True

    def close(self) -> None:
        """Write what waits and let go of the file; may be called twice."""
        self._tries_again = 0.0
        if self._rows or self._meta is not None:
            self.commit()
        self._disconnect()

    # --- the file --------------------------------------------------------------------------------

    def _connect(self) -> None:
        """Have the file open and sound; a damaged one is replaced by what can be read of it."""
        if self._connection is not None:
            if self._file == _identity(self.path):
                return
            self._disconnect()
            self.damage = f"{self.path} was taken away or exchanged; the rest of the cook is written to a new one"
        self.path.parent.mkdir(parents=True, exist_ok=True)
        try:
            self._connection = open_writing(self.path)
            salvage.check(self._connection, self.path)
        except sqlite3.DatabaseError as error:
            self._disconnect()
            if not salvage.is_damage(error):
                raise
            self.damage, self.renewed = salvage.renew(self.path), True
            self._connection = open_writing(self.path)
        self._file = _identity(self.path)
        self._find_place(self._connection)

    def renew(self) -> None:
        """Put what can be read of the file into a new one, because it turned out to be damaged."""
        self._disconnect()
        try:
            self.damage, self.renewed = salvage.renew(self.path), True
            self._connect()
        except (sqlite3.Error, OSError) as error:
            self._fail(error)

    def _find_place(self, connection: sqlite3.Connection) -> None:
        """Learn where the file stands, and carry the running cook into it where it does not know it."""
        newest = history.last(connection)
        (in_latest,) = connection.execute("SELECT max(seq) FROM latest").fetchone()
        self._seq = max(self._seq, newest[0] if newest else 0, in_latest or 0)
        self._probes = dict(connection.execute("SELECT name, id FROM probes"))
        cook = self._cook
        if cook is None or any(row.table == "cooks" for row in self._rows):
            return
        known = connection.execute(
            "SELECT max(id) FROM cooks WHERE started = ? AND ended IS NULL", (cook.started,)
        ).fetchone()[0]
        self._cook = _Running(cook.kind, cook.started, cook.setup, known)
        if known is None:
            self._rows[:0] = [_Row("cooks", (cook.started, None, cook.kind)), cook.setup]
            self.urgent = self.renewed = True

    def _disconnect(self) -> None:
        if self._connection is not None:
            self._connection.close()
            self._connection, self._inbox_version = None, None

    def _fail(self, error: Exception) -> None:
        """Remember why the disk refuses; the file is opened afresh at the next attempt."""
        self._disconnect()
        self.problem = f"{self.path}: {error}"
        self._tries_again = self._real() + RETRY_SECONDS


class _Batch:
    """Rows of one transaction, numbered in order and sorted by table."""

    def __init__(self, seq: int, probes: dict[str, int], cook: int | None) -> None:
        self.seq = seq
        self.probes = dict(probes)
        self.cook = cook
        self.latest_seq = seq
        self._new_probes: list[tuple[int, str]] = []
        self._many: dict[str, list[tuple[Any, ...]]] = {"readings": [], "ticks": [], "records": [], "inbox": []}
        self._cooks: list[tuple[int, int | None, str, int]] = []
        self._ends: list[int] = []

    def add(self, row: _Row) -> None:
        match row.table:
            case "cooks":
                self._cooks.append((*row.values, self.seq + 1))
            case "end":
                self._ends.append(row.values[0])
            case "inbox":
                self._many["inbox"].append(row.values)
            case "latest":
                self.seq = self.latest_seq = self.seq + 1
            case "readings":
                self.seq += 1
                at, name, *rest = row.values
                self._many["readings"].append((self.seq, at, self._probe(name), *rest))
            case _:
                self.seq += 1
                self._many[row.table].append((self.seq, *row.values))

    def _probe(self, name: str) -> int:
        if name not in self.probes:
            self.probes[name] = max(self.probes.values(), default=0) + 1
            self._new_probes.append((self.probes[name], name))
        return self.probes[name]

    def write(self, connection: sqlite3.Connection) -> None:
        connection.executemany("INSERT INTO probes (id, name) VALUES (?, ?)", self._new_probes)
        connection.executemany("INSERT INTO readings VALUES (?, ?, ?, ?, ?, ?)", self._many["readings"])
        connection.executemany("INSERT INTO ticks VALUES (?, ?)", self._many["ticks"])
        connection.executemany("INSERT INTO records VALUES (?, ?, ?, ?, ?, ?)", self._many["records"])
        connection.executemany("DELETE FROM inbox WHERE id = ?", self._many["inbox"])
        for started, ended, kind, first in self._cooks:
            connection.execute("UPDATE cooks SET ended = ? WHERE ended IS NULL", (started,))
            self.cook = connection.execute(
                "INSERT INTO cooks (started, ended, kind, first_seq) VALUES (?, ?, ?, ?)",
                (started, ended, kind, first),
            ).lastrowid
        for ended in self._ends:
            connection.execute("UPDATE cooks SET ended = ? WHERE id = ?", (ended, self.cook))


def digest(state: bytes) -> bytes:
    """Return what a snapshot is checked by when it is read: a file may be damaged without SQLite noticing."""
    return blake2b(state, digest_size=16).digest()


def _record_row(record: Record, way: str) -> _Row:
    values = (micros(record.time), way, type_of(record), name_of(record), encode(record).decode())
    return _Row("records", values)


def _identity(path: Path) -> tuple[int, int] | None:
    try:
        found = path.stat()
    except FileNotFoundError:
        return None
    return found.st_dev, found.st_ino
