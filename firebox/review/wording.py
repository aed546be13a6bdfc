"""Figures as the cook reads them: pure functions from numbers to words."""

from datetime import datetime, timedelta, tzinfo
from typing import Final, Literal

from msgspec import Struct

from firebox.review.blame import Cause, Reason
from firebox.review.whole import Review
from firebox.setup import Round
from firebox.units import Degrees, Mass, celsius_to, kelvin_to, kg_to

UNKNOWN: Final = "-"

CLOSE: Final = "\u00a0"
"""A space at which no line is broken, between a number and its unit."""


class Look(Struct, frozen=True, kw_only=True):
    """How the cook wants figures; `zone` None: UTC. `money` is the word behind an amount, and may be empty."""

    degrees: Degrees = Degrees.F
    mass: Mass = Mass.KG
    clock: Literal[12, 24] = 24
    zone: tzinfo | None = None
    money: str = ""

    def local(self, instant: datetime) -> datetime:
        """Return an instant by the cook's clock."""
        return instant if self.zone is None else instant.astimezone(self.zone)


def hour(review: Review, seconds: float, look: Look) -> str:
    """Return when something happened, as a clock shows it."""
    at = look.local(_instant(review, seconds))
    return f"{at:%H:%M}" if look.clock == 24 else f"{at:%I:%M %p}".lstrip("0").lower()


def day(instant: datetime, look: Look) -> str:
    """Return a day with its hour, as in `Sat 2 May 2026, 16:00`."""
    at = look.local(instant)
    clock = f"{at:%H:%M}" if look.clock == 24 else f"{at:%I:%M %p}".lstrip("0").lower()
    return f"{at:%a} {at.day} {at:%b %Y}, {clock}"


def period(review: Review, look: Look) -> str:
    """Return from when to when a cook was, with the second day only where it is another."""
    begun, ended = day(review.began, look), day(review.ended, look)
    same = begun.rsplit(", ", 1)[0] == ended.rsplit(", ", 1)[0]
    return f"{begun} to {ended.rsplit(', ', 1)[1] if same else ended}"


def _instant(review: Review, seconds: float) -> datetime:
    return review.began + timedelta(seconds=seconds)


def celsius(value: float | None, look: Look) -> str:
    """Return a temperature in whole degrees of the cook's scale.

    Examples
    --------
    >>> print(celsius(121.1, Look()), celsius(None, Look()))
    250 °F -
    """
    return UNKNOWN if value is None else f"{celsius_to(value, look.degrees):.0f}{CLOSE}°{look.degrees}"


def kelvin(value: float | None, look: Look, *, signed: bool = False, digits: int = 0) -> str:
    """Return a difference of temperatures in the cook's degrees.

    Examples
    --------
    >>> print(kelvin(10.0, Look()), kelvin(-10.0, Look(degrees=Degrees.C), signed=True))
    18 °F -10 °C
    """
    if value is None:
        return UNKNOWN
    sign = "+" if signed else ""
    number = round(kelvin_to(value, look.degrees), digits) + 0.0  # no negative zero
    return f"{number:{sign}.{digits}f}{CLOSE}°{look.degrees}"


def kg(value: float | None, look: Look) -> str:
    """Return a weight in the cook's unit.

    Examples
    --------
    >>> print(kg(1.4, Look()), kg(0.45359237, Look(mass=Mass.LB)))
    1.4 kg 1.0 lb
    """
    return UNKNOWN if value is None else f"{kg_to(value, look.mass):.1f}{CLOSE}{look.mass}"


def minutes(value: float | None) -> str:
    """Return a duration in words.

    Examples
    --------
    >>> print(minutes(4.4), minutes(95.0), minutes(None))
    4 min 1 h 35 -
    """
    if value is None:
        return UNKNOWN
    whole = round(value)
    return f"{whole}{CLOSE}min" if whole < 60 else f"{whole // 60}{CLOSE}h{CLOSE}{whole % 60:02d}"


def share(value: float | None) -> str:
    """Return a share in per cent; only all of it is 100 %, and only nothing is 0 %.

    Examples
    --------
    >>> print(share(0.5), share(0.998), share(1.0))
    50 % 99 % 100 %
    """
    if value is None:
        return UNKNOWN
    whole = round(100.0 * value)
    whole = min(whole, 99) if value < 1.0 else whole
    return f"{max(whole, 1) if value > 0.0 else whole}{CLOSE}%"


def money(value: float | None, look: Look) -> str:
    """Return an amount of money with the cook's own word for it."""
    return UNKNOWN if value is None else f"{value:.2f}{CLOSE}{look.money}".rstrip()


def si(value: float, unit: str) -> str:
    """Return a quantity with its unit to three digits: long times in minutes, shares in per cent.

    Examples
    --------
    >>> print(si(240.0, "s"), si(0.231, ""), si(61234.0, "J/K"))
    4 min 23 % 61.2 kJ/K
    """
    if not unit:
        return share(value)
    if unit == "s" and value >= 120.0:
        return minutes(value / 60.0)
    thousands = value >= 1000.0
    number = value / 1000.0 if thousands else value
    return f"{number:.3g}{CLOSE}{'k' if thousands else ''}{unit}"


def count(number: int, one: str, many: str | None = None) -> str:
    """Return a number of things.

    Examples
    --------
    >>> count(1, "split"), count(0, "split")
    ('1 split', 'no splits')
    """
    if number == 1:
        return f"1 {one}"
    return f"{number or 'no'} {many or one + 's'}"


def capital(text: str) -> str:
    """Return a text with a capital letter at its beginning."""
    return text[:1].upper() + text[1:]


def score(one: Round) -> str:
    """Return what a practice round came to."""
    if one.played is None:
        return "left unfinished, not scored"
    inside = f"{one.inside or 0.0:.0f} of {one.played:.0f}{CLOSE}min in the band"
    short = "" if one.played > WHOLE * one.lasts else f", ended after {one.played:.0f} of {one.lasts:.0f}{CLOSE}min"
    return f"{'reached' if one.reached else 'missed'}, {inside}{short}"


WHOLE: Final = 0.95
"""Share of its length from which a round counts as played to its end."""


def marks(opening: float, review: Review) -> str:
    """Return how far a damper was moved, in marks."""
    number = abs(opening) * review.damper_marks
    return count(round(number), "mark") if round(number) >= 1 else "part of a mark"


def reason(one: Reason, review: Review, look: Look) -> str:
    """Return a likely cause in words; what was done on the advice's word is told as that."""
    return _cause(one, review, look) + (", as NEXT had said" if one.advised else "")


def _cause(one: Reason, review: Review, look: Look) -> str:
    at = "" if one.seconds is None else hour(review, one.seconds, look)
    usual = review.rhythm.kg
    match one.cause:
        case Cause.TARGET:
            return f"the target was moved at {at}"
        case Cause.PROBE:
            return f"probe {one.what} was in trouble at {at}" if one.what else "the probe leapt: its plug, or a touch"
        case Cause.DOOR if one.amount is None:
            return f"the {one.what} door stood ajar, it seems, from {at} on"
        case Cause.DOOR:
            return f"{one.what} door open for {_brief(one.amount)} at {at}, by the log"
        case Cause.LATE if one.amount is not None:
            return f"split {minutes(one.amount)} late, due at {at}"
        case Cause.LATE:
            return f"the split of {at} came when the pit was low already"
        case Cause.DYING:
            return f"the fire was dying from {at} on"
        case Cause.SMOULDER:
            return f"the split of {at} did not catch"
        case Cause.OVERSIZE if one.what:
            return f"much wood at once: {kg(one.amount, look)} {one.what}"
        case Cause.OVERSIZE:
            than = "" if usual is None else f", usual {kg(usual.median, look)}"
            return f"a large split of {kg(one.amount, look)} at {at}{than}"
        case Cause.EARLY:
            return f"split of {at} laid {kelvin(one.amount, look)} above target"
        case Cause.HUMP:
            return f"hump of the split of {at}, {kelvin(one.amount, look, signed=True)}"
        case Cause.DAMPER:
            way = "opened" if (one.amount or 0.0) > 0.0 else "closed"
            return f"{one.what} {way} by {marks(one.amount or 0.0, review)} until {at}"
        case Cause.FLARE:
            return "it leapt up: grease may have burnt, or the intake stood wide open"
        case Cause.UNLOGGED:
            return "more wood or air than was logged"
        case Cause.HANDED:
            return "the fire as it was handed over"
        case Cause.ASH:
            return "ash that kept the air from the coals"
        case _:
            return "wind, or something that is not in the log"


def _brief(value: float | None) -> str:
    if value is None:
        return "a while"
    return f"{round(60.0 * value)}{CLOSE}s" if value < 2.0 else minutes(value)


def reasons(those: tuple[Reason, ...], review: Review, look: Look) -> str:
    """Return the likely causes in words, the likeliest first."""
    return "; or ".join(reason(one, review, look) for one in those)
