"""A plan on paper: its timetable in the cook's units and in the time of this place."""

from datetime import datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from firebox.config import Config
    from firebox.plan.aim import Outcome
    from firebox.records import PlanRow, Timetable


def page(plan: "Timetable", config: "Config") -> list[str]:
    """Return the lines of a plan."""
    from firebox.units import kg_to

    several = len({row.probe or row.cut for row in plan.rows if row.cut}) > 1
    named = several or not any(row.probe for row in plan.rows)
    mass, clock = config.units.mass, _clock(config)
    lines = [f"serve {_here(plan.serve):%a %Y-%m-%d} {_here(plan.serve):{clock}}; {plan.verdict}", ""]
    lines.extend(_row(row, clock, named=named) for row in plan.rows)
    lines.append("")
    if plan.splits:
        lines.append(
            f"wood: {kg_to(plan.wood_kg, mass):.0f} {mass}, {plan.splits} splits of {kg_to(plan.split_kg, mass):.1f} {mass}, one "
            f"about each {plan.minutes_between:.0f} min over {plan.fire_hours:.0f} h; with margin"
        )
    lines.extend(
        f"watch: cook {shift.person}, {_here(shift.begin):%a} {_here(shift.begin):{clock}} to {_here(shift.end):%a} "
        f"{_here(shift.end):{clock}}"
        for shift in plan.watches
    )
    return [*lines, "", *plan.advice]


def _here(instant: datetime) -> datetime:
    return instant.astimezone()


def _clock(config: "Config") -> str:
    return "%H:%M" if config.units.clock == 24 else "%I:%M %p"


def _row(row: "PlanRow", clock: str, *, named: bool) -> str:
    name = row.probe or row.cut
    what = f"{name}: {row.what}" if named and name else row.what
    note = f" ({row.note})" if row.note else ""
    likely = f"{_here(row.likely):%a} {_here(row.likely):{clock}}"
    if row.done:
        return f"{likely}  done: {what}"
    if row.is_set:
        return f"{likely}  {what}{note}"
    early, late = (f"{_here(at):%a} {_here(at):{clock}}" for at in (row.early, row.late))
    return f"{likely}  {what}, {early} to {late}{note}"


def hands(outcomes: "tuple[Outcome, ...]", config: "Config") -> list[str]:
    """Return what decides about each piece, and what a probe in it may read then."""
    from firebox.units import celsius_to, kg_to

    mass, degrees = config.units.mass, config.units.degrees
    lines = []
    for one in outcomes:
        low, high = (round(celsius_to(c, degrees)) for c in (one.pull_celsius.early, one.pull_celsius.late))
        lines.append(
            f"{one.piece.cut.name}, {kg_to(one.piece.kg, mass):.1f} {mass}: a probe in its middle may read anything from {low} "
            f"to {high} {degrees} when it is ready. The hand decides: {one.piece.cut.feel}"
        )
    return lines
