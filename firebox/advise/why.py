"""Why: one sentence for the move that stands, made anew from the present moment so that it never goes stale."""

from typing import Final

from firebox.advise.candidates import Candidate
from firebox.advise.moment import Moment
from firebox.advise.trend import Trend

CATCHING: Final = 20.0
"""A split that went in less than this ago may still turn the fall. [min]"""

FLAMING: Final = 8.0
"""A split on good coals flames by now; a pit that still falls then has one that is choking. [min]"""

DUE_MINUTES: Final = 1.0
"""A split due within this is due now. [min]"""

_TRENDS: Final = {
    Trend.RISING: "rises",
    Trend.FALLING: "falls",
    Trend.LEVEL: "is fairly steady",
    Trend.CRESTING: "still rises, though not for long",
    Trend.RECOVERING: "still falls, though not for long",
}


def why(candidate: Candidate, moment: Moment) -> str:
    """Return why a move stands, in one sentence that is true now."""
    seen = f"{_place(moment)} {_TRENDS[moment.trend]}"
    if candidate.split_at is None:
        tail = _of_air(candidate, moment) if candidate.intake is not None else _of_nothing(moment)
    elif round((candidate.split_at - moment.seconds) / 60.0, 1) > DUE_MINUTES:
        tail = _of_wood_later(moment)
    else:
        tail = _of_wood_now(candidate, moment)
    return f"{seen}{tail}"


def sleeping(minutes: float | None) -> str:
    """Return what a cook who sleeps may read with one eye: how long he is left in peace.

    Parameters
    ----------
    minutes : float or None
        Until wood is due; None: not in sight.
    """
    if minutes is None:
        return "Sleep on: nothing is due in sight, and you are called when something is."
    return f"Sleep on: nothing is needed for about {minutes:.0f} min, then you are called."


def _place(moment: Moment) -> str:
    if moment.is_below:
        return "It is below the band and"
    if moment.is_above:
        return "It is above the band and"
    return "It is in the band and"


def _of_nothing(moment: Moment) -> str:
    if moment.is_above:
        return ": add no wood and let it burn down."
    if moment.is_below:
        young = moment.since_split < CATCHING and moment.trend is not Trend.RISING
        return ": the last split has yet to catch, so give it time." if young else ": give the fire time."
    if moment.trend is Trend.FALLING and moment.since_split < CATCHING:
        return ", but the last split has yet to give its heat: leave it alone."
    if moment.trend is Trend.FALLING and moment.celsius is not None and moment.celsius > moment.target:
        return ", but it is still on the hot side: wait."
    if moment.trend is Trend.FALLING:
        return ": nothing done now would do better than waiting."
    return ": leave it alone."


def _of_air(candidate: Candidate, moment: Moment) -> str:
    now = moment.intake
    less = moment.celsius is not None and moment.celsius > moment.target
    if now is not None and candidate.intake is not None:
        less = candidate.intake < now
    if less:
        return ": a little less air takes the edge off."
    if FLAMING <= moment.since_split < CATCHING and moment.trend is Trend.FALLING:
        return ", and the last split has not caught: more air helps it flame."
    return ": more air wakes the wood that is in there."


def _of_wood_now(candidate: Candidate, moment: Moment) -> str:
    air = " with more air" if candidate.intake is not None else ""
    if moment.is_weak:
        return f": small dry wood{air} catches where a big split would smother the coals."
    if moment.is_below:
        return f": the fire has too little wood to come back, so one split{air} is needed."
    if moment.trend is Trend.FALLING:
        return ", and a split needs some minutes to answer: it is time."
    return ", but the wood in the fire runs low, and the next split needs some minutes to answer."


def _of_wood_later(moment: Moment) -> str:
    if moment.is_above:
        return ": let it burn down first, no wood before then."
    if moment.is_below:
        return ": let the last split catch before the next."
    if moment.trend is Trend.FALLING:
        return ", but the fire carries it until about then; warm the split on the firebox meanwhile."
    return ": about then the wood in the fire runs low."
