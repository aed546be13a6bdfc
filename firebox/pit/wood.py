"""Wood as fuel: moisture, heat, air demand.

Moisture is on the oven-dry basis (`moisture`, water over dry mass) unless a name says `wet`.
"""

from typing import Final

from firebox.errors import RangeError

HHV_DRY: Final = 20.0e6
"""Higher heating value of oven-dry hardwood. [J/kg] 8600 Btu/lb, any species (extension sheets; verified as secondary
copies); 19.5 to 20.9 between species."""

HYDROGEN: Final = 0.06
"""Mass fraction of hydrogen in dry wood. [-] From memory."""

LATENT_HEAT_25C: Final = 2.442e6
"""Latent heat of water at 25 degC. [J/kg] IAPWS, verified."""

STOICHIOMETRIC_AIR: Final = 6.0
"""Air that complete burning takes. [kg per kg dry wood] Kubler, Wood and Fiber Science 1991, abstract (verified)."""

OXYGEN_IN_AIR: Final = 0.2314
"""Mass fraction of oxygen in air. [-]"""


def wet_basis(moisture: float) -> float:
    """Return moisture on the wet basis (water over total mass), given it on the dry basis.

    Raises
    ------
    RangeError
        `moisture` is negative.

    Examples
    --------
    >>> round(wet_basis(0.20), 4)
    0.1667
    """
    if moisture < 0.0:
        raise RangeError(f"moisture {moisture}: 0 or more, on the dry basis, would be right")
    return moisture / (1.0 + moisture)


def dry_mass(kg: float, moisture: float) -> float:
    """Return the oven-dry mass of wood that weighs `kg` as it is. [kg]

    Examples
    --------
    >>> round(dry_mass(1.4, 0.18), 3)
    1.186
    """
    return kg * (1.0 - wet_basis(moisture))


def net_heat(moisture: float, hhv: float = HHV_DRY) -> float:
    """Return the net (lower) heating value of wood as fired. [J/kg of wet wood]

    Parameters
    ----------
    moisture : float
        Dry basis. [-]
    hhv : float
        Higher heating value, oven dry. [J/kg]

    Notes
    -----
    LHV = HHV (1 - w) - 2.442 MJ/kg (9 H (1 - w) + w), w on the wet basis; the form of EN ISO 18125 (from memory).

    Examples
    --------
    >>> round(net_heat(0.2) / 1e6, 2)
    15.16
    """
    w = wet_basis(moisture)
    return hhv * (1.0 - w) - LATENT_HEAT_25C * (9.0 * HYDROGEN * (1.0 - w) + w)


LHV_DRY: Final = net_heat(0.2) / (1.0 - 0.2 / 1.2)
"""Net heat of wood at 20 % moisture per kg of its dry mass: its water's evaporation is paid. [J/kg] About 18.2 MJ."""


def air_demand(carbon: float = 0.50, hydrogen: float = 0.06, oxygen: float = 0.43) -> float:
    """Return the air that complete burning takes. [kg per kg dry wood]

    Notes
    -----
    O2 = 2.664 C + 7.937 H - O, over 0.2314.

    Examples
    --------
    >>> round(air_demand(), 2)
    5.96
    """
    return (2.664 * carbon + 7.937 * hydrogen - oxygen) / OXYGEN_IN_AIR


def equilibrium_moisture(celsius: float, humidity: float) -> float:
    """Return the moisture that wood takes on in air, on the dry basis. [-]

    Parameters
    ----------
    celsius : float
        Air temperature. [degC]
    humidity : float
        Relative humidity. [-, 0..1]

    Raises
    ------
    RangeError
        `humidity` lies outside 0..1.

    Notes
    -----
    Hailwood-Horrobin fit by Simpson, FPL-RN-0268 (1998), Wood Handbook FPL-GTR-190 (2010) eq. 4-5, coefficients in
    degC (verified). Its table is met within 0.9 % moisture, 0.13 % in the mean.

    Examples
    --------
    >>> round(equilibrium_moisture(20.0, 0.65), 3)
    0.12
    """
    if not 0.0 <= humidity <= 1.0:
        raise RangeError(f"relative humidity {humidity}: a fraction 0..1 would be right")
    t = celsius
    w = 349.0 + 1.29 * t + 0.0135 * t * t
    k = 0.805 + 0.000736 * t - 0.00000273 * t * t
    k1 = 6.27 - 0.00938 * t - 0.000303 * t * t
    k2 = 1.91 + 0.0407 * t - 0.000293 * t * t
    kh = k * humidity
    bound = (k1 * kh + 2.0 * k1 * k2 * kh * kh) / (1.0 + k1 * kh + k1 * k2 * kh * kh)
    return 18.0 / w * (kh / (1.0 - kh) + bound)


def heat_capacity(kelvin: float, moisture: float) -> float:
    """Return the specific heat of wood. [J/(kg K)]

    Notes
    -----
    Wood Handbook FPL-GTR-190 (2010) eqs. 4-16a, 4-17, 4-18 (verified), for moisture below fibre saturation (0.3).

    Examples
    --------
    >>> round(heat_capacity(340.0, 0.12))
    1915
    """
    x = 100.0 * moisture
    dry = 0.1031 + 0.003867 * kelvin
    if x <= 0.0:
        return 1000.0 * dry
    bound = x * (-0.06191 + 2.36e-4 * kelvin - 1.33e-4 * x)
    return 1000.0 * ((dry + 4.18 * x / 100.0) / (1.0 + x / 100.0) + bound)
