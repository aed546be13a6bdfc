"""The fire in numbers: heat now, heat needed, wood and coal left, and what each split still gives.

Totals come from the grey box, which has learned this pit. How they are shared among the splits is book-keeping: every
logged split goes through drying, flaming and coals at the learned paces, and has its share of what burns in each stage.
"""

from typing import Final

import numpy as np
from msgspec import Struct

from firebox.cooklog import CookLog
from firebox.estimate.course import Course
from firebox.estimate.deeds import controls_at, dry_kg
from firebox.estimate.greybox import GreyBox
from firebox.estimate.hindsight import weights
from firebox.estimate.model import (
    AIR_CHAR,
    CP_AIR,
    FIRST_PARAMETER,
    LHV_CHAR,
    Array,
    At,
    conductances,
    heat_of,
    opening,
    parameters,
    seen,
)
from firebox.pit import wood
from firebox.records import Burning, Lit, Split, Stage
from firebox.setup import Setup

BURNT_OUT: Final = 3.0 * 3600.0
"""A split older than this gives nothing that shows. [s] Four times the hour that a big one lasts."""

FAINT: Final = 0.02
"""Shares of the heat below this are not told: two hundredths are within the width of a line."""

COLD_BED: Final = 0.25
"""Glow, as a share of the heat needed, under which a bed hardly lights a split: gases and char burn above about 600 C
(references: wood fuel, verified as a snippet), and a bed that radiates a quarter of its usual heat stands near there."""


class Hearth(Struct, frozen=True, kw_only=True):
    """The fire in numbers."""

    heat_watts: float
    need_watts: float
    wood_left_kg: float
    coal_kg: float
    smoulder_risk: float
    splits: tuple[Burning, ...]


def hearth(course: Course, seconds: float, log: CookLog, setup: Setup) -> Hearth:
    """Return the fire as the weighed beliefs of the grey box have it.

    Parameters
    ----------
    course : Course
    seconds : float
        Logical time. [s]
    log : CookLog
    setup : Setup
        Moisture turns dry mass into what a scale would show.
    """
    share = weights(course.verdict)
    target, _ = log.target(seconds, setup)
    wet = 1.0 + setup.wood.moisture
    each = [_numbers(box, seconds, log, setup, target) for box in course.boxes]
    heat, need, left, coal, risk = (float(np.dot(share, [row[k] for row in each])) for k in range(5))
    best = course.boxes[int(np.argmax(share))]
    return Hearth(
        heat_watts=max(0.0, heat),
        need_watts=max(0.0, need),
        wood_left_kg=max(0.0, left * wet),
        coal_kg=max(0.0, coal),
        smoulder_risk=min(1.0, max(0.0, risk)),
        splits=_splits(best, seconds, log, setup, max(0.0, heat)),
    )


def _numbers(
    box: GreyBox, seconds: float, log: CookLog, setup: Setup, target: float
) -> tuple[float, float, float, float, float]:
    """Return heat [W], need [W], dry wood left [kg], coal [kg] and the risk of smouldering at a belief's mean."""
    states = box.mean[:, None]
    p = parameters(states, box.pit)
    controls = controls_at(log, seconds, setup)
    heat = float(heat_of(states, p, box.pit, controls)[0])
    fresh, warm, flaming, coal = (max(0.0, float(box.mean[k])) for k in (At.FRESH, At.WARM, At.FLAMING, At.COAL))
    shown = float(seen(states, p, box.pit, controls)[0])
    need = _losses(states, p, opening(controls)) * _scale(target, shown, float(box.mean[At.AMBIENT]))
    glow = (flaming * 0.5 + coal) * LHV_CHAR / float(_own(p, At.COAL_TIME)) / box.pit.need_watts
    cold = max(0.0, 1.0 - glow / COLD_BED) * (fresh + warm) / (fresh + warm + 0.5 * box.pit.usual_kg)
    starved = 1.0 - _enough_air(p, opening(controls), flaming, coal)
    # Temperatures tell heat and losses only up to a common factor; wood tells its bound: no more heat than is in it.
    overstated = max(1.0, _own(p, At.HEAT) * float(np.exp(np.clip(box.mean[At.VIGOUR], -2.0, 2.0))))
    heat, need = heat / overstated, need / overstated
    return heat, need, fresh + warm + flaming, coal, 1.0 - (1.0 - cold) * (1.0 - starved)


def _own(p: Array, which: At) -> float:
    return float(p[which - FIRST_PARAMETER, 0])


def _losses(states: Array, p: Array, opened: float) -> float:
    """Return what the pit loses now through both walls and the stack. [W]"""
    of_box, of_wall = (float(each[0]) for each in conductances(states, p))
    over_box, over_wall = (float(states[row, 0] - states[At.AMBIENT, 0]) for row in (At.FIREBOX, At.WALL))
    return of_box * over_box + of_wall * over_wall + _own(p, At.AIR) * opened * CP_AIR * over_wall


def _scale(target: float, shown: float, ambient: float) -> float:
    """Return how much larger the losses are at the target than now; losses go nearly with the excess over the air."""
    return float(np.clip((target - ambient) / max(shown - ambient, 10.0), 0.2, 5.0))


def _enough_air(p: Array, opened: float, flaming: float, coal: float) -> float:
    """Return which part of what wants to burn gets its air, 0..1."""
    air = 0.8 * _own(p, At.AIR) * opened
    wanted = flaming / _own(p, At.FLAMING_TIME) * wood.STOICHIOMETRIC_AIR + coal / _own(p, At.COAL_TIME) * AIR_CHAR
    return min(1.0, air / max(wanted, 1e-9))


# --- splits --------------------------------------------------------------------------------------


def _splits(box: GreyBox, seconds: float, log: CookLog, setup: Setup, heat: float) -> tuple[Burning, ...]:
    """Return the logged splits that still burn, oldest first, with their share of the heat."""
    p = parameters(box.mean[:, None], box.pit)
    paces = (0.5 * _own(p, At.DRYING_TIME), _own(p, At.FLAMING_TIME), _own(p, At.COAL_TIME))
    char = min(_own(p, At.CHAR_YIELD), 0.5)
    lhv_gas = wood.LHV_DRY - char * LHV_CHAR
    found = []
    for deed in log.deeds:
        age = seconds - deed.seconds
        if not isinstance(deed.entry, Split | Lit) or not 0.0 <= age < BURNT_OUT:
            continue
        kg = _dry(deed.entry, box, setup)
        drying, flaming, coals = _stages(age, paces)
        gas = kg * flaming / paces[1] * lhv_gas
        glow = kg * char * coals / paces[2] * LHV_CHAR
        found.append((age, kg, (drying, gas, glow)))
    # What burns in all may be more than what was logged: the wood from before, and the splits never told of.
    flaming, coal = max(0.0, float(box.mean[At.FLAMING])), max(0.0, float(box.mean[At.COAL]))
    burning = flaming / paces[1] * lhv_gas + coal / paces[2] * LHV_CHAR
    total = max(burning, sum(gas + glow for _, _, (_, gas, glow) in found))
    if total <= 0.0:
        return tuple(_burning(age, kg, Stage.DRYING, 0.0, setup) for age, kg, _ in found)
    return tuple(
        _burning(age, kg, _stage(drying, gas, glow), heat * (gas + glow) / total, setup)
        for age, kg, (drying, gas, glow) in found
        if drying > 0.5 or (gas + glow) / total > FAINT
    )


def _dry(entry: Split | Lit, box: GreyBox, setup: Setup) -> float:
    if isinstance(entry, Split):
        return dry_kg(entry, box.pit, setup)
    return entry.kg / (1.0 + setup.wood.moisture) if entry.kg else 2.0 * box.pit.usual_kg


def _burning(age: float, dry: float, stage: Stage, watts: float, setup: Setup) -> Burning:
    kg = round(dry * (1.0 + setup.wood.moisture), 2)
    return Burning(minutes=round(age / 60.0, 1), kg=kg, stage=stage, watts=round(watts, 0))


def _stage(drying: float, gas: float, glow: float) -> Stage:
    if drying > 0.5:
        return Stage.DRYING
    return Stage.FLAMING if gas >= glow else Stage.COALS


def _stages(age: float, paces: tuple[float, float, float]) -> tuple[float, float, float]:
    """Return which parts of a split dry, flame, and have become coal (of what char it leaves), `age` seconds on.

    Two drying stages, then flames, then coals, each emptied in proportion to what is in it: the model's own chain,
    with every part burning for itself.
    """
    dry, flame, coal = paces
    paces_in_order = np.array([dry, dry, flame, coal]) * np.array([1.0, 1.001, 1.002, 1.003])
    rates = 1.0 / paces_in_order  # kept apart a little, so that the chain's closed form holds (Bateman 1910)
    held = []
    for stage in range(4):
        terms = 0.0
        for k in range(stage + 1):
            others = [rates[j] - rates[k] for j in range(stage + 1) if j != k]
            terms += np.exp(-rates[k] * age) / np.prod(others)
        held.append(float(np.prod(rates[:stage]) * terms))
    fresh, warm, flaming, coals = (min(1.0, max(0.0, part)) for part in held)
    return min(1.0, fresh + warm), flaming, coals
