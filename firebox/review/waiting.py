"""Splits that the advice called for, and how long they let themselves be waited for."""

from typing import Final

from msgspec import Struct

from firebox.review.chronicle import Chronicle

DUE_MINUTES: Final = 2.0
"""A split that is advised within so many minutes is due now: the walk to the pit takes as long."""

STOOD: Final = 120.0
"""Seconds that advice has to stand before it counts as given: what comes and goes within a look is no advice."""


class Wait(Struct, frozen=True, kw_only=True):
    """A split was due at `due`; the wait ended at `until`, because it was laid (`laid`) or no longer called for. [s]"""

    due: float
    until: float
    kg: float
    laid: bool
    laid_kg: float | None = None


def waits(cook: Chronicle) -> tuple[Wait, ...]:
    """Return every time that a split was due by the advice, in the order of time."""
    splits = [(at, split.kg) for at, split in cook.log.splits() if split.kg != 0.0]
    found: list[Wait] = []
    since: tuple[float, float] | None = None
    latest = 0.0
    for at, move in cook.moves:
        wanted = move.split is not None and not move.hold and move.split.in_minutes <= DUE_MINUTES
        laid = next(((when, kg) for when, kg in splits if since is not None and since[0] < when <= at), None)
        if since is not None and (laid is not None or not wanted):
            found.append(_wait(since, at if laid is None else laid[0], laid))
            since = None
        if wanted and since is None and move.split is not None and (laid is None or at - laid[0] > STOOD):
            since = (at, move.split.kg)
        latest = at
    if since is not None:
        found.append(_wait(since, latest, None))
    return tuple(one for one in found if one.laid or one.until - one.due >= STOOD)


def _wait(since: tuple[float, float], until: float, laid: tuple[float, float | None] | None) -> Wait:
    due, kg = since
    return Wait(due=due, until=until, kg=kg, laid=laid is not None, laid_kg=None if laid is None else laid[1])
