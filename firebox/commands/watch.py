"""`firebox watch`: the dashboard."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from firebox.commands.which import chosen, demo_option, pit_options, practice_options, rate_option

if TYPE_CHECKING:
    from firebox.wiring import Watched

FIRST_PIT = "pit"
"""Name of the file that is written where there is none."""


@click.command()
@pit_options
@demo_option
@rate_option
@click.option(
    "--afar", is_flag=True, help="Look, over the broker of its [mqtt], at a pit that another computer keeps."
)
@practice_options
@click.option("--theme", type=click.Choice(["dusk", "day", "night", "contrast"]), help="Colours to begin with.")
@click.option("--ascii", "ascii_only", is_flag=True, help="Draw with plain characters only.")
def command(
    config_file: Path | None,
    pit: str | None,
    *,
    demo: bool,
    rate: float | None,
    afar: bool,
    practice: bool,
    scenario: str | None,
    size: str | None,
    weather: str | None,
    wood: str | None,
    seed: int | None,
    advice: str | None,
    theme: str | None,
    ascii_only: bool,
) -> None:
    """Show a pit on the dashboard; start watching it if nobody does.

    Leaving the dashboard ends nothing: the pit is watched until `firebox stop`. Where no pit is configured yet, a
    first file is written to fill in, and the demo pit is offered; a demo ends with its dashboard.

    With --practice a simulated fire is yours to keep, to learn on: it costs nothing and calls nobody. An opening
    screen asks what to practise, unless --scenario says it.

    With --afar no keeper is started. When the one elsewhere falls silent for half a minute, this device raises an alarm
    of its own; it calls people in its own ways.
    """
    from firebox import wiring

    if afar and (demo or rate is not None):
        raise click.UsageError("--afar looks at a pit that another computer keeps; leave --demo and --rate out")
    wish = wiring.PracticeWish(
        scenario=scenario, pit=size, weather=weather, wood=wood, seed=seed, pace=rate, advice=advice
    )
    if not practice and wish != wiring.PracticeWish(pace=rate):
        raise click.UsageError("--scenario, --size, --weather, --wood, --seed and --advice belong to --practice")
    if practice and (demo or afar or config_file is not None or pit is not None):
        raise click.UsageError("--practice is a fire of its own; leave --demo, --afar, --config and --pit out")
    if not _has_terminal():
        raise click.UsageError("the dashboard needs a terminal; `firebox keep` watches a pit without one")
    if practice:
        wiring.practise(wish, theme=theme, ascii_only=ascii_only)
        return
    if afar:
        wiring.watch_afar(chosen(config_file, pit), theme=theme, ascii_only=ascii_only)
        return
    watched = chosen(None, None, demo=True, rate=rate) if demo else _pit_or_demo(config_file, pit, rate)
    if watched is not None:
        wiring.watch(watched, theme=theme, ascii_only=ascii_only)


def _has_terminal() -> bool:
    return sys.stdin.isatty() and sys.stdout.isatty()


def _pit_or_demo(config_file: Path | None, pit: str | None, rate: float | None) -> "Watched | None":
    """Return the pit that is meant, or the demo where there is none to watch and the cook wants it."""
    from firebox import config, wiring
    from firebox.config import locations

    if config_file is None and pit is None and not locations.configured():
        path = locations.config_file(FIRST_PIT)
        config.write_first(path)
        click.echo(f"A first file to fill in is {path}; `firebox probes --check` looks it over.", err=True)
        click.echo("To learn on a fire that costs nothing: firebox watch --practice", err=True)
        question = "No pit is configured yet. Watch the demo pit?"
    else:
        watched = chosen(config_file, pit, rate=rate)
        if watched.config.sources or wiring.is_kept(watched):
            return watched
        click.echo(f"{watched.config_path}: no [[sources]] yet: it does not say where readings come from.", err=True)
        question = f"{watched.name} has no probes to hear. Watch the demo pit?"
    return wiring.demo(rate) if click.confirm(question, default=True, err=True) else None
