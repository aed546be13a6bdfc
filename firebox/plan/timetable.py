"""A plan made before anything is lit: the timetable with all that goes with it."""

from datetime import datetime, timedelta

from msgspec import Struct

from firebox.plan import rows as lines
from firebox.plan import words
from firebox.plan.aim import WARM_UP_HOURS, Aim, Outcome, outcome
from firebox.plan.fuel import WIND, WoodNeed, shifts, wood_need
from firebox.records import PlanRow, Shift, Timetable
from firebox.setup import Setup


class Plan(Struct, frozen=True, kw_only=True):
    """A timetable with all that goes with it."""

    serve: datetime
    rows: tuple[PlanRow, ...]
    outcomes: tuple[Outcome, ...]
    probability: float
    """That every piece is ready, rested and still hot at the hour, if one has nothing to do with another."""
    wood: WoodNeed
    shifts: tuple[Shift, ...]
    advice: tuple[str, ...]
    late: float = 0.0
    """By how much later than it should the first piece goes on; 0: in time. [s]"""
    verdict: str = ""
    """How it stands with the hour, where it is begun too late."""


def plan(aim: Aim, setup: Setup, people: int = 1, *, now: datetime | None = None) -> Plan:
    """Return the plan for an aim.

    Parameters
    ----------
    aim : Aim
        Times of the plan are in the zone of its hours.
    setup : Setup
        Build and wood.
    people : int
        Who can keep watch.
    now : datetime, optional
        Nothing can be begun before it: where the hour would ask for that, everything moves on to it.

    Raises
    ------
    RangeError
        As `aim.outcome`.
    """
    outcomes = tuple(outcome(aim, piece) for piece in aim.pieces)
    served = aim.hours or (aim.serve,) * len(outcomes)
    wanted = [hour - timedelta(hours=one.lead_hours) for hour, one in zip(served, outcomes, strict=True)]
    soonest = None if now is None else now + timedelta(hours=WARM_UP_HOURS)
    on = wanted if soonest is None else [max(begin, soonest) for begin in wanted]
    late = [(begin - was).total_seconds() for begin, was in zip(on, wanted, strict=True)]
    light = min(on) - timedelta(hours=WARM_UP_HOURS)
    last = max(begin + timedelta(hours=one.pulled.late) for begin, one in zip(on, outcomes, strict=True))
    last = last if max(late) > 0.0 else min(last, max(served))
    probability = 1.0
    for begin, hour, behind, one in zip(on, served, late, outcomes, strict=True):
        probability *= one.probability if behind <= 0.0 else lines.chance_at(one, begin, hour)
    rows = [
        lines.lit(light),
        *lines.served((hour, one.piece.cut.name) for hour, one in zip(served, outcomes, strict=True)),
    ]
    for begin, hour, one in zip(on, served, outcomes, strict=True):
        rows.extend(
            row for row in lines.beforehand(begin, hour, one) if now is None or not _is_past_salting(row, now)
        )
    hours = (last - light) / timedelta(hours=1)
    return Plan(
        serve=aim.serve,
        rows=tuple(sorted(rows, key=lambda row: row.likely)),
        outcomes=outcomes,
        probability=round(probability, 2),
        wood=wood_need(setup, hours, aim.pit_celsius, aim.ambient_celsius, wind=WIND[aim.wind]),
        shifts=shifts(light, last, people),
        late=max(late),
        verdict=_too_late(light - timedelta(seconds=max(late)), served, late, outcomes, now),
        advice=(
            *(() if now is None else _salt_now(on, now)),
            *(line for one in outcomes for line in _advice(aim, one)),
            *words.of_people(hours, people),
            words.SAFE,
        ),
    )


def _is_past_salting(row: PlanRow, now: datetime) -> bool:
    return row.what == lines.SALT and row.late <= now


def _salt_now(on: list[datetime], now: datetime) -> tuple[str, ...]:
    if min(on) - timedelta(hours=lines.SALT_HOURS) > now:
        return ()
    return (f"the time to salt, {lines.SALT_HOURS:.0f} h before it goes on, is past: salt it now",)


def _too_late(
    begin: datetime,
    served: tuple[datetime, ...],
    late: list[float],
    outcomes: tuple[Outcome, ...],
    now: datetime | None,
) -> str:
    """Return what is to be said of a plan whose beginning is past; nothing where it is to come."""
    if now is None or max(late) <= 0.0:
        return ""
    worst = max(range(len(late)), key=lambda number: late[number])
    one = outcomes[worst]
    behind = late[worst]
    stand = words.Stand(
        one.piece.cut.name,
        one.probability,
        lines.chance_at(
            one, served[worst] - timedelta(hours=one.lead_hours) + timedelta(seconds=behind), served[worst]
        ),
        behind,
        behind - 3600.0 * (one.pulled.late - one.pulled.likely),
        served[worst],
    )
    soonest = served[worst] + timedelta(seconds=behind)
    return (
        f"{words.verdict((stand,), now)}. The fire would have been lit {words.duration(behind / 3600.0)} ago "
        f"({begin:%a %H:%M}); lit now, {soonest:%a %H:%M} is the first hour that is as sure"
    )


def _advice(aim: Aim, one: Outcome) -> tuple[str, ...]:
    name = one.piece.cut.name
    return (*words.of_the_oven(one, aim.pit_celsius, name), *words.beforehand(one, aim.sure, name))


def record(plan: Plan, time: datetime) -> Timetable:
    """Return a plan as the record that screens and calendars are made from."""
    return Timetable(
        time=time,
        serve=plan.serve,
        probability=plan.probability,
        minutes_late=round(plan.late / 60.0),
        verdict=plan.verdict or f"{words.sureness(plan.probability)} sure to be ready, rested and hot by then",
        rows=plan.rows,
        wood_kg=plan.wood.kg,
        splits=plan.wood.splits,
        split_kg=plan.wood.split_kg,
        minutes_between=plan.wood.minutes_between,
        fire_hours=round(plan.wood.hours, 1),
        watches=plan.shifts if len(plan.shifts) > 1 else (),
        advice=plan.advice,
    )
