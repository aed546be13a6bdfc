"""What is told of an outlook, the fire and a probe: records from what the estimate holds."""

from datetime import datetime

from firebox.estimate import probes
from firebox.estimate.forecast import FireView, Forecast
from firebox.estimate.probes import ProbeTrack
from firebox.records import Fire, Health, Outlook, ProbeHealth, Record


def outlook_record(forecast: Forecast, drift: float | None, time: datetime) -> Outlook:
    return Outlook(
        time=time,
        probe=forecast.probe,
        celsius=round(forecast.celsius, 2),
        drift_per_hour=round(forecast.drift_per_hour if drift is None else drift, 2),
        minutes=forecast.minutes,
        p10=tuple(round(value, 2) for value in forecast.at(0.1)),
        p50=tuple(round(value, 2) for value in forecast.at(0.5)),
        p90=tuple(round(value, 2) for value in forecast.at(0.9)),
        assumes=forecast.assumes,
    )


def fire_record(view: FireView, time: datetime) -> Fire:
    def rounded(value: float | None, digits: int) -> float | None:
        return None if value is None else round(value, digits)

    return Fire(
        time=time,
        phase=view.phase,
        heat_watts=rounded(view.heat_watts, 0),
        wood_left_kg=rounded(view.wood_left_kg, 2),
        coal_kg=rounded(view.coal_kg, 2),
        smoulder_risk=rounded(view.smoulder_risk, 2),
        need_watts=rounded(view.need_watts, 0),
        splits=view.splits,
    )


def health_changes(
    before: dict[str, ProbeTrack], after: dict[str, ProbeTrack], seconds: float, time: datetime
) -> tuple[Record, ...]:
    return tuple(
        health_record(track, seconds, time)
        for name, track in sorted(after.items())
        if _told(track) != (_told(before[name]) if name in before else (Health.WAITING, ""))
    )


def _told(track: ProbeTrack) -> tuple[Health, str]:
    """Return what is told of a probe; what is only suspected of a good one is not."""
    return track.health, "" if track.health is Health.GOOD else track.why


def health_record(track: ProbeTrack, seconds: float, time: datetime) -> ProbeHealth:
    return ProbeHealth(
        time=time,
        probe=track.name,
        health=track.health,
        role=track.role,
        text=probes.describe(track, seconds),
        signal=track.signal,
    )
