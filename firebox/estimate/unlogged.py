"""Wood that went on without a word: looked for in the readings, taken in where they speak for it.

Every five minutes a belief is run again over the last quarter of an hour, once as logged and once with a split that
nobody logged. Where the second explains the readings so much better that forgetting is the likelier story, the split is
taken as done; a split that the cook logs near it takes its place.
"""

from datetime import UTC, datetime
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from firebox.cooklog import CookLog, Deed
from firebox.estimate import greybox
from firebox.estimate.greybox import GreyBox
from firebox.estimate.model import At
from firebox.records import Damper, Door, Lit, Split
from firebox.setup import Setup

Array = NDArray[np.float64]

QUIET: Final = 12 * 60.0
"""Nothing may have been logged so long before: a fire that was just touched explains itself. [s]"""

AGES: Final = (600.0, 900.0)
"""How long ago the split may have gone on: before that it does not show, after that it is coal. [s]"""

CORRELATED: Final = 0.8
"""Share of the log likelihood that counts: readings a minute apart are wrong together to some part."""

SURPRISE: Final = 3.2
"""Gain of log likelihood that is asked for: one split in three is forgotten and one goes on every 40 min, so in any
five minutes the odds are 1 to 25, and log 25 is 3.2."""

NEAR: Final = 15 * 60.0
"""A split logged so near a guessed one is that split. [s]"""

_NO_TIME: Final = datetime(1970, 1, 1, tzinfo=UTC)
"""A guess has logical seconds only."""


def guess(seconds: float) -> Deed:
    """Return a split of the usual size that may have gone on at `seconds`."""
    return Deed(seconds=seconds, entry=Split(time=_NO_TIME))


def believed(log: CookLog, guessed: tuple[Deed, ...]) -> CookLog:
    """Return the log as it is believed: with the guessed deeds among the told ones."""
    if not guessed:
        return log
    return replace(log, deeds=tuple(sorted((*log.deeds, *guessed), key=lambda deed: deed.seconds)))


def still_guessed(log: CookLog, guessed: tuple[Deed, ...]) -> tuple[Deed, ...]:
    """Return the guesses that no split in the log takes the place of, and that the cook has not denied."""
    told = [*(seconds for seconds, _ in log.splits()), *_denied(log)]
    return tuple(deed for deed in guessed if all(abs(seconds - deed.seconds) > NEAR for seconds in told))


def _denied(log: CookLog) -> list[float]:
    return [denied.seconds for denied in log.denied if denied.about == "split"]


def found(checkpoints: tuple[GreyBox, ...], past: Array, seconds: float, log: CookLog, setup: Setup) -> Deed | None:
    """Return the split that the readings of the last quarter of an hour speak for; None where they do not."""
    if not any(isinstance(deed.entry, Split | Lit) for deed in log.deeds):
        return None
    touched = [d.seconds for d in log.deeds if isinstance(d.entry, Split | Lit)]
    if touched and seconds - max(touched) < QUIET:
        return None
    best, gain = None, SURPRISE
    for age in AGES:
        begun = [box for box in checkpoints if abs(seconds - age - box.seconds) < 150.0]
        if not begun:
            continue
        box = begun[0]
        rows = _thinned(past[past[:, 0] > box.seconds])
        candidate = guess(box.seconds)
        if any(abs(no - box.seconds) < NEAR for no in _denied(log)):
            continue
        told = _explained(box, rows, log, setup)
        untold = _explained(box, rows, believed(log, (candidate,)), setup)
        if CORRELATED * (untold - told) > gain:
            best, gain = candidate, CORRELATED * (untold - told)
    return best


def _thinned(rows: Array) -> Array:
    """Return one reading a minute: neighbours are wrong together and tell hardly more."""
    if not rows.size:
        return rows
    thinned: Array = rows[np.unique(np.searchsorted(rows[:, 0], np.arange(rows[0, 0], rows[-1, 0] + 1.0, 60.0)))]
    return thinned


def _explained(box: GreyBox, rows: Array, log: CookLog, setup: Setup) -> float:
    """Return the log likelihood of readings (when, value, variance), Student-t, under a belief and a log."""
    total = 0.0
    for when, value, variance in rows.tolist():
        box = greybox.advance(box, when, log, setup)
        spread = float(box.cov[At.PROBE, At.PROBE]) + variance
        gap = value - float(box.mean[At.PROBE])
        total -= 0.5 * np.log(spread) + 0.5 * (greybox.NU + 1.0) * np.log1p(gap**2 / (greybox.NU * spread))
        box = greybox.correct(box, At.PROBE, value, variance)
    return float(total)


class Question(Struct, frozen=True, kw_only=True):
    """Something that the readings speak for and the cook can settle with one key.

    Attributes
    ----------
    name : str
        The same as long as the question is.
    text : str
        What to ask; `seconds` is when it would have happened.
    kg : float
        The weight that was assumed.
    entry : Split
        What a yes stands for.
    """

    name: str
    text: str
    seconds: float
    kg: float
    entry: Split | Damper | Door


def questions(guessed: tuple[Deed, ...], seconds: float, kg: float) -> tuple[Question, ...]:
    """Return what the cook should be asked about the guesses of the last hour, newest first."""
    return tuple(
        Question(
            name=f"split-{round(deed.seconds)}",
            text=f"Did a split go on about {round((seconds - deed.seconds) / 60.0)} min ago? The pit behaves so.",
            seconds=deed.seconds,
            kg=kg,
            entry=Split(time=_NO_TIME),
        )
        for deed in reversed(guessed)
        if seconds - deed.seconds < ASKED
    )


ASKED: Final = 3600.0
"""After an hour an answer changes nothing: the wood is coal. [s]"""
