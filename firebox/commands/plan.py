"""`firebox plan`: back from the serving hour."""

import re
from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import click

from firebox.commands.which import pit_options

if TYPE_CHECKING:
    from firebox.config import Config
    from firebox.meat.cuts import Piece
    from firebox.plan.timetable import Plan
    from firebox.records import PlanRow, Timetable
    from firebox.setup import Setup

_PIECE = re.compile(
    r"^\s*(?P<cut>[^\d,]+?)(?:[\s,]+(?P<weight>\d+(?:\.\d+)?)\s*(?P<mass>kg|lb))?(?:[\s,]+(?P<mm>\d+(?:\.\d+)?)\s*mm)?\s*$"
)


@click.command()
@pit_options
@click.option("--serve", required=True, metavar="WHEN", help='When people sit down: "18:00", or "2026-05-02 18:00".')
@click.option(
    "--meat",
    "meats",
    multiple=True,
    metavar="PIECE",
    help='"brisket 5.5kg 80mm", or with its own hour, "@17:30"; once a piece. Otherwise [[meat]] of the file.',
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
@click.option("--oven", type=float, metavar="DEGREES", help="The holding oven's temperature, in the cook's degrees.")
@click.option("--pit-at", type=float, metavar="DEGREES", help="What the pit is to hold; otherwise the file's target.")
@click.option("--air", type=float, metavar="DEGREES", help="The air outside, in the cook's degrees.")
@click.option(
    "--sure", type=click.FloatRange(min=0.5, max=0.99), default=0.9, show_default=True, help="How sure it should be."
)
@click.option(
    "--people", type=click.IntRange(min=1, max=12), default=1, show_default=True, help="Who can keep watch."
)
@click.option(
    "--ical", type=click.Path(path_type=Path, dir_okay=False), help="Write the timetable as an iCalendar file too."
)
@click.option("--json", "as_json", is_flag=True, help="Write the plan as one JSON object.")
def command(
    config_file: Path | None,
    pit: str | None,
    *,
    serve: str,
    meats: Sequence[str],
    wrap: str,
    rest: str,
    oven: float | None,
    pit_at: float | None,
    air: float | None,
    sure: float,
    people: int,
    ical: Path | None,
    as_json: bool,
) -> None:
    """Plan back from the hour people sit down: when the meat goes on, what comes when, how sure that is.

    Windows are the times between which eight of ten such pieces come to it. The plan is a start: the probes and the
    cook's hand decide on the day.
    """
    import msgspec

    from firebox.meat.ahead import Style
    from firebox.meat.places import Material, Rest
    from firebox.plan.aim import Aim
    from firebox.plan.timetable import plan, record
    from firebox.units import celsius_from

    config = _config(config_file, pit)
    degrees = config.units.degrees
    when = _when(serve)
    setup = config.setup(when)
    style = Style(
        wrap=msgspec.convert(wrap, Material),
        rest=msgspec.convert(rest, Rest),
        rest_celsius=_rest_celsius(oven, rest, config),
    )
    texts, hours = _hours(meats, when)
    aim = Aim(
        serve=when,
        pieces=_pieces(texts, config, setup),
        hours=hours,
        style=style,
        pit_celsius=setup.target_celsius if pit_at is None else celsius_from(pit_at, degrees),
        ambient_celsius=15.0 if air is None else celsius_from(air, degrees),
        sure=sure,
    )
    made = plan(aim, setup, people)
    if ical is not None:
        _write(ical, record(made, when), config.name)
    if as_json:
        click.echo(msgspec.json.encode(made).decode())
        return
    for line in _page(made, config):
        click.echo(line)


# --- what is wanted ------------------------------------------------------------------------------


def _config(config_file: Path | None, pit: str | None) -> "Config":
    """Return the configuration that is meant; the defaults where no pit is configured and none was named."""
    from firebox import config
    from firebox.config import locations

    if config_file is None and pit is None and not locations.configured():
        click.echo("no pit is configured: planned for a pit of the middle size", err=True)
        return config.Config()
    return config.load(config.find(config_file, pit))


def _when(text: str) -> datetime:
    """Return the serving time, in the machine's own zone where none is told; a bare hour is the next such hour."""
    try:
        now = datetime.now().astimezone()
        if re.fullmatch(r"\d{1,2}:\d{2}", text):
            hour, minute = map(int, text.split(":"))
            when = now.replace(hour=hour, minute=minute, second=0, microsecond=0)
            return when if when > now else when + timedelta(days=1)
        found = datetime.fromisoformat(text)
    except ValueError as error:
        raise click.BadParameter(
            f'"{text}" is no time; "18:00" or "2026-05-02 18:00" would be right', param_hint="--serve"
        ) from error
    return found.astimezone() if found.tzinfo is None else found


def _hours(meats: Sequence[str], serve: datetime) -> tuple[list[str], tuple[datetime, ...]]:
    """Return the pieces without their own hours, and those hours; an hour stands behind an @ and is on the day of `serve`."""
    texts, hours = [], []
    for text in meats:
        piece, at, hour = text.partition("@")
        texts.append(piece)
        if at and not re.fullmatch(r"([01]?\d|2[0-3]):[0-5]\d", hour.strip()):
            raise click.BadParameter(f'"{hour.strip()}" is no hour; "@17:30" would be right', param_hint="--meat")
        clock = hour.strip().split(":") if at else None
        hours.append(serve if clock is None else serve.replace(hour=int(clock[0]), minute=int(clock[1])))
    return texts, tuple(hours)


def _pieces(texts: Sequence[str], config: "Config", setup: "Setup") -> "tuple[Piece, ...]":
    from firebox.meat.follow import piece_of

    if texts:
        return tuple(_piece(text, config, setup) for text in texts)
    if not setup.meats:
        raise click.UsageError('no meat: say --meat "brisket 5.5kg", or add [[meat]] to the pit\'s file')
    return tuple(piece_of(one.probe, setup) for one in setup.meats)


def _piece(text: str, config: "Config", setup: "Setup") -> "Piece":
    from firebox.errors import RangeError
    from firebox.meat import cuts
    from firebox.units import Mass, kg_from

    found = _PIECE.match(text)
    if found is None:
        raise click.BadParameter(
            f'"{text}" is no piece of meat; "brisket 5.5kg 80mm" would be right', param_hint="--meat"
        )
    try:
        weight, mm = found["weight"], found["mm"]
        mass = Mass(found["mass"]) if found["mass"] else config.units.mass
        return cuts.piece(
            cuts.named(found["cut"].strip(), setup.cuts),
            None if weight is None else kg_from(float(weight), mass),
            None if mm is None else float(mm) / 1000.0,
        )
    except RangeError as error:
        raise click.BadParameter(str(error), param_hint="--meat") from error


def _rest_celsius(oven: float | None, rest: str, config: "Config") -> float:
    from firebox.meat.safety import HOT_CELSIUS
    from firebox.units import celsius_from, celsius_to

    degrees = config.units.degrees
    if rest != "oven":
        if oven is not None:
            raise click.UsageError("--oven: say --rest oven as well, or leave it out")
        return ROOM
    celsius = OVEN if oven is None else celsius_from(oven, degrees)
    if not HOT_CELSIUS <= celsius <= HOTTEST_OVEN:
        low, high = (celsius_to(one, degrees) for one in (HOT_CELSIUS, HOTTEST_OVEN))
        raise click.BadParameter(
            f"{celsius_to(celsius, degrees):g} {degrees} is no holding temperature; {low:.0f} to {high:.0f} {degrees}, since "
            "colder is below hot holding",
            param_hint="--oven",
        )
    return celsius


ROOM = 20.0
OVEN = 63.0
HOTTEST_OVEN = 95.0


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


def _page(plan: "Plan", config: "Config") -> list[str]:
    from firebox.units import celsius_to, kg_to

    mass, degrees = config.units.mass, config.units.degrees
    lines = [f"serve {plan.serve:%a %Y-%m-%d %H:%M}; ready, rested and hot by then: {plan.probability:.0%}", ""]
    lines.extend(_row(row, config) for row in plan.rows)
    lines.append("")
    for one in plan.outcomes:
        low, high = (round(celsius_to(c, degrees)) for c in (one.pull_celsius.early, one.pull_celsius.late))
        lines.append(
            f"{one.piece.cut.name}, {kg_to(one.piece.kg, mass):.1f} {mass}: a probe in its middle may read anything from {low} "
            f"to {high} {degrees} when it is ready. The hand decides: {one.piece.cut.feel}"
        )
    wood = plan.wood
    lines.append(
        f"wood: {kg_to(wood.kg, mass):.0f} {mass}, {wood.splits} splits of {kg_to(wood.split_kg, mass):.1f} {mass}, one about "
        f"each {wood.minutes_between} min over {wood.hours:.0f} h; with margin"
    )
    lines.extend(
        f"watch: cook {shift.person}, {shift.begin:%a %H:%M} to {shift.end:%a %H:%M}"
        for shift in (plan.shifts if len(plan.shifts) > 1 else ())
    )
    return [*lines, "", *plan.advice]


def _row(row: "PlanRow", config: "Config") -> str:
    clock = "%a %H:%M" if config.units.clock == 24 else "%a %I:%M %p"
    what = row.what if row.cut is None else f"{row.cut}: {row.what}"
    note = f" ({row.note})" if row.note else ""
    if row.is_set:
        return f"{row.likely:{clock}}  {what}{note}"
    return f"{row.likely:{clock}}  {what}, {row.early:{clock}} to {row.late:{clock}}{note}"
