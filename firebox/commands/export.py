"""`firebox export`: a cook out of the journal."""

import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import BinaryIO

import click

from firebox.commands import cooks
from firebox.commands.which import demo_option, pit_options


@click.command()
@pit_options
@demo_option
@cooks.practice_option
@click.option(
    "--cook",
    "which",
    default="last",
    show_default=True,
    metavar=cooks.WORDS,
    help="Which cook, by its number or the day it began on.",
)
@click.option("--format", "form", type=click.Choice(["jsonl", "csv", "parquet"]), default="jsonl", show_default=True)
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
    practice: bool,
    which: str,
    form: str,
    answers: bool,
    listed: bool,
    output: Path | None,
) -> None:
    """Write a cook as JSON lines, CSV or Parquet.

    The JSON lines are those of `firebox stream`: fed to it, they give the answers that the watch gave. The journal
    may be in use meanwhile. What in it cannot be read is told on standard error and passed over.

    CSV and Parquet have a row a record, for a spreadsheet or for reckoning with many cooks; Parquet wants a file.
    """
    from firebox.journal.export import list_cooks

    journal = cooks.kept(config_file, pit, demo=demo, practice=practice).journal
    known = list_cooks(journal)
    if listed:
        for line in cooks.lines(journal, known):
            click.echo(line)
        return
    numbers = [cook.id for cook in cooks.meant(which, known)]
    if form == "parquet":
        write = _parquet(journal, numbers, answers=answers, output=output)
    else:
        write = _text(_lines(journal, numbers, form, answers=answers))
    if output is None:
        write(sys.stdout.buffer)
        return
    try:
        with output.open("wb") as sink:
            write(sink)
    except OSError as error:
        raise click.FileError(str(output), error.strerror) from error


def _parquet(journal: Path, numbers: list[int], *, answers: bool, output: Path | None) -> Callable[[BinaryIO], None]:
    from firebox.errors import FireboxError
    from firebox.journal.export import numbered_records

    if output is None:
        raise click.UsageError("--format parquet: its reader has to leap about in it, so it wants a file: -o FILE")
    try:
        from firebox.journal import parquet
    except ImportError as error:
        raise FireboxError(
            f'--format parquet: {error.name} is not installed; pip install "firebox[parquet]"'
        ) from error
    return lambda sink: parquet.write(sink, numbered_records(journal, numbers, answers=answers, say=_say))


def _lines(journal: Path, numbers: list[int], form: str, *, answers: bool) -> Iterator[bytes]:
    from firebox.journal import export

    for count, number in enumerate(numbers):
        if form == "jsonl":
            yield from export.json_lines(journal, number, answers=answers, say=_say)
            continue
        rows = export.csv_lines(journal, number, answers=answers, say=_say)
        if count:
            next(rows)  # the names of the columns, once for all
        yield from (row.encode() for row in rows)


def _text(lines: Iterator[bytes]) -> Callable[[BinaryIO], None]:
    def write(sink: BinaryIO) -> None:
        sink.writelines(lines)
        sink.flush()

    return write


def _say(text: str) -> None:
    click.echo(text, err=True)
