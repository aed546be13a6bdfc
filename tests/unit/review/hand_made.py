"""Cooks made by hand, so that it is known what their review has to say."""

from collections.abc import Callable, Iterable
from datetime import UTC, datetime, timedelta

from firebox.estimate.forecast import NOTHING_MORE
from firebox.records import (
    Alarm,
    AlarmState,
    Damper,
    DamperName,
    Door,
    DoorName,
    Expected,
    Fire,
    Health,
    Lit,
    Move,
    NextSplit,
    Outlook,
    Phase,
    Priority,
    ProbeHealth,
    Reading,
    Record,
    Split,
)
from firebox.review.whole import Review, review
from firebox.setup import Probe, Role, Setup

START = datetime(2026, 5, 2, 16, 0, tzinfo=UTC)
TARGET, BAND = 120.0, 8.0
MINUTE = 60.0


def at(minutes: float) -> datetime:
    return START + timedelta(minutes=minutes)


def setup(**more: object) -> Setup:
    plain = Setup(
        time=START, pit="hand-made", target_celsius=TARGET, band=BAND,
        probes=(Probe(name="grate", role=Role.GRATE), Probe(name="flat", role=Role.MEAT)), intake_open=0.5, stack_open=1.0,
    )  # fmt: skip
    return Setup(**{**{name: getattr(plain, name) for name in plain.__struct_fields__}, **more})


def readings(minutes: float, celsius: Callable[[float], float | None], probe: str = "grate") -> list[Record]:
    """Return a reading every ten seconds; None: nothing is heard then."""
    found: list[Record] = []
    for count in range(int(minutes * 6) + 1):
        value = celsius(count / 6.0)
        if value is not None:
            found.append(Reading(time=at(count / 6.0), probe=probe, celsius=value))
    return found


def hump(since: float, rise: float, peak: float = 15.0) -> float:
    """Return what a split does to the pit `since` minutes after it: up to `rise` at `peak`, and down again as slowly."""
    if not 0.0 <= since <= 2.0 * peak:
        return 0.0
    return rise * (1.0 - abs(since / peak - 1.0))


def cook(minutes: float, celsius: Callable[[float], float | None], *records: Record, **told: object) -> list[Record]:
    """Return the records of a cook in the order of time."""
    return [setup(**told), *sorted([*readings(minutes, celsius), *records], key=lambda record: record.time)]


def looked(records: Iterable[Record], **more: float) -> Review:
    return review(records, **more)[0]  # type: ignore[arg-type]  options of several types


# --- what the cook does, and what the watch says -------------------------------------------------


def split(minutes: float, kg: float | None = 1.0, **more: object) -> Split:
    return Split(time=at(minutes), id=f"split-{minutes}", kg=kg, **more)  # type: ignore[arg-type]  as told


def lit(minutes: float = 0.0, kg: float = 2.0) -> Lit:
    return Lit(time=at(minutes), kg=kg)


def damper(minutes: float, opening: float, name: DamperName = DamperName.INTAKE) -> Damper:
    return Damper(time=at(minutes), damper=name, open=opening)


def door(minutes: float, lasts: float, name: DoorName = DoorName.COOK) -> tuple[Door, Door]:
    return Door(time=at(minutes), door=name, open=True), Door(time=at(minutes + lasts), door=name, open=False)


def outlook(minutes: float, now: float, **foretold: float) -> Outlook:
    """Return an outlook whose median at each horizon is as told (m15=120.0), with a band of 2 K either side."""
    horizons = tuple(int(name[1:]) for name in foretold)
    values = tuple(foretold.values())
    return Outlook(
        time=at(minutes), probe="grate", celsius=now, drift_per_hour=0.0, minutes=horizons,
        p10=tuple(value - 2.0 for value in values), p50=values, p90=tuple(value + 2.0 for value in values),
        assumes=NOTHING_MORE,
    )  # fmt: skip


def move(
    minutes: float, *, in_minutes: float | None = None, kg: float = 1.0, intake: float | None = None, hold: bool = False,
    expected: float | None = None,
) -> Move:  # fmt: skip
    return Move(
        time=at(minutes), split=None if in_minutes is None else NextSplit(in_minutes=in_minutes, kg=kg), intake=intake,
        stack=None, hold=hold, expected=None if expected is None else Expected(minutes=30, celsius=expected), reason="",
    )  # fmt: skip


def moves(first: float, last: float, **told: object) -> list[Move]:
    """Return the same advice every minute."""
    return [move(first + count, **told) for count in range(int(last - first) + 1)]  # type: ignore[arg-type]  as told


def fire(minutes: float, phase: Phase = Phase.STEADY, risk: float | None = None) -> Fire:
    return Fire(time=at(minutes), phase=phase, smoulder_risk=risk)


def alarm(
    minutes: float, name: str, state: AlarmState = AlarmState.UNACKNOWLEDGED, priority: Priority = Priority.HIGH
) -> Alarm:
    return Alarm(time=at(minutes), alarm=name, state=state, priority=priority, text=f"{name}!", first="Look.")


def health(minutes: float, state: Health, probe: str = "grate") -> ProbeHealth:
    return ProbeHealth(time=at(minutes), probe=probe, health=state, role="grate", text="")
