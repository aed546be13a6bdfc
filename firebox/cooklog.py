"""What the cook did, in order, with undone entries left out: a pure fold over the entries.

Everything that thinks about the fire (estimate, advice, alarms) reads the cook's doings from here and from nowhere
else, so an undone or back-dated entry is right everywhere at once.
"""

from datetime import datetime

from msgspec import Struct
from msgspec.structs import replace

from firebox.records import (
    Answer,
    Awake,
    Damper,
    DamperName,
    Door,
    DoorName,
    Entry,
    Feel,
    Hush,
    Lit,
    MeatOn,
    Out,
    Pit,
    Rake,
    Serving,
    Sleep,
    Split,
    Spritz,
    Target,
    Turn,
    Undo,
    Weigh,
    Wrap,
)
from firebox.setup import Setup

Doing = (
    Split
    | Damper
    | Door
    | Target
    | Lit
    | Out
    | Rake
    | Pit
    | Spritz
    | Wrap
    | MeatOn
    | Feel
    | Turn
    | Weigh
    | Hush
    | Serving
    | Sleep
    | Awake
)
"""What a cook does at the pit, or with himself; the other entries are no doing of his."""


class Deed(Struct, frozen=True, kw_only=True):
    """One entry of the cook, at logical `seconds` (when it happened, not when it was entered)."""

    seconds: float
    entry: Doing


class Denied(Struct, frozen=True, kw_only=True):
    """What the cook says did not happen at `seconds`: a split, a damper's move or a door's; `id` is his answer's."""

    seconds: float
    about: str
    id: str | None = None


class CookLog(Struct, frozen=True, kw_only=True):
    """The cook's doings so far.

    Attributes
    ----------
    deeds : tuple of Deed
        In order of `Deed.seconds`; ties in the order they were entered. Undone entries are absent.
    undone : tuple of Deed
        Taken back; an undo of the undo brings them back.
    revised : float or None
        The earliest `seconds` that the newest entry changed, where that lies before the newest deed of all or
        before the entry was made; the estimator has to think again from there. None: nothing in the past changed.
    changes : int
        Counts every change, so that "has anything changed" is one comparison.
    denied : tuple of Denied
        What the cook was asked about and said no to.
    """

    deeds: tuple[Deed, ...] = ()
    undone: tuple[Deed, ...] = ()
    undos: tuple[tuple[str, str], ...] = ()
    revised: float | None = None
    changes: int = 0
    denied: tuple[Denied, ...] = ()

    def splits(self) -> tuple[tuple[float, Split], ...]:
        """Return (seconds, entry) of every split."""
        return tuple((d.seconds, d.entry) for d in self.deeds if isinstance(d.entry, Split))

    def door_open(self, door: DoorName, seconds: float) -> bool:
        """Tell whether a door stands open at `seconds` as far as logged."""
        state = False
        for deed in self.deeds:
            if deed.seconds > seconds:
                break
            if isinstance(deed.entry, Door) and deed.entry.door is door:
                state = deed.entry.open
        return state

    def damper_open(self, damper: DamperName, seconds: float, setup: Setup) -> float | None:
        """Return the opening of a damper at `seconds`; None where never told."""
        state = setup.intake_open if damper is DamperName.INTAKE else setup.stack_open
        for deed in self.deeds:
            if deed.seconds > seconds:
                break
            if isinstance(deed.entry, Damper) and deed.entry.damper is damper:
                state = deed.entry.open
        return state

    def target(self, seconds: float, setup: Setup) -> tuple[float, float]:
        """Return (target, band) in degC and K at `seconds`."""
        celsius, band = setup.target_celsius, setup.band
        for deed in self.deeds:
            if deed.seconds > seconds:
                break
            if isinstance(deed.entry, Target):
                celsius, band = deed.entry.celsius, deed.entry.band or band
        return celsius, band

    def lit_at(self) -> float | None:
        """Return when the fire that burns now was lit; None where that was never told or it was let out."""
        for deed in reversed(self.deeds):
            if isinstance(deed.entry, Out):
                return None
            if isinstance(deed.entry, Lit):
                return deed.seconds
        return None

    def asleep_since(self, seconds: float) -> float | None:
        """Return since when the cook sleeps, as far as told; None: he is up."""
        for deed in reversed(self.deeds):
            if deed.seconds <= seconds and isinstance(deed.entry, Sleep | Awake):
                return deed.seconds if isinstance(deed.entry, Sleep) else None
        return None

    def out_at(self) -> float | None:
        """Return since when the fire is being let die on purpose; None when it is not."""
        for deed in reversed(self.deeds):
            if isinstance(deed.entry, Out):
                return deed.seconds
            if isinstance(deed.entry, Lit | Split):
                return None
        return None


def enter(log: CookLog, entry: Entry, seconds: float, epoch: datetime | None = None) -> CookLog:
    """Return the log with one more entry.

    Parameters
    ----------
    log : CookLog
    entry : Entry
        Entries that are no doing of the cook at the pit (acknowledgements, notes, the clock) leave the log as it is.
    seconds : float
        Logical time of the entry. [s]
    epoch : datetime, optional
        The instant of logical second 0, needed to place an entry's `at`; without it `at` is passed over.
    """
    if isinstance(entry, Undo):
        return _undo(log, entry)
    if not isinstance(entry, Doing | Answer):
        return log
    happened = seconds
    if entry.at is not None and epoch is not None:
        happened = min(seconds, max(0.0, (entry.at - epoch).total_seconds()))
    if isinstance(entry, Answer):
        if entry.yes:
            return log
        denied = Denied(seconds=happened, about=entry.about, id=entry.id)
        return replace(log, denied=(*log.denied, denied), revised=happened, changes=log.changes + 1)
    newest = log.deeds[-1].seconds if log.deeds else happened
    return replace(
        log,
        deeds=_insert(log.deeds, Deed(seconds=happened, entry=entry)),
        revised=happened if happened < max(newest, seconds) else None,
        changes=log.changes + 1,
    )


def _insert(deeds: tuple[Deed, ...], deed: Deed) -> tuple[Deed, ...]:
    place = len(deeds)
    while place and deeds[place - 1].seconds > deed.seconds:
        place -= 1
    return (*deeds[:place], deed, *deeds[place:])


def _undo(log: CookLog, undo: Undo) -> CookLog:
    undos = log.undos if undo.id is None else (*log.undos, (undo.id, undo.of))
    for deed in log.deeds:
        if deed.entry.id == undo.of:
            return replace(
                log,
                deeds=tuple(d for d in log.deeds if d is not deed),
                undone=(*log.undone, deed),
                undos=undos,
                revised=deed.seconds,
                changes=log.changes + 1,
            )
    for denied in log.denied:
        if denied.id == undo.of:
            left = tuple(other for other in log.denied if other is not denied)
            return replace(log, denied=left, undos=undos, changes=log.changes + 1)
    aim = dict(log.undos).get(undo.of)
    for deed in log.undone:
        if aim is not None and deed.entry.id == aim:
            return replace(
                log,
                deeds=_insert(log.deeds, deed),
                undone=tuple(d for d in log.undone if d is not deed),
                undos=undos,
                revised=deed.seconds,
                changes=log.changes + 1,
            )
    return log
