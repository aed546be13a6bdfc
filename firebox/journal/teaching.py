"""What a journal's cooks teach of the pit: each that is over, once, in order."""

import sqlite3
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

from firebox import study
from firebox.journal import history
from firebox.journal.doings import Doings, follow
from firebox.journal.history import Cook, Say
from firebox.journal.schema import looking_into
from firebox.ports import Kind
from firebox.records import Entry, Record
from firebox.setup import KnownPit

MOST: Final = 6
"""Cooks gone over in one go, the newest: what was before them says little of the pit as it is."""


LEAST: Final = timedelta(minutes=105)
"""A shorter cook has not four runs of three quarters of an hour in it."""


def learned(
    path: Path,
    known: KnownPit | None,
    *,
    kind: Kind = Kind.LIVE,
    until: datetime | None = None,
    say: Callable[[str], None] | None = None,
) -> KnownPit | None:
    """Return what is known of a pit with the cooks of its journal that came since.

    Parameters
    ----------
    path : Path
        The journal; it may be in use.
    known : KnownPit or None
        What was known before; a cook that is older than the newest that it holds is not gone over again.
    kind : Kind
        Of the cooks that count: what was practised teaches nothing of a real pit.
    until : datetime, optional
        A cook that began then or later is not over yet.
    say : callable, optional
        Takes what is done, and what could not be read.

    Raises
    ------
    JournalError
        No such journal, or it cannot be read on.
    """
    newest = known.cooks[-1] if known is not None and known.cooks else None
    with looking_into(path) as connection:
        cooks = [
            cook
            for cook in history.cooks(connection)
            if cook.kind == kind
            and (newest is None or cook.started > newest)
            and (until is None or cook.started < until)
        ]
        for cook in cooks[-MOST:]:
            before = known
            known = study.study(_records(connection, cook, say), known)
            if say is not None:
                say(f"cook {cook.id}: {'nothing to be learned from it' if known is before else 'learned from it'}")
    return known


def going_on(path: Path) -> datetime | None:
    """Return when the newest cook of a journal began, where its fire was not let out; None: it is over.

    Raises
    ------
    JournalError
        No such journal, or it cannot be read.
    """
    with looking_into(path) as connection:
        cooks = history.cooks(connection)
        if not cooks or cooks[-1].ended is not None:
            return None
        doings = Doings()
        for _, record in history.told(connection, cooks[-1].first_seq):
            if isinstance(record, Entry):
                doings = follow(doings, record)
    return cooks[-1].started if doings.out is None else None


def is_due(path: Path, kind: Kind = Kind.LIVE) -> bool:
    """Tell whether the newest cook of a journal lasted long enough to teach something.

    Raises
    ------
    JournalError
        No such journal, or it cannot be read.
    """
    with looking_into(path) as connection:
        cooks, newest = history.cooks(connection), history.last(connection)
    return bool(cooks) and newest is not None and cooks[-1].kind == kind and newest[1] - cooks[-1].started >= LEAST


def _records(connection: sqlite3.Connection, cook: Cook, say: Say | None) -> Iterator[Record]:
    for _, record in history.records(connection, cook.first_seq, cook.end_seq, say=say):
        yield record
