"""What the cook's log says that matters to the alarms, read once a change instead of at every look."""

from msgspec import Struct

from firebox.cooklog import CookLog
from firebox.records import Damper, DamperName, Door, DoorName, Lit, Rake
from firebox.setup import Setup, high_limit, low_limit

Key = tuple[int, float, float, float | None, float | None]


class DoorSaid(Struct, frozen=True):
    """One door: since when it stands open, and when it was last closed. [s]"""

    door: DoorName
    open_since: float | None = None
    closed_at: float | None = None


class Said(Struct, frozen=True, kw_only=True):
    """The log in short.

    Attributes
    ----------
    key : tuple
        What it was read from; see `key_of`.
    target, band, high, low : float
        What is to be held, and the hard limits. [degC], [K]
    lit, split_at, intake_at : float or None
        When the fire that burns was lit, when wood last went in, when the intake was last moved. [s]
    let_out : bool
        The fire is being let die.
    doors : tuple of DoorSaid
        Those that were ever logged.
    splits : tuple of float
        When the last few splits went in, as far as logged. [s]
    raked : float or None
        When the ash was last raked out, or the fire lit anew. [s]
    """

    key: Key
    target: float
    band: float
    high: float
    low: float
    lit: float | None
    split_at: float | None
    intake_at: float | None
    let_out: bool
    doors: tuple[DoorSaid, ...]
    splits: tuple[float, ...] = ()
    raked: float | None = None

    def doors_open(self, seconds: float, since: float = 300.0) -> bool:
        """Tell whether a door is known to be open, or was until `since` seconds ago."""
        return any(
            door.open_since is not None or (door.closed_at is not None and seconds - door.closed_at < since)
            for door in self.doors
        )


def key_of(log: CookLog, setup: Setup) -> Key:
    """Return what changes whenever the answer of `read` could."""
    return log.changes, setup.target_celsius, setup.band, setup.high_celsius, setup.low_celsius


def read(log: CookLog, setup: Setup, seconds: float) -> Said:
    """Return what the log says at `seconds`, which no deed in it lies after."""
    target, band = log.target(seconds, setup)
    splits = log.splits()
    return Said(
        key=key_of(log, setup),
        target=target,
        band=band,
        high=high_limit(setup, target),
        low=low_limit(setup, target),
        lit=log.lit_at(),
        split_at=splits[-1][0] if splits else None,
        intake_at=_intake_at(log),
        let_out=log.out_at() is not None,
        doors=_doors(log),
        splits=tuple(at for at, _ in splits[-3:]),
        raked=next((deed.seconds for deed in reversed(log.deeds) if isinstance(deed.entry, Rake | Lit)), None),
    )


def _intake_at(log: CookLog) -> float | None:
    for deed in reversed(log.deeds):
        if isinstance(deed.entry, Damper) and deed.entry.damper is DamperName.INTAKE:
            return deed.seconds
    return None


def _doors(log: CookLog) -> tuple[DoorSaid, ...]:
    doors: dict[DoorName, DoorSaid] = {}
    for deed in log.deeds:
        entry = deed.entry
        if not isinstance(entry, Door):
            continue
        before = doors.get(entry.door, DoorSaid(entry.door))
        if not entry.open:
            doors[entry.door] = DoorSaid(entry.door, None, deed.seconds)
        elif before.open_since is None:
            doors[entry.door] = DoorSaid(entry.door, deed.seconds, before.closed_at)
    return tuple(doors[door] for door in DoorName if door in doors)
