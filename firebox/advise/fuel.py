"""Wood that must not burn, or burns dirty: what is said when it is the wood on hand or was logged.

Clean, dry hardwood is what a pit is fed with. Resinous softwoods burn with soot and tar; treated, painted or glued wood
and driftwood give off poisons (arsenic, chlorine, formaldehyde), and no food is cooked over it.
"""

from typing import Final

from firebox.cooklog import CookLog
from firebox.setup import Setup

WET: Final = 0.25
"""Moisture (dry basis) beyond which wood is not dry enough to burn clean; 0.20 is the usual advice for seasoned wood
(from memory)."""

POISONOUS: Final = frozenset(
    {
        "treated", "painted", "stained", "varnished", "pallet", "pallets", "plywood", "chipboard", "mdf", "laminate",
        "driftwood", "railway", "sleeper", "creosote", "oleander", "yew", "laburnum",
    }
)  # fmt: skip
"""Words that name wood which poisons: by what was done to it, or by kind."""

RESINOUS: Final = frozenset(
    {
        "pine", "spruce", "fir", "cedar", "larch", "cypress", "redwood", "juniper", "hemlock", "softwood", "conifer",
        "eucalyptus",
    }
)  # fmt: skip
"""Kinds that burn with soot and tar."""


def is_poisonous(species: str) -> bool:
    """Tell whether wood of this name poisons food.

    Examples
    --------
    >>> is_poisonous("Painted oak"), is_poisonous("oak")
    (True, False)
    """
    return bool(POISONOUS & _words(species))


def is_resinous(species: str) -> bool:
    """Tell whether wood of this name burns with soot and tar."""
    return bool(RESINOUS & _words(species))


def warning(setup: Setup, log: CookLog) -> str:
    """Return what to know of the wood before it goes on, as a sentence; empty where nothing is wrong with it."""
    kinds = [setup.wood.species]
    wet = setup.wood.moisture
    last = max(log.splits(), key=lambda split: split[0], default=None)
    if last is not None:
        kinds += [last[1].species] if last[1].species else []
        wet = wet if last[1].moisture is None else last[1].moisture
    if any(is_poisonous(kind) for kind in kinds):
        return "Burn no treated, painted or glued wood and nothing poisonous: only clean, dry hardwood."
    if any(is_resinous(kind) for kind in kinds):
        return "Resinous wood burns with soot and tar: take clean, dry hardwood."
    if wet > WET:
        return "The wood on hand is wet: pick the driest piece."
    return ""


def _words(species: str) -> frozenset[str]:
    return frozenset("".join(letter if letter.isalpha() else " " for letter in species.lower()).split())
