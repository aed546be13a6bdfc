"""What heat and time do to meat: pressed-out water, rendered fat, collagen that gives way.

None of it happens at one temperature. Rates follow Arrhenius, so that an hour at 93 degC and eight at 82 are not the same,
and both count.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

GAS_CONSTANT: Final = 8.314462
"""J/(mol K), exact by the SI of 2019."""

COLLAGEN_ENERGY: Final = 152e3
"""J/mol; apparent activation energy of collagen with sarcoplasmic proteins in pork loin (Foods 2023, 12, 2867).
Doubles the rate each 4.8 K at 80 degC. Values for tendon run to 500-600 (from memory): a clock of wide doubt."""

COLLAGEN_CELSIUS: Final = 82.0
"""Where an hour counts as an hour; connective tissue gives way from about here (common practice, no source)."""

RENDER_ENERGY: Final = 100e3
"""J/mol; project's choice: fat is molten by 50 degC, and what is slow is its way out of loosening tissue."""

RENDER_CELSIUS: Final = 70.0

BARK_ENERGY: Final = 90e3
"""J/mol; browning reactions lie at 80-130 (from memory)."""

BARK_CELSIUS: Final = 80.0


def hours_at(celsius: Floats, reference: float, energy: float) -> Floats:
    """Return how much an hour at a temperature counts, in hours at the reference temperature.

    Parameters
    ----------
    celsius : ndarray
        [degC]
    reference : float
        [degC]
    energy : float
        Apparent activation energy. [J/mol]

    Examples
    --------
    >>> [round(float(hours_at(np.array(t), 82.0, 152e3)), 2) for t in (77.0, 82.0, 93.0)]
    [0.48, 1.0, 4.69]
    """
    weight: Floats = np.exp(energy / GAS_CONSTANT * (1.0 / (reference + 273.15) - 1.0 / (celsius + 273.15)))
    return weight


def water_held(celsius: Floats) -> Floats:
    """Return the share of its water that meat holds once it has been at a temperature. [-, 0.53..1]

    Notes
    -----
    Equilibrium water holding of beef over temperature, 0.745 - 0.345 / (1 + 30 exp(-0.25 (T - 52))) kg/kg (van der
    Sman, 2007, from memory), over its value when raw. Half of the loss lies below 66 degC.

    Examples
    --------
    >>> [round(float(water_held(np.array(t))), 2) for t in (40.0, 65.6, 90.0)]
    [1.0, 0.77, 0.54]
    """
    held: Floats = 1.0 - 0.463 / (1.0 + 30.0 * np.exp(-0.25 * (celsius - 52.0)))
    return held


def rendered(hours: Floats) -> Floats:
    """Return the share of the fat that has rendered, from hours' worth at 70 degC. [-]

    Half after three hours at 70 degC: order of magnitude, no source; rendering is under way from about 60 degC
    (common practice, no source).
    """
    share: Floats = -np.expm1(-hours * np.log(2.0) / 3.0)
    return share
