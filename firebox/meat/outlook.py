"""The hours to come of a followed piece: where its probe goes, when it is ready, what resting and wrapping would make of it.

`look` foresees one piece a call, each quarter of an hour or when something changed; all it wants to know comes from
one run of the herd under several styles at once.
"""

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from firebox.meat import ahead, doings, hour
from firebox.meat.ahead import Course, Style
from firebox.meat.follow import Followed, Moment
from firebox.meat.foreseen import Foreseen, Planned, Points, Reason, Rested, Wager
from firebox.meat.places import Material, place
from firebox.records import MeatOn, Serving, Target

Floats = NDArray[np.float64]

LOOK_EVERY: Final = 900.0
"""Logical seconds after which the hours to come are foreseen anew: the nearest of them is an hour away."""

LOOK_HOURS: Final = 18.0
FARTHEST_HOURS: Final = 30.0
"""So far it is looked where people sit down later than `LOOK_HOURS`."""

MINUTES: Final = (60, 120, 240, 360, 480)

WAGER_EVERY: Final = 1800.0
"""Logical seconds between two bands that are kept to be judged: closer ones come true or false together."""

WAGER_MINUTES: Final = 120

STRUCTURE: Final = 0.25
"""Share of the time still to go by which the model may be off, whatever its knobs: it is one-dimensional, and dries in one way
of several. Project's choice; the windows are held against meat of another kind in the benchmarks."""

LEAST_HOURS: Final = 0.5
"""Neither side of a window is narrower: two hands do not agree to the minute on when it gives. Project's choice."""

SOONEST_SHARE: Final = 0.3
"""Of the likely time still to go at the least: however wide the doubt, meat that is hours off is not ready now."""

OFF_HOURS: Final = 3.0
"""In so long the difference between probe and model shrinks to a third: the inside of a cut forgets as fast."""

HABIT_SECONDS: Final = 2.5 * 3600.0
HABIT_ROWS: Final = 20
"""Of five minutes: a fire's humps and doors have to even out."""

MOST_HABIT: Final = 12.0
"""K; farther off it is no habit but trouble, of which the alarms tell and which somebody will see to."""

RESTS_FROM: Final = 0.1
"""Probability of being ready from which it is looked what pulling it now would bring."""

NEAREST_GIVES: Final = 1
"""Once a pull point is chosen, only its neighbours on either side are looked at again."""


def look(followed: dict[str, Followed], now: Moment) -> dict[str, Followed]:
    """Return all pieces; the one whose outlook is due for longest has a new one."""
    reasons = {name: _reason(one, name, now) for name, one in followed.items()}
    due = [
        (one.looked, name)
        for name, one in followed.items()
        if now.seconds - one.looked >= LOOK_EVERY or one.foreseen_for != reasons[name]
    ]
    if not due:
        return followed
    name = min(due)[1]
    one = followed[name]
    foreseen = _foreseen(one, name, now)
    told = replace(one, looked=now.seconds, foreseen=foreseen, foreseen_for=reasons[name])
    judged_at = now.seconds + 60.0 * WAGER_MINUTES
    if not one.wagers or judged_at - one.wagers[-1].due >= WAGER_EVERY:
        low, _, high = foreseen.quantiles[MINUTES.index(WAGER_MINUTES)]
        told = replace(told, wagers=(*one.wagers, Wager(judged_at, low, high, one.lies)))
    return {**followed, name: told}


def _reason(one: Followed, name: str, now: Moment) -> Reason:
    return Reason(
        lies=one.lies,
        handled=len(one.taken),
        answer=one.answer,
        target=now.log.target(now.seconds, now.setup)[0],
        serving=doings.serving(now.log, name),
        fading=now.log.out_at() is not None,
    )


# --- one run under several styles ----------------------------------------------------------------


class Asked(Struct, frozen=True, kw_only=True):
    """The styles that are looked at: as it lies, where it could rest, wrapped now, and as it is planned.

    Attributes
    ----------
    rests : tuple of Style
    wraps : tuple of Style
    plans : tuple of Style
        With several pull points.
    """

    rests: tuple[Style, ...] = ()
    wraps: tuple[Style, ...] = ()
    plans: tuple[Style, ...] = ()

    @property
    def styles(self) -> tuple[Style, ...]:
        return (Style(), *self.rests, *self.wraps, *self.plans)


def _asked(one: Followed, serving: Serving | None) -> Asked:
    if one.lies.rest != "grate":
        air = doings.rest_celsius(one.lies.rest, one.lies.celsius)
        return Asked(rests=(Style(wrap=one.lies.material, rest=one.lies.rest, rest_celsius=air, give=0.0),))
    view = one.view
    bare = one.lies.material == "none"
    plans = () if serving is None else _plans(one, serving)
    return Asked(
        rests=_rests(one, serving) if view.ready >= RESTS_FROM else (),
        wraps=(Style(wrap="paper"), Style(wrap="foil")) if bare and view.bark >= 1.0 else (),
        plans=plans,
    )


def _rests(one: Followed, serving: Serving | None) -> tuple[Style, ...]:
    """Return the places it could go to now; bare meat goes there under foil or in paper."""
    oven = doings.rest_celsius("oven", serving.celsius if serving and serving.rest == "oven" else None)
    wraps: tuple[Material, ...] = ("foil", "paper") if one.lies.material == "none" else (one.lies.material,)
    counter = [Style(wrap=wrap, rest="counter", rest_celsius=doings.ROOM_CELSIUS, give=0.0) for wrap in wraps]
    cooler = Style(wrap=wraps[0], rest="cooler", rest_celsius=doings.ROOM_CELSIUS, give=0.0)
    return (*counter, cooler, Style(wrap=wraps[0], rest="oven", rest_celsius=oven, give=0.0))


def _plans(one: Followed, serving: Serving) -> tuple[Style, ...]:
    """Return what it is planned for with several pull points, then with foil and in a hotter pit."""
    wrap = serving.wrap if one.lies.material == "none" else one.lies.material
    wanted = Style(wrap=wrap, rest=serving.rest, rest_celsius=doings.rest_celsius(serving.rest, serving.celsius))
    gives = hour.gives(one.piece, serving.rest)
    before = one.foreseen.planned if one.foreseen else None
    if before is not None and before.style.give in gives and before.style.rest == serving.rest:
        middle = gives.index(before.style.give)
        gives = gives[max(middle - NEAREST_GIVES, 0) : middle + NEAREST_GIVES + 1]
    return tuple(replace(wanted, give=give) for give in gives)


def _foreseen(one: Followed, name: str, now: Moment) -> Foreseen:
    serving = doings.serving(now.log, name) if now.time is not None else None
    asked = _asked(one, serving)
    target = now.log.target(now.seconds, now.setup)[0]
    fading = now.log.out_at() is not None
    habit = _habit(one, target, now)

    def gas(hours: float) -> float:
        if one.lies.celsius is not None:
            return one.lies.celsius
        if fading:
            return now.ambient + (one.pit - now.ambient) * math.exp(-hours)
        return target + habit + (one.pit - target - habit) * math.exp(-2.0 * hours)

    plans = asked.plans
    changes = (replace(plans[-1], wrap="foil"), replace(plans[-1], hotter=hour.HOTTER_KELVIN)) if plans else ()
    resting = one.lies.rest != "grate" or one.lies.material != "none"
    courses = ahead.compare(
        one.herd,
        one.piece,
        gas,
        (*asked.styles, *changes),
        hours=_hours(serving, now),
        now=place(one.lies.rest, one.lies.material) if resting else None,
        ambient=now.ambient,
    )
    stay = courses[0]
    rest, wrap, planned = _split(courses[1:], len(asked.rests), len(asked.wraps))
    on_grate = one.lies.rest == "grate"
    return Foreseen(
        minutes=MINUTES,
        quantiles=_quantiles(stay, one.off, one.width),
        ready=_at(now.seconds, stay.pulled if on_grate else _down(stay), one.width),
        barked=_at(now.seconds, stay.barked, one.width),
        rests=tuple(_rested(style, course, now.seconds) for style, course in zip(asked.rests, rest, strict=True)),
        wraps={
            style.wrap: 3600.0 * hour.likely_saved(stay, course)
            for style, course in zip(asked.wraps, wrap, strict=True)
        },
        planned=_plan(one, now, serving, plans, planned if plans else rest),
    )


def _plan(
    one: Followed, now: Moment, serving: Serving | None, styles: Sequence[Style], courses: Sequence[Course]
) -> Planned | None:
    if serving is None:
        return None
    return _planned(one, now, serving, styles, courses) if styles else _held(one, now, serving, courses[0])


def _habit(one: Followed, target: float, now: Moment) -> float:
    """Return how far beside its target the pit has stood for hours, and so most likely goes on standing. [K]"""
    turned = [deed.seconds for deed in now.log.deeds if isinstance(deed.entry, Target)]
    since = max([now.seconds - HABIT_SECONDS, *turned[-1:]])
    pits = one.heard[one.heard[:, 0] >= since, 1]
    pits = pits[np.isfinite(pits)]
    if len(pits) < HABIT_ROWS:
        return 0.0
    return float(np.clip(np.median(pits) - target, -MOST_HABIT, MOST_HABIT))


def _split(courses: Sequence[Course], rests: int, wraps: int) -> tuple[Sequence[Course], ...]:
    return courses[:rests], courses[rests : rests + wraps], courses[rests + wraps :]


def _hours(serving: Serving | None, now: Moment) -> float:
    """Return how far to look: beyond the hour people sit down, where that is told. [h]"""
    if serving is None or now.time is None:
        return LOOK_HOURS
    ahead_hours = (serving.serve - now.time).total_seconds() / 3600.0
    return min(max(LOOK_HOURS, ahead_hours + 2.0), FARTHEST_HOURS)


# --- what comes of it ----------------------------------------------------------------------------


def _quantiles(course: Course, off: float, width: float) -> tuple[tuple[float, ...], ...]:
    """Return the probe's 10, 50 and 90 % points at `MINUTES`; what it is off now fades."""
    hours = np.array(MINUTES) / 60.0
    rows = [int(np.argmin(np.abs(course.hours - hour))) for hour in hours]
    points = np.quantile(course.probed[rows], (0.1, 0.5, 0.9), axis=1)
    points = points[1] + width * (points - points[1]) + off * np.exp(-hours / OFF_HOURS)
    if np.all(np.diff(points[1]) >= 0.0):
        # what warms is no colder later, however much the doubt grows with the hours
        points[0] = np.maximum.accumulate(points[0])
    return tuple(tuple(round(float(value), 1) for value in points[:, row]) for row in range(len(rows)))


def _down(course: Course) -> Floats:
    """Return when the middle has come down to slicing temperature. [h]"""
    under = course.middle <= ahead.SLICING_CELSIUS
    first = np.argmax(under, axis=0)
    return np.where(under.any(axis=0), course.hours[first], np.nan)


def _at(seconds: float, times: Floats, width: float) -> Points | None:
    """Return three points of when it comes about, the outer ones as far off the middle as `width` makes them. [s]"""
    found = ahead.window(times)
    if found is None:
        return None
    low, middle, high = _widened(found, width)
    return seconds + 3600.0 * max(low, SOONEST_SHARE * middle), seconds + 3600.0 * middle, seconds + 3600.0 * high


def _widened(points: Points, width: float) -> Points:
    low, middle, high = points
    apart = math.hypot(STRUCTURE * middle, LEAST_HOURS)
    return middle - width * math.hypot(middle - low, apart), middle, middle + width * math.hypot(high - middle, apart)


def _rested(style: Style, course: Course, seconds: float) -> Rested:
    def instant(hours: float) -> float | None:
        return seconds + 3600.0 * hours if math.isfinite(hours) else None

    likely = float(np.median(np.where(np.isnan(course.sliced), np.inf, course.sliced)))
    early = float(np.quantile(np.where(np.isnan(course.cold), 1e6, course.cold), 0.1))
    return Rested(
        rest=style.rest,
        wrap=style.wrap,
        celsius=style.rest_celsius,
        peak=round(float(np.median(course.middle.max(axis=0))), 1),
        sliced=instant(likely),
        hot_until=instant(early if early < 1e5 else math.inf),
    )


def _planned(
    one: Followed, now: Moment, serving: Serving, styles: Sequence[Style], courses: Sequence[Course]
) -> Planned:
    assert now.time is not None  # nothing is planned without a clock
    lead = (serving.serve - now.time).total_seconds() / 3600.0
    best = min(range(len(styles)), key=lambda number: _away(courses[number], styles[number], lead))
    style, course, foil, hotter = styles[best], courses[best], courses[-2], courses[-1]
    pulled = _stretched(course.pulled, one.width)
    cold = course.cold + (pulled - course.pulled)
    ready = hour.or_far(pulled) + hour.SHORTEST_REST[style.rest]
    rows = hour.rows(course, course.pulled)
    low, middle, high = np.quantile(hour.pick(course.middle, rows), (0.1, 0.5, 0.9))

    def points(times: Floats) -> Points | None:
        return _at(now.seconds, times, one.width)

    return Planned(
        style=style,
        barked=points(course.barked),
        wrapped=points(course.wrapped) if style.wrap != "none" and one.lies.material == "none" else None,
        rendered=points(course.rendered),
        giving=points(hour.first(course, hour.GIVING)) if one.piece.cut.ends == "tender" else None,
        pulled=points(course.pulled),
        sliced=points(course.sliced) if one.piece.cut.ends == "tender" else None,
        chance=round(float(hour.chances(pulled, cold, style.rest, np.array([max(lead, 0.0)]))[0]), 2),
        late=3600.0 * (float(np.quantile(ready, serving.sure)) - lead),
        likely_late=3600.0 * (float(np.median(ready)) - lead),
        foil=3600.0 * hour.saved(courses[len(styles) - 1], foil) if one.lies.material != "foil" else 0.0,
        hotter=3600.0 * hour.saved(courses[len(styles) - 1], hotter),
        pull_celsius=(round(float(low), 1), round(float(middle), 1), round(float(high), 1)),
    )


def _held(one: Followed, now: Moment, serving: Serving, course: Course) -> Planned:
    """Return what becomes of a piece that rests already: whether it is rested and still hot at its hour."""
    assert now.time is not None  # nothing is planned without a clock
    lead = (serving.serve - now.time).total_seconds() / 3600.0
    off = [deed.seconds for deed in one.taken if isinstance(deed.entry, MeatOn) and not deed.entry.on]
    rested = ((off[-1] if off else now.seconds) - now.seconds) / 3600.0 + hour.SHORTEST_REST[one.lies.rest]
    hot = float((hour.or_far(course.cold) >= lead).mean())
    safe = one.clocks.safe_at is not None
    return Planned(
        style=Style(wrap=one.lies.material, rest=one.lies.rest, give=0.0),
        barked=None,
        wrapped=None,
        rendered=None,
        giving=None,
        pulled=None,
        sliced=_at(now.seconds, course.sliced, one.width) if safe and one.piece.cut.ends == "tender" else None,
        chance=round(hot, 2) if safe and rested <= lead else 0.0,
        late=3600.0 * (rested - lead),
        likely_late=3600.0 * (rested - lead),
        foil=0.0,
        hotter=0.0,
        pull_celsius=None,
    )


def _away(course: Course, style: Style, lead: float) -> tuple[float, float]:
    """Order pull points by how near to tender they bring the meat to the table; then the later, as the safer one.

    Too little and too much count alike, and a piece that is not pulled and rested by the hour counts as raw: so nothing is
    pulled early to be punctual where there is no time left to hold it.
    """
    rested = hour.or_far(course.pulled) + hour.SHORTEST_REST[style.rest] <= lead
    tender = hour.pick(course.tender, hour.rows(course, np.full(len(course.pulled), max(lead, 0.0))))
    off = np.where(rested, np.minimum(np.abs(tender - hour.AT_TABLE), hour.AT_TABLE), hour.AT_TABLE)
    return round(float(np.mean(off)), 2), -style.give


def _stretched(times: Floats, width: float) -> Floats:
    """Return the members' times as wide apart as `_at` tells them. [h]"""
    found = ahead.window(times)
    if found is None or not math.isfinite(found[2]):
        return times
    low, middle, high = _widened(found, width)
    sooner = (middle - low) / max(middle - found[0], 1e-3)
    later = (high - middle) / max(found[2] - middle, 1e-3)
    return np.maximum(middle + (times - middle) * np.where(times < middle, sooner, later), 0.0)
