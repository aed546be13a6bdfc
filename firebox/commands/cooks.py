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
    from firebox.journal.lookback import Outline
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
    from firebox.errors import ConfigError

    if not practice:
        try:
            watched = named(config_file, pit, demo=demo)
        except ConfigError as error:
            if config_file is not None or pit is not None or locations.configured():
                raise
            raise ConfigError(
                f"{error}; --practice looks back on rounds that were practised, --demo on the demo pit"
            ) from error
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


def lines(journal: Path, known: "Sequence[Cook]", zone: tzinfo | None = None) -> list[str]:
    """Return the cooks of a journal as lines of the list: number, kind, from when to when, and what was practised.

    Instants are those of this computer's clock, or of a `zone`. A cook without an end that nobody keeps any more reaches as
    far as its records.
    """
    from firebox.journal.lock import holder
    from firebox.journal.lookback import outlines

    kept_now = holder(journal) is not None
    rows = zip(known, outlines(journal, known), strict=True)
    return [_line(cook, outline, zone, going_on=kept_now and cook is known[-1]) for cook, outline in rows]


def _line(cook: "Cook", outline: "Outline", zone: tzinfo | None, *, going_on: bool) -> str:
    from firebox.review.wording import CLOSE, score

    practised = None if outline.setup is None else outline.setup.round
    began = cook.started if practised is None else practised.began
    ended = cook.ended if cook.ended is not None or going_on else outline.reaches
    end = "going on" if ended is None else ended.astimezone(zone).isoformat(timespec="seconds")
    what = "" if practised is None else f"{practised.title}: {score(practised)}".replace(CLOSE, " ")
    first = f"{cook.id:>4}  {cook.kind:<8}  {began.astimezone(zone).isoformat(timespec='seconds')}  {end}"
    return f"{first}  {what}".rstrip()


def _day(instant: datetime, zone: tzinfo | None) -> str:
    return instant.astimezone(zone).date().isoformat()
