"""What one look at the dashboard shows: the view at a moment, the state of the watch, the pit. Pure."""

from datetime import datetime, tzinfo
from enum import StrEnum
from typing import Final

from msgspec import Struct

from firebox.ports import KeeperStatus, Kind
from firebox.records import DamperName, Health
from firebox.setup import Setup, Wood
from firebox.units import celsius_to
from tui import view as views
from tui.glyphs import FULL, Glyphs
from tui.outgoing import Outgoing
from tui.preferences import HISTORY_HOURS, Preferences
from tui.text import HEALTH, UNKNOWN, clock, degrees, difference, is_known, span, trend, whole
from tui.view import ViewState

STALE_SECONDS: Final = 12.0
"""Real seconds without any record after which the screen counts as stale.

The keeper asks for an answer every 5 s, and a slow probe node may send only every 10 s, so two ticks may pass with no
other record; what is new reaches the journal up to 1.5 s after it came, and this screen 0.2 s later. Sooner, the word
would come and go on a pit that is well.
"""

KIND_WORDS: Final = {
    Kind.LIVE: "",
    Kind.DEMO: "DEMO FIRE - NOT A REAL PIT",
    Kind.PRACTICE: "PRACTICE FIRE - NOT A REAL PIT",
    Kind.REPLAY: "REPLAY - THIS IS THE PAST",
}


class Glance(Struct, frozen=True, kw_only=True):
    """Everything a widget needs to draw itself."""

    view: ViewState
    seconds: float
    """Logical time now."""
    silent_for: float = 0.0
    """Real seconds since the newest record came."""
    status: KeeperStatus | None = None
    preferences: Preferences
    zone: tzinfo | None = None
    drawing: Glyphs = FULL
    outgoing: Outgoing = Outgoing()
    link_problem: str = ""
    charted: str | None = None
    """The probe that the chart shows; None: the one that stands for the pit."""
    can_revive: bool = False

    @property
    def setup(self) -> Setup:
        return self.view.setup or Setup(time=self.instant(0.0))

    @property
    def history_seconds(self) -> float:
        """How far back the chart looks: as far as wanted, but not far beyond the beginning of the cook."""
        lived = next((hours for hours in HISTORY_HOURS if hours * 3600.0 >= self.seconds), HISTORY_HOURS[-1])
        return min(self.preferences.history_hours, lived) * 3600.0

    @property
    def wood(self) -> Wood:
        return self.setup.wood

    def instant(self, seconds: float) -> datetime:
        return views.instant(self.view, seconds)

    def clock(self, seconds: float, *, with_seconds: bool = False) -> str:
        return clock(self.instant(seconds), self.preferences, self.zone, seconds=with_seconds)

    def stands(self, name: DamperName) -> float | None:
        """Return how a damper stands as far as told."""
        return self.view.cook.damper_open(name, self.seconds, self.setup)


# --- the state of the watch ----------------------------------------------------------------------


class Condition(StrEnum):
    """What the cook must know about the watch itself; the worst that holds."""

    WELL = "well"
    STARTING = "starting"
    BLIND = "blind"
    STALE = "stale"
    UNWATCHED = "unwatched"


class Say(Struct, frozen=True):
    """A headline and the sentence under it."""

    head: str
    body: str = ""


def condition(glance: Glance) -> Condition:
    """Return the worst thing that holds about the watch itself."""
    if glance.status is not None and not glance.status.alive:
        return Condition.UNWATCHED
    if glance.view.epoch is None:
        return Condition.STALE if glance.silent_for > 2 * STALE_SECONDS else Condition.STARTING
    if glance.silent_for > STALE_SECONDS or glance.link_problem:
        return Condition.STALE
    if views.pit_celsius(glance.view) is None:
        return Condition.STARTING if _is_waiting(glance.view) else Condition.BLIND
    return Condition.WELL


def _is_waiting(view: ViewState) -> bool:
    """Tell whether the pit's probes simply have not been heard yet, early in the watch."""
    probe = views.lead(view)
    return view.seconds < 60.0 and (probe is None or probe.health in {Health.WAITING, Health.GOOD})


def condition_words(glance: Glance) -> Say:
    """Return what the banner says about the watch itself; empty when all is well."""
    match condition(glance):
        case Condition.UNWATCHED:
            key = " - press k to start the keeper" if glance.can_revive else " - start it with: firebox keep"
            return Say(f"NOBODY IS WATCHING{key}", f"The keeper does not run. What you see is {_age(glance)} old.")
        case Condition.STALE:
            why = glance.link_problem or "The keeper lives but says nothing."
            return Say(f"STALE: nothing heard for {span(glance.silent_for)}", f"What you see is old. {why}")
        case Condition.BLIND:
            return Say("BLIND: no pit probe can be trusted", blind_reason(glance.view) + " Go and look at the fire.")
        case _:
            return Say("")


def _age(glance: Glance) -> str:
    return span(glance.silent_for)


def blind_reason(view: ViewState) -> str:
    """Return why there is no pit temperature, probe by probe."""
    probe = views.lead(view)
    if probe is None:
        return "No probe at the grate is configured or heard."
    at_grate = [other for other in view.probes.values() if other.role is probe.role]
    return ", ".join(f"{other.name}: {HEALTH[other.health]}" for other in at_grate) + "."


def is_played(glance: Glance) -> bool:
    """Tell whether the fire is a simulated one, to which the keys happen: what is entered is done, not told."""
    return glance.status is not None and glance.status.kind in {Kind.DEMO, Kind.PRACTICE}


def title(glance: Glance) -> str:
    """Return the pit's name."""
    return glance.status.pit if glance.status else glance.setup.pit


def kind_words(glance: Glance) -> str:
    """Return what sort of fire this is, with its speed; empty for a real pit at its own pace."""
    if glance.status is None:
        return ""
    words, rate = KIND_WORDS[glance.status.kind], glance.status.rate
    speed = "" if rate == 1 else f"x{rate:g}"
    return f"{words} {speed}".strip()


# --- the pit -------------------------------------------------------------------------------------


def pit_number(glance: Glance) -> str:
    """Return the pit's temperature in whole degrees without its scale; "--" when not known."""
    celsius = views.pit_celsius(glance.view)
    if not is_known(celsius) or celsius is None:
        return UNKNOWN
    return whole(celsius_to(celsius, glance.preferences.degrees))


def pit_trend(glance: Glance) -> str:
    """Return where the pit is going, in words, with an arrow beside them."""
    if condition(glance) in {Condition.STALE, Condition.UNWATCHED}:
        return f"{span(glance.silent_for)} old"
    if views.pit_celsius(glance.view) is None:
        return "not known"
    outlook = views.fresh_outlook(glance.view)
    drift = outlook.drift_per_hour if outlook else None
    words = trend(drift, glance.preferences)
    if drift is None or words.startswith("trend"):
        return words
    drawing = glance.drawing
    arrow = drawing.level if words == "steady" else drawing.up if drift > 0 else drawing.down
    return f"{arrow} {words}"


def pit_aim(glance: Glance) -> str:
    """Return the target and where the pit stands against it."""
    aim = views.target(glance.view)
    if aim is None:
        return "no target yet"
    target, band = aim
    words = (
        f"aim {degrees(target, glance.preferences)} {glance.drawing.plus_minus}{difference(band, glance.preferences)}"
    )
    celsius = views.pit_celsius(glance.view)
    return words if celsius is None else f"{words}, {against_band(celsius, target, band, glance.preferences)}"


def against_band(celsius: float, target: float, band: float, preferences: Preferences) -> str:
    """Return "on target", "inside the band", "12 under" or "12 over"."""
    off = celsius - target
    if abs(off) <= band:
        return "inside"
    return f"{difference(abs(off), preferences)} {'over' if off > 0 else 'under'}"
