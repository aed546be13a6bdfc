"""Where meat lies, from grate to table, and what it is wrapped in: the surroundings of the same equation."""

from typing import Final, Literal

from msgspec import Struct

Material = Literal["none", "paper", "foil"]
Rest = Literal["grate", "counter", "cooler", "oven"]

COVER: Final[dict[str, float]] = {"none": 0.0, "paper": 10000.0, "foil": 30000.0}
"""Resistance of a wrap to vapour. [m2 s/kg] An open wet surface has about 180, one with a 2 mm crust about 1000; paper
soaked with grease hinders about ten times more than the crust, foil leaks only at its folds. Orders of magnitude, no
source."""

SKIN: Final[dict[str, float]] = {"none": 0.0, "paper": 0.01, "foil": 0.005}
"""Resistance to heat of the thin air under a wrap. [m2 K/W] 0.3 mm of air at 0.03 W/(m K)."""


class Place(Struct, frozen=True, kw_only=True):
    """Where meat lies.

    Attributes
    ----------
    moving_air : bool
        In the pit's draught: film and humidity are those of the pit.
    film : float
        Convection elsewhere. [W/(m2 K)]
    humidity : float
        Elsewhere. [kg/kg]
    emissivity : float
        Of meat or wrap. [-]
    cover, blanket : float
        Resistance to vapour and to heat. [m2 s/kg, m2 K/W]
    """

    moving_air: bool
    film: float = 4.0
    humidity: float = 0.008
    emissivity: float = 0.92
    cover: float = 0.0
    blanket: float = 0.0


COOLER_BLANKET: Final = 0.35
"""m2 K/W, per area of meat: 40 mm of foam (0.035 W/(m K)) is 1.1 per area of box, whose area is about three times the
meat's."""

EMISSIVITY: Final[dict[str, float]] = {"none": 0.92, "paper": 0.9, "foil": 0.4}
"""Meat and paper from memory; foil bright has 0.05-0.1, crumpled and smoked over some times that."""


def place(rest: Rest = "grate", material: Material = "none") -> Place:
    """Return the surroundings of a resting place and a wrap.

    Parameters
    ----------
    rest : str
        "grate": in the pit; "counter": in still room air; "cooler": an insulated box; "oven": a holding oven.
    material : str
        What the meat is wrapped in. In a cooler and in a holding oven the air is steamed up by the meat itself: hardly
        anything dries.
    """
    shut_in = rest in {"cooler", "oven"}
    cover = COVER["foil"] if shut_in else COVER[material]
    blanket = SKIN[material] + (COOLER_BLANKET if rest == "cooler" else 0.0)
    return Place(moving_air=rest == "grate", emissivity=EMISSIVITY[material], cover=cover, blanket=blanket)
