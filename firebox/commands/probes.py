"""`firebox probes`: what is configured, and what is heard of it."""

import asyncio
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from firebox.commands.which import chosen, pit_options

if TYPE_CHECKING:
    from firebox.commands.listening import Heard
    from firebox.config import Config, Loaded
    from firebox.wiring import Watched

PATIENCE = 600.0
"""Seconds in which a probe in a bath has to come to a standstill."""


@click.command()
@pit_options
@click.option(
    "--seconds", type=click.FloatRange(min=0.5, max=600), default=10.0, show_default=True, help="How long to listen."
)
@click.option("--check", is_flag=True, help="Only look the configuration over, and say where each value comes from.")
@click.option("--calibrate", metavar="PROBE", help="Guide through checking a probe in ice and boiling water.")
@click.option(
    "--air", metavar="TEXT", help="With --calibrate: the air pressure there (985 hPa) or the altitude (350 m)."
)
@click.option("--forget", metavar="PROBE", help="Put the correction of a probe away.")
@click.option("--sound", is_flag=True, help="Sound every urgency, to be heard from where you sleep.")
@click.option("--notices", is_flag=True, help="Send a test, marked as one, in every way that people are called.")
@click.pass_context
def command(
    ctx: click.Context,
    config_file: Path | None,
    pit: str | None,
    *,
    seconds: float,
    check: bool,
    calibrate: str | None,
    air: str | None,
    forget: str | None,
    sound: bool,
    notices: bool,
) -> None:
    """List the probes that are configured and what is heard of them; check the configuration.

    Listens at the sources, or, while the pit is watched, to what its keeper hears, until every configured probe was
    heard. The status is 1 if one was not, and 2 if the configuration cannot be used.

    With --calibrate a probe is checked against ice and boiling water, and what it shows is put right from the next
    watch on. With --sound and --notices the ways of calling people are tried before the night; the status is 1 if one
    failed.
    """
    from firebox import config

    things = (check, calibrate is not None, forget is not None, sound, notices)
    if sum(things) > 1 or (air is not None and calibrate is None):
        raise click.UsageError(
            "--check, --calibrate, --forget, --sound and --notices are five things, and --air goes with --calibrate"
        )
    if check:
        _check(config.read(config.find(config_file, pit)))
        return
    watched = chosen(config_file, pit)
    if calibrate is not None:
        from firebox.commands.calibrate import calibrate as guide

        guide(watched, calibrate, air, PATIENCE)
        return
    if forget is not None:
        _forget(watched, forget)
        return
    if sound or notices:
        from firebox.commands import rehearse

        if not (rehearse.sound(watched) if sound else rehearse.notices(watched)):
            ctx.exit(1)
        return
    heard = _hear(watched, seconds)
    for row in _table(_rows(watched.config, heard)):
        click.echo(row)
    for trouble in dict.fromkeys(heard.troubles):
        click.echo(trouble, err=True)
    for note in _checked(watched):
        click.echo(note, err=True)
    missing = [name for name in _configured(watched.config) if name not in heard.fresh]
    if missing:
        click.echo(f"not heard within {seconds:g} s: {', '.join(missing)}", err=True)
    if missing or not heard.fresh:
        ctx.exit(1)


def _configured(config: "Config") -> list[str]:
    return [probe.name for probe in config.probes]


# --- the configuration ---------------------------------------------------------------------------


def _check(loaded: "Loaded") -> None:
    """Write every value in force and where it comes from; raises where a password cannot be read."""
    from firebox.config.passwords import address, password
    from firebox.links import MqttSourceOptions
    from firebox.ways import PushOptions

    config = loaded.config
    for row in _table([("key", "value", "from"), *((one.key, one.value, one.source) for one in loaded.origins())]):
        click.echo(row)
    brokers = [source.broker for source in config.sources if isinstance(source, MqttSourceOptions)]
    for broker in [*brokers, *([config.mqtt.broker] if config.mqtt else [])]:
        password(broker)
    for way in config.notices.to:
        if isinstance(way, PushOptions):
            address(way)
    notes = list(_notes(config))
    for note in notes:
        click.echo(f"{loaded.path.name}: {note}", err=True)
    verdict = f"it can be used; look at the {_counted(len(notes))} above" if notes else "nothing wrong with it"
    click.echo(f"{loaded.path}: {verdict}", err=True)


def _counted(count: int) -> str:
    return "note" if count == 1 else f"{count} notes"


USUAL_CELSIUS = (65.0, 175.0)
"""Pit temperatures that people cook at in an offset, from cold smoke's upper end to hot and fast; common practice, no
source. Beyond them a unit was probably mixed up."""


def _notes(config: "Config") -> Iterable[str]:
    """Yield what is no mistake, but may not be meant."""
    from datetime import UTC, datetime

    from firebox.setup import Role, role_of
    from firebox.units import Degrees, celsius_to

    target = config.setup(datetime.now(UTC)).target_celsius
    if not USUAL_CELSIUS[0] <= target <= USUAL_CELSIUS[1]:
        both = " or ".join(f"{celsius_to(target, scale):.0f} {scale}" for scale in Degrees)
        yield f"a target of {both} is unusual for a pit; is [units] degrees what was meant?"

    if not config.sources:
        yield "no [[sources]] yet: it does not say where readings come from"
    if config.probes and not any((probe.role or role_of(probe.name)) is Role.GRATE for probe in config.probes):
        yield "no probe has the role grate: nothing stands for the pit, so no outlook, no advice and no pit alarms"


# --- the calibrations ----------------------------------------------------------------------------


def _checked(watched: "Watched") -> Iterable[str]:
    """Yield when each probe was checked, what came of it, and whether it is time again."""
    from datetime import UTC, datetime

    from firebox.config import calibrations, locations
    from firebox.thermo.calibration import is_due
    from firebox.units import celsius_to, kelvin_to

    target, degrees = watched.config.setup(datetime.now(UTC)).target_celsius, watched.config.units.degrees
    for name, one in calibrations.read(locations.calibration_file(watched.name)).items():
        change = kelvin_to(one.correction.correct(target) - target, degrees)
        sure = kelvin_to(2 * one.correction.uncertainty(target), degrees)
        again = f"; time to check it again: --calibrate {name}" if is_due(one.time, datetime.now(UTC)) else ""
        yield (
            f"{name}: checked on {one.time:%Y-%m-%d}, corrected by {change:+.1f} at "
            f"{celsius_to(target, degrees):.0f} {degrees}, sure to {sure:.1f}{again}"
        )


def _forget(watched: "Watched", probe: str) -> None:
    from firebox.config import calibrations, locations
    from firebox.errors import ConfigError

    if not calibrations.forget(locations.calibration_file(watched.name), probe):
        raise ConfigError(f'--forget: "{probe}" has no correction')
    click.echo(f"{probe}: its correction is put away, from the next watch on")


# --- what is heard -------------------------------------------------------------------------------


def _hear(watched: "Watched", seconds: float) -> "Heard":
    from firebox import wiring
    from firebox.commands.listening import listen, overhear
    from firebox.errors import ConfigError, FireboxError
    from firebox.keeper.clock import SteadyClock

    wanted = set(_configured(watched.config))
    if wiring.is_kept(watched):
        click.echo(f"{watched.name} is watched; this is what its keeper hears", err=True)
        return overhear(watched.journal, watched.name, seconds, wanted)
    if not watched.config.sources:
        raise ConfigError(f"{watched.config_path}: no [[sources]]: it does not say where readings come from")
    clock = SteadyClock()
    sources = wiring.sources(watched.config, clock)
    if not sources:
        raise FireboxError(f"{watched.name} is a practice fire; it burns, and is heard, only while it is watched")
    return asyncio.run(listen(sources, clock, seconds, wanted))


def _rows(config: "Config", heard: "Heard") -> list[tuple[str, ...]]:
    from firebox.setup import role_of
    from firebox.units import celsius_to

    known = {probe.name: probe.role or role_of(probe.name) for probe in config.probes}
    only = config.sources[0].name if len(config.sources) == 1 else ""
    rows: list[tuple[str, ...]] = [("probe", "role", "source", "value", "status", "last heard", "signal")]
    for name in dict.fromkeys([*known, *sorted(heard.readings)]):
        reading = heard.readings.get(name)
        role = str(known.get(name, role_of(name)))
        source = heard.sources.get(name) or only
        if reading is None:
            rows.append((name, role, source, "", "", "never", "failure: not heard yet"))
            continue
        degrees = config.units.degrees
        value = "" if reading.celsius is None else f"{celsius_to(reading.celsius, degrees):.1f} {degrees}"
        age = (heard.until - reading.time).total_seconds() if heard.until else 0.0
        mark = "" if name in known or not known else " (not configured)"
        rows.append(
            (
                name,
                role + mark,
                source,
                value,
                str(reading.status),
                f"{max(age, 0.0):.0f} s ago",
                _status(name, heard),
            )
        )
    return rows


def _status(name: str, heard: "Heard") -> str:
    """Return the status signal in words, and what is wrong: as the keeper judges, else as the reading alone says."""
    from firebox.records import Signal, Status

    judged = heard.healths.get(name)
    if judged is not None and judged.signal is not None:
        words = str(judged.signal).replace("-", " ")
        return words if judged.signal is Signal.GOOD else f"{words}: {judged.text.removeprefix(f'{name}: ')}"
    good = heard.readings[name].status is Status.GOOD
    return str(Signal.GOOD if good else Signal.FAILURE)


def _table(rows: Sequence[Sequence[str]]) -> Iterable[str]:
    """Yield rows with their columns aligned."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    for row in rows:
        yield "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
