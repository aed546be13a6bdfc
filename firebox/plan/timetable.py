"""The plan as a timetable in a cook's words."""

from datetime import datetime, timedelta
from typing import Final

from msgspec import Struct

from firebox.meat.hour import SHORTEST_REST
from firebox.meat.safety_tables import least_oven_celsius
from firebox.plan.aim import WARM_UP_HOURS, Aim, Outcome, Window, outcome
from firebox.plan.fuel import Shift, WoodNeed, shifts, wood_need
from firebox.setup import Setup

SALT_HOURS: Final = 12.0
"""Before the meat goes on; "the night before" is common practice, no source."""


class Row(Struct, frozen=True, kw_only=True):
    """One line: what, and its 10, 50 and 90 % points; all three the same where the cook decides."""

    what: str
    early: datetime
    likely: datetime
    late: datetime
    cut: str | None = None
    note: str = ""

    @property
    def is_set(self) -> bool:
        """Whether the cook decides when it is."""
        return self.early == self.late


class Plan(Struct, frozen=True, kw_only=True):
    """A timetable with all that goes with it."""

    serve: datetime
    rows: tuple[Row, ...]
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
    rows = [_set("light the fire", light, note="it takes an hour or more until the pit holds")]
    for begin, hour, one in zip(on, served, outcomes, strict=True):
        rows.extend(_rows(begin, hour, one))
    rows.extend(_set("serve", hour) for hour in sorted(set(served)))
    hours = (last - light) / timedelta(hours=1)
    return Plan(
        serve=aim.serve,
        rows=tuple(sorted(rows, key=lambda row: row.likely)),
        outcomes=outcomes,
        probability=round(probability, 2),
        wood=wood_need(setup, hours, aim.pit_celsius, aim.ambient_celsius),
        shifts=shifts(light, last, people),
        advice=tuple(_advice(aim, outcomes, hours, people)),
    )


def _set(what: str, when: datetime, *, cut: str | None = None, note: str = "") -> Row:
    return Row(what=what, early=when, likely=when, late=when, cut=cut, note=note)


def _rows(on: datetime, served: datetime, one: Outcome) -> list[Row]:
    cut = one.piece.cut.name

    def row(what: str, window: Window | None, note: str = "") -> list[Row]:
        if window is None:
            return []
        early, likely, late = (on + timedelta(hours=h) for h in (window.early, window.likely, window.late))
        return [Row(what=what, early=early, likely=likely, late=late, cut=cut, note=note)]

    rest = one.style.rest
    shortest = timedelta(hours=SHORTEST_REST[rest])
    where = {"grate": "", "counter": "on the counter", "cooler": "in a cooler", "oven": "in the holding oven"}[rest]
    rows = [
        _set("salt the meat", on - timedelta(hours=SALT_HOURS), cut=cut, note="then cold, uncovered"),
        _set("meat on", on, cut=cut),
        *row("bark is set", one.barked, "rub it: does it hold?"),
        *row("wrap", one.wrapped, f"in {one.style.wrap}, once the bark holds"),
        *row("half the fat is out", one.rendered),
        *row("connective tissue gives way", one.giving, "from here on heat and time count together"),
        *row(
            "go and feel; pull when it says so",
            one.pulled,
            "while it still holds on a little: the hold does the rest" if one.style.give < 1.0 else "",
        ),
    ]
    if rest != "grate":
        rows.append(_set(f"latest into the rest, {where}", served - shortest, cut=cut))
    return rows


def _advice(aim: Aim, outcomes: tuple[Outcome, ...], hours: float, people: int) -> list[str]:
    """Return what to do if it comes early or late, and what the plan is worth."""
    said: list[str] = []
    for one in outcomes:
        name = one.piece.cut.name
        if one.probability < aim.sure - 0.02:
            said.append(f"{name}: no start is surer than {one.probability:.0%}; {_surer(one)}")
        oven = least_oven_celsius(one.piece.kg)
        if one.piece.cut.ends == "tender" and aim.pit_celsius < oven - 1.0:
            said.append(
                f"{name}: the Food Code's rows for roasts of this weight suppose a dry oven of {oven:.0f} C; in a slower pit go by "
                "70 C (158 F) inside, which it passes long before it gives"
            )
        said.extend((f"{name}, if early: {_early(one)}", f"{name}, if late: {_late(one)}"))
    if people == 1 and hours > LONELY_HOURS:
        said.append(
            f"{hours:.0f} h of fire for one person: find a second, or plan naps by the alarms; never leave a live fire"
        )
    said.append("Safe comes before punctual: heat and time inside the meat, and the rules of the place.")
    return said


LONELY_HOURS: Final = 8.0


def _surer(one: Outcome) -> str:
    if one.style.rest in ("counter", "grate"):
        return "a cooler or a holding oven to rest in would let it wait"
    return "a wrap, a hotter pit or a holding oven would narrow it"


def _early(one: Outcome) -> str:
    if one.style.rest == "grate":
        return "wrap it and let the pit come down to 65-70 C"
    keeps = one.keeps_hours
    if keeps > FAR_HOURS:
        return "it can wait: the holding place keeps it above 57 C (135 F) for as long as it takes"
    return (
        f"it stays above 57 C (135 F) for about {keeps:.0f} h where it rests; longer needs a holding oven at 60-65 C"
    )


FAR_HOURS: Final = 24.0


def _late(one: Outcome) -> str:
    ways = []
    if one.hotter_hours >= WORTH_HOURS:
        ways.append(f"14 C (25 F) more in the pit from the start saves up to {_duration(one.hotter_hours)}")
    if one.style.wrap != "foil" and one.foil_hours >= WORTH_HOURS:
        ways.append(f"foil once the bark is set saves up to {_duration(one.foil_hours)}")
    ways.append(
        f"at the least it rests {_duration(SHORTEST_REST[one.style.rest])}"
        if one.style.rest != "grate"
        else "serve later"
    )
    return "; ".join(ways)


WORTH_HOURS: Final = 0.25


def _duration(hours: float) -> str:
    """Return a duration in words.

    Examples
    --------
    >>> _duration(0.5), _duration(2.25)
    ('30 min', '2 h 15')
    """
    minutes = round(60.0 * hours / 5.0) * 5
    return f"{minutes} min" if minutes < 60 else f"{minutes // 60} h {minutes % 60:02d}".removesuffix(" 00")
