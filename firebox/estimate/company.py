"""Other probes at the grate: how each goes with the one that leads, and what they tell of it together.

No two places of a chamber are equally hot, so another probe is heard through a line that leads from it to the leading one:
an offset that wanders and a slope near one, learned from the readings of both. How far it then still misses the leading
one by says how much it is worth: a probe that hangs badly weighs nothing. Where the leading probe is silent for a moment
the others speak for it, and where another takes the lead, what was known goes over to it without a jump.
"""

from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from firebox.setup import Role, Setup, role_of

CENTRE: Final = 100.0
"""Where a line is held at its offset. [degC]"""

SPREAD: Final = (64.0, 0.04)
"""Variance of the offset [K^2] and of the slope [-] before anything was read: places differ by some 8 K, probes' slopes of a
chamber by a fifth."""

WANDER: Final = (1.0 / 1800.0, 0.01 / 7200.0)
"""What they gain each second: a kelvin in half an hour, a tenth in two hours (order of magnitude: meat, ash, wind)."""

MISS: Final = 9.0
"""Mean square by which a line misses before it has shown its own. [K^2]"""

MEMORY: Final = 1200.0
"""How long a miss is remembered: a hump, in whose course two places answer differently. [s]"""

EVERY: Final = 30.0
"""Seconds between two readings that a line learns from: neighbours are wrong together."""

TOGETHER: Final = 4.0
"""Readings that are wrong together, so that so many count as one."""

LEAST: Final = 0.04
"""No line holds better than this. [K^2]"""

KNOWN: Final = 20
"""Readings of both after which a line is believed: ten minutes."""


class Line(Struct, frozen=True, kw_only=True):
    """How the leading probe follows from another: `offset + slope * (other - CENTRE)` above it.

    Attributes
    ----------
    variances : (float, float, float)
        Of the offset, of the slope, and their covariance.
    miss : float
        Mean square of the distance of the leading probe from the line. [K^2]
    count : int
        Readings taken in.
    at : float
        When the newest was. [s]
    """

    offset: float = 0.0
    slope: float = 0.0
    variances: tuple[float, float, float] = (*SPREAD, 0.0)
    miss: float = MISS
    count: int = 0
    at: float = -1e9


class Company(Struct, frozen=True, kw_only=True):
    """The lines that lead to the probe `lead`, by the names of the others."""

    lead: str | None = None
    lines: dict[str, Line] = {}
    home: str | None = None
    """The probe that led first: the place that is followed is where it hangs."""
    away: float = -1e9
    """Since when another leads. [s]"""
    vague: float = 0.0
    """Mean square by which that one's distance from home then changed. [K^2]"""


class Heard(Struct, frozen=True):
    """What the probes at the grate together say of the leading one: value [degC] and its variance [K^2]."""

    celsius: float
    variance: float


def led(company: Company, lead: str | None, seconds: float) -> Company:
    """Return the company under another lead: of the others only the one that led is known, the other way round."""
    if lead is None or lead == company.lead:
        return company
    home = company.home or company.lead or lead
    line = company.lines.get(lead, Line())
    known = company.lead is not None and line.count >= KNOWN
    lines = {}
    if company.lead is not None and known:
        turned = 1.0 + line.slope
        lines = {company.lead: replace(line, offset=-line.offset / turned, slope=-line.slope / turned)}
    vague = 0.0 if lead == home else line.miss
    return Company(lead=lead, lines=lines, home=home, away=seconds, vague=vague)


SETTLED: Final = 1800.0
"""How long another place takes to be the one that is followed. [s]"""


def vagueness(company: Company, seconds: float) -> float:
    """Return the variance that a reading of another place has as one of the place that is followed. [K^2]"""
    return company.vague * float(np.exp(-max(seconds - company.away, 0.0) / SETTLED))


def heard(
    company: Company, seconds: float, cell: dict[str, float], noise: float, setup: Setup
) -> tuple[Company, Heard | None]:
    """Return the company after a cell, and what it says of the leading probe; None where nobody says anything.

    Parameters
    ----------
    cell : dict
        Trusted readings. [degC]
    noise : float
        Variance of one reading of the leading probe. [K^2]
    """
    own = cell.get(company.lead) if company.lead is not None else None
    lines = dict(company.lines)
    weight, value = (0.0, 0.0) if own is None else (1.0 / max(noise, 1e-4), own / max(noise, 1e-4))
    for name in sorted(cell):
        if name == company.lead or role_of(name, setup) is not Role.GRATE:
            continue
        line = lines.get(name, Line())
        if line.count >= KNOWN:
            # The leading probe's own noise is in the miss and no fault of the line.
            doubt = max(line.miss - noise, LEAST) + _doubt(line, cell[name])
            weight, value = weight + 1.0 / doubt, value + led_by(line, cell[name]) / doubt
        if own is not None and seconds - line.at >= EVERY - 1.0:
            lines[name] = _learned(line, seconds, cell[name], own)
    company = replace(company, lines=lines)
    if weight == 0.0:
        return company, None
    return company, Heard(value / weight, 1.0 / weight + vagueness(company, seconds))


def led_by(line: Line, other: float) -> float:
    """Return what the leading probe shows where another shows `other`. [degC]"""
    return other + line.offset + line.slope * (other - CENTRE)


def step(company: Company, name: str, celsius: float) -> float | None:
    """Return by how much another probe, at `celsius`, shows more than the one that leads; None where that is not known."""
    line = company.lines.get(name)
    return None if line is None or line.count < KNOWN else celsius - led_by(line, celsius)


def _doubt(line: Line, other: float) -> float:
    offset, slope, both = line.variances
    above = other - CENTRE
    return offset + 2.0 * both * above + slope * above**2


def _learned(line: Line, seconds: float, other: float, own: float) -> Line:
    """Return the line after one reading of both (a Kalman step over offset and slope)."""
    passed = min(seconds - line.at, 3600.0) if line.count else 0.0
    above = other - CENTRE
    p00, p11, p01 = line.variances
    p00, p11 = min(p00 + WANDER[0] * passed, SPREAD[0]), min(p11 + WANDER[1] * passed, SPREAD[1])
    gap = own - led_by(line, other)
    column = p00 + p01 * above, p01 + p11 * above
    spread = column[0] + column[1] * above + TOGETHER * line.miss
    fade = float(np.exp(-passed / MEMORY))
    left = gap if line.count > 1 else 0.0
    return Line(
        offset=line.offset + column[0] / spread * gap,
        slope=line.slope + column[1] / spread * gap,
        variances=(
            p00 - column[0] ** 2 / spread,
            p11 - column[1] ** 2 / spread,
            p01 - column[0] * column[1] / spread,
        ),
        miss=max(fade * line.miss + (1.0 - fade) * min(left**2, 100.0), LEAST),
        count=line.count + 1,
        at=seconds,
    )
