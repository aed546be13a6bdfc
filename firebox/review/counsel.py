"""Advice: what was followed, what was not, what was done unasked, and how the pit did in the half hour after."""

from enum import StrEnum
from typing import Final

import numpy as np
from msgspec import Struct

from firebox.records import DamperName, Move
from firebox.review.chronicle import Chronicle
from firebox.review.holding import held, inside
from firebox.review.rhythm import TOGETHER
from firebox.review.series import GRID, middle, place
from firebox.review.waiting import DUE_MINUTES, STOOD, waits

AFTER: Final = 30.0 * 60.0
"""Seconds in which it shows what came of it: a split has given most of its heat by then."""

EARLY_MINUTES: Final = 6.0
"""A split laid so many minutes before it is due is laid as advised: it takes as long to catch."""

SAME_OPENING: Final = 0.07
"""Half a mark of eight: as near as a hand sets a damper."""

GRACE: Final = 120.0
"""Seconds after advice was last given in which doing it still follows it: entries are made a little late."""


class What(StrEnum):
    SPLIT = "split"
    INTAKE = "intake"
    STACK = "stack"


class Followed(StrEnum):
    YES = "followed"
    PARTLY = "partly"
    NO = "not followed"
    UNASKED = "unasked"


class Counsel(Struct, frozen=True, kw_only=True):
    """One piece of advice and what became of it.

    Attributes
    ----------
    seconds : float
        When it was first due; when it was done, where nobody asked for it.
    advised, done : float or None
        kg of a split, opening of a damper.
    waited_minutes : float or None
        Until it was done, or no longer called for.
    inside : float or None
        Share of the half hour after it was done (or had been due) that the pit spent in its band.
    worst : float or None
        The furthest from the target in that time. [K]
    expected, came : float or None
        The pit half an hour later: as foretold under the move, and as it was, where nothing else was done. [degC]
    """

    seconds: float
    what: What
    followed: Followed
    advised: float | None = None
    done: float | None = None
    waited_minutes: float | None = None
    inside: float | None = None
    worst: float | None = None
    expected: float | None = None
    came: float | None = None


class Score(Struct, frozen=True, kw_only=True):
    """Advice of a cook that ended alike: how often, and the share of the half hour after it in the band."""

    followed: Followed
    count: int
    inside: float | None
    worst: float | None


class Advice(Struct, frozen=True, kw_only=True):
    """All advice of a cook."""

    given: tuple[Counsel, ...]
    scores: tuple[Score, ...]
    waited_minutes: float | None
    """Median wait for a split that was laid on call."""
    expected_error: float | None
    """Mean distance of what came from what was foretold under the move. [K]"""
    expected_count: int


def advice(cook: Chronicle) -> Advice:
    """Return what became of the advice of a cook while its pit was to be held."""
    span = held(cook)
    found = sorted((*_splits(cook), *_dampers(cook)), key=lambda one: one.seconds)
    given = [one for one in found if span is not None and span.touches(one.seconds, one.seconds)]
    waited = [
        one.waited_minutes
        for one in given
        if one.what is What.SPLIT and one.followed is Followed.YES and one.waited_minutes is not None
    ]
    errors = [abs(one.came - one.expected) for one in given if one.came is not None and one.expected is not None]
    return Advice(
        given=tuple(given),
        scores=tuple(_score(kind, given) for kind in Followed if any(one.followed is kind for one in given)),
        waited_minutes=float(np.median(waited)) if waited else None,
        expected_error=float(np.mean(errors)) if errors else None,
        expected_count=len(errors),
    )


def _score(kind: Followed, given: list[Counsel]) -> Score:
    those = [one for one in given if one.followed is kind]
    shares = [one.inside for one in those if one.inside is not None]
    worst = [abs(one.worst) for one in those if one.worst is not None]
    return Score(
        followed=kind,
        count=len(those),
        inside=float(np.mean(shares)) if shares else None,
        worst=float(np.mean(worst)) if worst else None,
    )


# --- splits --------------------------------------------------------------------------------------


def _splits(cook: Chronicle) -> list[Counsel]:
    called = waits(cook)
    found = [_answered(cook, wait.due, wait.until, wait.kg, wait.laid_kg, laid=wait.laid) for wait in called]
    answered = {wait.until for wait in called if wait.laid}
    latest = -1e9
    for at, split in cook.log.splits():
        alone = at - latest >= TOGETHER
        latest = at
        if split.kg == 0.0 or not alone or at in answered:
            continue
        move = _move_at(cook, at)
        if move is None:
            continue
        soon = move.split is not None and move.split.in_minutes <= EARLY_MINUTES
        if soon and move.split is not None:
            found.append(_answered(cook, at, at, move.split.kg, split.kg, laid=True))
        else:
            found.append(_counsel(cook, at, at, What.SPLIT, Followed.UNASKED, None, split.kg))
    return found


def _answered(cook: Chronicle, due: float, until: float, kg: float, laid_kg: float | None, *, laid: bool) -> Counsel:
    size = laid and laid_kg is not None and not SMALLEST <= laid_kg / max(kg, 0.01) <= LARGEST
    followed = (Followed.PARTLY if size else Followed.YES) if laid else Followed.NO
    return _counsel(cook, due, until, What.SPLIT, followed, kg, laid_kg if laid else None)


SMALLEST: Final = 0.6
LARGEST: Final = 1.6
"""Shares of the advised weight between which a split is of the advised size: one size smaller or larger is not."""


def asked_for(cook: Chronicle, at: float, kg: float) -> bool:
    """Tell whether wood that was laid at an instant was laid on the advice's word, and not much more of it than that."""
    stood = [move for move in (_move_at(cook, at), _move_at(cook, at - GRACE)) if move is not None]
    return any(
        move.split is not None
        and not move.hold
        and move.split.in_minutes <= EARLY_MINUTES
        and kg <= LARGEST * move.split.kg
        for move in stood
    )


def set_on_advice(cook: Chronicle, damper: DamperName, at: float, opening: float) -> bool:
    """Tell whether a damper was set at an instant as the advice had it."""
    return any(
        start < at <= end + GRACE and abs(opening - wanted) <= SAME_OPENING
        for start, end, wanted in _standing(cook, damper)
    )


def _move_at(cook: Chronicle, at: float) -> Move | None:
    """Return the move that stood before the cook's eyes at an instant; None where none was fresh."""
    newest = next(((when, move) for when, move in reversed(cook.moves) if when < at), None)
    return None if newest is None or at - newest[0] > 3.0 * 60.0 else newest[1]


# --- dampers -------------------------------------------------------------------------------------


def _dampers(cook: Chronicle) -> list[Counsel]:
    found = []
    for damper in DamperName:
        moved = cook.damper_moves(damper)
        for start, end, opening in _standing(cook, damper):
            done = next((move for move in moved if start < move[0] <= end + GRACE), None)
            if done is None:
                if end - start >= STOOD:
                    found.append(_counsel(cook, start, end, What(damper.value), Followed.NO, opening, None))
                continue
            at, stood, to = done
            followed = Followed.YES if abs(to - opening) <= SAME_OPENING else Followed.PARTLY
            if followed is Followed.PARTLY and stood is not None and (to - stood) * (opening - stood) <= 0.0:
                followed = Followed.NO
            found.append(_counsel(cook, start, at, What(damper.value), followed, opening, to))
    return found


def _standing(cook: Chronicle, damper: DamperName) -> list[tuple[float, float, float]]:
    """Return (from, until, opening) of each stretch in which the advice was to set a damper to about one opening."""
    found: list[tuple[float, float, float]] = []
    since: tuple[float, float] | None = None
    at = 0.0
    for at, move in cook.moves:
        value = move.intake if damper is DamperName.INTAKE else move.stack
        wanted = None if move.hold else value
        if since is not None and (wanted is None or abs(wanted - since[1]) > SAME_OPENING):
            found.append((since[0], at, since[1]))
            since = None
        if wanted is not None and since is None:
            since = (at, wanted)
    if since is not None:
        found.append((since[0], at, since[1]))
    return found


# --- what came of it -----------------------------------------------------------------------------


def _counsel(  # noqa: PLR0917  all of them once, in the order of time
    cook: Chronicle,
    start: float,
    until: float,
    what: What,
    followed: Followed,
    advised: float | None,
    done: float | None,
) -> Counsel:
    was_done = followed is not Followed.NO
    share, worst = _after(cook, until if was_done else start)
    expected, came = _foretold(cook, start, until) if followed is Followed.YES else (None, None)
    return Counsel(
        seconds=start,
        what=what,
        followed=followed,
        advised=advised,
        done=done,
        waited_minutes=None if followed is Followed.UNASKED else (until - start) / 60.0,
        inside=share,
        worst=worst,
        expected=expected,
        came=came,
    )


def _after(cook: Chronicle, at: float) -> tuple[float | None, float | None]:
    first, end = place(at, len(cook.pit)), place(at + AFTER, len(cook.pit))
    off = (cook.pit - cook.target)[first : end + 1]
    known = np.isfinite(off)
    if known.sum() * GRID < AFTER / 2.0:
        return None, None
    share = float(inside(cook)[first : end + 1].sum() / known.sum())
    return share, float(off[int(np.nanargmax(np.abs(off)))])


def _foretold(cook: Chronicle, start: float, done: float) -> tuple[float | None, float | None]:
    """Return what the move foretold and what came, where it was done at once and nothing else after it."""
    move = next((move for at, move in cook.moves if at >= start), None)
    if move is None or move.expected is None or done - start > 60.0 * DUE_MINUTES:
        return None, None
    until = start + 60.0 * move.expected.minutes
    later = [deed.seconds for deed in cook.log.deeds if done + TOGETHER < deed.seconds <= until]
    if later or until + 30.0 > cook.end:
        return None, None
    return move.expected.celsius, middle(cook.pit, until - 30.0, until + 30.0)
