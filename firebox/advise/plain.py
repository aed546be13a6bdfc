"""Moments in which the answer is plain and no forecast has to be weighed: no fire, no sight, a door, a runaway."""

from typing import Final

from msgspec.structs import replace

from firebox.advise import starting
from firebox.advise.caution import CLEAN, STARVED_RISK, intake_step
from firebox.advise.moment import CATCHES, COLD_ALARMS, Moment, disturbed, open_door
from firebox.advise.trend import MOVING
from firebox.records import DamperName, Expected, Move, NextSplit, Phase

COMES_DOWN: Final = -30.0
"""A pit over its hard limit that falls slower than this is not yet on its way down. [K/h] As its alarm has it."""

ASHES: Final = "ash-choking"
"""The alarm of a fire that its own ash smothers."""

SETTLING: Final = 8.0
"""After the intake was moved a runaway gets so long to answer before more is asked. [min]"""


CALM_SECONDS: Final = 180.0
"""A pit not seen running away for so long needs no more taming, only watching. [s]"""


LET_DIE: Final = (
    "The fire is being let die: no more wood, the intake may be shut, the stack stays open until no coal glows; ash"
    " stays hot for a day, so give it a lidded metal bucket."
)

UNLIT: Final = "No fire is burning yet: light it and log it as lit."

OUT: Final = "The fire looks out: see whether coals still glow; if not, light kindling and log it as lit."

FAR_BELOW: Final = 20.0
CLIMBING: Final = 15.0
"""A pit so far below its lower limit [K] that climbs slower than this [K/h] has no fire to speak of."""

JUST_LAID: Final = 8.0
NOT_CAUGHT: Final = 10.0
"""A split is given this long to flame, and this long with more air, before small wood is laid on it. [min]"""

RISES_AGAIN: Final = 12.0
"""A cold pit that rises faster than this has fire enough to wait for: a degree in five minutes. [K/h]"""

QUARTER: Final = 0.25
WIDE: Final = 0.75
"""Where the intake goes on a runaway and on a dying fire when nobody ever told how it stands."""

BARELY_WARM: Final = 45.0
"""A pit that is colder, and of whose fire nothing was ever told, has had none: the sun warms steel so far. [degC]"""

NO_PROBES_SECONDS: Final = 60.0
"""So long the watch may run before silent probes count as no sight. [s]"""


def answer(moment: Moment, ran: float | None, *, waiting: bool) -> Move | None:
    """Return the move where it is plain; None where it has to be thought about.

    Parameters
    ----------
    moment : Moment
    ran : float or None
        How long ago the pit was last seen running away; None: it is not, or the matter is over. [s]
    waiting : bool
        No probe has been heard yet, and none could be expected to have been.
    """
    if moment.log.out_at() is not None:
        return _hold(moment, LET_DIE)
    if moment.celsius is None and waiting:
        return _hold(moment, "Waiting for the first readings.")
    if moment.celsius is None:
        return _see_to(moment, "Blind at the grate: look at the pit yourself before touching anything.")
    if moment.start.dead:
        return _light(moment, starting.NOT_TAKEN)
    if moment.fire.phase is Phase.UNLIT and not moment.start.cold:
        return _light(moment, UNLIT)
    if moment.fire.phase is Phase.OUT:
        return _light(moment, OUT)
    door = open_door(moment.log, moment.seconds)
    if door is not None:
        return _see_to(moment, f"The {door} door is open: close it first, the thermometer tells nothing until then.")
    settling = disturbed(moment.log, moment.seconds)
    if ran is not None and not (settling and moment.celsius < moment.high):
        return _tame(moment, ran)
    if settling:
        return _hold(moment, "A door was closed a few minutes ago: let the air settle before judging the fire.")
    if ASHES in moment.alarms:
        return _see_to(
            moment, "It is fed and has its air, and yet it falls: rake the ash through the grate, then log it."
        )
    coming_up = starting.answer(moment, _left_alone(moment))
    if coming_up is not None:
        return coming_up
    if moment.alarms & COLD_ALARMS:
        return _bring_back(moment)
    if (moment.fire.smoulder_risk or 0.0) >= STARVED_RISK:
        return _give_air(moment)
    if _is_cold_out(moment):
        never = moment.start.lit is None and not moment.log.splits()
        return _light(moment, UNLIT if never and moment.celsius < BARELY_WARM else OUT)
    return _coming_up(moment)


def _is_cold_out(moment: Moment) -> bool:
    """Tell whether the pit is far below all limits and does not climb: no fire to speak of."""
    assert moment.celsius is not None
    return moment.celsius < moment.low - FAR_BELOW and moment.drift < CLIMBING


def _bring_back(moment: Moment) -> Move:
    """Return the answer to an alarm of a dying fire or a cold pit: what the alarm says to do first."""
    settled = moment.since_damper >= SETTLING
    if moment.since_split < JUST_LAID:
        return _hold(moment, "Wood was just laid: wait for its flames before anything else.")
    if moment.drift > RISES_AGAIN:
        return _hold(moment, "It is rising again: let the fire build up before more wood.")
    more = _opened(moment) if settled else None
    if moment.since_split < NOT_CAUGHT and more is not None:
        return _touch(moment, more, None, "The last split has not caught: open the intake until it flames.")
    if moment.since_split < NOT_CAUGHT:
        return _hold(moment, "The last split was just given air: wait for its flames before any more wood.")
    starved = (moment.fire.smoulder_risk or 0.0) >= STARVED_RISK
    if starved and more is not None:
        return _touch(moment, more, None, "The fire is short of air: open the intake and wait for clear flames.")
    if starved:
        return _hold(moment, "The fire smoulders; it was just given air, so wait for clear flames before any wood.")
    air = " with more air" if more is not None else ""
    if moment.flamed:
        reason = f"The last wood caught but was too little: the coals are good, and a bigger split{air} carries it."
    else:
        reason = f"The fire is dying: if coals glow, small dry wood{air} catches; if not, light kindling."
    kg = moment.sizes.medium if moment.flamed else moment.sizes.small
    split = NextSplit(in_minutes=0.0, kg=round(kg, 2))
    return Move(
        time=moment.time,
        split=split,
        intake=more,
        stack=None,
        hold=False,
        expected=None,
        reason=reason,
        light=not moment.flamed,
    )


def _opened(moment: Moment) -> float | None:
    """Return the intake a mark further open, or wide where nobody told how it stands; None: it is open."""
    if moment.intake is None:
        return WIDE
    return intake_step(1, moment.log, moment.seconds, moment.setup)


def _hold(moment: Moment, reason: str) -> Move:
    return Move(
        time=moment.time,
        split=None,
        intake=None,
        stack=None,
        hold=True,
        expected=_left_alone(moment),
        reason=reason,
    )


def _see_to(moment: Moment, reason: str) -> Move:
    """Return a move that is neither wood nor air: the cook's own eyes and hands, as the reason says."""
    return replace(_hold(moment, reason), hold=False)


def _light(moment: Moment, reason: str) -> Move:
    return replace(_see_to(moment, reason), light=True)


def _left_alone(moment: Moment) -> Expected | None:
    forecast = moment.forecast
    if forecast is None or moment.celsius is None:
        return None
    minutes = min(forecast.minutes, key=lambda horizon: (abs(horizon - 30), horizon))
    return Expected(minutes=minutes, celsius=round(forecast.at(0.5)[forecast.minutes.index(minutes)], 2))


def _touch(moment: Moment, intake: float | None, stack: float | None, reason: str) -> Move:
    return Move(time=moment.time, split=None, intake=intake, stack=stack, hold=False, expected=None, reason=reason)


def _tame(moment: Moment, ran: float) -> Move:
    """Return the answer to a runaway: less air, no wood, doors shut; the stack stays as it is."""
    if moment.since_damper < SETTLING:
        return _hold(moment, "It is hot and the intake was just moved: wait, add no wood, keep both doors shut.")
    over = moment.celsius is not None and moment.celsius >= moment.high
    if ran > CALM_SECONDS or moment.drift < (COMES_DOWN if over else -MOVING):
        return _hold(moment, "It is hot but no longer running: add no wood and keep both doors shut.")
    intake = _closed(moment)
    if intake is None:
        return _hold(moment, "It is running hot with the intake almost shut: keep both doors shut and add no wood.")
    return _touch(moment, intake, None, "It is running away: less air now, add no wood, keep both doors shut.")


def _closed(moment: Moment) -> float | None:
    """Return the intake two marks less open, a quarter where nobody told how it stands; None: almost shut.

    Short of the hard limit not further than a clean flame allows, and not by more than half of its air: wood that is choked
    keeps its heat for later, and a fire that is cut short falls as fast as it rose.
    """
    over = moment.celsius is not None and moment.celsius >= moment.high
    if moment.intake is None:
        return max(1, round(QUARTER * moment.setup.damper_marks)) / moment.setup.damper_marks
    for marks in (-2, -1):
        intake = intake_step(marks, moment.log, moment.seconds, moment.setup)
        if intake is not None and (over or intake >= max(CLEAN, 0.5 * moment.intake)):
            return intake
    return None


def _give_air(moment: Moment) -> Move | None:
    """Return the answer to a smouldering fire: air first, wood later."""
    if moment.since_damper < SETTLING:
        return _hold(moment, "The fire smoulders; it was just given air, so wait for clear flames before any wood.")
    assert moment.celsius is not None
    if moment.celsius > moment.target and moment.drift > MOVING:
        return _hold(
            moment, "The fire smoulders, but the pit is warm and rises: wait for clear flames before any wood."
        )
    stack = moment.log.damper_open(DamperName.STACK, moment.seconds, moment.setup)
    intake = _opened(moment)
    wide = 1.0 if stack is not None and stack < 1.0 else None
    if intake is None and wide is None:
        return None
    return _touch(moment, intake, wide, "The fire smoulders: give it air and wait for clear flames before any wood.")


def _coming_up(moment: Moment) -> Move | None:
    # Nobody told of lighting it: only a rise that no burnt-down fire makes is one that comes up.
    climbs = moment.drift >= (CATCHES if moment.start.lit is None else CLIMBING)
    if moment.fire.phase is not Phase.STARTING or moment.celsius is None or not climbs:
        return None
    if moment.celsius >= moment.target - moment.band:
        return None
    soon = moment.forecast.at(0.5)[1] if moment.forecast else moment.celsius
    if soon > moment.target + moment.band and moment.since_damper >= SETTLING:
        intake = intake_step(-2, moment.log, moment.seconds, moment.setup)
        if intake is not None:
            return _touch(
                moment, intake, None, "It is coming up fast: less air now brings it in without running over."
            )
    return _hold(moment, "It is coming up; let the fire build its coals.")
