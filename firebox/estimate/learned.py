"""What an estimate has learned of its pit, in words and units a person can weigh."""

from typing import Final

import numpy as np
from msgspec import Struct

from firebox.estimate.course import Course
from firebox.estimate.model import FIRST_PARAMETER, At

UNITS: Final = {
    At.DRYING_TIME: ("a split catches after", "s"),
    At.FLAMING_TIME: ("it flames for", "s"),
    At.COAL_TIME: ("its coals last", "s"),
    At.CHAR_YIELD: ("share of it that becomes coal", ""),
    At.HEAT: ("share of its heat that is felt", ""),
    At.AIR: ("air with dampers open", "kg/s"),
    At.WALL_LOSS: ("loss of the chamber", "W/K"),
    At.FIREBOX_LOSS: ("loss of the firebox", "W/K"),
    At.WALL_CAPACITY: ("heat in the chamber's steel", "J/K"),
    At.FIREBOX_CAPACITY: ("heat in the firebox's steel", "J/K"),
    At.LAG: ("lag of the lead probe", "s"),
}
"""The parameters that mean something by themselves; the others only shape the hump."""


class Known(Struct, frozen=True, kw_only=True):
    """One thing known of a pit: its value, between `low` and `high` with 80 %, and what was thought at the start."""

    name: str
    words: str
    unit: str
    value: float
    low: float
    high: float
    prior: float


def learned(course: Course) -> tuple[Known, ...]:
    """Return what is known of the pit by now, as the belief that has foreseen best has it."""
    box = course.box
    out = []
    for row, (words, unit) in UNITS.items():
        place = row - FIRST_PARAMETER
        start, shift = float(box.pit.value[place]), float(box.mean[row])
        doubt = 1.2816 * float(np.sqrt(max(box.cov[row, row], 0.0)))
        out.append(
            Known(
                name=row.name.lower(),
                words=words,
                unit=unit,
                value=start * float(np.exp(shift)),
                low=start * float(np.exp(shift - doubt)),
                high=start * float(np.exp(shift + doubt)),
                prior=start,
            )
        )
    return tuple(out)
