"""What the estimator hands to the rest of the core: forecasts with their spread, and the fire as it sees it."""

from collections.abc import Sequence
from typing import Final

import numpy as np
from msgspec import Struct

from firebox.records import Burning, Phase

HORIZONS: Final = (5, 15, 30, 45, 60)
"""Minutes ahead that an outlook names."""

LEVELS: Final = (0.02, 0.1, 0.25, 0.5, 0.75, 0.9, 0.98)
"""Quantile levels kept of every forecast."""

NOTHING_MORE: Final = "nothing more is done"


class Forecast(Struct, frozen=True, kw_only=True):
    """Where one probe is going under `assumes`.

    Attributes
    ----------
    probe : str
    celsius : float
        The estimate of the temperature at the probe now, without its lag and noise. [degC]
    drift_per_hour : float
        Its present slope. [K/h]
    minutes : tuple of int
        Horizons; `HORIZONS` as a rule.
    quantiles : tuple of tuple of float
        One row a horizon, one column a level of `LEVELS`; each row is in order. [degC]
    band : tuple of (float, float, float)
        The estimator's own form of it at each horizon: the median that the lagging probe shows [degC], the half width of
        the 80 % band [K], and how much warmer than shown it is then [K].
    """

    probe: str
    celsius: float
    drift_per_hour: float
    minutes: tuple[int, ...]
    quantiles: tuple[tuple[float, ...], ...]
    band: tuple[tuple[float, float, float], ...] = ()
    assumes: str = NOTHING_MORE

    def at(self, level: float) -> tuple[float, ...]:
        """Return the quantile of `level` at each horizon; `level` is one of `LEVELS`."""
        column = LEVELS.index(level)
        return tuple(row[column] for row in self.quantiles)

    def probability_above(self, celsius: float, minutes: int) -> float:
        """Return the probability that the probe stands above `celsius` at a horizon.

        Linear between the kept quantiles; beyond the outermost ones it stays at their level (0.02 or 0.98), since
        nothing is known of the tails.
        """
        row: Sequence[float] = self.quantiles[self.minutes.index(minutes)]
        return float(1.0 - np.interp(celsius, row, LEVELS))


class FireView(Struct, frozen=True, kw_only=True):
    """The fire as the estimator sees it; None where it does not know."""

    phase: Phase
    heat_watts: float | None = None
    wood_left_kg: float | None = None
    coal_kg: float | None = None
    smoulder_risk: float | None = None
    need_watts: float | None = None
    splits: tuple[Burning, ...] = ()
