"""The lines of a timetable for one piece of meat: worked out before it goes on, or from what was measured since."""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from typing import Final

import numpy as np

from firebox.meat import doings, hour
from firebox.meat.follow import Followed, Moment
from firebox.meat.foreseen import Planned, Points
from firebox.meat.hour import SHORTEST_REST
from firebox.plan.aim import Outcome, Window
from firebox.records import MeatOn, PlanRow, Serving, Wrap

SALT_HOURS: Final = 12.0
"""Before the meat goes on; "the night before" is common practice, no source."""

SALT: Final = "salt the meat"
ON: Final = "meat on"
ALREADY_ON: Final = "already on when it was first heard"
BARK: Final = "bark is set"
WRAP: Final = "wrap"
RENDER: Final = "half the fat is out"
GIVE: Final = "connective tissue gives way"
PULL: Final = "go and feel; pull when it says so"
SLICE: Final = "can be sliced"
SLICE_LATER: Final = "best to slice"
SLICED_AT: Final = "its middle has come down to 60 C (140 F)"
SERVED_HOTTER: Final = "at the hour it is hotter: to slice it then, open its wrap some minutes before"
SERVE: Final = "serve"
LIGHT: Final = "light the fire"

PLACES: Final = {"grate": "", "counter": "on the counter", "cooler": "in a cooler", "oven": "in the holding oven"}


def fixed(what: str, when: datetime, *, cut: str | None = None, note: str = "", name: str | None = None) -> PlanRow:
    """Return a line of which the cook decides when it is."""
    return PlanRow(what=what, early=when, likely=when, late=when, cut=cut, note=note, probe=name)


def lit(when: datetime) -> PlanRow:
    """Return the line of the fire."""
    return fixed(LIGHT, when, note="it takes an hour or more until the pit holds")


def served(hours: Iterable[tuple[datetime, str]]) -> list[PlanRow]:
    """Return the lines of the hours at which people sit down, each with what is served then where that differs.

    Parameters
    ----------
    hours : iterable of tuple of datetime and str
        The hour of each piece, and its name.
    """
    found: dict[datetime, list[str]] = {}
    for when, name in hours:
        found.setdefault(when, []).append(name)
    several = len(found) > 1
    return [
        fixed(f"{SERVE} {' and '.join(dict.fromkeys(names))}" if several else SERVE, when)
        for when, names in sorted(found.items())
    ]


def slicing(likely: datetime, serve: datetime) -> tuple[str, str]:
    """Return how the line of slicing reads, and its note: what is best only after the hour forbids nothing at it."""
    return (SLICE, SLICED_AT) if likely <= serve else (SLICE_LATER, f"{SLICED_AT}; {SERVED_HOTTER}")


def pull_note(give: float) -> str:
    """Return what to mind when pulling, for the tenderness at which it is to be done."""
    return "while it still holds on a little: the hold does the rest" if give < 1.0 else ""


def _latest(rest: str, serve: datetime, cut: str, name: str | None) -> list[PlanRow]:
    if rest == "grate":
        return []
    last = serve - timedelta(hours=SHORTEST_REST[rest])
    return [fixed(f"latest into the rest, {PLACES[rest]}", last, cut=cut, name=name)]


# --- before it goes on ---------------------------------------------------------------------------


def beforehand(on: datetime, serve: datetime, one: Outcome, name: str | None = None) -> list[PlanRow]:
    """Return the lines of a piece that goes on at a time.

    Parameters
    ----------
    on, serve : datetime
        When it goes on, and when it is served.
    one : Outcome
    name : str, optional
        Of the probe that will be in it.
    """
    cut = one.piece.cut.name

    def row(what: str, window: Window | None, note: str = "") -> list[PlanRow]:
        if window is None:
            return []
        early, likely, late = (on + timedelta(hours=h) for h in (window.early, window.likely, window.late))
        return [PlanRow(what=what, early=early, likely=likely, late=late, cut=cut, note=note, probe=name)]

    def sliced(window: Window) -> tuple[str, Window, str]:
        what, note = slicing(on + timedelta(hours=window.likely), serve)
        return what, window, note

    return [
        fixed(SALT, on - timedelta(hours=SALT_HOURS), cut=cut, note="then cold, uncovered", name=name),
        fixed(ON, on, cut=cut, name=name),
        *row(BARK, one.barked, "rub it: does it hold?"),
        *row(WRAP, one.wrapped, f"in {one.style.wrap}, once the bark holds"),
        *(row(RENDER, one.rendered) if one.piece.cut.ends == "tender" else []),
        *row(GIVE, one.giving, "from here on heat and time count together"),
        *row(PULL, one.pulled, pull_note(one.style.give)),
        *(() if one.sliced is None else row(*sliced(one.sliced))),
        *_latest(one.style.rest, serve, cut, name),
    ]


def chance_at(one: Outcome, on: datetime, serve: datetime) -> float:
    """Return the probability of being ready and rested at the hour for a piece that goes on later than planned.

    Between the three points of when it is pulled it goes by straight lines, and beyond them by the next one's slope.
    """
    left = (serve - on) / timedelta(hours=1) - SHORTEST_REST[one.style.rest]
    points = (one.pulled.early, one.pulled.likely, one.pulled.late)
    spread = (2.0 * points[0] - points[1], *points, 2.0 * points[2] - points[1])
    chance = float(np.interp(left, spread, (0.0, 0.1, 0.5, 0.9, 1.0)))
    return round(min(chance, one.probability), 2)


# --- measured ------------------------------------------------------------------------------------


def measured(
    one: Followed, name: str, serving: Serving, now: Moment, came: Mapping[str, float]
) -> tuple[PlanRow, ...]:
    """Return the lines of a piece that is on, what is done already marked so.

    Parameters
    ----------
    one : Followed
        With a planned outlook.
    name : str
    serving : Serving
    now : Moment
    came : mapping
        When what needs no hand came about, by probe and line. [s]
    """
    assert one.foreseen is not None
    planned = one.foreseen.planned
    assert planned is not None
    cut = one.piece.cut.name
    view = one.view
    resting = one.lies.rest != "grate"

    def row(what: str, points: Points | None, note: str = "") -> list[PlanRow]:
        if points is None or not np.isfinite(points).all():
            return []
        early, likely, late = (_instant(at, now) for at in points)
        return [PlanRow(what=what, early=early, likely=likely, late=late, cut=cut, note=note, probe=name)]

    def done(what: str, at: float | None) -> list[PlanRow]:
        when = _instant(now.seconds if at is None else at, now)
        return [PlanRow(what=what, early=when, likely=when, late=when, cut=cut, probe=name, done=True)]

    def either(what: str, points: Points | None, note: str = "", *, is_done: bool) -> list[PlanRow]:
        return done(what, came.get(f"{name} {what}")) if is_done else row(what, points, note)

    went_on = doings.on_at(now.log, name, now.seconds)
    wrapped = _when(one, Wrap)
    off = _when(one, MeatOn)
    hot = one.start >= ON_START
    rows = [
        *done(ALREADY_ON if hot and went_on is None else ON, one.begun if went_on is None else went_on),
        *either(BARK, planned.barked, "rub it: does it hold?", is_done=view.bark >= 1.0),
        *(done(f"{WRAP} in {one.lies.material}", wrapped) if one.lies.material != "none" else []),
        *(
            row(WRAP, planned.wrapped, f"in {serving.wrap}, once the bark holds")
            if _is_worth_wrapping(planned)
            else []
        ),
        *either(RENDER, planned.rendered, is_done=view.rendered >= 0.5),
        *either(
            GIVE, planned.giving, "from here on heat and time count together", is_done=view.tender[1] >= hour.GIVING
        ),
    ]
    if one.piece.cut.ends != "tender":  # what is done once it is safe has neither to render nor to give
        rows = [row for row in rows if row.what not in (RENDER, GIVE)]
    if resting:
        rows.extend(done(f"pulled, {PLACES[one.lies.rest]}", off))
    else:
        rows.extend(row(PULL, planned.pulled, pull_note(planned.style.give)))
        rows.extend(_latest(serving.rest, serving.serve, cut, name))
    if planned.sliced is not None and np.isfinite(planned.sliced[1]):
        what, note = slicing(_instant(planned.sliced[1], now), serving.serve)
        rows.extend(row(what, planned.sliced, note))
    return tuple(rows)


def _is_worth_wrapping(planned: Planned) -> bool:
    """Tell whether it is likely wrapped well before it is pulled."""
    if planned.wrapped is None or planned.pulled is None:
        return True
    return planned.pulled[1] - planned.wrapped[1] >= WORTH_WRAPPING


WORTH_WRAPPING: Final = 1800.0
"""s; wrapped so shortly before it is pulled, it only gets a softer bark."""

ON_START: Final = 35.0
"""degC; meat first heard of hotter than that went on at a time that nobody told."""


def _instant(at: float, now: Moment) -> datetime:
    assert now.time is not None
    return now.time + timedelta(seconds=round(at - now.seconds))


def _when(one: Followed, kind: type[Wrap | MeatOn]) -> float | None:
    found = [deed.seconds for deed in one.taken if isinstance(deed.entry, kind)]
    return found[-1] if found else None
