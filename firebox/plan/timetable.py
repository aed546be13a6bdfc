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


def plan(aim: Aim, setup: Setup, people: int = 1) -> Plan:
    """Return the plan for an aim.

    Parameters
    ----------
    aim : Aim
        Times of the plan are in the zone of its hours.
    setup : Setup
        Build and wood.
    people : int
        Who can keep watch.

    Raises
    ------
    RangeError
        As `aim.outcome`.
    """
    outcomes = tuple(outcome(aim, piece) for piece in aim.pieces)
    served = aim.hours or (aim.serve,) * len(outcomes)
    on = [hour - timedelta(hours=one.lead_hours) for hour, one in zip(served, outcomes, strict=True)]
    light = min(on) - timedelta(hours=WARM_UP_HOURS)
    last = max(begin + timedelta(hours=one.pulled.late) for begin, one in zip(on, outcomes, strict=True))
    last = min(last, max(served))
    probability = 1.0
    for one in outcomes:
        probability *= one.probability
    rows = [lines.lit(light), *lines.served(sorted(set(served)))]
    for begin, hour, one in zip(on, served, outcomes, strict=True):
        rows.extend(lines.beforehand(begin, hour, one))
    hours = (last - light) / timedelta(hours=1)
    return Plan(
        serve=aim.serve,
        rows=tuple(sorted(rows, key=lambda row: row.likely)),
        outcomes=outcomes,
        probability=round(probability, 2),
        wood=wood_need(setup, hours, aim.pit_celsius, aim.ambient_celsius, wind=WIND[aim.wind]),
        shifts=shifts(light, last, people),
        advice=(
            *(line for one in outcomes for line in _advice(aim, one)),
            *words.of_people(hours, people),
            words.SAFE,
        ),
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
        minutes_late=0.0,
        verdict=f"{words.sureness(plan.probability)} sure to be ready, rested and hot by then",
        rows=plan.rows,
        wood_kg=plan.wood.kg,
        splits=plan.wood.splits,
        split_kg=plan.wood.split_kg,
        minutes_between=plan.wood.minutes_between,
        fire_hours=round(plan.wood.hours, 1),
        watches=plan.shifts if len(plan.shifts) > 1 else (),
        advice=plan.advice,
    )
