"""The probes of a benchmark's cook: one at the grate or two, and one in the air or none, of makes drawn by lot."""

import numpy as np
from msgspec import Struct

from firebox.practice.gauges import Gauge
from firebox.setup import Role


class Makes(Struct, frozen=True, kw_only=True):
    """What the makes of grate probes are drawn from.

    Attributes
    ----------
    lag : tuple of float
        Ends of the time constant, even in its logarithm. [s]
    offset : float
        Spread of the lasting error. [K]
    noise : tuple of float
        Ends of the spread of a sample. [K]
    spikes, gaps : float
        Shares of samples that jump, and that are missing.
    second : tuple of float
        Ends of where a second probe hangs; see `Gauge.place`.
    """

    lag: tuple[float, float]
    offset: float
    noise: tuple[float, float]
    spikes: float
    gaps: float
    second: tuple[float, float]


def drawn(makes: Makes, rng: np.random.Generator) -> list[Gauge]:
    """Return the probes of a cook, the leading one first."""
    gauges = [_grate("grate", float(rng.uniform(0.3, 0.7)), makes, rng)]
    if rng.random() < 0.4:
        gauges.append(_grate("grate2", float(rng.uniform(*makes.second)), makes, rng))
    if rng.random() < 0.5:
        gauges.append(Gauge(name="ambient", role=Role.AMBIENT, lag=120.0, noise=0.2))
    return gauges


def _grate(name: str, place: float, makes: Makes, rng: np.random.Generator) -> Gauge:
    low, high = makes.lag
    return Gauge(
        name=name,
        place=place,
        lag=float(np.exp(rng.uniform(np.log(low), np.log(high)))),
        offset=float(makes.offset * rng.standard_normal()),
        noise=float(rng.uniform(*makes.noise)),
        step=float(rng.choice([0.1, 0.25, 1.0])),
        spikes=makes.spikes,
        gaps=makes.gaps,
    )
