"""A course held against the hour at which people sit down: how sure it is, and how late. Pure figures over members."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from firebox.meat.ahead import Course
from firebox.meat.cuts import Piece

Floats = NDArray[np.float64]

GIVES: Final = (0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
"""Tenderness at which a piece may be pulled, to be brought on to 1 by its own heat while it is held."""

SHORTEST_REST: Final = {"grate": 0.0, "counter": 0.5, "cooler": 1.0, "oven": 2.0}
"""h; common practice, no source: juices thicken and the middle evens out."""

AT_TABLE: Final = 1.1
"""Tenderness aimed for at the table: a little beyond the point where it gives."""

GIVING: Final = 0.2
"""Tenderness from which connective tissue is told to give way."""

HOTTER_KELVIN: Final = 14.0
"""About 25 degF."""


def gives(piece: Piece, rest: str) -> tuple[float, ...]:
    """Return the pull points to choose from: only a long hot hold can bring on what was pulled early."""
    return GIVES if piece.cut.ends == "tender" and rest in ("cooler", "oven") else (1.0,)


def or_far(times: Floats, far: float = 1e3) -> Floats:
    """Return times with those that do not come put far off."""
    found: Floats = np.where(np.isnan(times), far, times)
    return found


def chances(pulled: Floats, cold: Floats, rest: str, leads: Floats) -> Floats:
    """Return the share of members that are ready, rested and hot at each of some hours.

    Parameters
    ----------
    pulled, cold : ndarray, shape (n_members,)
        When each is pulled, and falls below hot holding; nan where it does not. [h]
    rest : str
        Where it rests.
    leads : ndarray, shape (n_hours,)
        [h]
    """
    ready = or_far(pulled) + SHORTEST_REST[rest]
    end = or_far(cold) if rest != "grate" else np.full_like(ready, np.inf)
    good = (ready[None, :] <= leads[:, None]) & (leads[:, None] <= end[None, :])
    shares: Floats = good.mean(axis=1)
    return shares


def first(course: Course, tender: float) -> Floats:
    """Return when each member first is so tender. [h]"""
    flags = course.tender >= tender
    return np.where(flags.any(axis=0), course.hours[np.argmax(flags, axis=0)], np.nan)


def rows(course: Course, times: Floats) -> NDArray[np.intp]:
    """Return the row of `course` at each member's time; its last where there is none."""
    found = np.searchsorted(course.hours, or_far(times))
    return np.minimum(found, len(course.hours) - 1)


def pick(values: Floats, at: NDArray[np.intp]) -> Floats:
    """Return each member's value in its own row."""
    picked: Floats = values[at, np.arange(values.shape[1])]
    return picked


def at_table(course: Course, hour: float) -> float:
    """Return the tenderness of the likely member at an hour. [-]"""
    return float(np.median(pick(course.tender, rows(course, np.full(len(course.pulled), hour)))))


def saved(course: Course, sooner: Course) -> float:
    """Return how much earlier the late ones (9 of 10) are ready in another course. [h]"""
    late = [float(np.quantile(or_far(one.pulled), 0.9)) for one in (course, sooner)]
    return max(late[0] - late[1], 0.0)


def likely_saved(course: Course, sooner: Course) -> float:
    """Return how much earlier the likely one is ready in another course. [h]"""
    middle = [float(np.median(or_far(one.pulled))) for one in (course, sooner)]
    return max(middle[0] - middle[1], 0.0)
