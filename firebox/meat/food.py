"""Density, specific heat and conductivity of meat from its composition.

Coefficients and mixing: Choi & Okos, "Effects of temperature and composition on the thermal properties of foods", in
Food Engineering and Process Applications 1, 1986; as reprinted in the ASHRAE Handbook - Refrigeration, chapter
"Thermal properties of foods". Valid for -40..150 degC.
"""

from typing import Final

from msgspec import Struct

from firebox.errors import RangeError

Curve = tuple[float, float, float]
"""c0, c1, c2 of c0 + c1 t + c2 t^2, t in degC."""

CONDUCTIVITY: Final[dict[str, Curve]] = {
    "water": (0.57109, 1.7625e-3, -6.7036e-6),
    "protein": (0.17881, 1.1958e-3, -2.7178e-6),
    "fat": (0.18071, -2.7604e-4, -1.7749e-7),
    "ash": (0.32962, 1.4011e-3, -2.9069e-6),
}
"""W/(m K)."""

DENSITY: Final[dict[str, Curve]] = {
    "water": (997.18, 3.1439e-3, -3.7574e-3),
    "protein": (1329.9, -0.51840, 0.0),
    "fat": (925.59, -0.41757, 0.0),
    "ash": (2423.8, -0.28063, 0.0),
}
"""kg/m3."""

SPECIFIC_HEAT: Final[dict[str, Curve]] = {
    "water": (4176.2, -9.0864e-2, 5.4731e-3),
    "protein": (2008.2, 1.2089, -1.3129e-3),
    "fat": (1984.2, 1.4733, -4.8008e-3),
    "ash": (1092.6, 1.8896, -3.6817e-3),
}
"""J/(kg K), above freezing."""

VALID_CELSIUS: Final = (-40.0, 150.0)


class Composition(Struct, frozen=True, kw_only=True):
    """Mass fractions of raw meat; they add up to about 1."""

    water: float
    protein: float
    fat: float
    ash: float = 0.01


class Properties(Struct, frozen=True, kw_only=True):
    """What conduction needs to know of a material.

    Attributes
    ----------
    density : float
        [kg/m3]
    specific_heat : float
        [J/(kg K)]
    parallel, series : float
        Conductivity with the components side by side, and one behind the other. [W/(m K)]
    """

    density: float
    specific_heat: float
    parallel: float
    series: float

    @property
    def conductivity(self) -> float:
        """The mean of the two bounds. [W/(m K)]

        For beef of 66 % water the mean is within 2 % of the diffusivity measured at 40-65 degC (1.23e-7 m2/s, ASHRAE,
        same chapter), the bounds themselves 15 % off either way.
        """
        return 0.5 * (self.parallel + self.series)

    @property
    def diffusivity(self) -> float:
        """Thermal diffusivity. [m2/s]"""
        return self.conductivity / (self.density * self.specific_heat)


def component(curve: Curve, celsius: float) -> float:
    """Return a component's property at a temperature.

    Examples
    --------
    >>> round(component(DENSITY["fat"], 60.0), 1)
    900.5
    """
    return curve[0] + celsius * (curve[1] + celsius * curve[2])


def properties(composition: Composition, celsius: float) -> Properties:
    """Return the thermal properties of meat.

    Parameters
    ----------
    composition : Composition
    celsius : float
        [degC, -40..150]; ice is not in the figures, so above about -1.

    Raises
    ------
    RangeError
        The temperature is out of range, or the fractions do not add up to 0.97..1.03.

    Examples
    --------
    >>> brisket = properties(Composition(water=0.62, protein=0.185, fat=0.185), 80.0)
    >>> round(brisket.density), round(brisket.specific_heat), round(brisket.conductivity, 3)
    (1008, 3390, 0.426)
    """
    if not VALID_CELSIUS[0] <= celsius <= VALID_CELSIUS[1]:
        raise RangeError(f"{celsius:g} C is out of range; -40 to 150 C")
    parts = {
        "water": composition.water,
        "protein": composition.protein,
        "fat": composition.fat,
        "ash": composition.ash,
    }
    total = sum(parts.values())
    if not 0.97 <= total <= 1.03 or min(parts.values()) < 0.0:
        raise RangeError(f"fractions of meat add up to {total:g}; they should add up to 1, each from 0 to 1")
    volume = {name: share / component(DENSITY[name], celsius) for name, share in parts.items()}
    density = 1.0 / sum(volume.values())
    shares = {name: one * density for name, one in volume.items()}
    conductivities = {name: component(CONDUCTIVITY[name], celsius) for name in parts}
    return Properties(
        density=density,
        specific_heat=sum(parts[n] * component(SPECIFIC_HEAT[n], celsius) for n in parts),
        parallel=sum(shares[n] * conductivities[n] for n in parts),
        series=1.0 / sum(shares[n] / conductivities[n] for n in parts),
    )
