"""What must never be advised, as facts about the moment; every move goes through these gates.

* No wood on a fire that is running away.
* No opening of the firebox while a hot fire is short of air: the intake first, then flames, then the door, slowly.
* The stack is never closed by advice, and the intake never quite shut, while the fire burns: smoke must leave.
* Nothing but clean, dry hardwood: what the wood on hand or the last split is else, `fuel` says with every split.
* No water on burning grease: no advice speaks of water at all; the alarm says why.
"""

from typing import Final

from firebox.cooklog import CookLog
from firebox.estimate.forecast import FireView, Forecast
from firebox.records import DamperName
from firebox.setup import Setup

RUNAWAY_CHANCE: Final = 0.5
RUNAWAY_MINUTES: Final = 15
"""Likely enough to cross the upper limit that no wood may be added."""

RUNAWAY_BANDS: Final = 2.0
"""So many bands above the target, a quarter of an hour from now, is a runaway as well."""

RISING: Final = 30.0
"""A pit that rises slower than this does not run away; a mark of air is answer enough. [K/h]"""

HUMP: Final = 20.0
"""For so long after a split its own rise is no runaway. [min]"""

CLEAN: Final = 0.25
"""Below this opening a fire smoulders; only one over its hard limit is closed further."""

STARVED_RISK: Final = 0.6
"""From this risk of smouldering on the firebox counts as short of air."""


def runs_away(  # noqa: PLR0917  all of the moment that matters
    celsius: float,
    drift: float,
    forecast: Forecast | None,
    aim: tuple[float, float],
    high: float,
    since_split: float,
) -> bool:
    """Tell whether the pit is over its upper limit, or on its way there.

    Every split lifts a pit steeply for a while (`since_split` in minutes); closing the intake on that chokes it.
    """
    target, band = aim
    if celsius >= high:
        return True
    if drift <= RISING or celsius < target + band:
        return False
    if since_split < HUMP and celsius < target + RUNAWAY_BANDS * band:
        return False
    if forecast is None:
        return True
    place = min(range(len(forecast.minutes)), key=lambda k: abs(forecast.minutes[k] - RUNAWAY_MINUTES))
    likely = forecast.probability_above(high, forecast.minutes[place]) >= RUNAWAY_CHANCE
    return likely or forecast.at(0.5)[place] > target + RUNAWAY_BANDS * band


def starved(fire: FireView, log: CookLog, seconds: float, setup: Setup) -> bool:
    """Tell whether the fire may be short of air, so that opening the firebox could flash."""
    intake = log.damper_open(DamperName.INTAKE, seconds, setup)
    closed = intake is not None and intake <= 1.0 / setup.damper_marks
    return closed or (fire.smoulder_risk or 0.0) >= STARVED_RISK


def intake_step(marks: int, log: CookLog, seconds: float, setup: Setup) -> float | None:
    """Return the intake opening so many marks from where it stands; None: not known, or no room for the step.

    Never less than one mark: a fire that burns is not shut off by advice.
    """
    now = log.damper_open(DamperName.INTAKE, seconds, setup)
    if now is None:
        return None
    mark = 1.0 / setup.damper_marks
    new = min(1.0, max(mark, (round(now / mark) + marks) * mark))
    return new if abs(new - now) > mark / 2.0 and (new > now) == (marks > 0) else None
