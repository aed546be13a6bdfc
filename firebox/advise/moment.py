"""Everything a move is decided on, gathered once a call."""

from datetime import datetime
from typing import Final

from msgspec import Struct

from firebox.advise.habits import Habits
from firebox.advise.lighting import Start
from firebox.advise.supply import Sizes
from firebox.advise.trend import Trend
from firebox.cooklog import CookLog
from firebox.estimate.forecast import FireView, Forecast
from firebox.records import Damper, DamperName, Door, DoorName
from firebox.setup import Setup

DOOR_RECOVERY: Final = 480.0
"""For so long after a door was closed the thermometer tells of the air that was lost, not of the fire. [s]"""

DOOR_EXCUSE: Final = 900.0
"""A door logged as open for longer was closed without a word, or is beyond advice. [s]"""

NEVER: Final = float("-inf")

HOT_ALARMS: Final = frozenset({"pit-too-hot", "flare", "rising-fast", "running-away"})
COLD_ALARMS: Final = frozenset({"pit-too-cold", "fire-dying", "split-stalled"})
"""While one of these stands, the move is what the alarm says to do first."""

EARLY: Final = -0.5
"""The fall to be caught is that through this share of the band below the target, until the pit has taught better: with the
hump that follows the pit then lies around its target, and a cook who feeds earlier walks more often for a hotter pit."""

LATE: Final = -0.75
"""The same for a sleeper, whose sleep is worth the lower part of the band."""

WALK: Final = 26.0
"""A cook who is up walks to the pit about so often for wood. [min] Twice or three times an hour, late or refused now and
then: the shorter the rhythm, the flatter the humps, but nobody goes more often for hours."""

SLEEP: Final = 75.0
"""The shortest sleep that is worth lying down for. [min]"""

RISING_TIME: Final = 3.0
"""To wake, read and get dressed. [min]"""

FLAMES: Final = 3.0
"""From wood laid on good coals to its first heat at the grate. [min]"""


SPACING: Final = 9.0
"""Closer together than this splits choke each other: the last one flames by then, or it has not caught. [min]"""

CATCHES: Final = 30.0
"""A pit that rises faster than this has wood that catches: half a degree a minute. [K/h]"""

FAR_DOWN: Final = 2.5
"""So many bands under its target a pit needs all the wood it can burn, even while it rises."""

SMALL_SHARE: Final = 0.75
"""Wood under this share of a medium split is small."""

TAMED_SECONDS: Final = 3600.0
"""An intake that was closed by two marks or more longer ago than this was meant to stay there. [s]"""

QUICKLY: Final = 25.0
"""A split that carried the pit for less than this was too small for it. [min]"""

GLOWS: Final = 40.0
"""A split that flamed leaves coals that light the next for so long. [min]"""

DIP: Final = 8.0
"""A fall within this of a split tells of its opened door and its cold wood, not of the coals. [min]"""

FEW_COALS: Final = 0.35
"""Coals lighter than this share of a medium split do not light one."""

WEAK_BANDS: Final = 2.5
"""A falling pit so many bands under its target has few coals left, whatever the estimate says."""


class Moment(Struct, frozen=True, kw_only=True):
    """The pit, the fire and the cook's doings as they stand; `celsius` None: blind.

    `share` is the heat that the controller wants now for the error and its trend, as a share of the steady need; what it
    remembers of earlier errors is left out, as the wood of the last hours tells the need itself.
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
    share: float
    drift: float
    """Over the last minutes, as the cook is shown it. [K/h]; 0 where not known."""
    trend: Trend
    """Which way it goes."""
    trim: float = 0.0
    """What the aim of wood lies below the target, as learned from split to split. [K]"""
    lasts: float
    """How long a kilogram of wood carries the pit, as learned from the wood of the last hour or two. [min/kg]"""
    has_caught: bool = True
    """Whether the pit has risen since the last split went in."""
    is_weak: bool = False
    """Whether the fire may be too weak to light more than small wood."""
    habits: Habits = Habits()
    """How late this cook answers, and how heavy his splits are."""
    asleep: bool = False
    """Whether the cook sleeps, and would have to be called."""
    is_up: bool = True
    """Whether the pit has been up to temperature since the fire was lit."""
    start: Start = Start()
    """How the fire that was lit last has come along."""
    alarms: frozenset[str] = frozenset()
    """Those that stand before the cook's eyes."""

    @property
    def is_below(self) -> bool:
        """Tell whether the pit is below its band."""
        return self.celsius is not None and self.celsius < self.target - self.band

    @property
    def comes_back(self) -> bool:
        """Tell whether the pit rises so fast that wood in the fire must be catching: no more until that is over."""
        near = self.celsius is not None and self.celsius > self.target - FAR_DOWN * self.band
        return near and self.drift > CATCHES

    @property
    def flamed(self) -> bool:
        """Tell whether the last split caught and left coals: a pit that falls all the same wants more wood, not less."""
        return self.has_caught and self.since_split < GLOWS

    @property
    def is_above(self) -> bool:
        """Tell whether the pit is above its band."""
        return self.celsius is not None and self.celsius > self.target + self.band

    @property
    def intake(self) -> float | None:
        """Return how the intake stands; None where never told."""
        return self.log.damper_open(DamperName.INTAKE, self.seconds, self.setup)

    @property
    def last_kg(self) -> float:
        """Return what the last split weighed, medium where that was not told; 0 before the first. [kg]"""
        last = max(self.log.splits(), key=lambda split: split[0], default=None)
        if last is None:
            return 0.0
        return self.sizes.medium if last[1].kg is None else last[1].kg

    @property
    def was_small(self) -> bool:
        """Tell whether the last split was small wood."""
        return 0.0 < self.last_kg < SMALL_SHARE * self.sizes.medium

    @property
    def tamed_from(self) -> float | None:
        """Return how the intake stood before it was closed by marks within the last hour; None: it was not."""
        moves = [
            (deed.seconds, deed.entry.open)
            for deed in self.log.deeds
            if isinstance(deed.entry, Damper)
            and deed.entry.damper is DamperName.INTAKE
            and deed.seconds <= self.seconds
        ]
        if not moves or self.seconds - moves[-1][0] > TAMED_SECONDS:
            return None
        before = moves[-2][1] if len(moves) > 1 else self.setup.intake_open
        closed = before is not None and before - moves[-1][1] > 1.5 / self.setup.damper_marks
        return before if closed else None

    @property
    def wood_below(self) -> float:
        """Return the temperature whose crossing wood is to catch. [degC]"""
        return self.target + (LATE if self.asleep else EARLY) * self.band - self.trim

    @property
    def walk(self) -> float:
        """Return how long this cook should be left in peace between two walks to the pit. [min]"""
        return SLEEP if self.asleep else WALK

    @property
    def lead(self) -> float:
        """Return how long it takes from the advice to the first heat of its wood. [min]"""
        return self.answer + FLAMES

    @property
    def answer(self) -> float:
        """Return how long this cook takes from being told to having done it. [min]"""
        return self.habits.delay + (RISING_TIME if self.asleep else 0.0)

    @property
    def aim(self) -> tuple[float, float]:
        """Return target and band."""
        return self.target, self.band

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


def weak(moment: Moment, *, before: bool) -> bool:
    """Tell whether the fire may be too weak to light more than small wood; it stays so until the pit rises again.

    Small wood that went in a while ago has done what it can: what follows it has to carry the pit.
    """
    if moment.celsius is None:
        return before
    if moment.alarms & COLD_ALARMS:
        return True
    if moment.flamed or (moment.was_small and moment.since_split < QUICKLY):
        return False
    few = moment.fire.coal_kg is not None and moment.fire.coal_kg < FEW_COALS * moment.sizes.medium
    falls = moment.is_below and moment.trend is Trend.FALLING and moment.since_split >= DIP
    if falls and (few or moment.celsius < moment.target - WEAK_BANDS * moment.band):
        return True
    return before and moment.is_below and moment.trend is not Trend.RISING


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
