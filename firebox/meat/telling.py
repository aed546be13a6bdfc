"""A followed piece as the record that is told of it."""

import math
from datetime import datetime, timedelta
from typing import Final, Literal

from msgspec.structs import replace

from firebox.estimate.probes import ProbeTrack
from firebox.meat import care, doings, safety, stages
from firebox.meat.follow import Followed, Moment
from firebox.meat.foreseen import Foreseen, Points, Rested
from firebox.records import Meat, Resting

NEAR_CELSIUS: Final = safety.CONSUMER_HOT_CELSIUS
"""Below that, resting meat is near the limit of hot holding: what USDA tells consumers is not met any more."""


def tell(one: Followed | None, track: ProbeTrack, now: Moment, time: datetime) -> Meat:
    """Return what is known of the meat on one probe.

    Parameters
    ----------
    one : Followed or None
        None: nothing was heard of it yet.
    track : ProbeTrack
        Its probe; one that is not trusted gives a record without a temperature.
    now : Moment
    time : datetime
        What the clock calls it.
    """
    celsius, drift = track.celsius, track.drift_per_hour
    point = next((probe.point_celsius for probe in now.setup.probes if probe.name == track.name), None)
    plain = Meat(
        time=time,
        probe=track.name,
        celsius=None if celsius is None else round(celsius, 2),
        drift_per_hour=None if drift is None else round(drift, 2),
        stage=None if celsius is None else stages.stage(celsius, drift, point),
    )
    if one is None:
        return replace(plain, cut=_same_piece(track.name, now))
    return _handled(_modelled(plain, one, now), one, now)


def _same_piece(name: str, now: Moment) -> str | None:
    """Return the cut that a second probe sits in; None for a probe that nothing was heard of yet."""
    return next((piece.cut for piece in now.setup.meats if piece.second == name), None)


def _instant(at: float | None, now: Moment, time: datetime) -> datetime | None:
    if at is None or not math.isfinite(at):
        return None
    return time + timedelta(seconds=round(max(at - now.seconds, 0.0)))


def _modelled(plain: Meat, one: Followed, now: Moment) -> Meat:
    """Return the record with what the model and the clocks say."""
    foreseen, time = one.foreseen, plain.time
    view = one.view
    resting = one.lies.rest != "grate"
    safe = one.clocks.safe_at is not None
    ready = _ready(foreseen) if foreseen else None
    feel_at = None if resting or ready is None else max(ready[0], now.seconds)
    said = safety.statements(one.clocks, now.seconds, poultry=one.piece.cut.poultry, resting=resting)
    stage = plain.stage
    if stage is not None:
        stage = stages.at_rest(view, one.piece, safe=safe) if resting else stages.felt(stage, view, one.answer)
        stage = stages.OUT if one.out[0] and (safe or not resting) else stage
    prompts = care.prompts(care.Case(one=one, drift=plain.drift_per_hour, seconds=now.seconds))
    hushed = doings.hushed(now.log, plain.probe)
    plain = _foretold(plain, foreseen, now)
    if resting and (not safe or stages.is_far_from_tender(view, one.piece)):
        plain = _not_for_slicing(plain)
    middle = view.middle if plain.celsius is None or one.out[0] else min(view.middle, plain.celsius)
    # the pit heats it from outside: there it is no colder than in the middle
    outside = view.outside if resting or one.pit < middle else max(view.outside, middle)
    return replace(
        plain,
        stage=stage,
        cut=one.piece.cut.name,
        middle_celsius=round(middle, 1),
        outside_celsius=round(outside, 1),
        bark=round(view.bark, 2),
        bark_at=plain.bark_at if view.bark < 1.0 else None,
        rendered=round(view.rendered, 2),
        tender=view.tender if one.piece.cut.ends == "tender" else None,
        weight_lost=round(view.weight_lost, 3),
        feel_at=_instant(feel_at, now, time),
        feel=one.piece.cut.feel,
        chance=None if resting else round(view.ready, 2),
        worth_feeling=not resting and stages.is_worth_feeling(view, one.answer),
        hints=tuple(text for name, text in prompts.items() if name not in hushed),
        care=tuple(name for name in prompts if name not in hushed),
        hushed=tuple(name for name in prompts if name in hushed),
        safety=tuple(f"{statement.text} [{statement.source}]" for statement in said),
        safety_urgent=any(statement.urgent for statement in said),
        unsafe=safety.unsafe(one.clocks, resting=resting),
    )


def _not_for_slicing(plain: Meat) -> Meat:
    """Return the record without an hour to slice at: the meat has to go back on the heat first."""
    rests = tuple(replace(rest, slice_at=None) for rest in plain.rests)
    return replace(plain, ready_from=None, ready=None, ready_until=None, rests=rests)


def _ready(foreseen: Foreseen) -> Points | None:
    """Return when it is ready: as planned, else as it lies."""
    planned = foreseen.planned
    return foreseen.ready if planned is None or planned.pulled is None else planned.pulled


def _foretold(plain: Meat, foreseen: Foreseen | None, now: Moment) -> Meat:
    """Return the record with what was foreseen of it."""
    if foreseen is None:
        return plain
    planned, time = foreseen.planned, plain.time
    ready = _ready(foreseen)
    low, _, high = planned.pull_celsius if planned and planned.pull_celsius else (None, None, None)
    return replace(
        plain,
        minutes=foreseen.minutes,
        p10=tuple(row[0] for row in foreseen.quantiles),
        p50=tuple(row[1] for row in foreseen.quantiles),
        p90=tuple(row[2] for row in foreseen.quantiles),
        ready_from=_instant(ready[0], now, time) if ready else None,
        ready=_instant(ready[1], now, time) if ready else None,
        ready_until=_instant(ready[2], now, time) if ready else None,
        bark_at=_instant(foreseen.barked[1], now, time) if foreseen.barked else None,
        pull_low=low,
        pull_high=high,
        pull=None if planned is None else pull_words(planned.style.give, planned.style.rest),
        rests=tuple(_resting(rest, now, time) for rest in foreseen.rests),
    )


def pull_words(give: float, rest: str) -> str:
    """Return when to pull, for the rest that is planned.

    Examples
    --------
    >>> pull_words(1.0, "counter")
    'pull it when it gives: the rest is short'
    """
    if give < 1.0:
        return "pull it while it still holds on a little: the long hot hold does the rest"
    return "pull it when it gives: the rest is short" if rest == "counter" else "pull it when it gives"


def _resting(rest: Rested, now: Moment, time: datetime) -> Resting:
    return Resting(
        rest=rest.rest,
        wrap=rest.wrap,
        celsius=rest.celsius,
        peak_celsius=rest.peak,
        slice_at=_instant(rest.sliced, now, time),
        hot_until=_instant(rest.hot_until, now, time),
    )


def _handled(plain: Meat, one: Followed, now: Moment) -> Meat:
    """Return the record with where it lies, what the cook's hand and scales said, and how warm it is held."""
    resting = one.lies.rest != "grate"
    return replace(
        plain,
        where=one.lies.rest,
        wrapped=one.lies.material,
        felt=one.answer,
        kg_in=doings.weighed(now.log, plain.probe, "in"),
        kg_out=doings.weighed(now.log, plain.probe, "out"),
        hold=_hold(plain.celsius, one) if resting and _is_held(one) else None,
        hot_until=plain.rests[0].hot_until if resting and plain.rests and _is_held(one) else None,
    )


def _is_held(one: Followed) -> bool:
    """Tell whether it is cooked meat whose warmth is known: only that is held hot."""
    return one.clocks.safe_at is not None and not one.out[0] and not one.clocks.unseen


def _hold(celsius: float | None, one: Followed) -> Literal["hot", "near", "cool"] | None:
    if celsius is None or one.clocks.cold is not None:
        return None
    if celsius >= NEAR_CELSIUS:
        return "hot"
    return "near" if celsius >= safety.HOT_CELSIUS else "cool"
