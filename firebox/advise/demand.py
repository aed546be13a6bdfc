"""How much heat the pit should get, as a share of what holds it: the one place where simple-pid is used.

The controller lives as plain floats in the state and is built anew for every call, so that it can be written down and
restored exactly. It is driven by logical time alone.
"""

from typing import Final

from msgspec import Struct
from msgspec.structs import replace
from simple_pid import PID

GAIN_KELVIN: Final = 100.0
"""Doubling the heat raises a pit 100 K above the air by about as much again, as losses grow in proportion. [K]"""

TIME_CONSTANT: Final = 45.0 * 60.0
DEAD_TIME: Final = 10.0 * 60.0
"""Steel of 6 mm answers over the better part of an hour; a split takes some ten minutes to burn (orders of magnitude,
no source). [s]"""

CLOSED_LOOP: Final = 30.0 * 60.0
"""How quickly an error should be worked off. [s]"""

PROPORTIONAL: Final = TIME_CONSTANT / (GAIN_KELVIN * (CLOSED_LOOP + DEAD_TIME))
INTEGRAL: Final = PROPORTIONAL / TIME_CONSTANT
DERIVATIVE: Final = PROPORTIONAL * DEAD_TIME / 2.0
"""Internal model control rules for a first-order process with dead time (Astrom and Hagglund, 2006, from memory).
[1/K], [1/(K s)], [s/K]"""

LIMITS: Final = (-0.7, 1.0)
"""A fire cannot be asked for less than its coals give, nor for more than twice the steady need."""

EVERY: Final = 10.0
"""Seconds between two updates: the estimate itself moves on in such steps."""

LONGEST_STEP: Final = 120.0
"""A longer pause counts as this: what was in it is not known. [s]"""

NEAR_BANDS: Final = 3.0
"""Further from the target than so many bands the pit is coming up or out of control: the integral rests."""

_PRIMING: Final = 1e-9


class PidState(Struct, frozen=True, kw_only=True):
    """The controller between two calls."""

    integral: float = 0.0
    last_celsius: float | None = None
    target: float | None = None
    seconds: float | None = None
    share: float = 0.0
    """Newest output: heat wanted beyond the steady need, as a share of it."""


def follow(
    state: PidState, seconds: float, celsius: float | None, target: float, band: float, *, disturbed: bool
) -> PidState:
    """Return the controller after a look at the temperature.

    Parameters
    ----------
    state : PidState
    seconds : float
        Logical time. [s]
    celsius : float or None
        The pit; None (blind) leaves everything as it is. [degC]
    target, band : float
        What is to be held. [degC], [K]
    disturbed : bool
        A door is open, or was until just now: the thermometer does not tell of the fire, so the output stands still
        and takes up afterwards where it was.

    Notes
    -----
    Bumpless: a new target moves the integral by as much as it moves the proportional part the other way. Anti-windup:
    the integral rests while the output is at a limit and would be driven further, or the pit is far from its target.
    """
    state = _retarget(state, target)
    if celsius is None or disturbed:
        return replace(state, seconds=seconds, last_celsius=None)
    passed = None if state.seconds is None else seconds - state.seconds
    if passed is not None and passed < EVERY:
        return state
    dt = min(passed or EVERY, LONGEST_STEP)
    integral, share = _answer(state, celsius, target, dt)
    error = target - celsius
    winding = share in LIMITS and share * error > 0.0
    if winding or abs(error) > NEAR_BANDS * band:
        integral = state.integral
    return PidState(integral=integral, last_celsius=celsius, target=target, seconds=seconds, share=share)


def _retarget(state: PidState, target: float) -> PidState:
    if state.target is None or state.target == target:
        return replace(state, target=target)
    low, high = LIMITS
    moved = state.integral + PROPORTIONAL * (state.target - target)
    return replace(state, integral=min(high, max(low, moved)), target=target)


def _answer(state: PidState, celsius: float, target: float, dt: float) -> tuple[float, float]:
    """Return (integral, output) of one step of the controller.

    The library reads its clock even when told the time step, hence the stopped one. A first call with the last input
    and next to no time gives the derivative its past.
    """
    pid = PID(
        PROPORTIONAL, INTEGRAL, DERIVATIVE, setpoint=target, sample_time=None, output_limits=LIMITS,
        auto_mode=False, time_fn=lambda: 0.0,
    )  # fmt: skip
    pid.set_auto_mode(enabled=True, last_output=state.integral)
    if state.last_celsius is not None:
        pid(state.last_celsius, dt=_PRIMING)
    share = pid(celsius, dt=dt)
    assert share is not None
    return float(pid.components[1]), float(share)
