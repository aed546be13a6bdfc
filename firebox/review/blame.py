"""Why the pit probably left its band: candidates from the log and the estimates, each with a weight.

The weights are the project's own choice, in order of how directly the evidence speaks: what is in the log at the very
minute outweighs what is only usual. Two candidates of nearly the same weight are both told.
"""

from collections.abc import Callable, Iterator
from enum import StrEnum
from typing import Final

import numpy as np
from msgspec import Struct

from firebox.records import AlarmState, DamperName, DoorName, MeatOn, Phase, Target
from firebox.review.chronicle import Chronicle, Span
from firebox.review.counsel import asked_for, set_on_advice
from firebox.review.rhythm import LAYING, Fed, Rhythm
from firebox.review.series import GRID, Series, middle, place
from firebox.review.waiting import waits
from firebox.setup import Role, role_of

MINUTE: Final = 60.0

FELT: Final = 30.0 * MINUTE
"""Seconds that a split or a damper is felt in the pit, at least with its greater part."""

CATCHES: Final = 4.0 * MINUTE
"""Seconds before which a split does not yet warm the pit."""

AIR_FELT: Final = 2.0 * MINUTE
"""The same of a damper."""

NEARLY: Final = 0.75
"""A second cause is told when it has so much of the weight of the first."""

LARGE: Final = 1.25
"""Times the usual from which wood is a lot at once."""

JUMP: Final = 10.0
"""Kelvin in twenty seconds that no pit's air does behind a lagging probe unless a door is opened."""


class Cause(StrEnum):
    """What may have taken the pit out of its band."""

    TARGET = "target"
    PROBE = "probe"
    DOOR = "door"
    LATE = "late split"
    DYING = "fire dying"
    SMOULDER = "smouldering split"
    OVERSIZE = "oversize split"
    EARLY = "early split"
    HUMP = "usual hump"
    DAMPER = "damper"
    FLARE = "flare"
    UNLOGGED = "not logged"
    HANDED = "handed over so"
    ASH = "ash"
    UNKNOWN = "unknown"


class Reason(Struct, frozen=True, kw_only=True):
    """A cause, how much speaks for it, and the figures that do.

    Attributes
    ----------
    weight : float
        0 to 1; only for comparison.
    seconds : float or None
        When it happened.
    amount : float or None
        LATE, DOOR: minutes; OVERSIZE: kg (`what`: of several pieces); EARLY, HUMP, SMOULDER: K; DAMPER: how far, below 0 shut.
    what : str
        Which door, damper or probe.
    advised : bool
        It was done on the advice's word, so it is nothing to blame on the cook.
    """

    cause: Cause
    weight: float
    seconds: float | None = None
    amount: float | None = None
    what: str = ""
    advised: bool = False


UNEXPLAINED: Final = Reason(cause=Cause.UNKNOWN, weight=0.3)
"""Wind, or something that nobody wrote down."""


class Case(Struct, frozen=True, kw_only=True):
    """The pit outside its band during `span`, furthest at `worst` [s], above it where it is `high`."""

    cook: Chronicle
    rhythm: Rhythm
    span: Span
    worst: float
    high: bool


def reasons(case: Case) -> tuple[Reason, ...]:
    """Return why the pit probably left its band: one cause, or two that are nearly as likely."""
    found = [UNEXPLAINED]
    for look in (*BOTH, *(HIGH if case.high else LOW)):
        found.extend(one for one in look(case) if one.seconds is None or one.seconds <= case.worst)
    found.sort(key=lambda reason: -reason.weight)
    first = found[0]
    second = next((one for one in found[1:] if one.cause is not first.cause), None)
    close = second is not None and second.cause is not Cause.UNKNOWN and second.weight >= NEARLY * first.weight
    return (first, second) if close and second is not None else (first,)


Reasons = Iterator[Reason]

# --- either way ----------------------------------------------------------------------------------


def _handed(case: Case) -> Reasons:
    """Yield the fire as it was when a round began, while what was laid before is still felt."""
    if case.cook.setup.round is not None and case.span.start <= FELT:
        yield Reason(cause=Cause.HANDED, weight=0.4)


def _target(case: Case) -> Reasons:
    for deed in case.cook.deeds(Target):
        if abs(deed.seconds - case.span.start) <= MINUTE:
            yield Reason(cause=Cause.TARGET, weight=1.0, seconds=deed.seconds)


def _probe(case: Case) -> Reasons:
    opened = any(
        door.touches(case.span.start - 2 * MINUTE, case.span.start + MINUTE)
        for door in case.cook.doors(DoorName.COOK)
    )
    if not opened and _leapt(case.cook.pit, place(case.span.start, len(case.cook.pit))):
        yield Reason(cause=Cause.PROBE, weight=0.9, seconds=case.span.start)
    for name in case.cook.grates():
        for away in case.cook.untrusted.get(name, ()):
            if away.touches(case.span.start - MINUTE, case.span.start + MINUTE):
                yield Reason(cause=Cause.PROBE, weight=0.8, seconds=away.start, what=name)


def _leapt(pit: Series, edge: int) -> bool:
    """Tell whether the pit leapt around a point of its series: far at once, and about level before and after."""
    first = max(edge - 6, 0)
    part = pit[first : edge + 7]
    jump = np.abs(part[2:] - part[:-2])
    if not np.isfinite(jump).any() or float(np.nanmax(jump)) < JUMP:
        return False
    at = first + int(np.nanargmax(jump))
    level = LEVEL * float(np.nanmax(jump))
    return all(_spread(pit[low:high]) < level for low, high in ((max(at - 6, 0), at + 1), (at + 2, at + 9)))


def _spread(values: Series) -> float:
    known = values[np.isfinite(values)]
    return float(np.ptp(known)) if len(known) else 0.0


LEVEL: Final = 0.3
"""Share of a leap by which the pit may change in the minute before and after it; a fire that runs up goes on rising."""


def _warned(case: Case) -> Reasons:
    """Yield what the watch itself thought of it at the time, from what no cook had told it."""
    told = WARNED_HIGH if case.high else WARNED_LOW
    for at, alarm in case.cook.alarms:
        cause = told.get(alarm.alarm)
        if cause is None or (cause[0] is Cause.FLARE and not _has_meat(case, at)):
            continue
        if _is_raised(alarm.state) and _within(at, case.span, 20 * MINUTE):
            yield Reason(cause=cause[0], weight=cause[1], seconds=at, what="cook" if cause[0] is Cause.DOOR else "")


WARNED_HIGH: Final = {
    "flare": (Cause.FLARE, 0.95),
    "rising-fast": (Cause.UNLOGGED, 0.75),
    "running-away": (Cause.UNLOGGED, 0.55),
}
WARNED_LOW: Final = {
    "door-ajar": (Cause.DOOR, 0.85),
    "split-stalled": (Cause.SMOULDER, 0.78),
    "smouldering": (Cause.SMOULDER, 0.74),
    "ash-choking": (Cause.ASH, 0.86),
}
"""Alarms that name a cause, and what they weigh: what the watch concluded with the pit before its eyes."""


def _firebox_door(case: Case) -> Reasons:
    for door in case.cook.doors(DoorName.FIREBOX):
        if door.end - door.start > LAYING and door.touches(case.span.start - 10 * MINUTE, case.span.start):
            minutes = (door.end - door.start) / MINUTE
            yield Reason(cause=Cause.DOOR, weight=0.8, seconds=door.start, amount=minutes, what="firebox")


# --- too cold ------------------------------------------------------------------------------------


def _cook_door(case: Case) -> Reasons:
    for door in case.cook.doors(DoorName.COOK):
        if not door.touches(case.span.start - 8 * MINUTE, case.worst):
            continue
        before = middle(case.cook.pit, door.start - 2 * MINUTE, door.start)
        after = case.cook.pit[
            place(door.start, len(case.cook.pit)) : place(door.end + 5 * MINUTE, len(case.cook.pit)) + 1
        ]
        if before is None or not np.isfinite(after).any():
            continue
        edge = place(door.start, len(case.cook.target))
        room = max(before - float(case.cook.target[edge] - case.cook.band[edge]), 1.0)
        if door.start > case.span.start + MINUTE:  # it was low already: how much of the fall came with the door?
            worst = place(case.worst, len(case.cook.target))
            room = max(MOST_OF_IT * float(case.cook.target[worst] - case.cook.pit[worst]), 1.0)
        weight = LOGGED_DOOR * min(1.0, max(0.0, before - float(np.nanmin(after))) / room)
        yield Reason(
            cause=Cause.DOOR, weight=weight, seconds=door.start, amount=(door.end - door.start) / MINUTE, what="cook"
        )


LOGGED_DOOR: Final = 0.95
"""What a door weighs that is in the log and took the pit down: nothing else that is only likely comes before it."""
MOST_OF_IT: Final = 0.5
"""Share of a dip that is most of it."""


def _ajar(case: Case) -> Reasons:
    """Yield a door that nobody logged: the pit fell as it does only through an open one."""
    at = _steep(case, -1.0, FALLS)
    laying = at is not None and any(abs(one.seconds - at) < LAID_NEAR for one in case.rhythm.fed)
    if at is not None and not laying:
        yield Reason(cause=Cause.DOOR, weight=0.9, seconds=at, what="cook")


def _flared(case: Case) -> Reasons:
    """Yield a flare that no alarm told of: the pit rose as wood hardly makes it. Without meat there is no grease."""
    at = _steep(case, 1.0, RISES)
    if at is not None and _has_meat(case, at):
        yield Reason(cause=Cause.FLARE, weight=0.8, seconds=at)
    elif at is not None:
        yield Reason(cause=Cause.UNLOGGED, weight=0.5, seconds=at)


def _has_meat(case: Case, at: float) -> bool:
    """Tell whether meat was on by then: it was told, or a probe for it was heard."""
    cook = case.cook
    if any(isinstance(deed.entry, MeatOn) and deed.entry.on and deed.seconds <= at for deed in cook.deeds(MeatOn)):
        return True
    heard = (part for name, part in cook.probes.items() if role_of(name, cook.setup) is Role.MEAT)
    return any(bool(np.isfinite(part[: place(at, len(part)) + 1]).any()) for part in heard)


def _steep(case: Case, sign: float, kelvin: float) -> float | None:
    """Return when the pit rose (`sign` 1) or fell so far within minutes, with no door logged that would explain it. [s]"""
    pit, span = case.cook.pit, case.span
    opened = (door for name in DoorName for door in case.cook.doors(name))
    logged = any(door.touches(span.start - 8 * MINUTE, case.worst) for door in opened)
    if logged or _leapt(pit, place(span.start, len(pit))):
        return None
    first, end = place(span.start - 5 * MINUTE, len(pit)), place(case.worst, len(pit))
    part, step = pit[first : end + 1], round(STEEP_FOR / GRID)
    change = sign * (part[step:] - part[:-step])
    out = (case.cook.target - sign * case.cook.band)[first : end + 1][: len(change)]
    change = np.where(
        sign * (part[: len(change)] - out) >= 0.0, change, np.nan
    )  # not on the way back from the other side
    if not len(change) or not np.isfinite(change).any() or float(np.nanmax(change)) < kelvin:
        return None
    return (first + int(np.nanargmax(change))) * GRID


STEEP_FOR: Final = 3.0 * MINUTE
FALLS: Final = 12.0
"""Kelvin within that time: a fire that dies takes ten minutes for it, in a thin pit five."""
LAID_NEAR: Final = 4.0 * MINUTE
"""Seconds around a split in which a fall is that of its own door and of cold wood."""
RISES: Final = 18.0
"""The same upwards, in a pit that is not cold: a large split that catches makes ten to fifteen."""


def _late(case: Case) -> Reasons:
    """Yield a split that was due and did not come: by the advice, by the rhythm, or by how cold the pit was when it came."""
    for wait in waits(case.cook):
        waited = min(wait.until, case.span.end) - wait.due
        if (
            waited >= 4 * MINUTE
            and case.span.start - FELT <= wait.due <= case.span.start + 3 * MINUTE
            and wait.until > case.span.start - 10 * MINUTE
        ):
            yield Reason(cause=Cause.LATE, weight=0.85, seconds=wait.due, amount=waited / MINUTE)
    last = _last_fed(case.rhythm, case.span.start)
    following = next((one for one in case.rhythm.fed if one.seconds > case.span.start), None)
    usual = case.rhythm.interval_minutes
    if last is not None and usual is not None:
        late = (case.span.start - last.seconds) / MINUTE - usual.median
        if late > 0.25 * usual.median:
            yield Reason(
                cause=Cause.LATE, weight=0.7, seconds=last.seconds + usual.median * MINUTE,
                amount=late if following is None else (following.seconds - last.seconds) / MINUTE - usual.median,
            )  # fmt: skip
    for one in (last, following):
        if one is None or not case.span.start - 8 * MINUTE <= one.seconds <= case.span.start + 10 * MINUTE:
            continue
        edge = place(one.seconds, len(case.cook.target))
        if one.from_celsius is not None and one.from_celsius < case.cook.target[edge] - 0.5 * case.cook.band[edge]:
            yield Reason(cause=Cause.LATE, weight=0.6, seconds=one.seconds)


def _dying(case: Case) -> Reasons:
    dying = [
        at
        for at, fire in case.cook.fires
        if fire.phase in {Phase.DYING, Phase.OUT} and _within(at, case.span, 10 * MINUTE)
    ]
    warned = [
        at
        for at, one in case.cook.alarms
        if one.alarm == "fire-dying" and _is_raised(one.state) and _within(at, case.span, 20 * MINUTE)
    ]
    if not dying and not warned:
        return
    fed = any(case.span.start - 15 * MINUTE <= one.seconds <= case.span.end for one in case.rhythm.fed)
    yield Reason(cause=Cause.DYING, weight=0.65 if fed else 0.88, seconds=min([*dying, *warned]))


def _smoulder(case: Case) -> Reasons:
    last = _last_fed(case.rhythm, case.span.start)
    if last is None or case.span.start - last.seconds > FELT or case.span.start - last.seconds < 5 * MINUTE:
        return
    if last.rise is not None and last.rise < 1.0:
        yield Reason(cause=Cause.SMOULDER, weight=0.72, seconds=last.seconds, amount=last.rise)
    risky = [fire.smoulder_risk for at, fire in case.cook.fires if last.seconds <= at <= case.span.start + 5 * MINUTE]
    known = [risk for risk in risky if risk is not None]
    if known and float(np.median(known)) >= 0.5:
        yield Reason(cause=Cause.SMOULDER, weight=0.68, seconds=last.seconds)


def _shut(case: Case) -> Reasons:
    yield from _moved(case, -1.0)


# --- too hot -------------------------------------------------------------------------------------


def _wood(case: Case) -> Reasons:
    """Yield the wood that is felt: too much of it, laid too early, or simply a hump higher than the band."""
    until = case.span.start - CATCHES
    felt = [one for one in case.rhythm.fed if case.span.start - FELT <= one.seconds <= until]
    if not felt:
        return
    last = felt[-1]
    times = _times_the_usual(case, felt)
    if times > LARGE:
        yield Reason(
            cause=Cause.OVERSIZE,
            weight=min(0.9, 0.65 + 0.4 * (times - LARGE)),
            seconds=felt[0].seconds,
            amount=sum(one.kg for one in felt),
            what="" if len(felt) == 1 else "within half an hour",
            advised=all(_advised(case, one) for one in felt),
        )
    for one in felt:
        edge = place(one.seconds, len(case.cook.target))
        above = 0.0 if one.from_celsius is None else one.from_celsius - float(case.cook.target[edge])
        if above > WARM * case.cook.band[edge]:
            yield Reason(
                cause=Cause.EARLY, weight=0.7, seconds=one.seconds, amount=above, advised=_advised(case, one)
            )
            break
    if last.rise is not None and last.rise > 0.0:
        advised = _advised(case, last)
        yield Reason(cause=Cause.HUMP, weight=0.45, seconds=last.seconds, amount=last.rise, advised=advised)


def _advised(case: Case, fed: Fed) -> bool:
    return asked_for(case.cook, fed.seconds, fed.kg)


WARM: Final = 0.3
"""Share of the band above the target from which a pit has no need of wood yet."""


def _times_the_usual(case: Case, felt: list[Fed]) -> float:
    """Return how many times the usual much wood burnt at once: the most after any of these splits, over the median."""
    most = [(one, _burning(case.rhythm, one.seconds + FULL)) for one in case.rhythm.fed]
    usual = float(np.median([kg for _, kg in most]))
    return max(kg for one, kg in most if one in felt) / usual if usual > 0.0 else 0.0


def _burning(rhythm: Rhythm, at: float) -> float:
    """Return the wood that burns at an instant, each piece counted as far as it burns then. [kg]"""
    return sum(
        one.kg * max(0.0, min((at - one.seconds) / FULL, (SPENT - at + one.seconds) / (SPENT - FULL)))
        for one in rhythm.fed
    )


FULL: Final = 12.0 * MINUTE
SPENT: Final = 45.0 * MINUTE
"""Seconds after which a split burns at its most, and after which it has given its heat; a middling one, no source."""


def _opened(case: Case) -> Reasons:
    yield from _moved(case, 1.0)


# --- what they share -----------------------------------------------------------------------------


def _moved(case: Case, sign: float) -> Reasons:
    """Yield the dampers that were moved that way (1 opened, -1 shut) before the pit left its band, and left there."""
    for damper in DamperName:
        moves = [
            move
            for move in case.cook.damper_moves(damper)
            if case.span.start - FELT <= move[0] <= min(case.span.start, case.worst - AIR_FELT)
        ]
        if not moves or moves[0][1] is None:
            continue
        net = moves[-1][2] - moves[0][1]
        if net * sign > SMALLEST_MOVE:
            weight = min(0.75, 0.5 + 0.6 * abs(net))
            yield Reason(
                cause=Cause.DAMPER,
                weight=weight,
                seconds=moves[-1][0],
                amount=net,
                what=damper.value,
                advised=set_on_advice(case.cook, damper, moves[-1][0], moves[-1][2]),
            )


SMALLEST_MOVE: Final = 0.06
"""Half a mark of eight."""


def _last_fed(rhythm: Rhythm, before: float) -> Fed | None:
    return next((one for one in reversed(rhythm.fed) if one.seconds <= before), None)


def _within(seconds: float, span: Span, early: float) -> bool:
    return span.start - early <= seconds <= span.end


def _is_raised(state: AlarmState) -> bool:
    return state is AlarmState.UNACKNOWLEDGED


Look = Callable[[Case], Reasons]

BOTH: Final[tuple[Look, ...]] = (_handed, _target, _probe, _warned, _firebox_door)
LOW: Final[tuple[Look, ...]] = (_cook_door, _ajar, _late, _dying, _smoulder, _shut)
HIGH: Final[tuple[Look, ...]] = (_wood, _opened, _flared)
