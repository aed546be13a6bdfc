"""A planner who knows the true pit and the weather to come, and has the hands of everybody else: what is possible.

He tries a few rhythms of feeding, and a mark of intake, on copies of the very pit, and begins the one that keeps it best
for the next fifty minutes. The search is coarse, so a finer one may do better.
"""

from itertools import product
from typing import Final

import numpy as np
from msgspec import Struct

from firebox.practice.gauges import true_celsius
from firebox.records import DamperName, DoorName
from tests.benchmarks.closed_loop_night import BAND, DOOR, GAUGE, LATE, TARGET, Night, Wish

EVERY: Final = 240.0
"""s between two thoughts."""

ANSWER: Final = 180.0
"""s that he comes late on average, as he knows."""

AFTER: Final = (0.0, 8.0, 16.0)
SHARES: Final = (0.6, 1.0, 1.6)
GAP: Final = 24.0
"""Minutes until the first split, its weight over a usual one, and minutes to the next like it."""

MARK: Final = 1.0 / 8.0
HORIZON: Final = 50.0
LOOK: Final = 60.0
"""min ahead, s between two looks."""

FAR_BANDS: Final = 3.0
WALK: Final = 0.08
"""Of one walk, in squared bands over the horizon."""


class Plan(Struct, frozen=True, kw_only=True):
    """A split `after` so many minutes, one like it each `GAP`, and where the intake is set now."""

    after: float
    kg: float
    intake: float | None = None


class Oracle:
    """Tries on copies of the pit what he might do."""

    delay, clumsy, watched = LATE, True, False

    def __init__(self) -> None:
        self._thought = -1e9

    def wish(self, night: Night) -> Wish | None:
        if night.seconds - self._thought < EVERY:
            return None
        self._thought = night.seconds
        return _wish(_best(night), soon=0.0)

    def arrive(self, night: Night, wish: Wish) -> Wish:
        self._thought = night.seconds
        return _wish(_best(night, answer=0.0), soon=4.0) or Wish()


def _wish(plan: Plan, *, soon: float) -> Wish | None:
    kg = plan.kg if plan.after <= soon else None
    return None if kg is None and plan.intake is None else Wish(kg=kg, intake=plan.intake)


def _best(night: Night, *, answer: float = ANSWER) -> Plan:
    plans = [Plan(after=after, kg=share * night.usual) for after, share in product(AFTER, SHARES)]
    best = min(plans, key=lambda plan: _cost(night, plan, answer))
    if night.fire.seconds - night.intake_at < 600.0:
        return best
    now = night.told_intake
    moved = [
        Plan(after=best.after, kg=best.kg, intake=opening)
        for opening in (now - MARK, now + MARK)
        if 2.0 * MARK <= opening <= 1.0
    ]
    return min([best, *moved], key=lambda plan: _cost(night, plan, answer))


def _cost(night: Night, plan: Plan, answer: float) -> float:
    """Return what a plan costs on a copy of the pit: the squared deviation in bands, and the walks."""
    fire = night.fire.copy()
    begun, due = fire.seconds, fire.seconds + answer + 60.0 * plan.after
    walks, moved, off = 0, plan.intake is None, list[float]()
    while fire.seconds < begun + 60.0 * HORIZON:
        if not moved and fire.seconds >= begun + answer and plan.intake is not None:
            fire.set_damper(DamperName.INTAKE, plan.intake)
            moved = True
            walks += plan.after > 0.0
        if fire.seconds >= due:
            fire.set_door(DoorName.FIREBOX, wide=True)
            fire.lay_split(plan.kg, 0.18)
            fire.run(10.0 * round(DOOR / 10.0))
            fire.set_door(DoorName.FIREBOX, wide=False)
            walks, due = walks + 1, due + 60.0 * GAP
        fire.run(LOOK)
        bands = abs(true_celsius(fire, GAUGE) - TARGET) / BAND
        off.append(bands * bands if bands <= FAR_BANDS else FAR_BANDS * (2.0 * bands - FAR_BANDS))
    return float(np.mean(off[3:])) + WALK * walks
