"""What practice rounds came to, a line each in a file: shown on the opening screen, and needed for nothing."""

import logging
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

import msgspec
from msgspec import Struct

from firebox.lessons import Choice, Progress, Tally

log = logging.getLogger(__name__)


class Finished(Struct, frozen=True, kw_only=True):
    """A round that was played to its end."""

    time: datetime
    choice: Choice
    reached: bool
    mine: Tally
    twin: Tally | None = None


def keep(path: Path, finished: Finished) -> str:
    """Write down a round; return why that failed, or nothing."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("ab") as file:
            file.write(msgspec.json.encode(finished) + b"\n")
    except OSError as error:
        log.warning("practice round not written down: %s: %s", path, error)
        return f"the round could not be written down: {error}"
    return ""


def read(path: Path) -> tuple[Finished, ...]:
    """Return the rounds so far, oldest first; a line that cannot be read is passed over, and the log says so."""
    try:
        lines = path.read_bytes().splitlines()
    except FileNotFoundError:
        return ()
    except OSError as error:
        log.warning("practice rounds not read: %s: %s", path, error)
        return ()
    found = []
    for number, line in enumerate(lines, 1):
        try:
            found.append(msgspec.json.decode(line, type=Finished))
        except msgspec.DecodeError as error:
            log.warning("%s, line %d: %s; passed over", path, number, error)
    return tuple(found)


def progress(rounds: Sequence[Finished]) -> dict[str, Progress]:
    """Return scenario -> what its rounds came to.

    Examples
    --------
    >>> progress(())
    {}
    """
    found: dict[str, Progress] = {}
    for one in rounds:
        before = found.get(one.choice.scenario, Progress())
        found[one.choice.scenario] = Progress(
            rounds=before.rounds + 1,
            reached=before.reached + one.reached,
            best=max(before.best or 0.0, one.mine.share),
            last=one.mine.share,
        )
    return found
