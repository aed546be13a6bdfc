"""Probes of a practice pit, with the faults of real ones: lag, radiation, offset, noise, steps, spikes, gaps, loose plugs."""

from typing import Protocol

import numpy as np
from msgspec import Struct

from firebox.records import Status
from firebox.setup import Role


class Gauge(Struct, frozen=True, kw_only=True):
    """How one probe is made and where it hangs.

    Attributes
    ----------
    name : str
    role : Role
    place : float
        On the grate, 0 at the firebox end and 1 at the stack end.
    lag : float
        Time constant of its sheath. [s]
    offset, noise : float
        Lasting error, and spread of each sample. [K]
    step : float
        Of its digits. [K]
    spikes, gaps : float
        Samples that jump, and samples that are missing, as shares of all.
    """

    name: str
    role: Role = Role.GRATE
    place: float = 0.5
    lag: float = 45.0
    offset: float = 0.0
    noise: float = 0.25
    step: float = 0.1
    spikes: float = 0.0003
    gaps: float = 0.002


class Sample(Struct, frozen=True):
    """One reading before it is stamped: degC and status."""

    celsius: float | None
    status: Status


class Followed(Protocol):
    """A fire that probes can hang in."""

    @property
    def seconds(self) -> float: ...

    def feels(self, role: Role, place: float) -> float:
        """Return the temperature at a tip without lag: what `role` measures, at a `place` of the grate. [K]"""
        ...


class Panel:
    """The probes of one pit as they follow its fire.

    Attributes
    ----------
    loose : dict of str to Status
        Probes whose plug is out, and what the node says of them.
    """

    def __init__(self, gauges: tuple[Gauge, ...], fire: Followed, seed: int) -> None:
        self.gauges = gauges
        self.loose: dict[str, Status] = {}
        self._rng = np.random.Generator(np.random.Philox(key=seed + 4_000))
        self._felt = {gauge.name: true_celsius(fire, gauge) for gauge in gauges}
        self._seconds = fire.seconds

    def follow(self, fire: Followed) -> None:
        """Let the probes feel the fire up to its present second."""
        passed = fire.seconds - self._seconds
        self._seconds = fire.seconds
        for gauge in self.gauges:
            part = 1.0 - float(np.exp(-passed / gauge.lag)) if gauge.lag > 0.0 else 1.0
            self._felt[gauge.name] += part * (true_celsius(fire, gauge) - self._felt[gauge.name])

    def felt(self, name: str) -> float:
        """Return the temperature of a probe's tip, with its offset. [degC]"""
        return self._felt[name]

    def sample(self, gauge: Gauge) -> Sample | None:
        """Return what a probe says now; None where the sample went missing."""
        rng = self._rng
        missing, spiking, noise, size = rng.random(), rng.random(), rng.standard_normal(), rng.uniform(15.0, 120.0)
        if gauge.name in self.loose:
            return Sample(None, self.loose[gauge.name])
        if missing < gauge.gaps:
            return None
        celsius = self._felt[gauge.name] + gauge.noise * noise
        if spiking < gauge.spikes:
            celsius += size if spiking < 0.5 * gauge.spikes else -size
        return Sample(round(round(celsius / gauge.step) * gauge.step, 3), Status.GOOD)


def true_celsius(fire: Followed, gauge: Gauge) -> float:
    """Return what a gauge of this place and offset would read without lag or noise. [degC]"""
    return fire.feels(gauge.role, gauge.place) - 273.15 + gauge.offset
