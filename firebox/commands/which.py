"""Which pit a command is about: options that several commands share, and what they come to."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypeVar

import click

if TYPE_CHECKING:
    from firebox.wiring import Watched

F = TypeVar("F", bound=Callable[..., Any])  # a command's body, whatever its options


def pit_options(body: F) -> F:
    """Add the options that say which pit is meant."""
    body = click.option("--pit", metavar="NAME", help="The pit of that name in the configuration folder.")(body)
    return click.option(
        "--config",
        "config_file",
        type=click.Path(path_type=Path, dir_okay=False),
        help="A pit's file, wherever it is; without it and --pit, the only one in the configuration folder.",
    )(body)


def demo_option(body: F) -> F:
    """Add the option that asks for the demo pit."""
    return click.option("--demo", is_flag=True, help="The demo pit: invented, no hardware, no configuration.")(body)


def rate_option(body: F) -> F:
    """Add the option that says how fast a fire burns that is no real one."""
    return click.option(
        "--rate",
        type=click.FloatRange(min=1, max=120),
        help="Seconds of a demo, a practice fire or a recording in one second; 24 for the demo.",
    )(body)


SCENARIOS: Final = (
    "first fire", "hold", "windy night", "wet wood", "choked ash", "sleeper", "flare", "door ajar", "cold to steady",
)  # fmt: skip
SIZES: Final = ("wren", "hedge", "lantern", "anvil")
WEATHERS: Final = ("calm", "breezy", "windy night", "rain", "cold dawn")
WOODS: Final = ("dry", "seasoned", "damp", "wet")
"""As `firebox.practice.rounds` knows them, so that asking for help loads no physics; a test holds the two together."""


class Spoken(click.Choice[str]):
    """One of some names of several words; a dash may stand for the space between them."""

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> str:
        return super().convert(str(value).replace("-", " "), param, ctx)


def practice_options(body: F) -> F:
    """Add the options that say what to practise."""
    for option in reversed(
        (
            click.option(
                "--practice", is_flag=True, help="A simulated fire to learn on, with an instructor and a score."
            ),
            click.option(
                "--scenario", type=Spoken(SCENARIOS), help="What to practise; a dash may stand for a space."
            ),
            click.option("--size", type=Spoken(SIZES), help="The pit to practise on, from small and thin to heavy."),
            click.option("--weather", type=Spoken(WEATHERS), help="The weather to practise in."),
            click.option("--wood", type=Spoken(WOODS), help="The wood to practise with."),
            click.option("--seed", type=click.IntRange(min=1), help="The same number gives the same fire again."),
            click.option(
                "--advice", type=click.Choice(["hidden", "hinted", "shown"]), help="How much advice to begin with."
            ),
        )
    ):
        body = option(body)
    return body


def chosen(config_file: Path | None, pit: str | None, *, demo: bool = False, rate: float | None = None) -> "Watched":
    """Return the pit that is meant.

    Raises
    ------
    ConfigError
        It is not configured, or not so that it can be used.
    click.UsageError
        The options contradict each other, or the pit.
    """
    from firebox import config, wiring
    from firebox.ports import Kind

    if demo:
        if config_file is not None or pit is not None:
            raise click.UsageError("--demo is a pit of its own; leave --config and --pit out")
        return wiring.demo(rate)
    path = config.find(config_file, pit)
    watched = wiring.configured(config.load(path), path, rate)
    if rate is not None and watched.kind is Kind.LIVE:
        raise click.UsageError(f"--rate: {watched.name} is a real fire and burns at its own pace; leave it out")
    return watched


def named(config_file: Path | None, pit: str | None, *, demo: bool = False) -> "Watched":
    """Return the pit that is meant, for what can be done with its name alone.

    A mistake in its file is told, but does not keep anybody from ending a watch or reading a journal.

    Raises
    ------
    ConfigError
        There is no such file, or it cannot be read.
    click.UsageError
        The options contradict each other.
    """
    from firebox import config, wiring
    from firebox.errors import ConfigError

    try:
        return chosen(config_file, pit, demo=demo)
    except ConfigError as error:
        path = config.find(config_file, pit)
        name = config.name_in(path)
        click.echo(str(error), err=True)
    return wiring.configured(config.Config(pit=config.PitTable(name=name)), path)
