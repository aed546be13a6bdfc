"""What was foreseen of one piece of meat: values, in logical seconds, that live in the state of the watch."""

from typing import Final

from msgspec import Struct

from firebox.meat.ahead import Style
from firebox.meat.doings import Lies
from firebox.records import Serving

Points = tuple[float, float, float]
"""The 10, 50 and 90 % points of when something comes about; inf beyond the look-ahead. [s]"""

WAGER_STEP: Final = 0.25
"""By so much a miss widens the bands, and a fifth of that narrows each that held, so that in the long run 8 of 10 hold: adaptive
conformal inference (Gibbs & Candes, 2021), on the logarithm of the width."""

NARROWEST: Final = 0.8
WIDEST: Final = 4.0


class Wager(Struct, frozen=True):
    """A band that was told for an instant: its 10 and 90 % points, and where the meat then lay."""

    due: float
    low: float
    high: float
    lies: Lies


class Rested(Struct, frozen=True, kw_only=True):
    """What comes of a piece in a place to rest.

    Attributes
    ----------
    rest, wrap : str
    celsius : float
        Of the air there. [degC]
    peak : float
        How far the middle still climbs. [degC]
    sliced : float or None
        When the middle has come down to slicing temperature. [s]
    hot_until : float or None
        Until when nine of ten stay above hot holding. [s]
    """

    rest: str
    wrap: str
    celsius: float
    peak: float
    sliced: float | None
    hot_until: float | None


class Planned(Struct, frozen=True, kw_only=True):
    """What becomes of a piece under what it is planned for.

    Attributes
    ----------
    style : Style
        With the tenderness at which it is to be pulled.
    barked, wrapped, rendered, giving, pulled, sliced : Points or None
        None: not within the look-ahead, or past.
    chance : float
        That it is ready, rested and still hot at its hour. [0..1]
    late : float
        How long after its hour it is ready and rested, as surely as was asked for; below 0: so much is in hand. [s]
    likely_late : float
        The same for the likely course. [s]
    foil, hotter : float
        What foil now, or 14 K more in the pit, saves a late one. [s]
    pull_celsius : tuple of float or None
        10, 50 and 90 % points of its middle when it is pulled. [degC]
    """

    style: Style
    barked: Points | None
    wrapped: Points | None
    rendered: Points | None
    giving: Points | None
    pulled: Points | None
    sliced: Points | None
    chance: float
    late: float
    likely_late: float
    foil: float
    hotter: float
    pull_celsius: tuple[float, float, float] | None


class Foreseen(Struct, frozen=True, kw_only=True):
    """The hours to come of one piece.

    Attributes
    ----------
    minutes : tuple of int
    quantiles : tuple of tuple of float
        The probe's 10, 50 and 90 % points at each of `minutes`. [degC]
    ready : Points or None
        When it is ready, or while it rests, when it can be sliced.
    barked : Points or None
        When its bark is set.
    rests : tuple of Rested
        What comes of it where it rests, or of pulling it now.
    wraps : dict
        Wrap -> by how much sooner it is likely to be ready with it, put on now. [s]
    planned : Planned or None
        None: it is planned for nothing, or off the grate.
    """

    minutes: tuple[int, ...]
    quantiles: tuple[tuple[float, ...], ...]
    ready: Points | None
    barked: Points | None
    rests: tuple[Rested, ...] = ()
    wraps: dict[str, float] = {}
    planned: Planned | None = None


class Reason(Struct, frozen=True, kw_only=True):
    """What an outlook was made for; when any of it changes, it is made anew."""

    lies: Lies
    handled: int
    answer: str | None
    target: float
    serving: Serving | None
    fading: bool
