"""Moments in which the answer is plain and no forecast has to be weighed: no fire, no sight, a door, a runaway."""

from typing import Final

from firebox.advise.caution import STARVED_RISK, intake_step
from firebox.advise.moment import Moment, disturbed, open_door
from firebox.records import DamperName, Expected, Move, Phase

SETTLING: Final = 8.0
"""After the intake was moved a runaway gets so long to answer before more is asked. [min]"""


CALM_SECONDS: Final = 180.0
"""A pit not seen running away for so long needs no more taming, only watching. [s]"""


OUT: Final = "The fire looks out: see whether coals still glow; if not, light kindling and log it as lit."

FAR_BELOW: Final = 20.0
CLIMBING: Final = 15.0
"""A pit so far below its lower limit [K] that climbs slower than this [K/h] has no fire to speak of."""

FALLING: Final = -20.0
CHOKED: Final = (5.0, 20.0)
"""A split takes heat for some five minutes; if the pit still falls this fast [K/h] after that, up to the second figure
[min], it is not catching."""


def answer(moment: Moment, ran: float | None) -> Move | None:
    """Return the move where it is plain; None where it has to be thought about.

    Parameters
    ----------
    moment : Moment
    ran : float or None
        How long ago the pit was last seen running away; None: it is not, or the matter is over. [s]
    """
    if moment.log.out_at() is not None:
        return _hold(moment, "The fire is being let die on purpose: nothing more to do but let it cool.")
    if moment.celsius is None:
        return _hold(moment, "Blind at the grate: look at the pit yourself before touching anything.")
    if moment.fire.phase is Phase.UNLIT:
        return _hold(moment, "No fire is burning yet: light it and log it as lit.")
    if moment.fire.phase is Phase.OUT:
        return _hold(
            moment, "The fire looks out: see whether coals still glow; if not, light kindling and log it as lit."
        )
    door = open_door(moment.log, moment.seconds)
    if door is not None:
        return _hold(moment, f"The {door} door is open: close it first, the thermometer tells nothing until then.")
    settling = disturbed(moment.log, moment.seconds)
    if ran is not None and not (settling and moment.celsius < moment.high):
        return _tame(moment, ran)
    if settling:
        return _hold(moment, "A door was closed a few minutes ago: let the air settle before judging the fire.")
    if (moment.fire.smoulder_risk or 0.0) >= STARVED_RISK:
        return _give_air(moment)
    if _is_cold_out(moment):
        return _hold(moment, OUT)
    return _wake(moment) or _coming_up(moment)


def _is_cold_out(moment: Moment) -> bool:
    """Tell whether the pit is far below all limits and does not climb: no fire to speak of."""
    assert moment.celsius is not None
    return moment.celsius < moment.low - FAR_BELOW and moment.drift < CLIMBING


def _wake(moment: Moment) -> Move | None:
    """Return the answer to a split that chokes the fire: more air at once, before the coals are too cold."""
    assert moment.celsius is not None
    cold = moment.celsius < moment.target - moment.band and moment.drift < FALLING
    if not cold or not CHOKED[0] <= moment.since_split <= CHOKED[1] or moment.since_damper < SETTLING:
        return None
    intake = intake_step(2, moment.log, moment.seconds, moment.setup) or intake_step(
        1, moment.log, moment.seconds, moment.setup
    )
    if intake is None:
        return None
    return _touch(
        moment, intake, None, "The last split is not catching and the pit falls: open the intake until it flames."
    )


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
        return _hold(
            moment, "It is running hot; the intake was just moved, so wait, add no wood and keep both doors shut."
        )
    if ran > CALM_SECONDS:
        return _hold(moment, "It is hot but no longer running; add no wood and keep both doors shut.")
    intake = intake_step(-2, moment.log, moment.seconds, moment.setup) or intake_step(
        -1, moment.log, moment.seconds, moment.setup
    )
    known = moment.log.damper_open(DamperName.INTAKE, moment.seconds, moment.setup) is not None
    if known and intake is None:
        return _hold(moment, "It is running away with the intake almost shut: keep both doors shut and add no wood.")
    return _touch(
        moment, intake, None, "It is running away: close the intake by two marks, add no wood, keep both doors shut."
    )


def _give_air(moment: Moment) -> Move | None:
    """Return the answer to a smouldering fire: air first, wood later."""
    if moment.since_damper < SETTLING:
        return _hold(moment, "The fire smoulders; it was just given air, so wait for clear flames before any wood.")
    stack = moment.log.damper_open(DamperName.STACK, moment.seconds, moment.setup)
    intake = intake_step(1, moment.log, moment.seconds, moment.setup)
    wide = 1.0 if stack is not None and stack < 1.0 else None
    if intake is None and wide is None:
        return None
    return _touch(moment, intake, wide, "The fire smoulders: give it air and wait for clear flames before any wood.")


def _coming_up(moment: Moment) -> Move | None:
    if moment.fire.phase is not Phase.STARTING or moment.celsius is None or moment.drift < CLIMBING:
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
