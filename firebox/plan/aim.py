"""What a plan starts from, and what becomes of one piece of meat under it."""

from collections.abc import Sequence
from datetime import datetime
from typing import Final, Literal

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from firebox.errors import RangeError
from firebox.meat import ahead, herd, hour
from firebox.meat.ahead import Course, Style
from firebox.meat.cuts import Piece

Floats = NDArray[np.float64]

MEMBERS: Final = 96
SEED: Final = 20
LOOK_HOURS: Final = 60.0
FAR_HOURS: Final = 48.0
"""So far it is looked for what a hotter pit or foil would save."""
WARM_UP_HOURS: Final = 1.25
"""From the match to a pit that is ready for meat: common practice, no source."""

STEP_HOURS: Final = 0.25

PIT_RANGE: Final = (80.0, 200.0)


Wind = Literal["calm", "breezy", "windy"]


class Aim(Struct, frozen=True, kw_only=True):
    """What is wanted.

    Attributes
    ----------
    serve : datetime
        When people sit down; aware.
    pieces : tuple of Piece
    hours : tuple of datetime
        When each is served, in the order of `pieces`; empty: all at `serve`.
    style : Style
    pit_celsius, ambient_celsius, meat_celsius : float
        Of the pit, of the air outside, and of the meat when it goes on. [degC]
    wind : str
        Around the pit: what it takes in wood.
    sure : float
        Probability of being ready that is aimed for. [0..1]
    """

    serve: datetime
    pieces: tuple[Piece, ...]
    hours: tuple[datetime, ...] = ()
    style: Style = Style(rest="cooler")
    pit_celsius: float = 121.0
    ambient_celsius: float = 15.0
    meat_celsius: float = 5.0
    wind: Wind = "calm"
    sure: float = 0.9


class Window(Struct, frozen=True):
    """The 10, 50 and 90 % points of when something comes about, in hours after the meat goes on."""

    early: float
    likely: float
    late: float


class Outcome(Struct, frozen=True, kw_only=True):
    """What becomes of one piece.

    Attributes
    ----------
    piece : Piece
    style : Style
        With the tenderness at which it is to be pulled.
    lead_hours : float
        How long before serving it goes on. [h]
    probability : float
        That it is ready, rested and still hot at the hour.
    barked, wrapped, rendered, giving, pulled, sliced : Window or None
        None: it does not come to it.
    pull_celsius : Window
        Temperature of its middle when it is pulled, three points as well; what a probe shows then. [degC]
    tender : Window or None
        At the hour of serving. [-]
    keeps_hours : float
        For so long 9 of 10 stay above hot holding after they are pulled. [h]
    hotter_hours, foil_hours : float
        What 14 K more in the pit, or foil, would save a late one. [h]
    """

    piece: Piece
    style: Style
    lead_hours: float
    probability: float
    barked: Window | None
    wrapped: Window | None
    rendered: Window | None
    giving: Window | None
    pulled: Window
    sliced: Window | None
    pull_celsius: Window
    tender: Window | None
    keeps_hours: float
    hotter_hours: float
    foil_hours: float


def outcome(aim: Aim, piece: Piece) -> Outcome:
    """Return what becomes of a piece of meat, put on so that it is ready at the hour.

    Raises
    ------
    RangeError
        The pit is too cold or too hot for the model, or the meat would not be ready within two days.
    """
    low, high = PIT_RANGE
    if not low <= aim.pit_celsius <= high:
        asked, coldest, hottest = (f"{one:.0f} C ({1.8 * one + 32.0:.0f} F)" for one in (aim.pit_celsius, low, high))
        raise RangeError(f"a pit of {asked} is beyond what can be planned; {coldest} to {hottest}")
    style, course = _chosen(aim, piece)
    lead, probability = _lead(course, style, aim.sure)
    pulled = window(course.pulled)
    assert pulled is not None  # _chosen made sure of it
    rows = hour.rows(course, course.pulled)
    hotter, foil = compare(
        aim, piece, (replace(style, hotter=hour.HOTTER_KELVIN), replace(style, wrap="foil")), hours=FAR_HOURS
    )
    at_hour = hour.rows(course, np.full(len(course.pulled), lead))
    return Outcome(
        piece=piece,
        style=style,
        lead_hours=lead,
        probability=probability,
        barked=window(course.barked),
        wrapped=window(course.wrapped) if style.wrap != "none" else None,
        rendered=window(course.rendered),
        giving=window(hour.first(course, hour.GIVING)) if piece.cut.ends == "tender" else None,
        pulled=pulled,
        sliced=window(course.sliced) if style.rest != "grate" and piece.cut.ends == "tender" else None,
        pull_celsius=_points(hour.pick(course.middle, rows)),
        tender=_points(hour.pick(course.tender, at_hour)) if piece.cut.ends == "tender" else None,
        keeps_hours=float(np.quantile(hour.or_far(course.cold) - hour.or_far(course.pulled, 0.0), 0.1)),
        hotter_hours=hour.saved(course, hotter),
        foil_hours=hour.saved(course, foil),
    )


def simulate(aim: Aim, piece: Piece, style: Style) -> Course:
    """Return what becomes of an ensemble of such pieces from when they go on; deterministic."""
    return compare(aim, piece, (style,))[0]


def compare(aim: Aim, piece: Piece, styles: Sequence[Style], *, hours: float = LOOK_HOURS) -> tuple[Course, ...]:
    """Return what becomes of the ensemble under each of several styles."""
    group = herd.begin(aim.meat_celsius, members=MEMBERS, seed=SEED)
    # the walls are hot already: the pit has been warmed before the meat goes on
    walls = aim.ambient_celsius + herd.WALL_SHARE * (aim.pit_celsius - aim.ambient_celsius)
    group = replace(group, wall=walls)
    return ahead.compare(group, piece, lambda _: aim.pit_celsius, styles, hours=hours, ambient=aim.ambient_celsius)


def _chosen(aim: Aim, piece: Piece) -> tuple[Style, Course]:
    """Return the style with the pull point that brings the meat to the table nearest to tender, and its course."""
    styles = [replace(aim.style, give=give) for give in hour.gives(piece, aim.style.rest)]
    found: list[tuple[float, float, Style, Course]] = []
    for style, course in zip(styles, compare(aim, piece, styles), strict=True):
        if np.isfinite(course.pulled).mean() < aim.sure or window(course.pulled) is None:
            continue
        lead, _ = _lead(course, style, aim.sure)
        found.append((abs(hour.at_table(course, lead) - hour.AT_TABLE), -style.give, style, course))
    if not found:
        raise RangeError(
            f"{piece.cut.name} of {piece.kg:.1f} kg would not be ready within {LOOK_HOURS:.0f} h at "
            f"{aim.pit_celsius:.0f} C; a hotter pit or a wrap would do it"
        )
    best = min(found, key=lambda one: one[:2])
    return best[2], best[3]


def _lead(course: Course, style: Style, sure: float) -> tuple[float, float]:
    """Return how long before serving it goes on, and the probability that it is ready and hot then.

    The shortest lead that is as sure as was asked for; where none is, the surest.
    """
    leads = np.arange(STEP_HOURS, LOOK_HOURS, STEP_HOURS)
    good = hour.chances(course.pulled, course.cold, style.rest, leads)
    enough = good >= min(sure, float(good.max()))
    row = int(np.argmax(enough))
    return float(leads[row]), float(good[row])


def _points(values: Floats) -> Window:
    low, middle, high = np.quantile(values, (0.1, 0.5, 0.9))
    return Window(round(float(low), 2), round(float(middle), 2), round(float(high), 2))


def window(times: Floats) -> Window | None:
    """Return the three points of when something comes about; None where it does not for nine of ten. [h]"""
    found = ahead.window(times)
    return None if found is None or not np.isfinite(found[2]) else Window(*found)
