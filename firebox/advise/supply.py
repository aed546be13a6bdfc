"""What splits weigh here: small, medium and large."""

from typing import Final

from msgspec import Struct

from firebox.cooklog import CookLog
from firebox.records import Lit, Pit
from firebox.setup import Setup

USUAL_KG: Final = 1.3
"""A medium split where nobody said what one weighs. [kg] The project's own choice."""

LEAST_KG: Final = 0.1
"""Lighter wood is kindling and no measure of a split. [kg]"""

STARTING: Final = 3600.0
"""Pieces laid within this of lighting build a fire, smaller than usual on purpose, and are no measure of a split. [s]"""

SMALL, LARGE = 0.6, 1.6
"""Small and large splits as shares of a medium one, where nobody weighed them."""


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
    lit = [deed.seconds for deed in log.deeds if isinstance(deed.entry, Lit)]
    kept = [entry for at, entry in log.splits() if not any(0.0 <= at - when < STARTING for when in lit)]
    logged = sorted(kg for kg in (entry.kg for entry in kept[-9:]) if kg)
    medium = max(LEAST_KG, wood.medium_kg or usual or (logged[len(logged) // 2] if logged else USUAL_KG))
    return Sizes(
        small=min(medium, wood.small_kg or SMALL * medium),
        medium=medium,
        large=max(medium, wood.large_kg or LARGE * medium),
    )
