"""Whether a probe still is in the meat: one that falls faster than the middle of a piece can cool has come out of it."""

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firebox.meat.cuts import Piece

HOT_CELSIUS: Final = 45.0
"""Only a fall from above that is looked at: meat straight from the cold warms a probe that was in the room down."""

SLACK_KELVIN: Final = 10.0
"""A probe that was put in anew, or meat that was turned, may read so much less at once."""

FILM: Final = 25.0
"""W/(m2 K); a brisk wind and radiation together: no place for cooked meat takes heat away faster but cold water."""

HEAT_CAPACITY: Final = 3.4e6
"""J/(m3 K), of meat; as `food.properties` has it at 80 degC."""

AIR_CELSIUS: Final = 0.0
"""The coldest air that is supposed around it. [degC]"""

REMEMBERED: Final = 3600.0
"""s; older readings are looked at only where there is none since."""

BACK_KELVIN: Final = 15.0
"""A probe that is out is in again once it reads no more than that below what the piece is thought to have there."""


def lowest(piece: Piece, celsius: float, lasted: float) -> float:
    """Return what a probe in a piece can read at the least some time after it read `celsius`. [degC]

    The whole piece cooling as one through both faces, as if heat had no way to go inside it: its middle is slower.

    Examples
    --------
    >>> from firebox.meat.cuts import CUTS, piece
    >>> round(lowest(piece(CUTS["brisket"]), 61.0, 900.0))
    42
    """
    seconds = HEAT_CAPACITY * piece.thickness / 2.0 / FILM
    return AIR_CELSIUS + (celsius - AIR_CELSIUS) * math.exp(-lasted / seconds) - SLACK_KELVIN


def is_out(
    piece: Piece, heard: NDArray[np.float64], seconds: float, celsius: float, *, was_out: bool, expected: float
) -> bool:
    """Tell whether a probe is out of the meat.

    Parameters
    ----------
    piece : Piece
    heard : ndarray, shape (n_rows, 2)
        When it was heard in the meat, and what it read; nan where it was not. [s, degC]
    seconds : float
        Now. [s]
    celsius : float
        What it reads. [degC]
    was_out : bool
        It was out a moment ago.
    expected : float
        What it would read in the meat as that is thought to be. [degC]
    """
    if was_out:
        return celsius < expected - BACK_KELVIN
    known = heard[np.isfinite(heard[:, 1])]
    since = known[known[:, 0] >= seconds - REMEMBERED] if len(known) else known
    rows = since if len(since) else known[-1:]
    return any(was >= HOT_CELSIUS and celsius < lowest(piece, was, seconds - at) for at, was in rows.tolist())
