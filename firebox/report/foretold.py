"""Forecasts as drawn: what was said a quarter of an hour before beside what came, and the error by horizon."""

from typing import Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from firebox.report.ink import ink
from firebox.report.night import Sight, hours, thinned
from firebox.review.holding import held
from firebox.review.honesty import Judged, judged
from firebox.units import celsius_to, kelvin_to

AHEAD: Final = 15
"""Minutes: long enough to be worth something, short enough that often nothing was done meanwhile."""

BREAK: Final = 240.0
"""Seconds without an outlook to judge after which the band is broken off."""


def foretold(figure: Figure, sight: Sight) -> None:
    """Draw how the outlooks did."""
    if sight.narrow:
        over, errors = figure.subplots(2, 1, height_ratios=[1.2, 1.0])
    else:
        over, errors = figure.subplots(1, 2, width_ratios=[2.1, 1.0])
    _beside(over, sight)
    _by_horizon(errors, sight)


def _beside(axes: Axes, sight: Sight) -> None:
    degrees = sight.look.degrees
    hour, line = thinned(sight.cook.pit)
    axes.plot(hour, sight.degrees(line), color=ink("pit"), linewidth=1.1)
    for stretch in _stretches([one for one in judged(sight.cook) if one.minutes == AHEAD]):
        at = [(one.seconds + 60.0 * AHEAD) / 3600.0 for one in stretch]
        low = [celsius_to(one.low, degrees) for one in stretch]
        high = [celsius_to(one.high, degrees) for one in stretch]
        axes.fill_between(at, low, high, color=ink("foretold"), alpha=0.45, linewidth=0)
        axes.plot(at, [celsius_to(one.median, degrees) for one in stretch], color=ink("foretold"), linewidth=1.0)
    span = held(sight.cook)
    if span is not None:
        room = 3.5 * sight.review.band
        axes.set_ylim(
            celsius_to(sight.review.target - room, degrees), celsius_to(sight.review.target + room, degrees)
        )
        axes.set_xlim(span.start / 3600.0, span.end / 3600.0)
    hours(axes, sight)
    axes.set_title(f"What was foretold {AHEAD} minutes before, and what came, °{degrees}")


def _stretches(found: list[Judged]) -> list[list[Judged]]:
    stretches: list[list[Judged]] = []
    for one in found:
        if stretches and one.seconds - stretches[-1][-1].seconds <= BREAK:
            stretches[-1].append(one)
        else:
            stretches.append([one])
    return [stretch for stretch in stretches if len(stretch) > 1]


def _by_horizon(axes: Axes, sight: Sight) -> None:
    kept = sight.review.honesty.kept
    at = np.arange(len(kept), dtype=np.float64)
    ours = [kelvin_to(one.error, sight.look.degrees) for one in kept]
    same = [kelvin_to(one.error_of_same, sight.look.degrees) for one in kept]
    axes.bar(at - 0.19, ours, 0.36, color=ink("foretold"), label="foretold")
    axes.bar(
        at + 0.19, same, 0.36, color="none", edgecolor=ink("soft"), linewidth=1.0, label="had one said: it stays"
    )
    for place, one, top in zip(at, kept, ours, strict=True):
        axes.annotate(
            f"{100.0 * one.coverage:.0f} %", (place - 0.19, top), xytext=(0, 3), textcoords="offset points", ha="center",
            fontsize=8.0, color=ink("ink"),
        )  # fmt: skip
    axes.set_xticks(at, [f"{one.minutes} min" for one in kept])
    axes.set_ylim(0.0, 1.35 * max([*ours, *same, 0.1]))
    axes.legend(loc="upper left", handlelength=1.0, labelcolor=ink("soft"))
    axes.set_title(f"Off by, °{sight.look.degrees}; above: band held")
