"""`firebox probes --calibrate`: guides through an ice bath and boiling water, and keeps what comes of it."""

import asyncio
import re
from collections.abc import Callable
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Final

import click

from firebox.errors import ConfigError, FireboxError, RangeError, SourceError
from firebox.records import Problem, Reading
from firebox.thermo.calibration import (
    A_FAULT,
    ABSURD_KELVIN,
    ICE,
    Check,
    Correction,
    Reference,
    boiling_by_altitude,
    boiling_by_pressure,
    correction,
    steady,
)
from firebox.units import Degrees, celsius_to, kelvin_to

if TYPE_CHECKING:
    from firebox.ports import ProbeSource
    from firebox.wiring import Watched

ICE_GUIDE: Final = """Ice. Crush ice and fill an insulated cup; add clean cold water until it fills the gaps, but no ice
floats freely. Stir. Put the tip in the middle, 5 cm deep, touching neither the wall nor a lump."""

BOIL_GUIDE: Final = """Boiling water. Plain water in a deep pot at a rolling boil. Hold the tip in the middle, 5 cm deep,
not at the bottom and not at the wall. Steam burns: wear gloves, keep the lead off the flame."""

PASCALS: Final = {"hpa": 100.0, "mbar": 100.0, "kpa": 1000.0, "inhg": 3386.389}
"""Unit of pressure -> pascals. [Pa]; the inch of mercury at 0 degC (NIST SP 811, 2008, table B.8)."""

METRES: Final = {"m": 1.0, "ft": 0.3048}
"""Unit of altitude -> metres. [m]; the foot is exact by definition."""

SHOW_SECONDS: Final = 5.0
"""Logical seconds between two lines that say what the probe shows."""


def boiling_point(air: str) -> Reference:
    """Return the boiling point for a pressure or an altitude as a person writes it.

    Raises
    ------
    RangeError
        It is neither, or none where somebody cooks.

    Examples
    --------
    >>> round(boiling_point("950 hPa").celsius, 2), round(boiling_point("4000 ft").celsius, 1)
    (98.18, 95.9)
    """
    match = re.fullmatch(r"\s*(-?\d{1,6}(?:\.\d{1,4})?)\s*([A-Za-z]+)\s*", air)
    unit = match[2].lower() if match else ""
    if match and unit in PASCALS:
        return boiling_by_pressure(float(match[1]) * PASCALS[unit])
    if match and unit in METRES:
        return boiling_by_altitude(float(match[1]) * METRES[unit])
    raise RangeError(f'"{air}" is neither a pressure nor an altitude; 985 hPa, 29.1 inHg, 350 m or 1200 ft would be')


def calibrate(watched: "Watched", probe: str, air: str | None, seconds: float) -> None:
    """Guide through the checks of a probe and keep their correction.

    Raises
    ------
    FireboxError
        The pit is watched just now, or the probe does not stand still, or what it shows is a fault.
    ConfigError
        There is no such probe, or no source of readings.
    """
    from firebox import wiring
    from firebox.config import calibrations, locations

    config = watched.config
    names = [one.name for one in config.probes]
    if names and probe not in names:
        raise ConfigError(f'--calibrate: "{probe}" is not among the probes: {", ".join(names)}')
    if wiring.is_kept(watched):
        raise FireboxError(f"{watched.name} is watched, which holds its probes; `firebox stop` first")
    checks = _checks(watched, probe, air, seconds)
    made = correction(*checks)
    for line in describe(made, config.units.degrees):
        click.echo(line)
    if click.confirm("Keep this correction?"):
        path = locations.calibration_file(watched.name)
        calibrations.keep(path, probe, calibrations.Calibration(time=datetime.now(UTC), checks=made.checks))
        click.echo(f"kept in {path}; in force from the next watch on")


def _checks(watched: "Watched", probe: str, air: str | None, seconds: float) -> list[Check]:
    degrees, checks = watched.config.units.degrees, []
    if _is_ready(ICE_GUIDE):
        checks.append(_sound(Check(known=ICE, shown=_shown(watched, probe, seconds)), degrees))
    if _is_ready(BOIL_GUIDE):
        known = _boil(air)
        click.echo(f"water boils at {celsius_to(known.celsius, degrees):.1f} {degrees} there")
        checks.append(_sound(Check(known=known, shown=_shown(watched, probe, seconds)), degrees))
    if not checks:
        raise FireboxError("both were left out; nothing was checked")
    return checks


def _sound(check: Check, degrees: Degrees) -> Check:
    """Return a check, unless it shows a fault; so that a fault in ice is told before any water is boiled."""
    if abs(check.deviation) > ABSURD_KELVIN:
        known, shown = (celsius_to(one.celsius, degrees) for one in (check.known, check.shown))
        raise FireboxError(
            f"at {known:.1f} {degrees} the probe shows {shown:.1f}; more than {kelvin_to(ABSURD_KELVIN, degrees):.0f} off "
            f"is {A_FAULT}"
        )
    return check


def _is_ready(guide: str) -> bool:
    click.echo(f"\n{guide}")
    while True:
        answer = str(
            click.prompt("Enter when it is in, or s to leave this out", default="", show_default=False)
        ).strip()
        if answer.lower() in {"", "s"}:
            return not answer
        click.echo(f'"{answer}" is neither; press Enter alone, or s', err=True)


def _boil(air: str | None) -> Reference:
    while True:
        asked = air or click.prompt(
            "Pressure of the air where you stand (not reduced to sea level), as 985 hPa, or the altitude, as 350 m or 1200 ft"
        )
        try:
            return boiling_point(asked)
        except RangeError as error:
            if air is not None:
                raise
            click.echo(str(error), err=True)


# --- listening -----------------------------------------------------------------------------------


def _shown(watched: "Watched", probe: str, seconds: float) -> Reference:
    from firebox import wiring
    from firebox.keeper.clock import SteadyClock

    sources = wiring.sources(watched.config, SteadyClock(), as_shown=True)
    if not sources:
        raise ConfigError(f"{watched.config_path}: no [[sources]] with real probes: nothing to calibrate")
    degrees = watched.config.units.degrees
    shown = asyncio.run(until_steady(sources, probe, seconds, lambda text: click.echo(text, err=True), degrees))
    click.echo(f"steady at {celsius_to(shown.celsius, degrees):.2f} {degrees}")
    return shown


async def until_steady(
    sources: "list[ProbeSource]", probe: str, seconds: float, say: Callable[[str], None], degrees: Degrees
) -> Reference:
    """Return what a probe shows once it stands still.

    Parameters
    ----------
    sources : list of ProbeSource
        Not yet opened; one of them has the probe. All are closed when this returns.
    probe : str
    seconds : float
        Real seconds to wait at most.
    say : callable
        Is told every few seconds what it shows, and what went wrong at a source.
    degrees : Degrees
        In which to tell it.

    Raises
    ------
    FireboxError
        It did not stand still in that time, or was not heard.
    """
    heard: asyncio.Queue[Reading | None] = asyncio.Queue()
    tasks = [
        asyncio.create_task(_follow(source, probe, heard, say), name=f"source {source.name}") for source in sources
    ]
    watch = _Standstill(probe, say, degrees)
    try:
        async with asyncio.timeout(seconds):
            return await _stand_still(watch, heard, len(tasks))
    except TimeoutError as error:
        raise FireboxError(f"{probe} {watch.describe()} within {seconds:g} s") from error
    finally:
        for task in tasks:
            task.cancel()
        for failure in await asyncio.gather(*tasks, return_exceptions=True):
            if isinstance(failure, Exception):
                raise failure  # a defect: what a source may raise has been told


async def _stand_still(watch: "_Standstill", heard: asyncio.Queue[Reading | None], sources: int) -> Reference:
    while sources:
        reading = await heard.get()
        if reading is None:
            sources -= 1
        elif (shown := watch.hear(reading)) is not None:
            return shown
    raise FireboxError(f"{watch.probe} {watch.describe()}: there is no source left to hear it from")


async def _follow(
    source: "ProbeSource", probe: str, heard: asyncio.Queue[Reading | None], say: Callable[[str], None]
) -> None:
    """Put the readings of a probe in the queue, and None at the end of the source."""
    try:
        await source.open()
        async for record in source.records():
            if isinstance(record, Reading) and record.probe == probe:
                heard.put_nowait(record)
            elif isinstance(record, Problem):
                say(f"{record.source}: {record.text}")
    except SourceError as error:
        say(f"{source.name}: {error}")
    finally:
        heard.put_nowait(None)
        await source.close()


class _Standstill:
    """Readings of one probe, until they stand still."""

    def __init__(self, probe: str, say: Callable[[str], None], degrees: Degrees) -> None:
        self.probe = probe
        self._say = say
        self._degrees = degrees
        self._start: datetime | None = None
        self._samples: list[tuple[float, float]] = []
        self._told = -SHOW_SECONDS

    def hear(self, reading: Reading) -> Reference | None:
        """Take a reading; return what the probe shows if it stands still now."""
        self._start = self._start or reading.time
        seconds = (reading.time - self._start).total_seconds()
        if seconds - self._told >= SHOW_SECONDS:
            self._told = seconds
            shown = reading.status if reading.celsius is None else f"{celsius_to(reading.celsius, self._degrees):.2f}"
            self._say(f"{self.probe} {shown}")
        if reading.celsius is None:
            self._samples.clear()
            return None
        self._samples.append((seconds, reading.celsius))
        return steady(self._samples)

    def describe(self) -> str:
        """Return what there was of it, for a message."""
        return "was not heard" if self._start is None else "did not stand still"


# --- telling -------------------------------------------------------------------------------------


def describe(made: Correction, degrees: Degrees) -> list[str]:
    """Return a correction in words, in the cook's degrees."""

    def at(celsius: float) -> str:
        return f"{celsius_to(celsius, degrees):.1f} {degrees}"

    def differs(kelvin: float) -> str:
        return f"{kelvin_to(kelvin, degrees):+.2f}"

    lines = [
        f"at {at(check.known.celsius)} it shows {differs(check.deviation)} "
        f"(sure to {kelvin_to(2 * check.uncertainty, degrees):.1f})"
        for check in made.checks
    ]
    for celsius in (60.0, 121.0):
        change = made.correct(celsius) - celsius
        sure = kelvin_to(2 * made.uncertainty(celsius), degrees)
        lines.append(f"corrected by {differs(change)} at {at(celsius)}, sure to {sure:.1f} (2 standard deviations)")
    return lines
