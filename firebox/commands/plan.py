"""`firebox plan`: back from the serving hour."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from firebox.commands.timetables import hands, page
from firebox.commands.wanted import DEGREES, Told, Wish, aim, assumed, is_metric, metric, serving, when
from firebox.commands.which import demo_option, named, pit_options

if TYPE_CHECKING:
    from firebox.config import Config
    from firebox.plan.timetable import Plan
    from firebox.records import Timetable


@click.command()
@pit_options
@demo_option
@click.option(
    "--serve",
    metavar="WHEN",
    help='When people sit down: "18:00", "6pm", "tomorrow 18:00" or "2026-05-02 18:00". Without it, the plan of the watch that runs, or of the last.',
)
@click.option(
    "--meat",
    "meats",
    multiple=True,
    metavar="PIECE",
    help='"brisket 5.5kg 80mm marbled" (or lean), or with its own hour, "@17:30"; once a piece. Otherwise [[meat]] of the file.',
)
@click.option(
    "--wrap",
    type=click.Choice(["none", "paper", "foil"]),
    default="none",
    show_default=True,
    help="Wrapped once bark is set.",
)
@click.option(
    "--rest",
    type=click.Choice(["counter", "cooler", "oven"]),
    default="cooler",
    show_default=True,
    help="Where it rests: in the open, in an insulated box, in a holding oven.",
)
@click.option(
    "--oven", type=DEGREES, help="The holding oven's temperature, in the cook's degrees, or as 63C or 145F."
)
@click.option(
    "--pit-at", type=DEGREES, help="What the pit is to hold, as 250, 121C or 250F; otherwise the file's target."
)
@click.option("--air", type=DEGREES, help="The air outside, likewise.")
@click.option(
    "--wind",
    type=click.Choice(["calm", "breezy", "windy"]),
    default="calm",
    show_default=True,
    help="Wind around the pit: it takes more wood.",
)
@click.option(
    "--sure", type=click.FloatRange(min=0.5, max=0.99), default=0.9, show_default=True, help="How sure it should be."
)
@click.option(
    "--people", type=click.IntRange(min=1, max=12), default=1, show_default=True, help="Who can keep watch."
)
@click.option(
    "--keep", is_flag=True, help="Leave the hour with the watch that runs: it plans on from what it measures."
)
@click.option("--probe", metavar="NAME", help="With --keep: of the piece on this probe only; otherwise of all.")
@click.option(
    "--ical", type=click.Path(path_type=Path, dir_okay=False), help="Write the timetable as an iCalendar file too."
)
@click.option("--json", "as_json", is_flag=True, help="Write the plan as one JSON object.")
def command(
    config_file: Path | None,
    pit: str | None,
    *,
    demo: bool,
    serve: str | None,
    meats: Sequence[str],
    wrap: str,
    rest: str,
    oven: Told | None,
    pit_at: Told | None,
    air: Told | None,
    wind: str,
    sure: float,
    people: int,
    keep: bool,
    probe: str | None,
    ical: Path | None,
    as_json: bool,
) -> None:
    """Plan back from the hour people sit down: when the meat goes on, what comes when, how sure that is.

    Windows are the times between which eight of ten such pieces come to it. The plan is a start: the probes and the
    cook's hand decide on the day.

    With --keep the watch that runs takes the hour over and makes the plan anew while the meat shows itself; the dashboard shows
    it, and this command does where --serve is left out.
    """
    from firebox.plan.timetable import record

    wish = Wish(
        meats=tuple(meats),
        wrap=wrap,
        rest=rest,
        oven=oven,
        pit_at=pit_at,
        air=air,
        wind=wind,
        sure=sure,
        people=people,
        probe=probe,
    )
    if serve is None:
        if keep or meats:
            raise click.UsageError("say --serve WHEN, when people sit down")
        config, told = _of_the_watch(config_file, pit, demo=demo)
        _tell(told, page(told, config), config, ical, told if as_json else None)
    elif keep:
        _leave(config_file, pit, wish, when(serve), demo=demo)
    elif probe is not None:
        raise click.UsageError("--probe: it goes with --keep; name pieces with --meat")
    else:
        config = _config(config_file, pit, meats, demo=demo)
        made = _made(wish, when(serve), config)
        told = record(made, made.serve)
        _tell(told, [*page(told, config), "", *hands(made.outcomes, config)], config, ical, made if as_json else None)


def _tell(
    told: "Timetable", lines: list[str], config: "Config", ical: Path | None, as_json: "Timetable | Plan | None"
) -> None:
    """Write a plan where it is wanted."""
    import msgspec

    if ical is not None:
        _write(ical, told, config.name)
    for line in lines if as_json is None else [msgspec.json.encode(as_json).decode()]:
        click.echo(line)


# --- the watch -----------------------------------------------------------------------------------


def _of_the_watch(config_file: Path | None, pit: str | None, *, demo: bool) -> "tuple[Config, Timetable]":
    """Return the newest plan that the watch of a pit told, running or not.

    Raises
    ------
    FireboxError
        There is none.
    """
    from firebox.errors import FireboxError
    from firebox.journal.reader import JournalLink
    from firebox.records import Timetable

    watched = named(config_file, pit, demo=demo)
    link = JournalLink(watched.journal, watched.name)
    try:
        told = [record for record in link.news() if isinstance(record, Timetable)]
        alive = link.status().alive
    finally:
        link.close()
    if not told:
        raise FireboxError(
            f"{watched.name}: no plan is kept there; say when people sit down with --serve 18:00, and --keep to let a running "
            "watch take it over"
        )
    whose = "of the watch" if alive else "of the last watch; nobody is watching now"
    click.echo(f"the plan {whose}, as told {told[-1].time.astimezone():%a %H:%M}", err=True)
    return watched.config, told[-1]


def _leave(config_file: Path | None, pit: str | None, wish: Wish, hour: datetime, *, demo: bool) -> None:
    """Leave an hour with the watch that runs.

    Raises
    ------
    FireboxError
        Nobody is watching.
    click.UsageError
        The probe is not one of those that the pit's file puts in meat.
    """
    from firebox.errors import FireboxError
    from firebox.journal.reader import JournalLink

    watched = named(config_file, pit, demo=demo)
    meats = {one.probe for one in watched.config.meat}
    if wish.probe is not None and meats and wish.probe not in meats:
        raise click.BadParameter(
            f'no meat on "{wish.probe}"; there is {", ".join(sorted(meats))}', param_hint="--probe"
        )
    entry = serving(wish, hour, watched.config)
    link = JournalLink(watched.journal, watched.name)
    try:
        if not link.status().alive:
            raise FireboxError(f"{watched.name}: nobody is watching; start it with: firebox watch")
        link.leave(entry)
    finally:
        link.close()
    click.echo(f"left with the watch of {watched.name}: serve {entry.serve.astimezone():%a %H:%M}", err=True)


# --- without a watch -----------------------------------------------------------------------------


def _made(wish: Wish, hour: datetime, config: "Config") -> "Plan":
    from firebox.plan.timetable import plan

    setup = config.setup(hour)
    wanted = aim(wish, hour, config, setup)
    for line in assumed(wish.meats, wanted, config):
        click.echo(line, err=True)
    return plan(wanted, setup, wish.people, now=datetime.now().astimezone())


def _config(config_file: Path | None, pit: str | None, meats: Sequence[str], *, demo: bool) -> "Config":
    """Return the configuration that is meant; the defaults where no pit is configured and none was named."""
    from firebox import config
    from firebox.config import locations

    if demo:
        return named(config_file, pit, demo=demo).config
    if config_file is None and pit is None and not locations.configured():
        click.echo("no pit is configured: planned for a pit of the middle size", err=True)
        return metric(config.Config()) if is_metric(meats) else config.Config()
    return config.load(config.find(config_file, pit))


# --- what comes out ------------------------------------------------------------------------------


def _write(path: Path, plan: "Timetable", pit: str) -> None:
    from firebox.errors import FireboxError

    try:
        from firebox.plan.calendar import calendar
    except ImportError as error:
        raise FireboxError(f'--ical: {error.name} is not installed; pip install "firebox[calendar]"') from error
    try:
        path.write_bytes(calendar(plan, pit))
    except OSError as error:
        raise FireboxError(f"{path}: cannot be written: {error.strerror or error}") from error
    click.echo(f"{path}: written", err=True)
