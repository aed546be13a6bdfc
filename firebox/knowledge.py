"""What is known of a pit, in sentences a cook can weigh: each with what it may be off by, 8 times of 10."""

from typing import Final

from firebox.setup import Known, KnownPit
from firebox.units import Degrees, Mass, kelvin_to, kg_to

NOTHING: Final = "Nothing is known of this pit yet beyond what its owner told."

VAGUE: Final = 1.0
"""What may be off by more than all of it says nothing and is left out."""


def sentences(known: KnownPit | None, degrees: Degrees = Degrees.C, mass: Mass = Mass.KG) -> tuple[str, ...]:
    """Return what is known of a pit, and where that comes from, last.

    Examples
    --------
    >>> sentences(None)
    ('Nothing is known of this pit yet beyond what its owner told.',)
    """
    if known is None:
        return (NOTHING,)
    worth = known.worth
    told: list[str] = []
    if worth is not None:
        split = f"A split of {kg_to(worth.kg, mass):.2g} {mass}"
        if _says(worth.lift):
            told.append(
                f"{split} makes the pit {_kelvin(worth.lift, degrees)} warmer than without it; that is most after"
                f" {_minutes(worth.peak)}."
            )
        if _says(worth.mark):
            told.append(f"One mark of intake is worth +{_kelvin(worth.mark, degrees)} after 20 min.")
        if _says(worth.every):
            told.append(f"{split} holds the target for {_minutes(worth.every)}.")
        if _says(worth.fall):
            ten = f"{kelvin_to(10.0, degrees):.0f} {degrees}"
            told.append(f"Left alone it falls by {ten} within {_minutes(worth.fall)} of the top of a split's hump.")
    return (*told, provenance(known))


def provenance(known: KnownPit) -> str:
    """Return where what is known comes from."""
    count = len(known.cooks)
    cooks = "one cook" if count == 1 else f"{count} cooks"
    return f"Learned from {cooks}, {known.hours:.0f} h, the last on {known.learned.date().isoformat()}."


def _says(known: Known) -> bool:
    return known.value > 0.0 and known.doubt < VAGUE * known.value


def _kelvin(known: Known, degrees: Degrees) -> str:
    value, doubt = kelvin_to(known.value, degrees), kelvin_to(known.doubt, degrees)
    return f"{value:.0f} {degrees} (±{max(doubt, 1.0):.0f})"


def _minutes(known: Known) -> str:
    return f"{known.value:.0f} min (±{max(known.doubt, 1.0):.0f})"
