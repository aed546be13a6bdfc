"""What the logged wood still gives, and what the pit needs, both as kilograms of wood an hour.

A coarse ledger that needs no model of the pit: what cancels between supply and need (heating value, efficiency) is
left out. It says how the coming hour compares with the hours in which the pit held.
"""

import math
from typing import Final

from msgspec import Struct

from firebox.cooklog import CookLog
from firebox.records import Lit, Pit, Split
from firebox.setup import Setup

USUAL_KG: Final = 1.3
"""A medium split where nobody said what one weighs. [kg] The project's own choice."""

LEAST_KG: Final = 0.1
"""Lighter wood is kindling and no measure of a split. [kg]"""

SMALL, LARGE = 0.6, 1.6
"""Small and large splits as shares of a medium one, where nobody weighed them."""

USUAL_MINUTES: Final = 45.0
"""A medium split carries a pit for about this long; common practice, no source. [min]"""

BURN_SECONDS: Final = 900.0
"""Scale of a medium split's burning: half of it is gone after 1.7 times this. [s] It catches in minutes, flames for
20-30 and glows for as long again; the project's own shape."""

NEED_MEMORY: Final = 5400.0
"""Memory of what the pit needed while it held. [s]"""


class Sizes(Struct, frozen=True, kw_only=True):
    """What the three sizes of split weigh. [kg]"""

    small: float
    medium: float
    large: float

    def word(self, kg: float) -> str:
        """Return the name of the size nearest to a weight."""
        sizes = (("small", self.small), ("medium", self.medium), ("large", self.large))
        return min(sizes, key=lambda size: abs(size[1] - kg))[0]


def sizes(setup: Setup, log: CookLog) -> Sizes:
    """Return what splits weigh here: as configured, as last told of the pit, as logged of late, or as usual."""
    wood = setup.wood
    told = [deed.entry.usual_split_kg for deed in log.deeds if isinstance(deed.entry, Pit)]
    usual = next((kg for kg in reversed(told) if kg), setup.build.usual_split_kg)
    logged = sorted(kg for kg in (entry.kg for _, entry in log.splits()[-9:]) if kg)
    medium = max(LEAST_KG, wood.medium_kg or usual or (logged[len(logged) // 2] if logged else USUAL_KG))
    return Sizes(
        small=min(medium, wood.small_kg or SMALL * medium),
        medium=medium,
        large=max(medium, wood.large_kg or LARGE * medium),
    )


def burnt_share(seconds: float, kg: float, medium: float) -> float:
    """Return the share of a split that has burnt `seconds` after it went in; a heavier one burns longer.

    Examples
    --------
    >>> burnt_share(0.0, 1.3, 1.3), round(burnt_share(1.7 * BURN_SECONDS, 1.3, 1.3), 2)
    (0.0, 0.51)
    """
    if seconds <= 0.0:
        return 0.0
    t = seconds / (BURN_SECONDS * math.sqrt(max(kg, 0.05) / medium))
    return 1.0 - (1.0 + t) * math.exp(-t)


def supply(log: CookLog, medium: float, start: float, end: float) -> float:
    """Return how fast the wood logged so far burns between two instants, on average. [kg/h]

    Wood whose weight was not told counts as medium; that of the lighting as three.
    """
    burnt = 0.0
    for deed in reversed(log.deeds):
        entry = deed.entry
        if deed.seconds > start:
            continue
        if start - deed.seconds > 20.0 * BURN_SECONDS:
            break
        if isinstance(entry, Split):
            kg = medium if entry.kg is None else entry.kg
        elif isinstance(entry, Lit):
            kg = 3.0 * medium if entry.kg is None else entry.kg
        else:
            continue
        burnt += kg * (burnt_share(end - deed.seconds, kg, medium) - burnt_share(start - deed.seconds, kg, medium))
    return 3600.0 * burnt / (end - start)


def usual_need(medium: float) -> float:
    """Return what a pit needs where it has not shown it yet. [kg/h]"""
    return medium * 60.0 / USUAL_MINUTES


def learn_need(need: float, burning: float, passed: float) -> float:
    """Return the need after a while in which the pit held at this rate of burning. [kg/h]"""
    return need + (burning - need) * (1.0 - math.exp(-passed / NEED_MEMORY))
