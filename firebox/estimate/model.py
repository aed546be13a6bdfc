"""The grey box: wood in stages, air, firebox, chamber and probe as a handful of states that march in time.

One member is one column: `states[LAYOUT, member]`. Parameters are states too (logs of factors on their prior value), so
that the filter learns them with everything else.
"""

from enum import IntEnum
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from firebox.pit import draft, wood

Array = NDArray[np.float64]


class At(IntEnum):
    """Rows of a member: states first, then the logs of parameter factors."""

    FIREBOX = 0  # firebox wall, degC
    WALL = 1  # chamber wall, degC
    MASS = 2  # meat, grates and thick parts, degC
    PROBE = 3  # what the lagging probe shows, degC
    FRESH = 4  # wood that heats and dries, kg dry
    WARM = 5  # wood about to catch, kg dry
    FLAMING = 6  # wood that gives off gas, kg dry
    COAL = 7  # char, kg
    VIGOUR = 8  # log of the heat against what the model says, slow
    WEATHER = 9  # log of the losses against the usual, slow
    FLICKER = 10  # shift of the gas temperature, minutes, K
    AMBIENT = 11  # degC
    DRYING_TIME = 12
    FLAMING_TIME = 13
    COAL_TIME = 14
    CHAR_YIELD = 15
    HEAT = 16
    AIR = 17
    RADIANT = 18
    FIREBOX_EXCHANGE = 19
    WALL_EXCHANGE = 20
    WALL_LOSS = 21
    FIREBOX_LOSS = 22
    WALL_CAPACITY = 23
    FIREBOX_CAPACITY = 24
    MASS_CAPACITY = 25
    MASS_EXCHANGE = 26
    DOOR = 27
    LAG = 28
    RADIATION_SEEN = 29
    AIR_POWER = 30
    KINDLING = 31
    BURN_POWER = 32
    COAL_POWER = 33
    CURVE_0 = 34
    CURVE_1 = 35
    CURVE_2 = 36
    CURVE_3 = 37
    CURVE_4 = 38
    CURVE_5 = 39
    EMBERS = 40


SIZE: Final = len(At)
FIRST_PARAMETER: Final = int(At.DRYING_TIME)


class Pit(Struct, frozen=True, kw_only=True):
    """Prior values of the parameters: `value[i] * exp(state[FIRST_PARAMETER + i])` is a member's own.

    Attributes
    ----------
    value, spread : ndarray, shape (SIZE - FIRST_PARAMETER,)
        Prior medians in SI units and SDs of their logs.
    plain, wide : ndarray, shape (SIZE - FIRST_PARAMETER,)
        Medians and SDs that the pit's build alone gives: what earlier cooks taught may be wrong, these are what pits are.
    usual_kg : float
        Dry mass of a usual split. [kg]
    need_watts : float
        Heat that holds the target in usual weather, as the prior has it. [W]
    area : float
        Outer surface of the chamber. [m2]
    """

    value: NDArray[np.float64]
    spread: NDArray[np.float64]
    plain: NDArray[np.float64]
    wide: NDArray[np.float64]
    usual_kg: float
    need_watts: float
    area: float


BOUND: Final = 2.0
"""Parameters stay within so many SDs of what the build gives: beyond lies no pit."""


def within(logs: Array, pit: Pit) -> Array:
    """Return parameters (logs of factors on `Pit.value`) held within what pits are."""
    shift = np.log(pit.value / pit.plain)
    held: Array = np.clip(logs, -BOUND * pit.wide - shift, BOUND * pit.wide - shift)
    return held


class Controls(Struct, frozen=True):
    """How dampers and doors stand."""

    intake: float
    stack: float
    cook_door: bool
    firebox_door: bool
    since: float | Array = 1e9
    """Seconds since wood last went on, for all members or for each."""


CURVE: Final = np.array([60.0, 210.0, 390.0, 630.0, 960.0, 1500.0])
"""Seconds after a split at which a pit's own hump may differ from the model's, each by a factor that is learned."""


def _curve(p: Array, since: float | Array) -> Array:
    """Return the factor on the heat that was learned for this time after a split; 1 where none was."""
    if isinstance(since, np.ndarray):
        return _curve_of_each(p, since)
    if since > 2.0 * CURVE[-1]:
        return np.ones(p.shape[1])
    place = float(np.interp(since, CURVE, np.arange(CURVE.size)))
    low = min(int(place), CURVE.size - 2)
    rows = p[At.CURVE_0 - FIRST_PARAMETER + low], p[At.CURVE_0 - FIRST_PARAMETER + low + 1]
    part = place - low
    fade = min(1.0, 2.0 - since / float(CURVE[-1]))
    factor: Array = np.exp(fade * ((1.0 - part) * np.log(rows[0]) + part * np.log(rows[1])))
    return factor


def _curve_of_each(p: Array, since: Array) -> Array:
    """Return the same where every member had its wood at a time of its own."""
    place = np.interp(since, CURVE, np.arange(CURVE.size))
    low = np.minimum(place.astype(int), CURVE.size - 2)
    part, member = place - low, np.arange(since.size)
    logs = np.log(p[At.CURVE_0 - FIRST_PARAMETER : At.CURVE_5 - FIRST_PARAMETER + 1])
    fade = _between(2.0 - since / CURVE[-1], 0.0, 1.0)
    factor: Array = np.exp(fade * ((1.0 - part) * logs[low, member] + part * logs[low + 1, member]))
    return factor


CP_AIR: Final = 1013.5
"""Specific heat of air at 121 degC. [J/(kg K)] CoolProp 8, verified."""

WETTING: Final = 0.9e6
"""Heat that fresh wood takes up until it gives off gas. [J/kg dry] From 15 to 270 degC with 1.9 kJ/(kg K) (Wood
Handbook eqs. 4-16 to 4-18) is 0.5 MJ, and 0.18 kg of water take 2.4 MJ/kg."""

LHV_CHAR: Final = 30.0e6
"""Heat of char. [J/kg] From memory: 30-32 MJ/kg."""

AIR_CHAR: Final = 11.0
"""Air that char takes to burn. [kg/kg] C + O2: 32/12 kg O2, air 23.14 % O2, 95 % carbon."""


def parameters(states: Array, pit: Pit) -> Array:
    """Return every member's own parameters, shape (SIZE - FIRST_PARAMETER, members)."""
    own: Array = np.exp(np.clip(states[FIRST_PARAMETER:], -3.0, 3.0)) * pit.value[:, None]
    return own


def heat_of(states: Array, p: Array, pit: Pit, controls: Controls) -> Array:
    """Return the heat that every member's fire gives. [W]"""
    return _released(states, p, pit, controls)[0]


def _of(p: Array, which: At) -> Array:
    row: Array = p[which - FIRST_PARAMETER]
    return row


def _between(values: Array, low: float, high: float) -> Array:
    """Return values held between two bounds; `np.clip` takes three times as long over so few."""
    held: Array = np.minimum(np.maximum(values, low), high)
    return held


def opening(controls: Controls) -> float:
    """Return how much of its full flow a pit passes with its dampers so: two orifices in series, never tight."""
    inlet = min(1.0, controls.intake + 0.06) + (1.0 if controls.firebox_door else 0.0)
    outlet = min(1.0, controls.stack + 0.06) + (1.0 if controls.cook_door else 0.0)
    return draft.in_series(inlet, outlet)


def _released(states: Array, p: Array, pit: Pit, controls: Controls) -> tuple[Array, Array, Array, Array, Array]:
    ambient = states[At.AMBIENT] + 273.15
    flue = np.maximum(states[At.WALL] + 273.15, ambient + 3.0)
    # Stack effect: flow goes with the root of 1 - To/Ti (references: draft, verified form); 0.5 at 121 over 20 degC.
    pull = np.sqrt(1.0 - ambient / flue) / 0.5
    air = _of(p, At.AIR) * opening(controls) * pull
    flaming = np.maximum(states[At.FLAMING], 0.0)
    coal = np.maximum(states[At.COAL], 0.0)
    char = np.minimum(_of(p, At.CHAR_YIELD), 0.5)
    lhv_gas = (wood.LHV_DRY - char * LHV_CHAR) / (1.0 - char)
    air_gas = (wood.STOICHIOMETRIC_AIR - char * AIR_CHAR) / (1.0 - char)
    fanned = np.exp(_of(p, At.AIR_POWER) * np.log(2.0 * opening(controls) * pull))
    # Power 1: every part burns for itself, and the heat fades; power 0: surface or air decides, and the heat holds until
    # the wood is gone. Logs lie between (d^2 law, references: char burnout), and where, the pit shows.
    gas_rate = _decided(flaming, pit.usual_kg, _of(p, At.BURN_POWER)) / _of(p, At.FLAMING_TIME)
    coal_rate = _decided(coal, 0.5 * pit.usual_kg, _of(p, At.COAL_POWER)) / _of(p, At.COAL_TIME) * fanned
    glow = (gas_rate * lhv_gas + coal_rate * LHV_CHAR) / pit.need_watts
    warmth = np.log(_between(glow, 0.05, 3.0))
    # Coals burn by their own heat and the flames': a bed left alone cools, and burns the slower for it.
    coal_rate = coal_rate * np.exp(_of(p, At.EMBERS) * warmth)
    hot = np.exp(_of(p, At.KINDLING) * warmth)
    catching = 2.0 * hot / _of(p, At.DRYING_TIME)
    gas_rate = gas_rate * (0.5 + 0.5 * fanned) * (0.5 + 0.5 * hot)
    wanted = gas_rate * (1.0 - char) * air_gas + coal_rate * AIR_CHAR
    # Starved: heat is what the air allows. The mean of power -4 is a soft minimum.
    plenty = 0.8 * air / np.maximum(wanted, 1e-9)
    square = plenty * plenty
    starved = 1.0 / np.sqrt(np.sqrt(1.0 + 1.0 / (square * square)))
    gas_rate, coal_rate = gas_rate * starved, coal_rate * starved
    heat = gas_rate * (1.0 - char) * lhv_gas + coal_rate * LHV_CHAR
    heat = heat * _of(p, At.HEAT) * np.exp(_between(states[At.VIGOUR], -2.0, 2.0)) * _curve(p, controls.since)
    return heat, air, catching, gas_rate, coal_rate


def _decided(amount: Array, usual: float, power: Array) -> Array:
    """Return the amount that burns as if each part burned for itself. [kg]"""
    share = amount / usual
    decided: Array = amount * np.exp((np.minimum(power, 1.5) - 1.0) * np.log(share + 0.03))
    return decided


def march(states: Array, p: Array, pit: Pit, controls: Controls, dt: float, *, at: Array | None = None) -> Array:
    """Return the members, whose parameters are `p`, `dt` seconds later; `dt` is at most some minutes.

    `at` is where they are half way, as far as that can be told; rates are taken there, which makes long strides exact
    to second order. Without it they are taken at the start, which is good for strides of some seconds.
    """
    at = states if at is None else at
    heat, air, catching, gas_rate, coal_rate = _released(at, p, pit, controls)
    out = states.copy()
    char = np.minimum(_of(p, At.CHAR_YIELD), 0.5)
    fresh, warm, flaming, coal = (np.maximum(states[row], 0.0) for row in (At.FRESH, At.WARM, At.FLAMING, At.COAL))
    # Fresh wood that warms, and warm wood that catches at the same pace: both solved exactly.
    stay = np.exp(-catching * dt)
    dried, left = fresh - fresh * stay, (warm + catching * dt * fresh) * stay
    passed = warm + dried - left
    gone = _passed(flaming, gas_rate, at[At.FLAMING], dt)
    out[At.FRESH] = fresh - dried
    out[At.WARM] = left
    out[At.FLAMING] = flaming + passed - gone
    out[At.COAL] = coal + char * gone - _passed(coal, coal_rate, at[At.COAL], dt)
    heat = heat - WETTING * dried / dt
    ambient = states[At.AMBIENT]
    gas, fire_gas = _gases(at, p, heat, air, controls)
    radiant = np.minimum(_of(p, At.RADIANT), 0.8)
    box, wall = states[At.FIREBOX], states[At.WALL]
    box_loss, wall_loss = conductances(at, p)
    exchange = _of(p, At.FIREBOX_EXCHANGE)
    out[At.FIREBOX] = _relaxed(
        box,
        radiant * heat + exchange * fire_gas + box_loss * ambient,
        exchange + box_loss,
        _of(p, At.FIREBOX_CAPACITY),
        dt,
    )
    exchange = _of(p, At.WALL_EXCHANGE)
    out[At.WALL] = _relaxed(
        wall, exchange * gas + wall_loss * ambient, exchange + wall_loss, _of(p, At.WALL_CAPACITY), dt
    )
    exchange = _of(p, At.MASS_EXCHANGE)
    out[At.MASS] = _relaxed(states[At.MASS], exchange * gas, exchange, _of(p, At.MASS_CAPACITY), dt)
    seen = _seen(at, p, gas)
    out[At.PROBE] += (seen - states[At.PROBE]) * -np.expm1(-dt / _of(p, At.LAG))
    out[At.VIGOUR] *= np.exp(-dt / VIGOUR_MEMORY)
    out[At.WEATHER] *= np.exp(-dt / WEATHER_MEMORY)
    out[At.FLICKER] *= np.exp(-dt / FLICKER_MEMORY)
    return out


def conductances(states: Array, p: Array) -> tuple[Array, Array]:
    """Return what firebox and chamber lose to the air for each kelvin that their walls are warmer, (members,). [W/K]

    Radiation makes a hot wall lose more for each kelvin; the slopes fit the loss table (13 W/m2K at 70 K, 22 at 230 K).
    """
    weather = np.exp(_between(states[At.WEATHER], -1.5, 1.5))
    box, wall = states[At.FIREBOX] - states[At.AMBIENT], states[At.WALL] - states[At.AMBIENT]
    return (
        _of(p, At.FIREBOX_LOSS) * weather * np.maximum(0.6 + box / 400.0, 0.3),
        _of(p, At.WALL_LOSS) * weather * np.maximum(0.82 + wall / 400.0, 0.3),
    )


VIGOUR_MEMORY: Final = 2400.0
"""How long a fire burns better or worse than the model thinks: about one split's life. [s]"""

WEATHER_MEMORY: Final = 3600.0
"""How long wind and rain last. [s] Gusts (minutes) are in the flicker."""

FLICKER_MEMORY: Final = 240.0
"""How long a flame's flicker, a gust or a shifting log lasts. [s]"""


def _gases(states: Array, p: Array, heat: Array, air: Array, controls: Controls) -> tuple[Array, Array]:
    """Return the gas temperature in the chamber and in the firebox; gas holds no heat to speak of."""
    flow = air * CP_AIR
    ambient = states[At.AMBIENT]
    exchange = _of(p, At.FIREBOX_EXCHANGE)
    radiant = np.minimum(_of(p, At.RADIANT), 0.8)
    fire_gas = (flow * ambient + (1.0 - radiant) * heat + exchange * states[At.FIREBOX]) / (flow + exchange)
    wall, mass = _of(p, At.WALL_EXCHANGE), _of(p, At.MASS_EXCHANGE)
    top = flow * fire_gas + wall * states[At.WALL] + mass * states[At.MASS]
    bottom = flow + wall + mass
    if controls.cook_door:
        top, bottom = top + _of(p, At.DOOR) * ambient, bottom + _of(p, At.DOOR)
    return top / bottom + states[At.FLICKER], fire_gas


def _seen(states: Array, p: Array, gas: Array) -> Array:
    share = np.minimum(_of(p, At.RADIATION_SEEN), 0.9)
    seen: Array = (1.0 - share) * gas + share * states[At.WALL]
    return seen


def seen(states: Array, p: Array, pit: Pit, controls: Controls) -> Array:
    """Return the temperature at the probe, without its lag. [degC]"""
    heat, air, catching, _, _ = _released(states, p, pit, controls)
    gas, _ = _gases(states, p, heat - WETTING * catching * np.maximum(states[At.FRESH], 0.0), air, controls)
    return _seen(states, p, gas)


def _passed(amount: Array, rate: Array, of: Array, dt: float) -> Array:
    """Return how much of `amount` goes within `dt` where `of` goes at `rate`, never more than there is."""
    moved: Array = amount * -np.expm1(-rate * dt / (np.maximum(of, 0.0) + 1e-9))
    return moved


def _relaxed(value: Array, sources: Array, conductance: Array, capacity: Array, dt: float) -> Array:
    """Return a temperature after `dt`: it relaxes to sources/conductance with time constant capacity/conductance."""
    end = sources / conductance
    relaxed: Array = end + (value - end) * np.exp(-dt * conductance / capacity)
    return relaxed
