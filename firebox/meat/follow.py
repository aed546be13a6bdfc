"""One piece of meat, followed through its cook: the herd that stands for it, its clocks, and what was foreseen of it.

`keep` moves all pieces on with the grid; it does the work of a step once a minute, listens to the probe each five.
`look` foresees, one piece a call; `tell` puts it into a record. Entries dated back count from now on: what lies
before is not cooked again.
"""

import math
from datetime import datetime, timedelta
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from firebox.cooklog import CookLog
from firebox.estimate.probes import ProbeTrack
from firebox.meat import ahead, belief, cuts, safety, stages
from firebox.meat import herd as herds
from firebox.meat.ahead import Course, Style
from firebox.meat.cuts import Piece
from firebox.meat.herd import Herd
from firebox.meat.places import Material, Rest, place
from firebox.meat.safety import Clocks
from firebox.records import Feel, Meat, MeatOn, Spritz, Wrap
from firebox.setup import Role, Setup

EVERY: Final = 60.0
"""Logical seconds between two steps of the herd: a tenth of the time constant of a cell."""

LISTEN_EVERY: Final = 300.0
"""Logical seconds between two readings taken in: closer ones say the same again."""

LOOK_EVERY: Final = 900.0
"""Logical seconds after which the hours to come are foreseen anew: the nearest of them is an hour away."""

LOOK_HOURS: Final = 18.0

LONG_STEP: Final = 300.0
"""Longest step of the herd over a gap. [s]"""

MOST_STEPS: Final = 120
"""Steps of that length over a gap; the herd is ten hours older after it at the most."""

PIT_REMEMBERED: Final = 1800.0
"""s; so long the last pit temperature stands when no grate probe is trusted, then the target."""

AMBIENT_CELSIUS: Final = 15.0
ROOM_CELSIUS: Final = 20.0

MINUTES: Final = (60, 120, 240, 360, 480)

FRESH_CELSIUS: Final = 35.0
"""Meat that is warmer when it is first heard of has been cooking already, for nobody knows how long."""

WAGER_EVERY: Final = 1800.0
"""Logical seconds between two bands that are kept to be judged: closer ones come true or false together."""

WAGER_MINUTES: Final = 120

WAGER_STEP: Final = 0.25
"""By so much a miss widens the bands, and a fifth of that narrows each that held, so that in the long run 8 of 10 hold: adaptive
conformal inference (Gibbs & Candes, 2021), on the logarithm of the width."""

NARROWEST: Final = 0.8
WIDEST: Final = 4.0

STRUCTURE: Final = 0.2
"""Share of the time still to go by which the model may be off, whatever its knobs: it is one-dimensional, and dries in one way
of several. Project's choice; the windows are held against meat of another kind in the benchmarks."""

OFF_HOURS: Final = 3.0
"""In so long the difference between probe and model shrinks to a third: the inside of a cut forgets as fast."""

SPRITZ_KG: Final = 0.06
"""Water that stays on a square metre. [kg/m2] Order of magnitude, no source."""


class Foreseen(Struct, frozen=True, kw_only=True):
    """The hours to come of one piece, in logical seconds; inf beyond the look-ahead.

    Attributes
    ----------
    minutes : tuple of int
    quantiles : tuple of tuple of float
        The probe's 10, 50 and 90 % points at each of `minutes`. [degC]
    ready : tuple of float or None
        10, 50 and 90 % points of when it is ready, or while it rests, when it can be sliced. [s]
    barked : tuple of float or None
        Of when its bark is set. [s]
    """

    minutes: tuple[int, ...]
    quantiles: tuple[tuple[float, ...], ...]
    ready: tuple[float, float, float] | None
    barked: tuple[float, float, float] | None


class Lies(Struct, frozen=True):
    """Where a piece lies: on the grate or where it rests, in air of `celsius` (None: the pit's), wrapped in what."""

    rest: Rest
    material: Material
    celsius: float | None


class Wager(Struct, frozen=True):
    """A band that was told for an instant: its 10 and 90 % points, and where the meat then lay."""

    due: float
    low: float
    high: float
    lies: Lies


class Followed(Struct, frozen=True, kw_only=True):
    """One piece of meat as the watch knows it. A value, replaced by `keep` and `look`.

    Attributes
    ----------
    piece : Piece
    herd : Herd
    begun, stepped, listened, looked : float
        When it was first heard of; when the herd was last moved on, heard its probe, and looked ahead. [s]
    lies : Lies
    pit : float
        Temperature of the pit at the last step. [degC]
    pit_at : float
        When it was last measured. [s]
    clocks : Clocks
    off : float
        By how much the probe read more than the herd's middle member at the last listening. [K]
    felt : int
        Answers of the cook's hand taken in so far.
    answer : str or None
        The newest of them.
    wagers : tuple of Wager
        Bands told for later, that the probe will judge.
    width : float
        By how much wider than the herd's own the bands have to be, as judged so far. [-]
    foreseen : Foreseen or None
    foreseen_for : tuple
        Where it lay and what had been felt when that was made.
    """

    piece: Piece
    herd: Herd
    begun: float
    stepped: float
    listened: float = -1e9
    looked: float = -1e9
    lies: Lies = Lies("grate", "none", None)
    pit: float = AMBIENT_CELSIUS
    pit_at: float = -1e9
    clocks: Clocks = Clocks()
    off: float = 0.0
    felt: int = 0
    answer: str | None = None
    wagers: tuple[Wager, ...] = ()
    width: float = 1.0
    foreseen: Foreseen | None = None
    foreseen_for: tuple[Lies, int] | None = None


# --- moving on -----------------------------------------------------------------------------------


class Moment(Struct, frozen=True, kw_only=True):
    """An instant as all pieces share it: logical seconds, what the cook did, what the owner told, and the air.

    `pit` is None where no grate probe is trusted; `ambient` is the air outside. [degC]
    """

    seconds: float
    log: CookLog
    setup: Setup
    pit: float | None = None
    ambient: float = AMBIENT_CELSIUS


def moment(seconds: float, tracks: dict[str, ProbeTrack], lead: str | None, log: CookLog, setup: Setup) -> Moment:
    """Return the instant; `lead` names the probe that stands for the pit."""
    pit = tracks.get(lead) if lead is not None else None
    air = [track.celsius for _, track in sorted(tracks.items()) if track.role is Role.AMBIENT]
    ambient = next((celsius for celsius in air if celsius is not None), AMBIENT_CELSIUS)
    return Moment(seconds=seconds, log=log, setup=setup, pit=pit.celsius if pit else None, ambient=ambient)


def keep(followed: dict[str, Followed], now: Moment, tracks: dict[str, ProbeTrack]) -> dict[str, Followed]:
    """Return all pieces of meat, by the name of their probe, moved on to now."""
    changed: dict[str, Followed] = {}
    for name, track in sorted(tracks.items()):
        if track.role is not Role.MEAT:
            continue
        before = followed.get(name)
        one = _begun(before, name, track, now)
        if one is not None and now.seconds - one.stepped >= EVERY:
            one = _moved(one, name, track, now)
        if one is not None and one is not before:
            changed[name] = one
    return {**followed, **changed} if changed else followed


def _begun(one: Followed | None, name: str, track: ProbeTrack, now: Moment) -> Followed | None:
    """Return a piece as it was, or a new one where meat has gone on or is heard of for the first time."""
    on_at = max(
        (
            deed.seconds
            for deed in now.log.deeds
            if isinstance(deed.entry, MeatOn) and deed.entry.on and _about(deed.entry, name)
        ),
        default=-1.0,
    )
    if (one is not None and on_at <= one.begun) or track.celsius is None:
        return one
    hot = track.celsius > FRESH_CELSIUS
    if one is not None and hot:
        return one  # the same piece, back on the grate
    # a piece that has been cooking is warmer outside than where the probe sits; how much is not known
    herd = herds.begin(track.celsius + 4.0 * hot, seed=_seed(name), spread=5.0 if hot else 1.5)
    return Followed(
        piece=piece_of(name, now.setup),
        herd=replace(herd, wall=AMBIENT_CELSIUS),
        begun=now.seconds,
        stepped=now.seconds,
        clocks=Clocks(lowest=track.celsius, came_up=track.celsius >= safety.GROWTH_CELSIUS[1]),
        felt=len(_answers(name, now)),
    )


def _seed(name: str) -> int:
    return sum((place + 1) * code for place, code in enumerate(name.encode())) + 1


def piece_of(name: str, setup: Setup) -> Piece:
    """Return the piece of meat on a probe, as the owner told it; an unnamed cut where nothing is told."""
    for told in setup.meats:
        if told.probe == name:
            thickness = None if told.thickness_mm is None else told.thickness_mm / 1000.0
            known = cuts.known(setup.cuts)
            return cuts.piece(known.get(told.cut, known[cuts.UNNAMED]), told.kg, thickness)
    return cuts.piece(cuts.CUTS[cuts.UNNAMED])


def _about(entry: MeatOn | Wrap | Spritz | Feel, name: str) -> bool:
    return entry.probe in (None, name)


def _answers(name: str, now: Moment) -> list[str]:
    """Return what the cook's hand said of a piece so far."""
    return [
        deed.entry.answer
        for deed in now.log.deeds
        if isinstance(deed.entry, Feel) and deed.seconds <= now.seconds and _about(deed.entry, name)
    ]


def _lies(name: str, begun: float, now: Moment) -> Lies:
    lies = Lies("grate", "none", None)
    for deed in now.log.deeds:
        entry = deed.entry
        if not begun <= deed.seconds <= now.seconds:
            continue
        if isinstance(entry, Wrap) and _about(entry, name):
            lies = Lies(lies.rest, entry.material, lies.celsius)
        elif isinstance(entry, MeatOn) and _about(entry, name):
            rest: Rest = "grate" if entry.on else entry.rest or "counter"
            air = ROOM_CELSIUS if entry.celsius is None else entry.celsius
            lies = Lies(rest, lies.material, None if entry.on else air)
    return lies


def _moved(one: Followed, name: str, track: ProbeTrack, now: Moment) -> Followed:
    """Return a piece moved on to now: cooked, its probe listened to, the cook's hand taken in."""
    seconds = now.seconds
    if now.pit is not None:
        one = replace(one, pit=now.pit, pit_at=seconds)
    elif seconds - one.pit_at > PIT_REMEMBERED:
        one = replace(one, pit=now.log.target(seconds, now.setup)[0])
    one = replace(one, lies=_lies(name, one.begun, now), piece=piece_of(name, now.setup))
    one = replace(one, herd=_spritzed(one, name, now))
    herd = _cooked(one, now)
    if track.celsius is not None and seconds - one.listened >= LISTEN_EVERY:
        seen = herds.probed(herd, herds.figures(herd, one.piece))
        herd = belief.hear(herd, seen, track.celsius, track.noise, every=LISTEN_EVERY)
        off = track.celsius - float(np.median(seen))
        one = replace(one, listened=seconds, off=off)
    answers = _answers(name, now)
    for answer in answers[one.felt :]:
        herd = belief.feel(herd, herds.figures(herd, one.piece), answer)
    one = _judged(one, track.celsius, seconds)
    clocks = safety.tick(one.clocks, seconds, seconds - one.stepped, track.celsius, poultry=one.piece.cut.poultry)
    newest = answers[-1] if len(answers) > one.felt else one.answer
    return replace(one, herd=herd, stepped=seconds, clocks=clocks, felt=len(answers), answer=newest)


def _judged(one: Followed, celsius: float | None, seconds: float) -> Followed:
    """Return a piece whose bands are as wide as the wagers that fell due make them."""
    due = [wager for wager in one.wagers if wager.due <= seconds]
    if not due:
        return one
    width = one.width
    for wager in due:
        if celsius is not None and wager.lies == one.lies:
            missed = not wager.low <= celsius <= wager.high
            width *= math.exp(WAGER_STEP * (missed - 0.2))
    left = tuple(wager for wager in one.wagers if wager.due > seconds)
    return replace(one, wagers=left, width=min(max(width, NARROWEST), WIDEST))


def _spritzed(one: Followed, name: str, now: Moment) -> Herd:
    fresh = sum(
        isinstance(deed.entry, Spritz) and one.stepped < deed.seconds <= now.seconds and _about(deed.entry, name)
        for deed in now.log.deeds
    )
    if not fresh:
        return one.herd
    wetted = fresh * SPRITZ_KG / herds.figures(one.herd, one.piece).held
    return replace(one.herd, crust=np.maximum(one.herd.crust - wetted, 0.0))


def _cooked(one: Followed, now: Moment) -> Herd:
    """Return the herd moved on to now, in steps; over a gap it is as if the pit had stood as it stands."""
    herd, made = one.herd, herds.figures(one.herd, one.piece)
    air = one.pit if one.lies.celsius is None else one.lies.celsius
    where = place(one.lies.rest, one.lies.material)
    lasted = min(now.seconds - one.stepped, LONG_STEP * MOST_STEPS)
    steps = math.ceil(lasted / LONG_STEP)
    for _ in range(steps):
        herd = herds.warm_walls(herd, one.pit, lasted / steps, ambient=now.ambient)
        herd = herds.step(herd, made, herds.surroundings(herd, made, where, air), lasted / steps)
    return herd


# --- looking ahead -------------------------------------------------------------------------------


def look(followed: dict[str, Followed], now: Moment) -> dict[str, Followed]:
    """Return all pieces; the one whose outlook is due for longest has a new one."""
    due = [
        (one.looked, name)
        for name, one in followed.items()
        if now.seconds - one.looked >= LOOK_EVERY or one.foreseen_for != (one.lies, one.felt)
    ]
    if not due:
        return followed
    name = min(due)[1]
    one = followed[name]
    foreseen = _foreseen(one, now)
    told = replace(one, looked=now.seconds, foreseen=foreseen, foreseen_for=(one.lies, one.felt))
    judged_at = now.seconds + 60.0 * WAGER_MINUTES
    if not one.wagers or judged_at - one.wagers[-1].due >= WAGER_EVERY:
        low, _, high = foreseen.quantiles[MINUTES.index(WAGER_MINUTES)]
        told = replace(told, wagers=(*one.wagers, Wager(judged_at, low, high, one.lies)))
    return {**followed, name: told}


def _foreseen(one: Followed, now: Moment) -> Foreseen:
    target = now.log.target(now.seconds, now.setup)[0]
    fading = now.log.out_at() is not None

    def gas(hours: float) -> float:
        if one.lies.celsius is not None:
            return one.lies.celsius
        if fading:
            return now.ambient + (one.pit - now.ambient) * math.exp(-hours)
        return target + (one.pit - target) * math.exp(-2.0 * hours)

    where = place(one.lies.rest, one.lies.material)
    course = ahead.cook_on(one.herd, one.piece, gas, Style(), hours=LOOK_HOURS, now=where, ambient=now.ambient)
    return Foreseen(
        minutes=MINUTES,
        quantiles=_quantiles(course, one.off, one.width),
        ready=_at(now.seconds, course.pulled if one.lies.rest == "grate" else _down(course), one.width),
        barked=_at(now.seconds, course.barked, one.width),
    )


def _quantiles(course: Course, off: float, width: float) -> tuple[tuple[float, ...], ...]:
    """Return the probe's 10, 50 and 90 % points at `MINUTES`; what it is off now fades."""
    hours = np.array(MINUTES) / 60.0
    rows = [int(np.argmin(np.abs(course.hours - hour))) for hour in hours]
    points = np.quantile(course.probed[rows], (0.1, 0.5, 0.9), axis=1)
    points = points[1] + width * (points - points[1]) + off * np.exp(-hours / OFF_HOURS)
    return tuple(tuple(round(float(value), 1) for value in points[:, row]) for row in range(len(rows)))


def _down(course: Course) -> NDArray[np.float64]:
    """Return when the middle has come down to slicing temperature. [h]"""
    under = course.middle <= ahead.SLICING_CELSIUS
    first = np.argmax(under, axis=0)
    return np.where(under.any(axis=0), course.hours[first], np.nan)


def _at(seconds: float, times: NDArray[np.float64], width: float) -> tuple[float, float, float] | None:
    """Return three points of when it comes about, the outer ones as far off the middle as `width` makes them. [s]"""
    found = ahead.window(times)
    if found is None:
        return None
    low, middle, high = found
    apart = STRUCTURE * middle
    low = middle - width * math.hypot(middle - low, apart)
    high = middle + width * math.hypot(high - middle, apart)
    return seconds + 3600.0 * max(low, 0.0), seconds + 3600.0 * middle, seconds + 3600.0 * high


# --- telling -------------------------------------------------------------------------------------


def tell(one: Followed | None, track: ProbeTrack, seconds: float, time: datetime, setup: Setup) -> Meat:
    """Return what is known of the meat on one probe.

    Parameters
    ----------
    one : Followed or None
        None: nothing was heard of it yet.
    track : ProbeTrack
        Its probe; one that is not trusted gives a record without a temperature.
    seconds, time : float, datetime
        Now.
    setup : Setup
        Where the cook's own point for this probe stands, if there is one.
    """
    celsius, drift = track.celsius, track.drift_per_hour
    point = next((probe.point_celsius for probe in setup.probes if probe.name == track.name), None)
    plain = Meat(
        time=time,
        probe=track.name,
        celsius=None if celsius is None else round(celsius, 2),
        drift_per_hour=None if drift is None else round(drift, 2),
        stage=None if celsius is None else stages.stage(celsius, drift, point),
    )
    return plain if one is None else _modelled(plain, one, seconds, time)


def _modelled(plain: Meat, one: Followed, seconds: float, time: datetime) -> Meat:
    herd, made = one.herd, herds.figures(one.herd, one.piece)
    view = stages.view(herd, made, one.piece)
    resting = one.lies.rest != "grate"
    foreseen = one.foreseen
    ready = foreseen.ready if foreseen else None
    said = safety.statements(one.clocks, seconds, poultry=one.piece.cut.poultry)
    feel_at = None if resting or ready is None else max(ready[0], seconds)

    def instant(at: float | None) -> datetime | None:
        if at is None or not math.isfinite(at):
            return None
        return time + timedelta(seconds=round(max(at - seconds, 0.0)))

    stage = plain.stage
    if stage is not None:
        stage = "resting" if resting else stages.felt(stage, view, one.answer)
    return replace(
        plain,
        stage=stage,
        cut=one.piece.cut.name,
        middle_celsius=round(view.middle, 1),
        outside_celsius=round(view.outside, 1),
        bark=round(view.bark, 2),
        bark_at=instant(foreseen.barked[1]) if foreseen and foreseen.barked and view.bark < 1.0 else None,
        rendered=round(view.rendered, 2),
        tender=view.tender if one.piece.cut.ends == "tender" else None,
        weight_lost=round(view.weight_lost, 3),
        minutes=foreseen.minutes if foreseen else (),
        p10=tuple(row[0] for row in foreseen.quantiles) if foreseen else (),
        p50=tuple(row[1] for row in foreseen.quantiles) if foreseen else (),
        p90=tuple(row[2] for row in foreseen.quantiles) if foreseen else (),
        ready_from=instant(ready[0]) if ready else None,
        ready=instant(ready[1]) if ready else None,
        ready_until=instant(ready[2]) if ready else None,
        feel_at=instant(feel_at),
        feel=one.piece.cut.feel,
        hints=() if resting else stages.hints(view, one.lies.material, plain.drift_per_hour, one.piece),
        safety=tuple(f"{statement.text} [{statement.source}]" for statement in said),
        safety_urgent=any(statement.urgent for statement in said),
    )
