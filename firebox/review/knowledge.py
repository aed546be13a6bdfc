"""What is known of the pit: its parameters as cooks have taught them, beside what was thought when this cook began."""

import math
from datetime import datetime
from typing import Final

from msgspec import Struct

from firebox.estimate.learned import UNITS
from firebox.setup import KnownPit, Worth

EIGHTY: Final = 1.2816
"""Standard deviations between which eight of ten lie, up and down."""


class Parameter(Struct, frozen=True, kw_only=True):
    """One thing known of the pit, in SI units: likely, and between what it lies with 80 %.

    Attributes
    ----------
    before : float or None
        What was thought when this cook began; None: nothing had been learned of it.
    """

    name: str
    words: str
    unit: str
    value: float
    low: float
    high: float
    before: float | None


class Knowledge(Struct, frozen=True, kw_only=True):
    """What cooks have taught of a pit, and which."""

    cooks: int
    hours: float
    learned: datetime
    with_this: bool | None
    """Whether the cook that is looked back on is among them; None: none is."""
    worth: Worth | None
    """What a split and a mark are worth; None: nothing that could be said."""
    parameters: tuple[Parameter, ...]


def knowledge(
    known: KnownPit | None, before: KnownPit | None = None, began: datetime | None = None
) -> Knowledge | None:
    """Return what is known of a pit; None: nothing.

    Parameters
    ----------
    known : KnownPit or None
        Now.
    before : KnownPit, optional
        When the cook began that is looked back on.
    began : datetime, optional
        That cook.
    """
    if known is None:
        return None
    rows = [(row.name.lower(), words, unit) for row, (words, unit) in UNITS.items()]
    found = []
    for name, words, unit in rows:
        learned = known.parameters.get(name)
        if learned is None:
            continue
        earlier = None if before is None else before.parameters.get(name)
        doubt = math.exp(EIGHTY * learned.spread)
        found.append(
            Parameter(
                name=name,
                words=words,
                unit=unit,
                value=learned.value,
                low=learned.value / doubt,
                high=learned.value * doubt,
                before=None if earlier is None else earlier.value,
            )
        )
    return Knowledge(
        cooks=len(known.cooks),
        hours=known.hours,
        learned=known.learned,
        with_this=None if began is None else began in known.cooks,
        worth=known.worth,
        parameters=tuple(found),
    )
