"""`firebox keep`: the keeper in the foreground."""

from pathlib import Path

import click

from firebox.commands.which import chosen, demo_option, pit_options, rate_option


@click.command()
@pit_options
@demo_option
@rate_option
def command(config_file: Path | None, pit: str | None, *, demo: bool, rate: float | None) -> None:
    """Watch a pit in the foreground, for a service; the dashboard is `firebox watch`.

    Reads the probes, writes the journal, raises alarms and tells them over MQTT until it is ended by `firebox stop`,
    the service manager or ctrl-C. One keeper a pit: a second says who the first is, and ends with status 1.
    """
    from firebox import wiring
    from firebox.errors import ConfigError

    watched = chosen(config_file, pit, demo=demo, rate=rate)
    if not watched.config.sources:
        raise ConfigError(
            f"{watched.config_path}: no [[sources]]: say where readings come from, as in\n"
            '  [[sources]]\n  kind = "serial"\n  port = "/dev/ttyACM0"'
        )
    wiring.keep(watched)
