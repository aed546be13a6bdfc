"""Everything a move is decided on, gathered once a call."""

from datetime import datetime
from typing import Final

from msgspec import Struct

from firebox.advise.supply import Sizes, supply
from firebox.cooklog import CookLog
from firebox.estimate.forecast import FireView, Forecast
from firebox.records import Damper, DamperName, Door, DoorName
from firebox.setup import Setup

DOOR_RECOVERY: Final = 480.0
"""For so long after a door was closed the thermometer tells of the air that was lost, not of the fire. [s]"""

DOOR_EXCUSE: Final = 900.0
"""A door logged as open for longer was closed without a word, or is beyond advice. [s]"""

NEVER: Final = float("-inf")


class Moment(Struct, frozen=True, kw_only=True):
    """The pit, the fire and the cook's doings as they stand; `celsius` None: blind.

    `need` is what the pit took while it held [kg/h of wood]; `share` what the controller wants beyond it.
    """

    seconds: float
    time: datetime
    setup: Setup
    log: CookLog
    forecast: Forecast | None
    fire: FireView
    celsius: float | None
    target: float
    band: float
    high: float
    low: float
    sizes: Sizes
    need: float
    share: float

    @property
    def drift(self) -> float:
        """Return the slope of the pit. [K/h]; 0 where not known."""
        return self.forecast.drift_per_hour if self.forecast else 0.0

    @property
    def aim(self) -> tuple[float, float]:
        """Return target and band."""
        return self.target, self.band

    @property
    def demand(self) -> float:
        """Return the heat wanted over the next hour, as wood. [kg/h]"""
        return self.need * (1.0 + self.share)

    def given(self, minutes: float = 0.0) -> float:
        """Return what the logged wood gives over the hour that begins in so many minutes. [kg/h]"""
        start = self.seconds + 60.0 * minutes
        return supply(self.log, self.sizes.medium, start, start + 3600.0)

    @property
    def since_split(self) -> float:
        """Return how long ago wood went in, as far as logged. [min]"""
        at = max((at for at, _ in self.log.splits() if at <= self.seconds), default=NEVER)
        return (self.seconds - at) / 60.0

    @property
    def since_damper(self) -> float:
        """Return how long ago the intake was moved, as far as logged. [min]"""
        for deed in reversed(self.log.deeds):
            entry = deed.entry
            if deed.seconds <= self.seconds and isinstance(entry, Damper) and entry.damper is DamperName.INTAKE:
                return (self.seconds - deed.seconds) / 60.0
        return -NEVER


def disturbed(log: CookLog, seconds: float) -> bool:
    """Tell whether a door is open, or was until a few minutes ago."""
    last: dict[DoorName, tuple[float, bool]] = {}
    for deed in log.deeds:
        if deed.seconds <= seconds and isinstance(deed.entry, Door):
            last[deed.entry.door] = (deed.seconds, deed.entry.open)
    return any(seconds - at < (DOOR_EXCUSE if is_open else DOOR_RECOVERY) for at, is_open in last.values())


def open_door(log: CookLog, seconds: float) -> DoorName | None:
    """Return a door that was opened within the last quarter of an hour and stands open."""
    for door in DoorName:
        opened = [
            deed
            for deed in log.deeds
            if deed.seconds <= seconds and isinstance(deed.entry, Door) and deed.entry.door is door
        ]
        if opened and seconds - opened[-1].seconds < DOOR_EXCUSE and log.door_open(door, seconds):
            return door
    return None
