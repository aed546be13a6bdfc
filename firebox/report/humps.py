"""The rhythm as drawn: every split's hump on one axis, and how the lift went through the night."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from firebox.report.ink import ink
from firebox.report.night import Sight, hours
from firebox.review.holding import held
from firebox.review.rhythm import HUMP, Fed
from firebox.review.series import GRID, Series, place, smoothed
from firebox.units import kelvin_to

INKS = ("early", "middle", "late")
"""Of the thirds of the night."""


def humps(figure: Figure, sight: Sight) -> None:
    """Draw the responses of a cook's splits."""
    if sight.narrow:
        over, through = figure.subplots(2, 1)
    else:
        over, through = figure.subplots(1, 2, width_ratios=[1.1, 1.0])
    span = held(sight.cook)
    fed = [
        one
        for one in sight.review.rhythm.fed
        if one.rise is not None and span is not None and span.touches(one.seconds, one.seconds)
    ]
    _overlay(over, sight, fed)
    _drift(through, sight, fed)


def _overlay(axes: Axes, sight: Sight, fed: list[Fed]) -> None:
    smooth = smoothed(sight.cook.pit, 60.0)
    end = max((one.seconds for one in sight.review.rhythm.fed), default=1.0)
    start = min((one.seconds for one in sight.review.rhythm.fed), default=0.0)
    tall = [0.0]
    for number, one in enumerate(sight.review.rhythm.fed):
        if one not in fed or one.disturbed or one.from_celsius is None:
            continue
        following = sight.review.rhythm.fed[number + 1 : number + 2]
        until = min([one.seconds + HUMP, *(later.seconds for later in following)])
        first, last = place(one.seconds, len(smooth)), place(until, len(smooth))
        part = _kelvin(smooth[first : last + 1] - one.from_celsius, sight)
        third = min(2, int(3.0 * (one.seconds - start) / max(end - start, 1.0)))
        axes.plot(
            GRID / 60.0 * np.arange(len(part)), part, color=ink(INKS[third]), linewidth=1.1, alpha=0.85
        )  # fmt: skip
        tall.append(float(np.nanmax(part)) if np.isfinite(part).any() else 0.0)
    axes.axhline(0.0, color=ink("soft"), linewidth=0.8)
    axes.set_xlim(0.0, HUMP / 60.0)
    axes.set_xlabel("minutes after the split")
    axes.set_title(f"What each split did, °{sight.look.degrees}")
    for number, word in enumerate(("first third", "second", "last third of the night")):
        axes.plot([], [], color=ink(INKS[number]), linewidth=2.0, label=word)
    axes.legend(loc="upper right", handlelength=1.2, labelcolor=ink("soft"))


def _drift(axes: Axes, sight: Sight, fed: list[Fed]) -> None:
    counted = [one for one in fed if not one.disturbed]
    for clean in (True, False):
        those = [one for one in fed if one.disturbed is not clean]
        axes.scatter(
            [one.seconds / 3600.0 for one in those],
            [_difference(one.rise or 0.0, sight) for one in those],
            s=[14.0 + 26.0 * one.kg for one in those],
            color=ink("wood") if clean else "none",
            edgecolors=ink("wood"),
            alpha=0.9 if clean else 0.7,
            linewidths=1.0,
        )
    drift = sight.review.rhythm.rise_drift
    if drift is not None and counted:
        at = np.array([one.seconds / 3600.0 for one in counted])
        middle = float(np.median([one.rise or 0.0 for one in counted]))
        line = middle + drift.per_hour * (at - float(np.median(at)))
        axes.plot(at, _kelvin(line, sight), color=ink("ink"), linewidth=1.0, linestyle=(0, (4, 2)))
    axes.set_xlim(0.0, sight.review.hours)
    hours(axes, Sight(review=sight.review, cook=sight.cook, look=sight.look, narrow=True))
    axes.set_ylim(bottom=min(0.0, axes.get_ylim()[0]))
    axes.set_title(f"Lift of each split, °{sight.look.degrees}; larger: more wood")


def _kelvin(values: Series, sight: Sight) -> Series:
    return values * kelvin_to(1.0, sight.look.degrees)


def _difference(kelvin: float, sight: Sight) -> float:
    return kelvin_to(kelvin, sight.look.degrees)
