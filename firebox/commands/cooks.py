"""Which cooks of a journal are meant, in the words that several commands share, and how a list shows one."""

import re
from collections.abc import Callable, Sequence
from datetime import datetime, tzinfo
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click
from msgspec import Struct

from firebox.commands.which import named

if TYPE_CHECKING:
    from firebox.config import Config
    from firebox.journal.history import Cook
    from firebox.wiring import Watched

F = TypeVar("F", bound=Callable[..., Any])  # a command's body, whatever its options

WORDS = "last|N|DATE|all"
"""How a cook is named: the newest, by its number, by the day it began on, or all of them."""


def practice_option(body: F) -> F:
    """Add the option that asks for the rounds that were practised."""
    return click.option("--practice", is_flag=True, help="The rounds that were practised on the simulated fire.")(
        body
    )


class Kept(Struct, frozen=True):
    """A journal, and the configuration in whose units its cooks are told; `watched` is None for what was practised."""

    config: "Config"
    journal: Path
    watched: "Watched | None" = None


def kept(config_file: Path | None, pit: str | None, *, demo: bool, practice: bool) -> Kept:
    """Return the journal that is meant.

    Raises
    ------
    ConfigError
        There is no such pit.
    click.UsageError
        The options contradict each other.
    """
    from firebox import config
    from firebox.config import locations

    if not practice:
        watched = named(config_file, pit, demo=demo)
        return Kept(watched.config, watched.journal, watched)
    if demo or config_file is not None or pit is not None:
        raise click.UsageError("--practice is a fire of its own; leave --demo, --config and --pit out")
    return Kept(config.Config(), locations.practice_folder() / "rounds.sqlite")


def meant(word: str, known: "Sequence[Cook]", zone: tzinfo | None = None) -> "list[Cook]":
    """Return the cooks that a word means, oldest first.

    Parameters
    ----------
    word : str
        As `WORDS`; a date is that of the day on which a cook began, as in 2026-05-02, and may mean several.
    known : sequence of Cook
    zone : tzinfo, optional
        Of the date; None: this computer's.

    Raises
    ------
    click.BadParameter
        There is no such cook; the message says which there are.
    """
    if known and word == "all":
        return list(known)
    if known and word == "last":
        return list(known[-1:])
    if word.isdecimal():
        found = [cook for cook in known if cook.id == int(word)]
    elif re.fullmatch(r"\d{4}-\d{2}-\d{2}", word):
        found = [cook for cook in known if _day(cook.started, zone) == word]
    else:
        found = []
    if not found:
        there = f"there are {', '.join(str(cook.id) for cook in known)}" if known else "the journal has none yet"
        raise click.BadParameter(f'no cook "{word}"; {there}', param_hint="--cook")
    return found


def line(cook: "Cook") -> str:
    """Return a cook as a line of the list."""
    ended = cook.ended.isoformat(timespec="seconds") if cook.ended else "-"
    return f"{cook.id:>4}  {cook.kind:<8}  {cook.started.isoformat(timespec='seconds')}  {ended}"


def _day(instant: datetime, zone: tzinfo | None) -> str:
    return instant.astimezone(zone).date().isoformat()
