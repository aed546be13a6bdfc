"""Which way the pit goes, as one notion for all advice: never against the drift that the cook is shown."""

from enum import StrEnum
from typing import Final

from firebox.estimate.forecast import Forecast

MOVING: Final = 6.0
"""A drift below this is none: a degree in ten minutes. [K/h]"""

STILL: Final = 3.0
"""What was called moving is called so until it is slower than this. [K/h]"""

TURNING: Final = 12.0
"""A forecast that goes the other way by this is a turn. [K/h]"""

SOON_MINUTES: Final = 15
"""How far the forecast is asked which way the pit turns."""


class Trend(StrEnum):
    """Which way the pit goes; the turning ones move one way while the forecast has them go the other way soon."""

    RISING = "rising"
    FALLING = "falling"
    LEVEL = "level"
    CRESTING = "cresting"
    RECOVERING = "recovering"


def trend(drift: float, forecast: Forecast | None, before: Trend) -> Trend:
    """Return which way the pit goes.

    Parameters
    ----------
    drift : float
        Over the last minutes, as the cook is shown it. [K/h]
    forecast : Forecast or None
    before : Trend
        What was said last, which is kept at the edge.
    """
    coming = ahead(forecast) or 0.0
    if drift > (STILL if before in (Trend.RISING, Trend.CRESTING) else MOVING):
        return Trend.CRESTING if coming < -(STILL if before is Trend.CRESTING else TURNING) else Trend.RISING
    if drift < -(STILL if before in (Trend.FALLING, Trend.RECOVERING) else MOVING):
        return Trend.RECOVERING if coming > (STILL if before is Trend.RECOVERING else TURNING) else Trend.FALLING
    return Trend.LEVEL


def ahead(forecast: Forecast | None) -> float | None:
    """Return the slope to the median a quarter of an hour ahead; None: no forecast. [K/h]"""
    if forecast is None:
        return None
    place = min(range(len(forecast.minutes)), key=lambda k: abs(forecast.minutes[k] - SOON_MINUTES))
    return 60.0 * (forecast.at(0.5)[place] - forecast.celsius) / forecast.minutes[place]


def earned(forecast: Forecast | None, band: float) -> bool:
    """Tell whether the forecast has been right enough of late to be acted on: its own band is made of its errors.

    Within a split's answer an outlook that is off by half the pit's band or more would choose between moves by chance, and
    what it chooses best is to wait.
    """
    if forecast is None:
        return False
    place = min(range(len(forecast.minutes)), key=lambda k: abs(forecast.minutes[k] - SOON_MINUTES))
    return forecast.at(0.9)[place] - forecast.at(0.1)[place] <= band
