"""What came of a round, and what to try next: the cook's tally beside the twin's."""

from collections.abc import Callable
from typing import Final

from msgspec import Struct

from firebox.lessons import Tally, Verdict
from firebox.practice.instructor import Instruction
from firebox.practice.rounds import Scenario

MOST: Final = 3
"""Remarks."""


class Remark(Struct, frozen=True):
    """Something worth saying of a tally beside the twin's, and when."""

    fits: Callable[[Tally, Tally], bool]
    text: str


REMARKS: Final = (
    Remark(
        lambda mine, twin: mine.in_band > twin.in_band + 3.0,
        "You kept it longer in the band than the advice would have: trust your eye, and look what you did differently.",
    ),
    Remark(
        lambda mine, twin: mine.smoulder > twin.smoulder + 3.0,
        "Next time watch the smoke first: dirty smoke asks for air or smaller wood long before the thermometer does.",
    ),
    Remark(
        lambda mine, twin: mine.over > twin.over + 6.0 and mine.wood_kg >= twin.wood_kg,
        "Next time lay less at once, or wait five minutes longer: the heat that ran over was in the wood already.",
    ),
    Remark(
        lambda mine, twin: mine.over > twin.over + 6.0,
        "Next time turn the intake down while the pit still climbs, a mark at a time, instead of after it is over.",
    ),
    Remark(
        lambda mine, twin: mine.under > twin.under + 6.0 and mine.wood_kg < twin.wood_kg,
        "Next time feed earlier: while the last piece still flames low, not when the thermometer falls.",
    ),
    Remark(
        lambda mine, twin: mine.under > twin.under + 6.0 and mine.wood_kg >= twin.wood_kg,
        "Next time look why it fell: air, ash, a door, wet wood. More wood was not what it lacked.",
    ),
    Remark(
        lambda mine, twin: mine.trips > 1.6 * twin.trips + 2,
        "Next time walk there less: set it, then hands off for ten minutes. The steel answers slowly.",
    ),
    Remark(
        lambda mine, twin: mine.wood_kg > 1.3 * twin.wood_kg,
        "The advice would have burnt less wood: an intake that is too far open sends heat out at the stack.",
    ),
    Remark(
        lambda mine, twin: mine.trips < twin.trips and mine.in_band >= twin.in_band - 3.0,
        "As steady as the advice with fewer walks: that is a cook who sleeps at night.",
    ),
    Remark(
        lambda mine, twin: mine.smoulder + 1.0 < twin.smoulder and mine.in_band >= 0.5 * twin.in_band,
        "Cleaner smoke than the advice would have made.",
    ),
)
"""The most telling first."""


def remarks_on(mine: Tally, twin: Tally, *, warm: bool) -> tuple[str, ...]:
    """Return what is worth saying of a round; where nothing was done there is only that to say."""
    if mine.wood_kg <= 0.0 and twin.wood_kg > 0.0:
        return (UNTENDED if warm else UNLIT,)
    if mine.in_band <= 0.0 and not warm:
        return (NEVER_THERE,)
    return tuple(one.text for one in REMARKS if one.fits(mine, twin))[:MOST]


UNLIT: Final = (
    "Nothing was lit, so there is nothing to compare. Next time light it (l) with both dampers open, and lay the first"
    " small piece (s) once the kindling burns well."
)
UNTENDED: Final = (
    "No wood went on in this round. Next time lay a piece (s) while the last one still flames low: the steel hides a fire"
    " that goes out for ten minutes."
)
NEVER_THERE: Final = (
    "It never came into its band. Next time leave both dampers open until it is nearly there, and lay small pieces on"
    " flames that burn well: cold steel swallows the first half hour."
)


def verdict(
    scenario: Scenario,
    mine: Tally,
    twin: Tally | None,
    said: Instruction,
    *,
    twin_whole: Tally | None = None,
    twin_problem: str = "",
) -> Verdict:
    """Return what came of a round; the remarks need the twin's tally.

    Parameters
    ----------
    scenario : Scenario
    mine, twin : Tally
        Of as long as the round was played.
    said : Instruction
    twin_whole : Tally, optional
        The twin's of the whole round, which says whether the advice reaches the goal; None: the same as `twin`.
    twin_problem : str
    """
    goal, minutes = scenario.goal, scenario.minutes
    remarks = () if twin is None else remarks_on(mine, twin, warm=scenario.warm)
    if twin is not None and not remarks:
        remarks = (
            "Close to what following the advice would have done. Try it in worse weather, or with other wood.",
        )
    worst = sorted(said.counts, key=lambda topic: -said.counts[topic])
    return Verdict(
        reached=goal.reached(mine, minutes),
        mine=mine,
        twin=twin,
        twin_reached=None if twin is None else goal.reached(twin_whole or twin, minutes),
        twin_problem=twin_problem,
        remarks=remarks,
        guesses=(said.right, said.answered),
        mistakes=tuple(f"{topic} ({said.counts[topic]})" if said.counts[topic] > 1 else topic for topic in worst),
    )
