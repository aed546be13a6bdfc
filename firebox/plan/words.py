"""What a plan says beside its lines: how it stands with the hour, and what to do if it comes early or late."""

from collections.abc import Sequence
from datetime import datetime
from typing import Final

from msgspec import Struct

from firebox.meat.follow import Followed
from firebox.meat.foreseen import Planned
from firebox.meat.hour import SHORTEST_REST
from firebox.meat.safety_tables import least_oven_celsius
from firebox.plan.aim import Outcome
from firebox.records import Phase

SAFE: Final = "Safe comes before punctual: heat and time inside the meat, and the rules of the place."

ALL_OFF: Final = "all the meat is off: let the fire die? Press x, and neither alarms nor advice ask for wood any more"

ROAST_METRES: Final = 0.05
"""Thinner than that is no roast."""

LONELY_HOURS: Final = 8.0
FAR_HOURS: Final = 24.0
WORTH_HOURS: Final = 0.25

PUNCTUAL_SECONDS: Final = 900.0
"""Later than that is late, in a cook's words."""

EARLY_SECONDS: Final = 2.0 * 3600.0
"""So much in hand even for a late one is early: the meat will have to wait."""


class Stand(Struct, frozen=True):
    """How one piece stands with its hour: see `foreseen.Planned`. [s]"""

    name: str
    sure: float
    chance: float
    late: float
    likely_late: float
    serve: datetime
    raw: bool = False
    """It was pulled before it was cooked."""
    hot_until: datetime | None = None
    """While it rests: until when it stays hot; None: on the grate, or as long as it takes."""


def verdict(stands: Sequence[Stand], now: datetime) -> str:
    """Return how the plan stands with the hour, in plain words: about the piece that is latest.

    Parameters
    ----------
    stands : sequence of Stand
        At least one.
    now : datetime
    """
    raw = next((one for one in stands if one.raw), None)
    if raw is not None:
        return (
            f"{raw.name}: NOT COOKED when it was pulled: back on the heat; {sureness(raw.chance)} sure for the hour"
        )
    worst = max(stands, key=lambda one: one.late)
    which = f"{worst.name}: " if len(stands) > 1 else ""
    if now >= worst.serve:
        return f"{which}the hour is past; {sureness(worst.chance)} that it is ready, rested and hot"
    if worst.likely_late > PUNCTUAL_SECONDS:
        return f"{which}LATE by {_about(worst.likely_late / 3600.0)}; a slow one by {duration(worst.late / 3600.0)}"
    if worst.late > PUNCTUAL_SECONDS:
        return (
            f"{which}tight: likely ready in time, but a slow one comes {duration(worst.late / 3600.0)} late; "
            f"{sureness(worst.chance)} sure"
        )
    if all(one.late < -EARLY_SECONDS for one in stands):
        least = min(-one.late for one in stands) / 3600.0
        return f"{which}EARLY by {duration(least)} or more; {_early_for(min(stands, key=lambda one: one.chance))}"
    return f"{which}on time, {sureness(worst.chance)} sure to be ready, rested and hot"


def _early_for(one: Stand) -> str:
    """Return how sure an early piece is of its hour, and where it is not, why and what helps."""
    sure = f"{sureness(one.chance)} sure for the hour"
    if one.chance >= HARDLY_SURE:
        return f"{sure}; it will have to wait"
    why = "" if one.hot_until is None else f": hot only until {one.hot_until:%H:%M}"
    helps = "go slower" if one.hot_until is None else "put it back on"
    return f"{sure}{why}; a holding oven, an earlier hour, or {helps}"


HARDLY_SURE: Final = 0.5

MOST_SURE: Final = 0.95
"""Surer than that nothing is called: the model is not, whatever its members say."""


def sureness(chance: float) -> str:
    """Return a probability in words.

    Examples
    --------
    >>> sureness(0.8), sureness(0.99)
    ('80%', 'over 95%')
    """
    return f"{chance:.0%}" if chance <= MOST_SURE else f"over {MOST_SURE:.0%}"


# --- what to do ----------------------------------------------------------------------------------


def beforehand(one: Outcome, sure: float, name: str) -> tuple[str, ...]:
    """Return what to do if a piece that is not on yet comes early or late, and what its plan is worth."""
    said = []
    if one.probability < sure - 0.02:
        said.append(f"{name}: no start is surer than {one.probability:.0%}; {_surer(one)}")
    said.append(f"{name}, if early: {_early(one.style.rest, one.keeps_hours)}")
    said.append(
        f"{name}, if late: {_late(one.style.rest, one.style.wrap, one.hotter_hours, one.foil_hours, 'from the start')}"
    )
    return tuple(said)


def of_the_oven(one: Outcome, pit_celsius: float, name: str) -> tuple[str, ...]:
    """Return what the Food Code's roast rows suppose, where the pit is slower than that."""
    oven = least_oven_celsius(one.piece.kg)
    if one.piece.cut.ends != "tender" or pit_celsius >= oven - 1.0 or one.piece.thickness < ROAST_METRES:
        return ()
    text = f"{name}: the Food Code's rows for roasts of this weight suppose a dry oven of {oven:.0f} C ({1.8 * oven + 32.0:.0f} F); in a slower pit go by "
    return (f"{text}70 C (158 F) inside, which it passes long before it gives",)


def measured(one: Followed, planned: Planned, name: str) -> tuple[str, ...]:
    """Return what to do with a piece that is on if it comes early or late."""
    if one.lies.rest != "grate":
        return ()
    rest = planned.style.rest
    keeps = next((r for r in one.foreseen.rests if r.rest == rest), None) if one.foreseen else None
    waits = FAR_HOURS + 1.0 if keeps is not None and keeps.hot_until is None else None
    hours = waits if keeps is None or keeps.hot_until is None else (keeps.hot_until - one.stepped) / 3600.0
    early = f"{name}, if early: {_early(rest, hours)}"
    saves = planned.hotter / 3600.0, planned.foil / 3600.0
    if planned.late < 0.0 and max(saves) < WORTH_HOURS:
        return (early,)
    return early, f"{name}, if late: {_late(rest, one.lies.material, *saves, 'from now on')}"


def of_people(hours: float, people: int) -> tuple[str, ...]:
    """Return what is to be said of one person alone with a fire for long."""
    if people > 1 or hours <= LONELY_HOURS:
        return ()
    return (
        f"{hours:.0f} h of fire for one person: find a second, or plan naps by the alarms; never leave a live fire",
    )


def of_the_fire(phase: Phase, *, live: bool, all_off: bool = False, let_out: bool = False) -> tuple[str, ...]:
    """Return what a fire that goes down means for the plan, or meat that needs none any more."""
    if all_off:
        return () if let_out else (ALL_OFF,)
    if not live or phase not in (Phase.DYING, Phase.OUT):
        return ()
    return (
        "the fire is going out: see to it first; what is told here takes it that the pit comes back to its target",
    )


def _surer(one: Outcome) -> str:
    if one.style.rest in ("counter", "grate"):
        return "a cooler or a holding oven to rest in would let it wait"
    return "a wrap, a hotter pit or a holding oven would narrow it"


def _early(rest: str, keeps: float | None) -> str:
    """Return what to do with meat that is ready early; `keeps` tells how long it stays hot where it rests. [h]"""
    if rest == "grate":
        return "wrap it and let the pit come down to 65-70 C (149-158 F)"
    if keeps is None:
        return "let it wait where it rests, above 57 C (135 F); longer needs a holding oven at 60-65 C (140-149 F)"
    if keeps > FAR_HOURS:
        return "it can wait: the holding place keeps it above 57 C (135 F) for as long as it takes"
    held = f"it stays above 57 C (135 F) for about {duration(keeps)} where it rests"
    return f"{held}; longer needs a holding oven at 60-65 C (140-149 F)"


def _late(rest: str, wrap: str, hotter: float, foil: float, since: str) -> str:
    """Return what to do with meat that comes late, and what each thing saves a slow one. [h]"""
    ways = []
    if hotter >= WORTH_HOURS:
        ways.append(f"14 C (25 F) more in the pit {since} saves {_up_to(hotter)}")
    if wrap != "foil" and foil >= WORTH_HOURS:
        ways.append(f"foil once the bark is set saves {_up_to(foil)}")
    ways.append(f"at the least it rests {duration(SHORTEST_REST[rest])}" if rest != "grate" else "serve later")
    return "; ".join(ways)


def _up_to(hours: float) -> str:
    return duration(hours) if hours > FAR_HOURS else f"up to {duration(hours)}"


def _about(hours: float) -> str:
    return duration(hours) if hours > FAR_HOURS else f"about {duration(hours)}"


def duration(hours: float) -> str:
    """Return a duration in words.

    Examples
    --------
    >>> duration(0.5), duration(2.25), duration(30.0)
    ('30 min', '2 h 15', 'more than a day')
    """
    if hours > FAR_HOURS:
        return "more than a day"
    minutes = round(60.0 * hours / 5.0) * 5
    return f"{minutes} min" if minutes < 60 else f"{minutes // 60} h {minutes % 60:02d}".removesuffix(" 00")
