"""What cooks have taught of a pit: read, learned, forgotten."""

import logging
from collections.abc import Callable
from datetime import datetime

from msgspec.structs import replace

from firebox.config import locations
from firebox.errors import ConfigError
from firebox.records import Entry, Out
from firebox.setup import KnownPit, Setup
from firebox.wiring.watched import Watched, is_kept

log = logging.getLogger(__name__)


def known(watched: Watched) -> KnownPit | None:
    """Return what cooks have taught of a pit; None: nothing yet. `firebox.estimate.worth` says it in sentences.

    Raises
    ------
    ConfigError
        What was kept cannot be used.
    """
    from firebox.config import known as kept

    return kept.read(locations.known_file(watched.name))


def learn(watched: Watched, *, afresh: bool = False, say: Callable[[str], None] | None = None) -> KnownPit | None:
    """Go over the cooks that are done and not yet learned from, keep what they teach, and return what is known now.

    Takes about a second for each hour of a cook. `afresh` starts from what the pit's dimensions say.

    Raises
    ------
    ConfigError
        What was kept cannot be used or written.
    JournalError
        There is no journal, or it cannot be read.
    """
    from firebox.config import known as kept
    from firebox.journal import teaching

    before = None if afresh else known(watched)
    until = teaching.going_on(watched.journal) if is_kept(watched) else None
    found = teaching.learned(watched.journal, before, kind=watched.kind, until=until, say=say)
    if found is not None and found is not before:
        kept.keep(locations.known_file(watched.name), found)
    return found


def forget(watched: Watched) -> bool:
    """Take away what cooks have taught of a pit; return whether there was anything. The cooks stay in the journal.

    Raises
    ------
    ConfigError
        It cannot be taken away.
    """
    from firebox.config import known as kept

    return kept.forget(locations.known_file(watched.name))


def knowing(watched: Watched, setup: Callable[[datetime], Setup]) -> Callable[[datetime], Setup]:
    """Return the setup with what is known of the pit then; what cannot be read keeps nobody from watching a fire."""

    def knowing(time: datetime) -> Setup:
        try:
            return replace(setup(time), known=known(watched))
        except ConfigError as error:
            log.warning("begun without what earlier cooks taught: %s", error)
            return setup(time)

    return knowing


def heeding(watched: Watched) -> Callable[[Entry], None]:
    """Return what learns from a cook whose fire is let out, however long its keeper then runs."""

    def heed(entry: Entry) -> None:
        if isinstance(entry, Out):
            learn_later(watched)

    return heed


def learn_later(watched: Watched) -> None:
    """Learn from the cook in a process of its own: who ends a keeper does not want to wait for it."""
    from firebox.errors import JournalError
    from firebox.journal import teaching
    from firebox.keeper.background import leave

    try:
        due = teaching.is_due(watched.journal)
    except JournalError as error:
        log.warning("nothing is learned from the cook: %s", error)
        return
    if due:
        leave(watched.learn_command(), watched.log.with_suffix(".out"))
