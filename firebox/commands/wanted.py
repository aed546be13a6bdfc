"""What `firebox plan` is asked for: hours, pieces and style, out of the words of the command line."""

import re
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import click
import msgspec
from msgspec import Struct

if TYPE_CHECKING:
    from firebox.config import Config
    from firebox.meat.ahead import Style
    from firebox.meat.cuts import Piece
    from firebox.plan.aim import Aim
    from firebox.records import Serving
    from firebox.setup import Setup

_PIECE = re.compile(
    r"^\s*(?P<cut>[^\d,]+?)(?:[\s,]+(?P<weight>\d+(?:[.,]\d+)?)\s*(?P<mass>kg|lb))?(?:[\s,]+(?P<mm>\d+(?:\.\d+)?)\s*mm)?"
    r"(?:[\s,]+(?P<grade>lean|usual|marbled))?\s*$"
)


class Told(Struct, frozen=True):
    """A temperature as it was typed: the number, and its unit, empty where the cook's own is meant."""

    number: float
    unit: str

    def celsius(self, config: "Config") -> float:
        from firebox.units import Degrees, celsius_from

        return celsius_from(self.number, Degrees(self.unit) if self.unit else config.units.degrees)


class _Degrees(click.ParamType["Told"]):
    name = "degrees"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> Told:  # click's own types
        found = re.fullmatch(r"\s*(-?\d+(?:[.,]\d+)?)\s*([cCfF]?)\s*", str(value))
        if found is None:
            self.fail(f'"{value}" is no temperature; 250, 250F or 121C would be right', param, ctx)
        return Told(float(found[1].replace(",", ".")), found[2].upper())


DEGREES = _Degrees()


class Wish(Struct, frozen=True, kw_only=True):
    """The options as they were typed; None where nothing was said."""

    meats: tuple[str, ...]
    wrap: str
    rest: str
    oven: "Told | None"
    pit_at: "Told | None"
    air: "Told | None"
    wind: str
    sure: float
    people: int
    probe: str | None


def aim(wish: Wish, serve: datetime, config: "Config", setup: "Setup") -> "Aim":
    """Return what is planned for.

    Raises
    ------
    click.UsageError
        Something that was said cannot be planned; the message says what would be right.
    """
    from firebox.plan.aim import Aim, Wind

    texts, hours_of = hours(wish.meats, serve)
    return Aim(
        serve=serve,
        pieces=pieces(texts, config, setup),
        hours=hours_of,
        style=style(wish, config),
        pit_celsius=setup.target_celsius if wish.pit_at is None else wish.pit_at.celsius(config),
        ambient_celsius=15.0 if wish.air is None else wish.air.celsius(config),
        wind=msgspec.convert(wish.wind, Wind),
        sure=wish.sure,
    )


def style(wish: Wish, config: "Config") -> "Style":
    """Return how the cook goes about it."""
    from firebox.meat.ahead import Style
    from firebox.meat.places import Material, Rest

    return Style(
        wrap=msgspec.convert(wish.wrap, Material),
        rest=msgspec.convert(wish.rest, Rest),
        rest_celsius=_rest_celsius(wish.oven, wish.rest, config),
    )


def serving(wish: Wish, serve: datetime, config: "Config") -> "Serving":
    """Return the entry by which a running watch takes the hour over."""
    from uuid import uuid4

    from firebox.records import Serving

    plain = {
        "time": datetime.now().astimezone(),
        "id": uuid4().hex,
        "serve": serve,
        "wrap": wish.wrap,
        "rest": wish.rest,
        "celsius": _rest_celsius(wish.oven, wish.rest, config) if wish.rest == "oven" else None,
        "people": wish.people,
        "sure": wish.sure,
        "probe": wish.probe,
    }
    return msgspec.convert(plain, Serving)


_HOUR = re.compile(
    r"^\s*(?:(?P<day>today|tomorrow)\s+)?(?P<hour>\d{1,2})(?:[:.](?P<minute>\d{2}))?\s*(?P<half>[ap]m)?\s*$",
    re.IGNORECASE,
)


def when(text: str) -> datetime:
    """Return the serving time, in the machine's own zone where none is told; a bare hour is the next such hour.

    Raises
    ------
    click.BadParameter
        It is no time, or is past.
    """
    now = datetime.now().astimezone()
    found = _told(text, now)
    if found <= now:
        raise click.BadParameter(
            f'"{text}" is past; an hour to come would be right, as "18:00" or "tomorrow 18:00"', param_hint="--serve"
        )
    return found


def _told(text: str, now: datetime) -> datetime:
    try:
        plain = _HOUR.match(text)
        found = datetime.fromisoformat(text) if plain is None else _clock(plain, now)
    except ValueError as error:
        raise click.BadParameter(
            f'"{text}" is no time; "18:00", "6pm", "tomorrow 18:00" or "2026-05-02 18:00" would be right',
            param_hint="--serve",
        ) from error
    return found.astimezone() if found.tzinfo is None else found


def _clock(plain: re.Match[str], now: datetime) -> datetime:
    """Return an hour of today or tomorrow.

    Raises
    ------
    ValueError
        There is no such hour.
    """
    hour, half = int(plain["hour"]), (plain["half"] or "").lower()
    if half:
        if not 1 <= hour <= HOURS_OF_A_HALF:
            raise ValueError
        hour = hour % HOURS_OF_A_HALF + HOURS_OF_A_HALF * (half == "pm")
    day = (plain["day"] or "").lower()
    # without the zone's offset of today: the clocks may be put back or on until then
    at = now.replace(hour=hour, minute=int(plain["minute"] or 0), second=0, microsecond=0, tzinfo=None)
    if day == "tomorrow" or (not day and at.astimezone() <= now):
        at += timedelta(days=1)
    return at.astimezone()


HOURS_OF_A_HALF = 12


def hours(meats: Sequence[str], serve: datetime) -> tuple[list[str], tuple[datetime, ...]]:
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


def pieces(texts: Sequence[str], config: "Config", setup: "Setup") -> "tuple[Piece, ...]":
    from firebox.meat.follow import piece_of

    if texts:
        return tuple(_piece(text, config, setup) for text in texts)
    if not setup.meats:
        raise click.UsageError('no meat: say --meat "brisket 5.5kg", or add [[meat]] to the pit\'s file')
    return tuple(piece_of(one.probe, setup) for one in setup.meats)


def _piece(text: str, config: "Config", setup: "Setup") -> "Piece":
    from firebox.errors import RangeError
    from firebox.meat import cuts
    from firebox.setup import Grade
    from firebox.units import Mass, kg_from

    found = _PIECE.match(text)
    bare = re.search(r"[\s,](\d+(?:[.,]\d+)?)(?!\S)", text)
    if found is None and bare is not None:
        raise click.BadParameter(
            f'"{text}": say the unit of {bare[1]}; "{bare[1]}kg", "{bare[1]}lb" or "80mm" would be right',
            param_hint="--meat",
        )
    if found is None:
        raise click.BadParameter(
            f'"{text}" is no piece of meat; "brisket 5.5kg 80mm marbled" would be right', param_hint="--meat"
        )
    try:
        weight, mm = found["weight"], found["mm"]
        mass = Mass(found["mass"]) if found["mass"] else config.units.mass
        return cuts.piece(
            cuts.named(found["cut"].strip(), setup.cuts),
            None if weight is None else kg_from(float(weight.replace(",", ".")), mass),
            None if mm is None else float(mm) / 1000.0,
            msgspec.convert(found["grade"] or "usual", Grade),
        )
    except RangeError as error:
        raise click.BadParameter(str(error), param_hint="--meat") from error


def is_metric(meats: Sequence[str]) -> bool:
    """Tell whether pieces are told in kilograms: then their cook thinks in degrees Celsius."""
    return any(re.search(r"\d\s*kg\b", text) for text in meats)


def metric(config: "Config") -> "Config":
    """Return a configuration with kilograms and degrees Celsius."""
    from msgspec.structs import replace

    from firebox.units import Degrees, Mass

    return replace(config, units=replace(config.units, degrees=Degrees.C, mass=Mass.KG))


def assumed(meats: Sequence[str], aim: "Aim", config: "Config") -> list[str]:
    """Return what is taken for granted of pieces whose weight was not told, a line each."""
    from firebox.units import kg_to

    mass = config.units.mass
    return [
        f"{piece.cut.name}: no weight told, planned for {kg_to(piece.kg, mass):.1f} {mass}"
        for text, piece in zip(meats, aim.pieces, strict=False)
        if not re.search(r"\d\s*(?:kg|lb)\b", text)
    ]


def _rest_celsius(oven: Told | None, rest: str, config: "Config") -> float:
    from firebox.meat.safety import HOT_CELSIUS
    from firebox.units import celsius_to

    degrees = config.units.degrees
    if rest != "oven":
        if oven is not None:
            raise click.UsageError("--oven: say --rest oven as well, or leave it out")
        return ROOM
    celsius = OVEN if oven is None else oven.celsius(config)
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
