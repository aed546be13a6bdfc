"""The probes: readings in, temperatures that can be trusted out, and a plain word where they cannot.

`hear` takes each reading and does little; `settle` runs every ten seconds, filters what was heard and judges health.
A probe that is not good has no temperature: `celsius` is None.
"""

import math
from itertools import pairwise
from statistics import median
from typing import Final

from msgspec.structs import replace

from firebox.cooklog import CookLog
from firebox.estimate import trust
from firebox.estimate.lagfilter import Belief, correct, loosen, predict, start, surprise
from firebox.estimate.track import UNKNOWN_NOISE, WANDER, ProbeTrack, Still
from firebox.records import Health, Status
from firebox.setup import Role, Setup

__all__ = ["ProbeTrack", "describe", "hear", "lead", "settle"]

PERSIST_SECONDS: Final = 4.0
"""A fault has to last this long before it counts (as quoted of NAMUR NE 43). [s]"""

LONE_FAULT_SECONDS: Final = 15.0
"""A slow probe's single bad reading counts when no good one has followed for so long. [s] Half of the 30 s within
which an open probe should be known."""

GATE: Final = 15.14
"""Chi-square, one degree of freedom, exceeded by one honest reading in 10 000 (any statistical table)."""

LEAP: Final = 13.0
"""A chamber's gas may fall by some 60 K when a door opens; a sheath with a time constant of 40 s shows 22 % of that
within 10 s. [K]"""

STEP_COUNT: Final = 3
"""So many refused readings that agree with each other are a genuine step: a spike does not repeat itself."""

KEPT: Final = 3
"""Settled readings kept for the next look: two give the noise its curvature, three a robust newest value."""

COARSEST: Final = 2.5
"""A larger change is none of the resolution. [K] The coarsest probes in use tell whole degrees, of whichever scale; a
spike may well be the first change that a probe in a cold pit shows."""

MOST_HEARD: Final = 256
"""Readings kept between two settlings, a guard against a source gone wild."""

TRAIL_EVERY: Final = 30.0
TRAIL_LENGTH: Final = 32
"""The trail has a point each half minute and reaches back a quarter of an hour."""

NOISE_SECONDS: Final = 1200.0
"""Memory of the noise estimate: long beside a split, short beside a night. [s]"""

FORGET_SECONDS: Final = 300.0
"""After a silence longer than this the filter starts anew: the fire may have done anything meanwhile. [s]"""

PROVEN_SECONDS: Final = 300.0
"""A probe that is back leads again after this. [s] As long as two probes may differ before one of them is doubted."""

STILL_SECONDS: Final = 60.0
"""A probe that stands still longer than this no longer teaches what its noise is. [s]"""

_FAULTS: Final = {Status.OPEN: Health.OPEN, Status.SHORTED: Health.SHORTED, Status.FAILED: Health.FAILED}
DOWN: Final = frozenset(_FAULTS.values())


# --- one reading ---------------------------------------------------------------------------------


def hear(track: ProbeTrack, seconds: float, celsius: float | None, status: Status) -> ProbeTrack:
    """Return the track after one reading; cheap, since all filtering waits for `settle`.

    Parameters
    ----------
    track : ProbeTrack
    seconds : float
        Logical time of the reading. [s]
    celsius : float or None
        The reading [degC]; None unless `status` is good.
    status : Status
        What the source says of the reading. A fault counts once it has lasted.
    """
    if status is not Status.GOOD or celsius is None or not math.isfinite(celsius):
        return _hear_fault(track, seconds, _FAULTS.get(status, Health.FAILED))
    heard = (*track.heard, (seconds, celsius))
    if len(heard) > MOST_HEARD:
        heard = heard[-MOST_HEARD:]
    if track.health in DOWN:
        return _hear_recovering(track, seconds, celsius, heard)
    if track.health is Health.WAITING or track.health is Health.SILENT:
        return _welcome(track, seconds, celsius)
    return replace(
        track,
        heard=heard,
        fresh=min(track.fresh + 1, MOST_HEARD),
        last_heard=seconds,
        last_celsius=celsius,
        fault=None,
        fault_count=0,
    )


def _hear_fault(track: ProbeTrack, seconds: float, fault: Health) -> ProbeTrack:
    first = track.fault is not fault
    track = replace(
        track,
        last_heard=seconds,
        fault=fault,
        fault_since=seconds if first else track.fault_since,
        fault_count=1 if first else track.fault_count + 1,
        good_since=None,
        good_count=0,
    )
    return _confirm_fault(track, seconds)


def _confirm_fault(track: ProbeTrack, seconds: float) -> ProbeTrack:
    """Return the track with its fault as its health where that has lasted long enough."""
    if track.fault is None or track.health is track.fault:
        return track
    lasted = seconds - track.fault_since
    if (track.fault_count >= 2 and lasted >= PERSIST_SECONDS) or lasted >= LONE_FAULT_SECONDS:
        return trust.become(replace(track, **_FORGOTTEN), track.fault, seconds)
    return track


_FORGOTTEN: Final = {
    "belief": None, "heard": (), "fresh": 0, "doubted": (), "still": None, "suspect": None, "trail": (),
    "ordered": None,
}  # fmt: skip
"""Fields as they stand when nothing earlier may bear on what comes."""


def _hear_recovering(
    track: ProbeTrack, seconds: float, celsius: float, heard: tuple[tuple[float, float], ...]
) -> ProbeTrack:
    """Return a faulty probe's track after a good reading: it is welcome once the good has lasted like a fault."""
    since = seconds if track.good_since is None else track.good_since
    count = track.good_count + 1
    if count >= 2 and seconds - since >= PERSIST_SECONDS:
        return _welcome(track, seconds, celsius)
    return replace(
        track, heard=heard[-KEPT:], last_heard=seconds, last_celsius=celsius, good_since=since, good_count=count
    )


def _welcome(track: ProbeTrack, seconds: float, celsius: float) -> ProbeTrack:
    """Return the track of a probe that is heard for the first time, or again: it starts from what it says now."""
    if track.last_heard is not None:
        pause = ((track.last_heard, celsius), (seconds, celsius))
        track = replace(track, interval=_learn_interval(track.interval, pause))
    forget = track.last_heard is None or track.belief is None or seconds - track.last_heard > FORGET_SECONDS
    if forget:
        track = replace(track, **_FORGOTTEN)
    return replace(
        trust.become(track, Health.GOOD, seconds),
        celsius=celsius,
        heard=(*track.heard, (seconds, celsius)),
        fresh=1,
        last_heard=seconds,
        last_celsius=celsius,
        still=None,
        fault=None,
        fault_count=0,
        good_since=None,
        good_count=0,
    )


# --- every ten seconds ---------------------------------------------------------------------------


def settle(
    tracks: dict[str, ProbeTrack], seconds: float, log: CookLog, setup: Setup
) -> tuple[dict[str, ProbeTrack], dict[str, float]]:
    """Return the tracks with health judged anew, and the cell: what each trusted probe read of late.

    Parameters
    ----------
    tracks : dict of str to ProbeTrack
    seconds : float
        The grid step that closes the cell. [s]
    log : CookLog
        The cook's doings: an open door excuses much.
    setup : Setup
        The probes' roles and order.

    Returns
    -------
    dict of str to ProbeTrack
    dict of str to float
        Probe -> median of its readings since the last call, raw (the lag is in them); trusted probes only. [degC]
    """
    settled: dict[str, ProbeTrack] = {}
    cells: dict[str, float] = {}
    for name, track in tracks.items():
        settled[name], cell = _absorb(_confirm_fault(track, seconds), seconds)
        if cell is not None:
            cells[name] = cell
    settled = trust.judge(settled, seconds, log, lead(settled, setup))
    return settled, {name: cell for name, cell in cells.items() if settled[name].health is Health.GOOD}


def lead(tracks: dict[str, ProbeTrack], setup: Setup) -> str | None:
    """Return the name of the probe that stands for the pit: the first trusted one at the grate, or None.

    In the order of the configuration, then by name. One that was not trusted of late comes after those that were: a
    flickering plug must not move the pit to and fro between two places.
    """
    order = {probe.name: place for place, probe in enumerate(setup.probes)}
    trusted = [track for track in tracks.values() if track.role is Role.GRATE and track.health is Health.GOOD]
    now = max((track.last_heard or 0.0 for track in trusted), default=0.0)

    def rank(track: ProbeTrack) -> tuple[bool, int, str]:
        fresh = track.welcomed is not None and now - track.welcomed < PROVEN_SECONDS
        return fresh, order.get(track.name, len(order)), track.name

    first = min(trusted, key=rank, default=None)
    return None if first is None else first.name


def _absorb(track: ProbeTrack, seconds: float) -> tuple[ProbeTrack, float | None]:
    """Return the track with its fresh readings taken in, and their median; None where they are not believed yet."""
    if not track.fresh or track.health in DOWN:
        return track, None
    fresh = track.heard[-track.fresh :]
    cell = median(value for _, value in fresh)
    at = fresh[len(fresh) // 2][0]
    learned = _learn_ways(track, fresh)
    belief, doubted, stepped = _filter(learned, fresh, at, cell)
    if stepped and track.role is Role.MEAT:
        learned = replace(learned, variance=None, variance_weight=0.0)  # moved: meat is quieter than air
    trail = learned.trail
    if not doubted and (not trail or seconds - trail[-1][0] >= TRAIL_EVERY):
        trail = (*trail[1 - TRAIL_LENGTH :], (seconds, cell))
    known = learned.health is Health.GOOD
    return (
        replace(
            learned,
            belief=belief,
            doubted=doubted,
            trail=trail,
            heard=track.heard[-KEPT:],
            fresh=0,
            celsius=belief.value + belief.slope * max(0.0, fresh[-1][0] - belief.seconds) if known else None,
            drift_per_hour=_drift(belief, track.role) if known else None,
            noise=_noise(learned),
        ),
        cell if not doubted or _could_be(track, cell) else None,
    )


def _could_be(track: ProbeTrack, cell: float) -> bool:
    """Tell whether a reading that surprises the filter may yet be the fire's doing: a door, a split that catches.

    The estimate weighs surprises for itself, and these are the readings from which it learns most; only what no fire
    could show so soon is kept from it until more readings say the same.
    """
    return bool(track.trail) and track.role is not Role.MEAT and abs(cell - track.trail[-1][1]) <= LEAP


def _drift(belief: Belief, role: Role) -> float | None:
    """Return the slope in K/h once the readings say more of it than was known before any came."""
    return belief.slope * 3600.0 if belief.cov[3] < 0.5 * WANDER[role].slope * 600.0 else None


# --- the usual ways of a probe -------------------------------------------------------------------


def _learn_ways(track: ProbeTrack, fresh: tuple[tuple[float, float], ...]) -> ProbeTrack:
    """Return the track with its interval, resolution, noise and standstill brought up to date."""
    before = track.heard[: -track.fresh]
    run = (*before, *fresh)
    still = _stand_still(track.still, fresh, track.step or 0.0)
    variance, weight = track.variance, track.variance_weight
    if fresh[-1][0] - still.since < STILL_SECONDS:
        variance, weight = _learn_noise(track, run)
    return replace(
        track,
        interval=_learn_interval(track.interval, (*before[-1:], *fresh)),
        step=_smallest_change(track.step, (*before[-1:], *fresh)),
        still=still,
        variance=variance,
        variance_weight=weight,
    )


def _learn_interval(interval: float | None, run: tuple[tuple[float, float], ...]) -> float | None:
    """Return the usual time between readings; a hole in the readings hardly counts."""
    if len(run) < 2:
        return interval
    new = (run[-1][0] - run[0][0]) / (len(run) - 1)
    if interval is None:
        return new
    return interval + 0.2 * (min(new, 3.0 * interval + 1.0) - interval)


def _smallest_change(step: float | None, run: tuple[tuple[float, float], ...]) -> float | None:
    """Return the smallest change between two readings so far; rounding in the last binary digits is none."""
    for (_, one), (_, other) in pairwise(run):
        change = abs(other - one)
        if 1e-6 < change < COARSEST and (step is None or change < step):
            step = change
    return step


def _learn_noise(track: ProbeTrack, run: tuple[tuple[float, float], ...]) -> tuple[float | None, float]:
    """Return (variance, readings it rests on) from how far each reading lies off the line between its neighbours.

    With weights w and 1 - w on the neighbours, that distance has 1 + w^2 + (1 - w)^2 times the variance of one
    reading, whatever the slope. A distance beyond three standard deviations counts as three: spikes teach little.
    """
    variance, weight = track.variance, track.variance_weight
    for place in range(len(run) - 3, -1, -2):
        (t0, z0), (t1, z1), (t2, z2) = run[place : place + 3]
        if t2 <= t0:
            continue
        w = (t2 - t1) / (t2 - t0)
        off = z1 - w * z0 - (1.0 - w) * z2
        square = off * off / (1.0 + w * w + (1.0 - w) * (1.0 - w))
        square = min(square, 9.0 * max(variance or 0.0, UNKNOWN_NOISE**2 / 4.0))
        if variance is None:
            variance, weight = square, 1.0
            continue
        weight = min(weight + 1.0, max(20.0, NOISE_SECONDS / (t2 - t0)))
        variance += (square - variance) / weight
    return variance, weight


def _noise(track: ProbeTrack) -> float:
    """Return the standard deviation of a reading, at least that of rounding to the resolution (step / sqrt 12)."""
    seen = UNKNOWN_NOISE**2 if track.variance is None else track.variance
    few = 5.0
    blended = (track.variance_weight * seen + few * UNKNOWN_NOISE**2) / (track.variance_weight + few)
    floor = (track.step or 0.0) ** 2 / 12.0
    return math.sqrt(max(blended, floor, 1e-4))


def _stand_still(still: Still | None, fresh: tuple[tuple[float, float], ...], step: float) -> Still:
    """Return the run of readings that stay within one resolution step; a new run where they left it."""
    low, high = min(value for _, value in fresh), max(value for _, value in fresh)
    if still is not None:
        low, high = min(low, still.low), max(high, still.high)
        if high - low <= step + 1e-6:
            return Still(still.since, low, high, still.count + len(fresh))
    return Still(fresh[-1][0], fresh[-1][1], fresh[-1][1], 1)


# --- filtering -----------------------------------------------------------------------------------


def _filter(
    track: ProbeTrack, fresh: tuple[tuple[float, float], ...], at: float, cell: float
) -> tuple[Belief, tuple[tuple[float, float], ...], bool]:
    """Return the belief after the cell, the readings that it refuses to believe so far, and whether a step was taken.

    A cell that is too surprising changes nothing at first. When the refused readings are several, have lasted as a
    fault must, and agree with each other better than with the belief, they are a genuine step: the belief is loosened
    where it stood before them and takes them one by one.
    """
    noise = _noise(track) ** 2
    variance = noise * (math.pi / 2.0 / len(fresh) if len(fresh) > 2 else 1.0)
    wander, lag = WANDER[track.role], track.lag
    if track.belief is None:
        return start(at, cell, max(variance, noise / 2.0), wander, lag), (), False
    belief = predict(track.belief, at, wander, lag)
    if surprise(belief, cell, variance) <= GATE:
        return correct(belief, cell, variance), (), False
    doubted = (*track.doubted, *fresh)[-64:]
    span = doubted[-1][0] - doubted[0][0]
    jump = median(value for _, value in doubted) - belief.element
    if len(doubted) < STEP_COUNT or span < PERSIST_SECONDS or not _agree(doubted, jump, noise):
        return track.belief, doubted, False
    belief = loosen(track.belief, jump, span, lag)
    for seconds, value in doubted:
        belief = predict(belief, seconds, wander, lag)
        if surprise(belief, value, noise) > GATE:
            return start(at, cell, max(variance, noise / 2.0), wander, lag), (), True
        belief = correct(belief, value, noise)
    return belief, (), True


def _agree(doubted: tuple[tuple[float, float], ...], jump: float, variance: float) -> bool:
    """Tell whether refused readings run smoothly: neighbours apart by far less than all of them from the belief."""
    rough = median(abs(b - a) for (_, a), (_, b) in pairwise(doubted))
    return rough <= max(4.0 * math.sqrt(variance), 0.5 * abs(jump))


# --- words ---------------------------------------------------------------------------------------


def describe(track: ProbeTrack, seconds: float) -> str:
    """Return a probe's health in plain words, with how long it has been so."""
    name = track.name
    lasted = "" if seconds - track.since < 60.0 else f" for {_lasting(seconds - track.since)}"
    match track.health:
        case Health.WAITING:
            return f"{name}: not heard yet"
        case Health.GOOD:
            return f"{name}: good"
        case Health.OPEN:
            return f"{name}: open circuit{lasted}, unplugged or a broken wire"
        case Health.SHORTED:
            return f"{name}: short circuit{lasted}, a pinched or wet wire"
        case Health.FAILED:
            return f"{name}: reported as failed by its source{lasted}"
        case Health.SILENT:
            silence = _lasting(seconds - (track.since if track.last_heard is None else track.last_heard))
            return f"{name}: nothing heard for {silence}"
        case Health.STUCK | Health.IMPLAUSIBLE | Health.DISAGREEING | Health.CHECKED:
            return f"{name}: {track.why}"


def _lasting(seconds: float) -> str:
    if seconds < 90.0:
        return f"{max(0.0, seconds):.0f} s"
    if seconds < 5400.0:
        return f"{seconds / 60.0:.0f} min"
    return f"{seconds / 3600.0:.1f} h"
