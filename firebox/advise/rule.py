"""The next move by rule of thumb: small splits in an even rhythm, the intake left alone unless the pit leaves its band.

==========  ========================================================================================================
wood when   the fall, run on for some minutes, crosses the aim; the aim lies where humps come to lie around the target
wood how    what carries this pit until the next walk, as long as a kilogram has lasted here of late
much
air when    a deviation beyond the band does not turn by itself; one mark, then time to see what it did
==========  ========================================================================================================

It answers while no forecast knows better, and it says where the look-ahead should look.
"""

import math
from typing import Final

from firebox.advise.candidates import Candidate
from firebox.advise.caution import CLEAN, intake_step
from firebox.advise.moment import SPACING, WALK, Moment
from firebox.advise.trend import Trend
from firebox.advise.why import CATCHING, FLAMING

DAMPER_WAIT: Final = 10.0
"""Before this is over the intake's last move has not been seen in full. [min]"""

PATIENCE: Final = 15.0
"""The same, while the pit is not far out: wood does the rest. [min]"""

LEAST, MOST = 0.5, 2.0
"""A split that is due at all is no smaller and no larger than these shares of what carries the pit."""

MAKE_UP: Final = 0.03
"""For each kelvin that the pit will be short when the wood takes, it is so much heavier: a hundredth for the losses of a
pit some hundred kelvin above the air, and twice that for what its steel has given away. [1/K]"""

PINCHED: Final = 0.3
"""An intake at less than this was closed to tame the fire; it is opened again when that is done."""

HUNGRY_SHARE: Final = 1.3
"""A pit that fell out of its band though the last split flamed gets one this much heavier, and a medium one at least."""

FAST_FALL: Final = -40.0
"""A pit that falls faster than this has little flame left to dry a big split. [K/h]"""

STRONG_COALS: Final = 0.75
"""Coals of this share of a medium split light a large one. The project's own choice."""

OUT_BANDS: Final = 1.5
"""A pit headed so many bands under its target until wood could help needs air as well as wood."""

HOT_BANDS: Final = 1.0
"""A pit more than so many bands over its target, and not coming down, needs less air."""

FAR_OUT: Final = 2.5
"""Beyond so many bands the intake is moved again after `DAMPER_WAIT` already."""

TURNING: Final = 6.0
COMING_DOWN: Final = -12.0
"""A cold pit that rises faster, or a hot one that falls faster, is on its way by itself. [K/h]"""

HOLDS: Final = 0.5
SLOW: Final = -12.0
"""A pit less than so many bands under its target that falls no faster than this [K/h] holds as long as its wood lasts."""

LOOK: Final = 90.0
"""How far the rule looks: beyond a sleep. [min]"""


def propose(moment: Moment) -> Candidate:
    """Return the move by rule.

    Parameters
    ----------
    moment : Moment
        With a known temperature.
    """
    more = wants_air(moment)
    due = _due(moment)
    if due is None or chokes(moment):
        return Candidate(intake=more)
    at = moment.seconds + 60.0 * due
    return Candidate(split_at=at, kg=_size(moment), intake=more if due < 1.0 else None)


# --- air -----------------------------------------------------------------------------------------


def wants_air(moment: Moment) -> float | None:
    """Return where the intake should go now; None: it may stay."""
    assert moment.celsius is not None
    if moment.since_split < FLAMING:
        return None
    off, drift = moment.celsius - moment.target, moment.drift
    chokes = not moment.has_caught and moment.since_split < CATCHING
    if moment.asleep and abs(off) < FAR_OUT * moment.band and not (chokes and moment.is_below):
        return None
    wait = DAMPER_WAIT if abs(off) > FAR_OUT * moment.band else PATIENCE
    if moment.since_damper < wait and not moment.is_weak and moment.has_caught:
        return None
    soon = off + drift * moment.lead / 60.0
    if moment.is_below and drift < TURNING and soon < -OUT_BANDS * moment.band:
        return air(moment, 1)
    if off > HOT_BANDS * moment.band and drift > COMING_DOWN:
        return air(moment, -1)
    if off < 0.0 and moment.trend is Trend.FALLING and (chokes or _pinched(moment)):
        return air(moment, 1)
    return None


def _pinched(moment: Moment) -> bool:
    return moment.tamed_from is not None or (moment.intake is not None and moment.intake < PINCHED)


def chokes(moment: Moment) -> bool:
    """Tell whether the last split has not caught: air wakes it where more wood would smother it, as long as there is
    air to give.
    """
    gives = moment.intake is not None and moment.intake < 1.0
    return gives and not moment.has_caught and moment.since_split < CATCHING


def air(moment: Moment, marks: int) -> float | None:
    """Return the intake so many marks from where it stands, or one where there is no room for more.

    None: not known, just moved, or as far closed as a clean flame allows.
    """
    if moment.since_damper < FLAMING:
        return None
    one = 1 if marks > 0 else -1
    intake = intake_step(marks, moment.log, moment.seconds, moment.setup) or intake_step(
        one, moment.log, moment.seconds, moment.setup
    )
    return None if intake is None or (marks < 0 and intake < CLEAN) else intake


# --- wood ----------------------------------------------------------------------------------------


def _due(moment: Moment) -> float | None:
    """Return in how many minutes wood is due; None: not within the look-ahead."""
    assert moment.celsius is not None
    if moment.comes_back:
        return _used_up(moment)
    fall = max(0.0, -moment.drift) / 60.0
    above = moment.celsius - moment.lead * fall - moment.wood_below
    spaced = SPACING - moment.since_split
    if above <= 0.0 and spaced > 0.0:
        return None
    if above <= 0.0:
        return _used_up(moment) if _carried(moment) else 0.0
    if moment.trend is Trend.FALLING and fall > 0.0:
        left = max(spaced, above / fall)
        return left if left <= LOOK else None
    return _used_up(moment)


def _carried(moment: Moment) -> bool:
    """Tell whether a pit that holds near its target still has wood that should last, as far as logged."""
    assert moment.celsius is not None
    holds = moment.drift > SLOW and moment.celsius >= moment.target - HOLDS * moment.band
    logged = moment.last_kg > 0.0
    return holds and (not logged or moment.since_split < moment.lasts * moment.last_kg)


def _used_up(moment: Moment) -> float | None:
    """Return in how many minutes the last split is used up, as long as wood has lasted here; None: not known.

    Wood that carries the pit for longer is not asked for before its heat could be wanted.
    """
    if moment.last_kg <= 0.0 or moment.since_split > LOOK:
        return None
    left = max(moment.lasts * moment.last_kg, SPACING + moment.lead) - moment.since_split
    return max(left, moment.lead) if left <= LOOK else None


def _size(moment: Moment) -> float:
    """Return which size carries the pit until the next walk; medium where no wood is logged."""
    assert moment.celsius is not None
    if not moment.log.splits():
        return moment.sizes.medium
    coming = moment.celsius + min(0.0, moment.drift) * moment.lead / 60.0
    short = max(moment.share, MAKE_UP * (moment.target - coming))
    wanted = moment.walk / moment.lasts * min(MOST, max(LEAST, 1.0 + short)) / moment.habits.heavier
    return min(fitting(moment), key=lambda kg: math.fabs(math.log(kg / wanted)))


def lightable(moment: Moment) -> tuple[float, ...]:
    """Return the sizes of split that this fire can light and that its pit has a use for.

    On a weak fire only small wood; large wood where a medium one would not last until the next walk, since what is
    heavier than that comes as a higher hump.
    """
    sizes = moment.sizes
    if moment.is_weak:
        return (sizes.small,)
    hungry = moment.asleep or moment.lasts * sizes.medium < WALK
    return (sizes.small, sizes.medium, sizes.large) if hungry else (sizes.small, sizes.medium)


def _strong(moment: Moment) -> bool:
    """Tell whether a large split would catch: on good coals, under a pit in its band that does not fall fast."""
    coals = moment.fire.coal_kg or 0.0
    return not moment.is_below and moment.drift >= FAST_FALL and coals >= STRONG_COALS * moment.sizes.medium


def fitting(moment: Moment) -> tuple[float, ...]:
    """Return the sizes of split that this fire can light, the likeliest first.

    A big split on a weak fire smothers it: there only small wood; a large one needs good coals and a pit in its band
    that does not fall fast. Where the last split did not carry the pit for long, the next is the bigger one.
    """
    sizes = moment.sizes
    if moment.is_weak:
        return (sizes.small,)
    all_sizes = (sizes.medium, sizes.small, sizes.large)
    # A sleeper's wood has to last; on a pit that answered to its last split a large one catches as well.
    strong = _strong(moment) or (moment.asleep and moment.has_caught and not moment.is_below)
    most = sizes.large if strong else sizes.medium
    hungry = moment.trend is Trend.FALLING and moment.flamed and moment.is_below
    least = min(most, max(sizes.medium, HUNGRY_SHARE * moment.last_kg)) if hungry else 0.0
    return tuple(kg for kg in all_sizes if least <= kg <= most) or (sizes.medium,)
