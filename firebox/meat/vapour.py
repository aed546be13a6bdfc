"""Water vapour at the surface of meat: saturation, latent heat, and what carries it away."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

ANTOINE: Final = (8.07131, 1730.63, 233.426)
"""Antoine equation of water, 1-100 degC, pressure in mm of mercury; from memory; held against IAPWS-IF97 in the
tests."""

KPA_PER_MMHG: Final = 0.133322

AIR_KPA: Final = 101.325
"""Standard atmosphere."""

MASS_RATIO: Final = 0.622
"""Molar mass of water over that of air."""

AIR_HEAT: Final = 1010.0
"""J/(kg K); CoolProp: 1006 at 20 degC, 1014 at 121 degC."""

LEWIS: Final = 0.87
"""Thermal over mass diffusivity of vapour in air, about this from 20 to 120 degC."""


def saturation_kpa(celsius: Floats) -> Floats:
    """Return the pressure of water vapour over water. [kPa] Within 0.5 % of IAPWS-IF97 for 20-100 degC."""
    a, b, c = ANTOINE
    pressure: Floats = KPA_PER_MMHG * np.exp(np.log(10.0) * (a - b / (c + celsius)))
    return pressure


def latent_heat(celsius: Floats) -> Floats:
    """Return the heat that evaporates water. [J/kg] Quadratic through IAPWS-IF97, within 0.1 % for 0-100 degC."""
    return 2.50044e6 - 2302.0 * celsius - 1.33 * celsius**2


def film_conductance(h_convection: Floats) -> Floats:
    """Return the mass transfer conductance that goes with a heat transfer coefficient. [kg/(m2 s)]

    Lewis analogy: h / (cp Le^(2/3)); h in W/(m2 K).
    """
    conductance: Floats = h_convection / (AIR_HEAT * LEWIS ** (2.0 / 3.0))
    return conductance


def driving_force(celsius: Floats, humidity: Floats) -> tuple[Floats, Floats]:
    """Return what drives vapour from a surface into air, and its slope with the surface's temperature. [-, 1/K]

    Parameters
    ----------
    celsius : ndarray, shape (n_members,)
        Where water evaporates, below boiling. [degC]
    humidity : ndarray, shape (n_members,)
        Humidity ratio of the air far off. [kg/kg]

    Returns
    -------
    tuple of ndarray
        ln((1 + W_s) / (1 + W)): diffusion with the vapour's own flow (Stefan flow); flux = conductance x this.

    Notes
    -----
    For a small W_s it is W_s - W, the usual psychrometric form, which is 4 % more at 49 degC and 20 % at 76 degC.
    """
    _, b, c = ANTOINE
    pressure = saturation_kpa(celsius)
    dry = AIR_KPA - pressure
    ratio = MASS_RATIO * pressure / dry
    slope = MASS_RATIO * AIR_KPA / dry**2 * pressure * np.log(10.0) * b / (c + celsius) ** 2
    return np.log((1.0 + ratio) / (1.0 + humidity)), slope / (1.0 + ratio)
