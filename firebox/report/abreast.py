"""Several cooks as drawn, one under the other, from the minute that each came to its band."""

from collections.abc import Sequence
from typing import Final

import numpy as np
from matplotlib.figure import Figure

from firebox.report.ink import ink
from firebox.report.night import Sight, thinned
from firebox.units import kelvin_to

TALLEST: Final = 4.0
"""Bands from the target up and down that are drawn."""


def abreast(figure: Figure, sights: Sequence[Sight]) -> None:
    """Draw how far each of several cooks was from its target."""
    rows = figure.subplots(len(sights), 1, sharex=True, squeeze=False)[:, 0]
    for axes, sight in zip(rows, sights, strict=True):
        band = kelvin_to(sight.review.band, sight.look.degrees)
        hour, off = thinned(sight.cook.pit - sight.cook.target)
        start = (sight.review.holding.arrived_seconds or 0.0) / 3600.0
        off = np.clip(off * kelvin_to(1.0, sight.look.degrees), -TALLEST * band, TALLEST * band)
        axes.axhspan(-band, band, color=ink("band"), linewidth=0)
        for beyond, edge in ((off > band, band), (off < -band, -band)):
            axes.fill_between(hour - start, edge, off, where=beyond, color=ink("bad"), alpha=0.35, linewidth=0)
        axes.plot(hour - start, off, color=ink("pit"), linewidth=1.2)
        for one in sight.review.rhythm.fed:
            axes.plot(
                [one.seconds / 3600.0 - start] * 2, [-TALLEST * band, -(TALLEST - 0.7) * band], color=ink("wood")
            )
        axes.set_ylim(-TALLEST * band, TALLEST * band)
        axes.set_yticks([-band, 0.0, band], [f"-{band:.0f}", "0", f"+{band:.0f}"])
        axes.set_title(f"Cook {sight.review.number}: off its target, °{sight.look.degrees}; below: splits")
    rows[-1].set_xlim(left=0.0)
    rows[-1].set_xlabel("hours since it came to its band")
