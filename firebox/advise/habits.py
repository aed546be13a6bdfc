"""What the log shows of this cook: how long he takes from being told to having done it, and how heavy his splits are.

Both are learned from the wood that was advised and then logged. A cook who needs six minutes is told sooner; one whose
"medium" weighs a third more than was asked for is asked for less.
"""

import math
from typing import Final

from msgspec import Struct

USUAL_DELAY: Final = 3.0
"""From the advice to the wood on the fire, before this cook has shown his own. [min] 1 to 5 is usual."""

LONGEST: Final = 15.0
"""Wood that went in later than this was a decision of the cook's own, not a late answer. [min]"""

LEARNING: Final = 0.25
"""Weight of the newest answer: some four of them, an hour or two, make a habit."""

ODD: Final = 2.5
"""A weight further from the asked one than by this factor was another piece of wood, not a matter of the eye."""


class Habits(Struct, frozen=True, kw_only=True):
    """What is known of this cook.

    Attributes
    ----------
    delay : float
        From the advice to the wood on the fire, on average. [min]
    heavier : float
        What goes on over what was asked for.
    """

    delay: float = USUAL_DELAY
    heavier: float = 1.0


def answered(habits: Habits, minutes: float, kg: float | None, asked: float) -> Habits:
    """Return the habits after advised wood went on.

    Parameters
    ----------
    habits : Habits
    minutes : float
        From the wood's being due to its going on; early counts as at once. [min]
    kg : float or None
        What was logged; None: not weighed.
    asked : float
        What had been asked for. [kg]
    """
    if minutes > LONGEST:
        return habits
    delay = habits.delay + LEARNING * (max(0.0, minutes) - habits.delay)
    heavier = habits.heavier
    if kg and asked > 0.0 and 1.0 / ODD < kg / asked < ODD:
        heavier = math.exp((1.0 - LEARNING) * math.log(heavier) + LEARNING * math.log(kg / asked))
    return Habits(delay=delay, heavier=heavier)
