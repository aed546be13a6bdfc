"""The page of the plan in words: how it stands with the hour, the timetable, wood, watches, what to do. Pure."""

from collections.abc import Sequence
from typing import Final

from firebox.records import PlanRow, Timetable
from tui import view as views
from tui.glance import Glance
from tui.meat_words import HEAD, Part, day_clock, serving_of
from tui.text import ago, mass, own_degrees

NO_PLAN: Final = (
    "Tell when people sit down: press T, type 18:00, Enter. The timetable comes back from that hour, and is made anew "
    "from what the meat shows."
)


def page(glance: Glance, width: int) -> list[Part]:
    """Return the plan as it stands; a note that does not fit on its line is left out."""
    plan = views.standing_plan(glance.view)
    if plan is None:
        waiting = serving_of(glance)
        head = "NO PLAN YET" if waiting is None else f"SERVE {day_clock(glance, waiting.serve)}"
        body = (
            NO_PLAN
            if waiting is None
            else "The plan comes with the watch's next answer, or once a meat probe is known."
        )
        return [(f"{head}\n", HEAD), body]
    return [*_head(glance, plan), *_rows(glance, plan, width), *_wood(glance, plan), *_advice(glance, plan)]


def _head(glance: Glance, plan: Timetable) -> list[Part]:
    late = plan.minutes_late > LATE_MINUTES
    style = "bold reverse" if late else "bold"
    made = "from what is measured" if plan.live else "made before the meat is on"
    old = max(0.0, (glance.instant(glance.seconds) - plan.time).total_seconds())
    return [
        (f"SERVE {day_clock(glance, plan.serve)}", HEAD),
        "  ",
        (plan.verdict, style),
        f"\n{made}, {ago(old)}\n",
    ]


LATE_MINUTES: Final = 15.0


def _rows(glance: Glance, plan: Timetable, width: int) -> list[Part]:
    several = len({row.probe for row in plan.rows if row.probe}) > 1
    now = glance.instant(glance.seconds)
    done = [row for row in plan.rows if row.done]
    said = _done(glance, done, several=several) if len(done) > FEW else []
    shown_now = False
    for row in plan.rows:
        if row.done and len(done) > FEW:
            continue
        if not shown_now and not row.done and row.likely >= now:
            said.append((f"{day_clock(glance, now):>9}  now\n", "bold $accent"))
            shown_now = True
        said += _row(glance, row, width, several=several)
    return said


FEW: Final = 2
"""More lines of what is done than that are told in one."""


def _done(glance: Glance, rows: Sequence[PlanRow], *, several: bool) -> list[Part]:
    """Return what is done in one paragraph."""
    words = (
        f"{f'{row.probe} ' if several and row.probe else ''}{row.what} {day_clock(glance, row.likely)}"
        for row in rows
    )
    return [(f"done: {', '.join(words)}\n", "$quiet")]


def _row(glance: Glance, row: PlanRow, width: int, *, several: bool) -> list[Part]:
    """Return one line: when it is likely, between when, what; what the cook decides stands out."""
    what = f"{row.probe}: {row.what}" if several and row.probe else row.what
    likely = f"{day_clock(glance, row.likely):>9}"
    if row.done:
        return [(f"{likely}  {'done':<{WINDOW}}  {what}\n", "$quiet")]
    window = "" if row.is_set else f"{day_clock(glance, row.early)} to {day_clock(glance, row.late)}"
    note = f"  ({own_degrees(row.note, glance.preferences)})" if row.note else ""
    if len(likely) + max(len(window), WINDOW) + len(what) + len(note) + 4 > width:
        note = ""
    style = "bold" if row.is_set else ""
    return [f"{likely}  {window:<{WINDOW}}  ", (what, style), f"{note}\n"]


WINDOW: Final = 14
"""Columns of "06:48 to 11:42"."""


def _wood(glance: Glance, plan: Timetable) -> list[Part]:
    if plan.splits == 0:
        return [("WOOD", HEAD), "  no meat needs the fire any more\n"]
    size = mass(plan.split_kg, glance.preferences)
    said: list[Part] = [
        ("WOOD", HEAD),
        f"  {mass(plan.wood_kg, glance.preferences)} to have ready: {plan.splits} splits of {size}, ",
        f"one about each {plan.minutes_between:.0f} min, {plan.fire_hours:.0f} h of fire; with margin\n",
    ]
    if plan.watches:
        turns = (
            f"cook {shift.person} {day_clock(glance, shift.begin)}-{day_clock(glance, shift.end)}"
            for shift in plan.watches
        )
        said += [("WATCHES", HEAD), f"  {', '.join(turns)}\n"]
    return said


def _advice(glance: Glance, plan: Timetable) -> list[Part]:
    if not plan.advice:
        return []
    return [("WHAT TO DO", HEAD), "\n", *(f"- {own_degrees(line, glance.preferences)}\n" for line in plan.advice)]
