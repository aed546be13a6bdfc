"""Tables and views of the journal, its numbered migrations, and how a connection to it is opened.

Instants are whole microseconds since 1970-01-01T00:00:00Z. `seq` counts over `readings`, `ticks` and `records`
together: in its order the three are one history, and a replay. Gaps in it mean nothing.

=============  ====================================================================================
table          holds
=============  ====================================================================================
cooks          one row a cook: when it began and ended, and the `seq` of its first record
readings       one row a reading; `coarse` marks at most one a probe every ten seconds
ticks          the instants at which the watch was asked for an answer
records        everything else, as the JSON of the stream; `way` is `in` or `out`
latest         the newest answer of each kind and probe
inbox          entries that dashboards left and the keeper has not yet taken
snapshots      the frozen state of the watch, so that a restart need not replay the whole cook
probes         names of the numbers in `readings.probe`
meta           what a dashboard may know of the keeper
=============  ====================================================================================

The views `reading_list`, `record_list` and `cook_list` show the same with names and times that a person can read.
"""

import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Final

from firebox.errors import JournalError

BUSY_SECONDS: Final = 2.0
"""How long to wait for another writer (a dashboard leaving an entry takes milliseconds)."""

_FIRST: Final = """
CREATE TABLE cooks (
  id INTEGER PRIMARY KEY, started INTEGER NOT NULL, ended INTEGER, first_seq INTEGER NOT NULL, kind TEXT NOT NULL
);
CREATE TABLE probes (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE);
CREATE TABLE readings (
  seq INTEGER PRIMARY KEY, time INTEGER NOT NULL, probe INTEGER NOT NULL, celsius REAL, status INTEGER NOT NULL,
  coarse INTEGER NOT NULL
);
CREATE INDEX readings_coarse ON readings (seq) WHERE coarse = 1;
CREATE TABLE ticks (seq INTEGER PRIMARY KEY, time INTEGER NOT NULL);
CREATE TABLE records (
  seq INTEGER PRIMARY KEY, time INTEGER NOT NULL, way TEXT NOT NULL, type TEXT NOT NULL, name TEXT, body TEXT NOT NULL
);
CREATE TABLE latest (
  type TEXT NOT NULL, name TEXT NOT NULL, seq INTEGER NOT NULL, time INTEGER NOT NULL, body TEXT NOT NULL,
  PRIMARY KEY (type, name)
);
CREATE TABLE inbox (id INTEGER PRIMARY KEY AUTOINCREMENT, body TEXT NOT NULL);
CREATE TABLE snapshots (
  id INTEGER PRIMARY KEY, cook INTEGER NOT NULL, seq INTEGER NOT NULL, version TEXT NOT NULL, digest BLOB NOT NULL,
  state BLOB NOT NULL
);
CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL);
CREATE VIEW reading_list AS
  SELECT r.seq AS seq, strftime('%Y-%m-%dT%H:%M:%fZ', r.time / 1e6, 'unixepoch') AS time, p.name AS probe,
    r.celsius AS celsius, CASE r.status WHEN 0 THEN 'good' WHEN 1 THEN 'open' WHEN 2 THEN 'shorted' ELSE 'failed' END
    AS status
  FROM readings r JOIN probes p ON p.id = r.probe;
CREATE VIEW record_list AS
  SELECT seq, strftime('%Y-%m-%dT%H:%M:%fZ', time / 1e6, 'unixepoch') AS time, way, type, name, body FROM records;
CREATE VIEW cook_list AS
  SELECT id, kind, strftime('%Y-%m-%dT%H:%M:%fZ', started / 1e6, 'unixepoch') AS started,
    strftime('%Y-%m-%dT%H:%M:%fZ', ended / 1e6, 'unixepoch') AS ended, first_seq FROM cooks;
"""


def _first(connection: sqlite3.Connection) -> None:
    for statement in _FIRST.split(";"):
        connection.execute(statement)


MIGRATIONS: Final[tuple[Callable[[sqlite3.Connection], None], ...]] = (_first,)
"""Step n leads from `user_version` n to n + 1; each runs in one transaction with the bump."""

VERSION: Final = len(MIGRATIONS)

TABLES: Final = ("cooks", "probes", "readings", "ticks", "records", "latest", "inbox", "snapshots", "meta")


def migrate(connection: sqlite3.Connection) -> None:
    """Bring the schema up to date.

    Raises
    ------
    JournalError
        The file was written by a later version of the program.
    """
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    if version > VERSION:
        raise JournalError(
            f"the journal is of schema {version}, this program knows up to {VERSION}; a later firebox wrote it"
        )
    for number in range(version, VERSION):
        connection.execute("BEGIN IMMEDIATE")
        try:
            MIGRATIONS[number](connection)
            connection.execute(f"PRAGMA user_version = {number + 1}")
        except BaseException:
            connection.execute("ROLLBACK")
            raise
        connection.execute("COMMIT")


CHECKPOINT_PAGES: Final = 256
"""Pages after which the write-ahead log is folded in: a megabyte, so that it stays small beside the journal itself."""


def damage(text: str) -> sqlite3.DatabaseError:
    """Return the error that SQLite would raise for a damaged file, where the damage is seen only by whoever reads on."""
    error = sqlite3.DatabaseError(text)
    error.sqlite_errorcode = sqlite3.SQLITE_CORRUPT
    return error


def open_writing(path: Path) -> sqlite3.Connection:
    """Return a connection that writes durably: write-ahead log, synchronised at every commit.

    Raises
    ------
    sqlite3.Error
        The file cannot be opened, or is damaged.
    JournalError
        It is of a later version.
    """
    connection = sqlite3.connect(path, timeout=BUSY_SECONDS, isolation_level=None)
    try:
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute(f"PRAGMA wal_autocheckpoint = {CHECKPOINT_PAGES}")
        migrate(connection)
    except UnicodeDecodeError as error:
        connection.close()
        raise damage("its table of contents is no text") from error
    except BaseException:
        connection.close()
        raise
    return connection


def open_reading(path: Path) -> sqlite3.Connection:
    """Return a connection that cannot write, also to a file on a disk that cannot be written.

    It may be closed in another thread than the one that uses it; SQLite itself takes turns (it is built so).

    Where SQLite cannot read in place (a write-ahead log without a place for its index), a copy is read; it is gone
    when the connection is open.

    Raises
    ------
    JournalError
        There is no such file, or it is no journal; the message says which.
    """
    if not path.is_file():
        raise JournalError(f"{path}: there is no journal here")
    try:
        return _reading(f"{path.absolute().as_uri()}?mode=ro")
    except sqlite3.OperationalError:
        return _reading_copy(path)
    except UnicodeDecodeError as error:
        raise JournalError(f"{path}: damaged: its table of contents is no text") from error
    except sqlite3.DatabaseError as error:
        raise JournalError(f"{path}: {error}") from error


@contextmanager
def looking_into(path: Path) -> Iterator[sqlite3.Connection]:
    """Give a connection as `open_reading` does, for as long as is looked.

    Raises
    ------
    JournalError
        As `open_reading`; or what is looked at cannot be read.
    """
    with closing(open_reading(path)) as connection:
        try:
            yield connection
        except sqlite3.DatabaseError as error:
            raise JournalError(f"{path}: {error}") from error


def _reading(uri: str) -> sqlite3.Connection:
    connection = sqlite3.connect(uri, uri=True, timeout=BUSY_SECONDS, isolation_level=None, check_same_thread=False)
    try:
        connection.execute("SELECT count(*) FROM cooks").fetchone()
    except BaseException:
        connection.close()
        raise
    connection.text_factory = _text
    return connection


def _text(raw: bytes) -> str:
    """Return a text column, readable even where damage made it no text; what it means is judged further on."""
    return raw.decode(errors="replace")


def _reading_copy(path: Path) -> sqlite3.Connection:
    try:
        with tempfile.TemporaryDirectory(prefix="firebox-") as folder:
            for end in ("", "-wal"):
                part = path.with_name(path.name + end)
                if part.exists():
                    shutil.copyfile(part, Path(folder, "copy" + end))
            copy = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
            with closing(sqlite3.connect(Path(folder, "copy"), isolation_level=None)) as source:
                source.backup(copy)
            copy.execute("SELECT count(*) FROM cooks").fetchone()
            copy.text_factory = _text
            return copy
    except (sqlite3.Error, OSError) as error:
        raise JournalError(f"{path}: {error}") from error
