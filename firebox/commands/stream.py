"""`firebox stream`: the watch as a filter."""

import sys
from pathlib import Path

import click


@click.command()
@click.option(
    "--config",
    "config_file",
    type=click.Path(path_type=Path, dir_okay=False),
    help="A pit's file; without it the name of a probe gives its role.",
)
@click.option(
    "--every",
    type=click.FloatRange(min=1, max=86_400),
    metavar="SECONDS",
    help="Answer each so many seconds of logical time until the input brings a tick of its own.",
)
def command(config_file: Path | None, every: float | None) -> None:
    """Answer JSON lines on standard input with JSON lines on standard output.

    The time is what the lines say, so a recording runs as fast as it computes, and the same input gives the same
    output. Every tick is answered at once; an input without any tick is answered once, at its end. What cannot be
    used is told on standard error with its line number and passed over; a field or type that is not known, only the
    first time.
    """
    from firebox import config, stream, watch
    from firebox.setup import Setup

    if sys.stdin is None or sys.stdout is None:
        raise click.UsageError("standard input or output is closed; there is nothing to read from or to answer to")
    known = config.load(config_file) if config_file else None
    stream.run(
        sys.stdin.buffer,
        sys.stdout.buffer,
        lambda text: click.echo(text, err=True),
        watch,
        known.setup if known else lambda time: Setup(time=time),
        every=every,
    )
