"""The plan of a running cook: made before the fire for what is not on yet, and anew from what was measured for what is.

It lives in the journal as `Serving` entries, so the watch can plan purely. The hours to come of a piece on the grate are looked at
where the meat is followed, each quarter of an hour or when something changed; here they only become a timetable. What is not
on yet is worked out once and remembered.
"""

from datetime import datetime, timedelta
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from firebox.errors import RangeError
from firebox.estimate.forecast import FireView
from firebox.meat import doings
from firebox.meat.ahead import Style
from firebox.meat.cuts import Piece
from firebox.meat.follow import Followed, Moment, piece_of
from firebox.plan import rows as lines
from firebox.plan import words
from firebox.plan.aim import WARM_UP_HOURS, Aim, Outcome, outcome
from firebox.plan.fuel import WoodNeed, shifts, wood_need
from firebox.records import Phase, PlanRow, Serving, Timetable
from firebox.setup import Role, Setup, role_of

REMAKE_EVERY: Final = 900.0
"""Logical seconds after which a timetable is told anew though nothing new was foreseen."""

ON_CELSIUS: Final = 40.0
"""Outside of meat that nobody said is on, from which it is."""

OVER_HOURS: Final = 6.0
"""So long after the hour a plan is over."""


FARTHEST_DAYS: Final = 14.0
"""An hour farther off is not planned for yet."""

MOST_LATE: Final = 24.0 * 3600.0
"""s; later than that is told as that."""


class Beforehand(Struct, frozen=True, kw_only=True):
    """What was worked out for a piece before it goes on, and for what."""

    serving: Serving
    piece: Piece
    pit_celsius: float
    outcome: Outcome | None
    problem: str = ""


class Standing(Struct, frozen=True, kw_only=True):
    """The plan as the watch keeps it. A value, replaced by `remake`.

    Attributes
    ----------
    made_at : float
        When the newest timetable was told. [s]
    made_for : tuple
        What it was made from.
    before : dict
        By the name of its probe, what was worked out for a piece that is not on yet.
    came : dict
        When each thing that needs no hand came about, by its line. [s]
    """

    made_at: float = -1e9
    made_for: tuple[tuple[str, float, str], ...] = ()
    before: dict[str, Beforehand] = {}
    came: dict[str, float] = {}


class Part(Struct, frozen=True, kw_only=True):
    """One piece in the plan, measured or not: its lines, and how it stands with its hour. [s]"""

    name: str
    serving: Serving
    piece: Piece
    on: bool
    rows: tuple[PlanRow, ...]
    begin: datetime
    off: datetime
    chance: float
    late: float
    likely_late: float
    said: tuple[str, ...]
    resting: bool = False
    raw: bool = False
    """Off the grate before it was cooked."""
    hot_until: datetime | None = None


def remake(
    standing: Standing, now: Moment, followed: dict[str, Followed], fire: FireView
) -> tuple[Standing, Timetable | None]:
    """Return the plan moved on to now, and its timetable where it is to be told anew.

    Parameters
    ----------
    standing : Standing
    now : Moment
        With its time.
    followed : dict of Followed
        By the name of the probe.
    fire : FireView
    """
    wanted = _wanted(now, followed)
    if not wanted:
        return (Standing() if standing != Standing() else standing), None
    key = tuple((name, _looked(followed.get(name)), _told(serving)) for name, serving in wanted.items())
    if key == standing.made_for and now.seconds - standing.made_at < REMAKE_EVERY:
        return standing, None
    standing = _worked_out(standing, now, followed, wanted)
    parts = tuple(_part(standing, name, serving, now, followed.get(name)) for name, serving in wanted.items())
    found = [part for part in parts if part is not None]
    came = {**standing.came}
    for part in found:
        came.update({_line(row): now.seconds for row in part.rows if row.done and _line(row) not in came})
    standing = replace(standing, made_at=now.seconds, made_for=key, came=came)
    return standing, _timetable(found, standing, now, fire) if found else _impossible(standing, wanted, now)


def _wanted(now: Moment, followed: dict[str, Followed]) -> dict[str, Serving]:
    """Return what each piece is planned for, by the name of its probe."""
    assert now.time is not None  # a plan needs a clock
    names = {piece.probe for piece in now.setup.meats} | set(followed)
    names |= {probe.name for probe in now.setup.probes if probe.role is Role.MEAT}
    names -= {piece.second for piece in now.setup.meats if piece.second is not None}
    found: dict[str, Serving] = {}
    for name in sorted(names):
        serving = doings.serving(now.log, name)
        if serving is None or role_of(name, now.setup) is not Role.MEAT:
            continue
        if -timedelta(hours=OVER_HOURS) < serving.serve - now.time < timedelta(days=FARTHEST_DAYS):
            found[name] = serving
    return found


def _looked(one: Followed | None) -> float:
    return -1.0 if one is None or one.foreseen is None or one.foreseen.planned is None else one.looked


def _told(serving: Serving) -> str:
    return serving.id or serving.time.isoformat()


def is_on(one: Followed | None, name: str, now: Moment) -> bool:
    """Tell whether a piece has gone on: as told, or as hot as only a pit makes it."""
    if one is None:
        return False
    told = doings.on_at(now.log, name, now.seconds) is not None
    return told or float(one.herd.outside.mean()) >= ON_CELSIUS


# --- before it goes on ---------------------------------------------------------------------------


def _worked_out(
    standing: Standing, now: Moment, followed: dict[str, Followed], wanted: dict[str, Serving]
) -> Standing:
    """Return the standing with every piece that is not on yet worked out for what it is planned for now."""
    before: dict[str, Beforehand] = {}
    pit = now.log.target(now.seconds, now.setup)[0]
    for name, serving in wanted.items():
        if is_on(followed.get(name), name, now):
            continue
        piece = piece_of(name, now.setup, doings.weighed(now.log, name, "in"))
        known = standing.before.get(name)
        if known is None or (known.serving, known.piece, known.pit_celsius) != (serving, piece, pit):
            known = _beforehand(serving, piece, pit, now)
        before[name] = known
    return replace(standing, before=before)


def _beforehand(serving: Serving, piece: Piece, pit: float, now: Moment) -> Beforehand:
    style = Style(
        wrap=serving.wrap, rest=serving.rest, rest_celsius=doings.rest_celsius(serving.rest, serving.celsius)
    )
    aim = Aim(
        serve=serving.serve,
        pieces=(piece,),
        style=style,
        pit_celsius=pit,
        ambient_celsius=now.ambient,
        sure=serving.sure,
    )
    try:
        made, problem = outcome(aim, piece), ""
    except RangeError as error:
        made, problem = None, str(error)
    return Beforehand(serving=serving, piece=piece, pit_celsius=pit, outcome=made, problem=problem)


# --- one piece -----------------------------------------------------------------------------------


def _part(standing: Standing, name: str, serving: Serving, now: Moment, one: Followed | None) -> Part | None:
    if name in standing.before:
        return _part_before(standing.before[name], name, now)
    if one is None or one.foreseen is None or one.foreseen.planned is None:
        return None
    return _part_live(standing, one, name, serving, now)


def _part_before(known: Beforehand, name: str, now: Moment) -> Part | None:
    """Return a piece that is not on yet; where its hour to go on is past, everything moves on with the clock."""
    assert now.time is not None
    made, serving = known.outcome, known.serving
    if made is None:
        return None
    wanted = serving.serve - timedelta(hours=made.lead_hours)
    lit = now.log.lit_at() is not None
    soonest = now.time if lit else now.time + timedelta(hours=WARM_UP_HOURS)
    on = max(wanted, soonest)
    late = (on - wanted).total_seconds()
    rows = lines.beforehand(on, serving.serve, made, name)
    off = on + timedelta(hours=made.pulled.late)
    return Part(
        name=name,
        serving=serving,
        piece=known.piece,
        on=False,
        rows=tuple(row for row in rows if row.late > now.time or row.what != lines.SALT),
        begin=on,
        off=off if late > 0.0 else min(off, serving.serve),
        chance=made.probability if late <= 0.0 else lines.chance_at(made, on, serving.serve),
        late=late,
        likely_late=late - 3600.0 * (made.pulled.late - made.pulled.likely),
        said=(*words.of_the_oven(made, known.pit_celsius, name), *words.beforehand(made, serving.sure, name)),
    )


def _part_live(standing: Standing, one: Followed, name: str, serving: Serving, now: Moment) -> Part | None:
    assert now.time is not None
    assert one.foreseen is not None
    planned = one.foreseen.planned
    assert planned is not None
    seconds = (serving.serve - now.time).total_seconds() + now.seconds
    rows = lines.measured(one, name, serving, now, standing.came)
    resting = one.lies.rest != "grate"
    off = seconds if planned.pulled is None else min(planned.pulled[2], max(seconds, planned.pulled[1]))
    return Part(
        name=name,
        serving=serving,
        piece=one.piece,
        on=True,
        rows=rows,
        begin=now.time,
        off=now.time if resting else now.time + timedelta(seconds=max(off - now.seconds, 0.0)),
        chance=planned.chance,
        late=planned.late,
        likely_late=planned.likely_late,
        said=words.measured(one, planned, name),
        resting=resting,
        raw=resting and one.clocks.safe_at is None,
        hot_until=_hot_until(one, now) if resting else None,
    )


def _hot_until(one: Followed, now: Moment) -> datetime | None:
    assert now.time is not None
    rests = one.foreseen.rests if one.foreseen else ()
    until = rests[0].hot_until if rests else None
    return None if until is None else now.time + timedelta(seconds=round(max(until - now.seconds, 0.0)))


def _line(row: PlanRow) -> str:
    return f"{row.probe} {row.what}"


# --- all together --------------------------------------------------------------------------------


def _timetable(parts: list[Part], standing: Standing, now: Moment, fire: FireView) -> Timetable:
    assert now.time is not None
    live = any(part.on for part in parts)
    waiting = [part.begin for part in parts if not part.on]
    lit = now.log.lit_at() is not None or live
    light = None if lit or not waiting else max(min(waiting) - timedelta(hours=WARM_UP_HOURS), now.time)
    begin = now.time if light is None else light
    last = max(part.off for part in parts)
    hours = max((last - begin) / timedelta(hours=1), 0.0)
    chance = 1.0
    for part in parts:
        chance *= part.chance
    worst = max(parts, key=lambda part: part.late)
    people = max(part.serving.people for part in parts)
    need = _wood(now.setup, hours, now, fire if lit else None)
    rows = [row for part in parts for row in part.rows]
    rows.extend(lines.served((part.serving.serve, part.name) for part in parts))
    if light is not None:
        rows.append(lines.lit(light))
    turns = shifts(begin, last, people) if hours > 0.0 else ()
    return Timetable(
        time=now.time,
        serve=max(part.serving.serve for part in parts),
        probability=round(chance, 2),
        minutes_late=round(min(worst.late, MOST_LATE) / 60.0),
        verdict=words.verdict([_stand(part) for part in parts], now.time),
        live=live,
        rows=tuple(sorted(rows, key=lambda row: row.likely)),
        wood_kg=need.kg,
        splits=need.splits,
        split_kg=need.split_kg,
        minutes_between=need.minutes_between,
        fire_hours=round(hours, 1),
        watches=turns if len(turns) > 1 else (),
        advice=(
            *words.of_the_fire(
                fire.phase if lit else Phase.UNLIT,
                live=live,
                all_off=_is_all_off(parts, now),
                let_out=now.log.out_at() is not None,
            ),
            *(line for part in parts for line in part.said),
            *words.of_people(hours, people),
            *(known.problem for known in standing.before.values() if known.problem),
            words.SAFE,
        ),
    )


def _is_all_off(parts: list[Part], now: Moment) -> bool:
    """Tell whether all the meat that the fire was for is off it, and none has to go back."""
    on = {piece.probe for piece in now.setup.meats} <= {part.name for part in parts}
    return on and all(part.resting and not part.raw for part in parts)


def _stand(part: Part) -> words.Stand:
    return words.Stand(
        part.name,
        part.serving.sure,
        part.chance,
        part.late,
        part.likely_late,
        part.serving.serve,
        part.raw,
        part.hot_until,
    )


def _wood(setup: Setup, hours: float, now: Moment, fire: FireView | None) -> WoodNeed:
    target = now.log.target(now.seconds, now.setup)[0]
    return wood_need(setup, hours, target, now.ambient, need_watts=None if fire is None else fire.need_watts)


def _impossible(standing: Standing, wanted: dict[str, Serving], now: Moment) -> Timetable | None:
    """Return a timetable that says why there is none; None while it is not known yet."""
    problems = tuple(known.problem for known in standing.before.values() if known.problem)
    if not problems:
        return None
    assert now.time is not None
    need = _wood(now.setup, 0.0, now, None)
    return Timetable(
        time=now.time,
        serve=max(serving.serve for serving in wanted.values()),
        probability=0.0,
        minutes_late=0.0,
        verdict="no plan can be made for it",
        wood_kg=0.0,
        splits=0,
        split_kg=need.split_kg,
        minutes_between=need.minutes_between,
        fire_hours=0.0,
        advice=problems,
    )
