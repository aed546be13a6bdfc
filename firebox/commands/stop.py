"""`firebox stop`: the end of a watch."""

from pathlib import Path

import click

from firebox.commands.which import demo_option, named, pit_options


@click.command()
@pit_options
@demo_option
def command(config_file: Path | None, pit: str | None, *, demo: bool) -> None:
    """End the watch of a pit.

    Nobody looks after the fire from here on: no alarm comes until the pit is watched again. The journal stays, and a
    watch that is taken up within the cook goes on where it was. Without a configured pit the demo is meant.
    """
    from firebox import wiring
    from firebox.config import locations

    demo = demo or (config_file is None and pit is None and not locations.configured())
    watched = named(config_file, pit, demo=demo)
    ended = wiring.stop(watched)
    click.echo(f"{watched.name}: nobody keeps it" if ended is None else f"{watched.name}: ended {ended}", err=True)
