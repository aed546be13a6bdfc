"""What a meat probe says of the meat, as far as its temperature and slope alone can say it."""

from datetime import datetime
from typing import Final

from firebox.estimate.probes import ProbeTrack
from firebox.records import Meat
from firebox.setup import Setup

PLATEAU_CELSIUS: Final = (60.0, 80.0)
"""Inside temperatures between which a plateau is looked for; usually seen at 66-77 degC (trade press reports of a
physicist's experiments, 2010-2021), widened by the 5 K by which a probe's place can differ."""

PLATEAU_DRIFT: Final = 3.0
"""Slower than this inside that range is a plateau. [K/h] A 12-16 h cook climbs about 90 K, so 6-8 K/h on average:
half of that is slow."""


def follow(track: ProbeTrack, time: datetime, setup: Setup) -> Meat:
    """Return what is known of the meat on one probe.

    Parameters
    ----------
    track : ProbeTrack
        The probe; one that is not trusted gives a record without a temperature.
    time : datetime
        The instant of the answer.
    setup : Setup
        Where the cook's own point for this probe stands, if there is one.
    """
    celsius, drift = track.celsius, track.drift_per_hour
    return Meat(
        time=time,
        probe=track.name,
        celsius=None if celsius is None else round(celsius, 2),
        drift_per_hour=None if drift is None else round(drift, 2),
        stage=None if celsius is None else _stage(celsius, drift, _point(track.name, setup)),
    )


def _point(name: str, setup: Setup) -> float | None:
    return next((probe.point_celsius for probe in setup.probes if probe.name == name), None)


def _stage(celsius: float, drift: float | None, point: float | None) -> str:
    if point is not None and celsius >= point:
        return "at its point: go and feel"
    if celsius < PLATEAU_CELSIUS[0]:
        return "coming up"
    if celsius <= PLATEAU_CELSIUS[1] and drift is not None and abs(drift) < PLATEAU_DRIFT:
        return "on the plateau"
    return "climbing" if drift is None or drift > 0 else "cooling"
