"""Wood that went on without a word: looked for in the readings, taken in where they speak for it.

Every five minutes a belief is run again over the last quarter of an hour, once as logged and once with a split that
nobody logged. Where the second explains the readings so much better that forgetting is the likelier story, the split is
taken as done; a split that the cook logs near it takes its place.
"""

from datetime import UTC, datetime
from typing import Final

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from firebox.cooklog import CookLog, Deed
from firebox.estimate import greybox
from firebox.estimate.greybox import GreyBox
from firebox.estimate.model import At
from firebox.records import Damper, Door, Entry, Lit, Split
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

TAKES_THE_PLACE: Final = {Split: (-NEAR, NEAR), Damper: (-360.0, NEAR), Door: (-120.0, 180.0)}
"""How long before and after a guess an entry of its kind is what was guessed. [s] Guesses of dampers are some minutes
off; of doors, one."""

NO_TIME: Final = datetime(1970, 1, 1, tzinfo=UTC)
"""A guess has logical seconds only."""


def guess(seconds: float) -> Deed:
    """Return a split of the usual size that may have gone on at `seconds`."""
    return Deed(seconds=seconds, entry=Split(time=NO_TIME))


def believed(log: CookLog, guessed: tuple[Deed, ...]) -> CookLog:
    """Return the log as it is believed: with the guessed deeds among the told ones."""
    if not guessed:
        return log
    return replace(log, deeds=tuple(sorted((*log.deeds, *guessed), key=lambda deed: deed.seconds)))


def still_guessed(log: CookLog, guessed: tuple[Deed, ...]) -> tuple[Deed, ...]:
    """Return the guesses that nothing in the log takes the place of, and that the cook has not denied."""
    return tuple(deed for deed in guessed if not _told(log, deed) and not _denied(log, deed))


def _told(log: CookLog, guess: Deed) -> bool:
    early, late = TAKES_THE_PLACE[type(guess.entry)]
    near = (deed for deed in log.deeds if early <= deed.seconds - guess.seconds <= late)
    return any(_alike(deed.entry, guess.entry) for deed in near)


def _alike(one: Entry, other: Entry) -> bool:
    if isinstance(one, Damper) and isinstance(other, Damper):
        return one.damper is other.damper
    if isinstance(one, Door) and isinstance(other, Door):
        return one.door is other.door
    return isinstance(one, Split) and isinstance(other, Split)


def _denied(log: CookLog, guess: Deed) -> bool:
    about = ABOUT[type(guess.entry)]
    return any(no.about == about and abs(no.seconds - guess.seconds) <= NEAR for no in log.denied)


ABOUT: Final[dict[type, str]] = {Split: "split", Damper: "damper", Door: "door"}
"""What an answer is about, by the entry that was asked for."""


def found(checkpoints: tuple[GreyBox, ...], past: Array, seconds: float, log: CookLog, setup: Setup) -> Deed | None:
    """Return the split that the readings of the last quarter of an hour speak for; None where they do not."""
    if not any(isinstance(deed.entry, Split | Lit) for deed in log.deeds):
        return None
    touched = [d.seconds for d in log.deeds if isinstance(d.entry, Split | Lit)]
    if touched and seconds - max(touched) < QUIET:
        return None
    best, gain = None, SURPRISE + float(np.log1p(sum(denied.about == "split" for denied in log.denied)))
    for age in AGES:
        begun = [box for box in checkpoints if abs(seconds - age - box.seconds) < 150.0]
        if not begun:
            continue
        box = begun[0]
        rows = _thinned(past[past[:, 0] > box.seconds])
        candidate = guess(box.seconds)
        if _denied(log, candidate):
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
    total, surprise = 0.0, box.surprise
    for when, value, variance in rows.tolist():
        box = greybox.advance(box, when, log, setup)
        spread = (float(box.cov[At.PROBE, At.PROBE]) + variance) * max(1.0, surprise)
        gap = value - float(box.mean[At.PROBE])
        total -= 0.5 * np.log(spread) + 0.5 * (greybox.NU + 1.0) * np.log1p(gap**2 / (greybox.NU * spread))
        box = greybox.correct(box, At.PROBE, value, variance)
    return float(total)
