"""`firebox export`: a cook out of the journal."""

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

import click

from firebox.commands.which import demo_option, named, pit_options

if TYPE_CHECKING:
    from firebox.journal.history import Cook


@click.command()
@pit_options
@demo_option
@click.option("--cook", "which", default="last", show_default=True, metavar="last|N|all", help="Which cook.")
@click.option("--format", "form", type=click.Choice(["jsonl", "csv"]), default="jsonl", show_default=True)
@click.option("--all", "answers", is_flag=True, help="What came out as well: outlooks, moves, alarms.")
@click.option("--list", "listed", is_flag=True, help="Only list the cooks.")
@click.option(
    "-o", "output", type=click.Path(path_type=Path, dir_okay=False), help="A file, instead of standard output."
)
def command(
    config_file: Path | None,
    pit: str | None,
    *,
    demo: bool,
    which: str,
    form: str,
    answers: bool,
    listed: bool,
    output: Path | None,
) -> None:
    """Write a cook as JSON lines or CSV.

    The JSON lines are those of `firebox stream`: fed to it, they give the answers that the watch gave. The journal
    may be in use meanwhile. What in it cannot be read is told on standard error and passed over.
    """
    from firebox.journal.export import list_cooks

    journal = named(config_file, pit, demo=demo).journal
    cooks = list_cooks(journal)
    if listed:
        for cook in cooks:
            click.echo(_line(cook))
        return
    numbers = _numbers(which, [cook.id for cook in cooks])
    lines = _lines(journal, numbers, form, answers=answers)
    if output is None:
        _write(lines, sys.stdout.buffer)
        return
    try:
        with output.open("wb") as sink:
            _write(lines, sink)
    except OSError as error:
        raise click.FileError(str(output), error.strerror) from error


def _numbers(which: str, known: list[int]) -> list[int]:
    there = f"there are {', '.join(map(str, known))}" if known else "the journal has none yet"
    if which in {"last", "all"} and known:
        return known if which == "all" else known[-1:]
    if which.isdecimal() and int(which) in known:
        return [int(which)]
    raise click.BadParameter(f'no cook "{which}"; {there}', param_hint="--cook")


def _lines(journal: Path, numbers: list[int], form: str, *, answers: bool) -> Iterator[bytes]:
    from firebox.journal import export

    def say(text: str) -> None:
        click.echo(text, err=True)

    for count, number in enumerate(numbers):
        if form == "jsonl":
            yield from export.json_lines(journal, number, answers=answers, say=say)
            continue
        rows = export.csv_lines(journal, number, answers=answers, say=say)
        if count:
            next(rows)  # the names of the columns, once for all
        yield from (row.encode() for row in rows)


def _write(lines: Iterator[bytes], sink: BinaryIO) -> None:
    sink.writelines(lines)
    sink.flush()


def _line(cook: "Cook") -> str:
    ended = cook.ended.isoformat(timespec="seconds") if cook.ended else "-"
    return f"{cook.id:>4}  {cook.kind:<8}  {cook.started.isoformat(timespec='seconds')}  {ended}"
