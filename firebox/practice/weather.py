"""Weather over a practice pit: a pure function of the time, so that every branch of a fire meets the same wind."""

from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray


class Air(Struct, frozen=True):
    """The air around the pit at an instant: temperature [K], wind [m/s], rain [mm/h]."""

    kelvin: float
    wind: float
    rain: float


class Sky(Struct, frozen=True, kw_only=True):
    """What sort of weather it is.

    Attributes
    ----------
    celsius, swing : float
        Mean of the day and half the range from cold to warm. [degC], [K]
    wind, gusts : float
        Mean wind [m/s]; spread of the gusts over the mean [-].
    fronts : float
        Slow change of the mean wind over hours, as a share of it. [-]
    rain, showers : float
        Rain while it falls [mm/h]; share of the time in which it falls [-].
    """

    celsius: float = 15.0
    swing: float = 4.0
    wind: float = 1.5
    gusts: float = 0.35
    fronts: float = 0.2
    rain: float = 0.0
    showers: float = 0.0


SKIES: Final = {
    "calm": Sky(celsius=18.0, swing=4.0, wind=0.7, gusts=0.3, fronts=0.15),
    "breezy": Sky(celsius=15.0, swing=5.0, wind=2.5, gusts=0.35, fronts=0.25),
    "windy night": Sky(celsius=8.0, swing=3.0, wind=5.5, gusts=0.45, fronts=0.35),
    "rain": Sky(celsius=10.0, swing=2.0, wind=3.0, gusts=0.4, fronts=0.3, rain=3.0, showers=0.4),
    "cold dawn": Sky(celsius=2.0, swing=7.0, wind=1.0, gusts=0.3, fronts=0.2),
}

_WAVES: Final = 28


class Weather:
    """One night's weather, drawn by a seed: sums of waves with random phases, hence without an end and without a state."""

    __slots__ = ("_fast", "_phases", "_rates", "_showers", "_slow", "_start", "sky")

    def __init__(self, sky: Sky, seed: int, start_hour: float = 18.0) -> None:
        """Begin at `start_hour` of the day."""
        rng = np.random.Generator(np.random.Philox(key=seed + 77_000))
        self.sky = sky
        self._start = start_hour
        periods = np.exp(rng.uniform(np.log(40.0), np.log(20_000.0), _WAVES))
        self._rates: NDArray[np.float64] = 2.0 * np.pi / periods
        self._phases: NDArray[np.float64] = rng.uniform(0.0, 2.0 * np.pi, _WAVES)
        quick = periods < 900.0
        self._fast = _unit(np.where(quick, rng.uniform(0.5, 1.0, _WAVES), 0.0))
        self._slow = _unit(np.where(quick, 0.0, rng.uniform(0.5, 1.0, _WAVES)))
        self._showers = _unit(np.where(periods > 1200.0, rng.uniform(0.5, 1.0, _WAVES), 0.0))

    def at(self, seconds: float) -> Air:
        """Return the air at `seconds` after the start."""
        sky = self.sky
        waves = np.sin(self._rates * seconds + self._phases)
        fast, slow = float(self._fast @ waves), float(self._slow @ waves)
        wind = sky.wind * (1.0 + sky.fronts * slow) * float(np.exp(sky.gusts * fast - 0.5 * sky.gusts**2))
        hour = self._start + seconds / 3600.0
        warmth = float(np.cos((hour - 15.0) / 24.0 * 2.0 * np.pi))  # warmest at three in the afternoon
        celsius = sky.celsius + sky.swing * warmth + 0.4 * slow
        wet = float(self._showers @ np.cos(self._rates * seconds + self._phases))
        falls = sky.showers > 0.0 and wet > 1.6 * (0.5 - sky.showers)
        return Air(celsius + 273.15, max(0.0, wind), sky.rain if falls else 0.0)


def _unit(weights: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the weights scaled so that waves with random phases add up to a variance of one."""
    size = float(np.sqrt(0.5 * np.sum(weights**2)))
    return weights / size if size > 0.0 else weights
