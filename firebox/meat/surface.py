"""The surface of meat: what the pit gives it, what evaporation takes, and the crust that dries behind the surface.

Water evaporates at a front. The crust that lies dry above it lets vapour through slowly and shields the front from
heat, so a growing crust lets the front's temperature climb from the wet bulb (about 40 degC in a pit) to 65-77 degC,
where the plateau is seen, and on. Water pressed out of shrinking protein feeds the front and holds the crust back;
when the inside has given what it gives, the front recedes and the plateau ends. A wrap is one more resistance to vapour.
"""

from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from firebox.meat import vapour

Floats = NDArray[np.float64]

STEFAN_BOLTZMANN: Final = 5.670374e-8
"""W/(m2 K4), CODATA 2018."""

KELVIN: Final = 273.15

CRUST_CONDUCTIVITY: Final = 0.25
"""W/(m K); protein alone conducts 0.26 at 80 degC (Choi & Okos), pores take some of it."""

AIR_DENSITY: Final = 1.0
"""kg/m3 of moist air at about 70 degC."""

NEARLY_BOILING: Final = 96.5
"""degC; hotter fronts go by the tangent drawn here, which is so steep that no wet one climbs much higher."""

COLDEST: Final = -5.0
"""degC; ice is not in the figures."""

NEWTON_STEPS: Final = 1
"""Before the last: in a step of minutes the front moves by a few kelvin, over which evaporation is nearly straight."""


class Surroundings(Struct, frozen=True, kw_only=True):
    """What is around the meat.

    Attributes
    ----------
    gas, wall : ndarray, shape (n_members,)
        Temperature of the air, and of what the meat sees. [degC]
    humidity : ndarray, shape (n_members,)
        [kg vapour / kg dry air]
    film : ndarray, shape (n_members,)
        Convection coefficient. [W/(m2 K)]
    emissivity : ndarray, shape (n_members,)
        [-]
    cover : ndarray, shape (n_members,)
        Resistance of a wrap to vapour. [m2 s/kg]; 0 unwrapped.
    blanket : ndarray, shape (n_members,)
        Resistance of a wrap or box to heat. [m2 K/W]; 0 for none.
    """

    gas: Floats
    wall: Floats
    humidity: Floats
    film: Floats
    emissivity: Floats
    cover: Floats
    blanket: Floats


class Balance(Struct, frozen=True, kw_only=True):
    """The surface's heat balance, linear about a temperature: it takes `flux - fall * T`.

    Attributes
    ----------
    flux, fall : ndarray, shape (n_members,)
        [W/m2, W/(m2 K)]
    dry_flux, dry_fall : ndarray, shape (n_members,)
        The same without evaporation: heat from gas and walls.
    latent : ndarray, shape (n_members,)
        Heat of evaporation at that temperature. [J/kg]
    shield : ndarray, shape (n_members,)
        Resistance of crust between the outside and the front. [m2 K/W]
    """

    flux: Floats
    fall: Floats
    dry_flux: Floats
    dry_fall: Floats
    latent: Floats
    shield: Floats

    def heat(self, surface: Floats) -> Floats:
        """Return the heat that comes from gas and walls. [W/m2]"""
        return self.dry_flux - self.dry_fall * surface

    def vapour(self, surface: Floats) -> Floats:
        """Return the water that evaporates. [kg/(m2 s)]"""
        taken: Floats = (self.heat(surface) - (self.flux - self.fall * surface)) / self.latent
        return taken

    def outside(self, surface: Floats) -> Floats:
        """Return the temperature of the crust's outside, where bark forms. [degC]"""
        return surface + self.heat(surface) * self.shield


def wetness(around: Surroundings, crust: Floats, passage: Floats) -> Floats:
    """Return what the crust lets evaporate, as a share of what an open wet surface would give. [-, 0..1]

    Parameters
    ----------
    around : Surroundings
    crust : ndarray, shape (n_members,)
        Depth of the drying front. [m]
    passage : ndarray, shape (n_members,)
        Diffusivity of vapour through crust. [m2/s]
    """
    open_film = vapour.film_conductance(around.film)
    return 1.0 / (1.0 + open_film * (crust / (AIR_DENSITY * passage) + around.cover))


def balance(around: Surroundings, surface: Floats, wet: Floats, crust: Floats) -> Balance:
    """Return the heat balance about a surface temperature.

    Parameters
    ----------
    around : Surroundings
    surface : ndarray, shape (n_members,)
        Temperature of the evaporating front. [degC]
    wet : ndarray, shape (n_members,)
        As `wetness` returns it.
    crust : ndarray, shape (n_members,)
        [m]
    """
    own, wall = surface + KELVIN, around.wall + KELVIN
    radiation = around.emissivity * STEFAN_BOLTZMANN * (wall**2 + own**2) * (wall + own)
    both = around.film + radiation
    shield = crust / CRUST_CONDUCTIVITY
    passed = both / (1.0 + both * (shield + around.blanket))
    dry_flux = passed * (around.film * around.gas + radiation * around.wall) / both
    about = np.clip(surface, COLDEST, NEARLY_BOILING)
    latent = vapour.latent_heat(about)
    drive, slope = vapour.driving_force(about, around.humidity)
    carried = wet * vapour.film_conductance(around.film) * latent
    cooling, fall = carried * drive, carried * slope
    return Balance(
        flux=dry_flux - cooling + fall * about,
        fall=passed + fall,
        dry_flux=dry_flux,
        dry_fall=passed,
        latent=latent,
        shield=shield,
    )


def settle(
    around: Surroundings, start: Floats, wet: Floats, crust: Floats, *, inwards: Floats, inside: Floats
) -> Balance:
    """Return the balance about the temperature at which the surface stands with what lies under it.

    Parameters
    ----------
    around : Surroundings
    start : ndarray, shape (n_members,)
        A first guess of the surface temperature. [degC]
    wet, crust : ndarray, shape (n_members,)
        As for `balance`.
    inwards, inside : ndarray, shape (n_members,)
        Conductance to the material under the surface, and its temperature. [W/(m2 K), degC]
    """
    surface = start
    for _ in range(NEWTON_STEPS):
        found = balance(around, surface, wet, crust)
        surface = (inwards * inside + found.flux) / (inwards + found.fall)
    return balance(around, surface, wet, crust)
