"""The `firebox` command: finds the module of a subcommand when it is used, and turns errors into words and a status.

======  ==========================================================================
status  meaning
======  ==========================================================================
0       done
1       an alarm or a check failed, or the outside refused
2       bad usage or configuration; the message names file, key and what is right
======  ==========================================================================
"""

import errno
import os
import sys
from importlib import import_module
from typing import Final, cast

import click

from firebox.errors import ConfigError, FireboxError

COMMANDS: Final = {
    "export": "Write a cook as JSON lines, CSV or Parquet.",
    "keep": "Watch a pit in the foreground, for a service; the dashboard is `firebox watch`.",
    "plan": "Plan back from the hour people sit down: when the meat goes on, what comes when, how sure that is.",
    "probes": "List the probes that are configured and what is heard of them; check the configuration.",
    "review": "Look back on a cook: how it went, why, and what to try next time.",
    "stop": "End the watch of a pit.",
    "stream": "Answer JSON lines on standard input with JSON lines on standard output.",
    "watch": "Show a pit on the dashboard; start watching it if nobody does.",
}
"""Name of a command -> its first line of help. The module of the same name is loaded when the command is used."""


LOST_OUTPUT: Final = frozenset({errno.EPIPE, errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO})
"""What writing to standard output may come to; with a file's name in the error it is no such thing."""


class _OnUse(click.Group):
    """A group that knows its commands by name and loads one only when it is used."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click hands it over
        return sorted(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002 - as above
        if cmd_name not in COMMANDS:
            return None
        # Untyped by nature: each module of firebox.commands has a `command`, which a test checks.
        return cast("click.Command", import_module(f"firebox.commands.{cmd_name}").command)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002 - as above
        """Write the list of commands without loading any."""
        with formatter.section("Commands"):
            formatter.write_dl(sorted(COMMANDS.items()))

    def invoke(self, ctx: click.Context) -> object:
        """Run a command; what firebox raises on purpose becomes one message and a status."""
        try:
            return super().invoke(ctx)
        except FireboxError as error:
            click.echo(str(error), err=True)
            ctx.exit(2 if isinstance(error, ConfigError) else 1)
        except OSError as error:
            if error.errno not in LOST_OUTPUT or error.filename is not None:
                raise
            # The interpreter flushes once again at the end, which would fail once again.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            if error.errno == errno.EPIPE:
                ctx.exit(0)  # whoever read the output has gone, and wants no more of it
            click.echo(f"standard output: {error.strerror}", err=True)
            ctx.exit(1)


@click.group(cls=_OnUse, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="firebox", prog_name="firebox", message="%(prog)s %(version)s")
def cli() -> None:
    """Keep a wood fire in an offset pit steady through a long cook.

    It advises; a person acts. Burn wood outdoors only, and never leave a live fire unattended: an alarm does not
    replace a person.
    """


def main() -> None:
    """Run the command line."""
    cli(prog_name="firebox")


if __name__ == "__main__":
    main()
