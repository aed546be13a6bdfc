"""The strange pits of the benchmarks, made so that faults can befall them; what a fault does there is drawn by the pit.

Nothing here is shaped like the practice fire: burning grease is a hump of warmth of its own, a door ajar takes a share
of what arrives, ash slows the pace at which everything is let out, and wet wood gives its hump late and small.
"""

import math
from typing import Final

import numpy as np

from firebox.practice.weather import Sky
from tests.benchmarks.strange_pits import STEP, StrangePit

_WET: Final = 0.3
"""Moisture above which a split hardly burns; dry basis."""


class TroubledPit(StrangePit):
    """A strange pit with the handles of `firebox.practice.faults.Exposed`.

    Attributes
    ----------
    ajar : float
        How far the cook door stands ajar. [0..1]
    ash : float
        In multiples of what halves the pace of the embers.
    grease : float
        Warmth still to come from burning grease, in minutes of what holds the pit.
    """

    def __init__(self, seed: int, sky: Sky, *, start_hour: float = 18.0) -> None:
        super().__init__(seed, sky, start_hour=start_hour)
        own = np.random.Generator(np.random.Philox(key=seed + 42_000))
        self.spread = float(own.uniform(40.0, 110.0))  # s until grease burns fully
        self.burns = float(own.uniform(120.0, 300.0))  # s that it lasts
        self.ajar = self.ash = self.grease = 0.0
        self._aflame = 0.0

    def flare(self, kg: float) -> None:
        """Let so much grease catch fire: a thirtieth of a usual split gives a quarter of an hour's warmth."""
        self.grease += 15.0 * 30.0 * kg / self.usual_split_kg
        self._aflame = 0.0

    def leave_ajar(self, share: float) -> None:
        """Let the cook door stand ajar by a share of its opening."""
        self.ajar = min(1.0, max(0.0, share))

    def choke(self, rooms: float) -> None:
        """Let ash gather."""
        self.ash = max(0.0, self.ash + rooms)

    def lay_split(self, kg: float, moisture: float = 0.18, *, roughness: float = 1.15) -> None:
        """Put a split on; a wet one comes late, and gives little."""
        wet = max(0.0, moisture - _WET)
        super().lay_split(kg, moisture + 2.0 * wet, roughness=roughness * math.exp(-4.0 * wet))

    def _pace(self) -> float:
        return super()._pace() / (1.0 + 0.5 * self.ash)

    def _warm(self, out: float) -> None:
        given = 0.0
        if self.grease > 0.05:
            self._aflame += STEP
            rate = self.grease / self.burns * (1.0 - math.exp(-self._aflame / self.spread))
            self.grease -= STEP * rate
            given = 60.0 * rate * self.need
        kept = 1.0 - min(1.0, 2.0 * math.sqrt(self.ajar)) * self.door_bite
        super()._warm((out + given) * math.pow(kept, self.bend))
