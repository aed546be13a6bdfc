"""The night as drawn: temperatures and band, wood, dampers, doors, meat, on one axis of time."""

from datetime import UTC, timedelta
from typing import Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from msgspec import Struct

from firebox.records import DamperName, DoorName
from firebox.report.ink import direct, ink
from firebox.review.chronicle import Chronicle
from firebox.review.holding import held
from firebox.review.series import GRID, Series, smoothed
from firebox.review.whole import Review
from firebox.review.wording import Look
from firebox.units import celsius_to, kg_to

THIN: Final = 30.0
"""Seconds over which lines are averaged, and between two points of them: finer than a screen shows."""


class Sight(Struct, frozen=True, kw_only=True):
    """What is drawn, how its reader wants figures, and whether there is room for much."""

    review: Review
    cook: Chronicle
    look: Look
    narrow: bool

    def degrees(self, celsius: Series) -> Series:
        """Return temperatures in the reader's degrees."""
        zero, one = (celsius_to(point, self.look.degrees) for point in (0.0, 1.0))
        return zero + (one - zero) * celsius


def night(figure: Figure, sight: Sight) -> None:
    """Draw a cook from its first record to its last."""
    cook = sight.cook
    lanes = [("pit", 4.2, _pit), ("wood", 1.0, _wood), ("dampers", 1.0, _dampers), ("log", 0.8, _log)]
    if sight.review.meats:
        lanes.append(("meat", 1.9, _meat))
    axes = figure.subplots(
        len(lanes), 1, sharex=True, height_ratios=[height for _, height, _ in lanes], squeeze=False
    )
    for (_, _, draw), place in zip(lanes, axes[:, 0], strict=True):
        draw(place, sight)
    hours(axes[-1, 0], sight)
    axes[0, 0].set_xlim(0.0, max(cook.end, 60.0) / 3600.0)


STEPS: Final = (0.25, 0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 12.0, 24.0, 48.0, 96.0, 192.0)
"""Hours between two marks."""


def hours(axes: Axes, sight: Sight) -> None:
    """Mark hours by the clock on an axis of hours since the beginning."""
    begun = sight.look.local(sight.review.began)
    most = 6 if sight.narrow else 13
    step = next(step for step in STEPS if sight.review.hours / step <= most)
    midnight = begun.replace(hour=0, minute=0, second=0, microsecond=0)
    ticks, words = [], []
    short = "%H:%M" if sight.look.clock == 24 else "%I:%M" if step < 1.0 else "%I %p"
    for number in range(int((sight.review.hours + 26.0) / step)):
        at = midnight + timedelta(hours=number * step)
        since = (at.astimezone(UTC) - sight.review.began).total_seconds() / 3600.0
        if 0.0 <= since <= sight.review.hours:
            ticks.append(since)
            words.append(
                at.strftime(short).lower() if sight.look.clock == 24 else at.strftime(short).lstrip("0").lower()
            )
    axes.set_xticks(ticks, words)


def at_hours(length: int) -> Series:
    """Return the hours at which the points of a series stand."""
    return GRID / 3600.0 * np.arange(length, dtype=np.float64)


def thinned(values: Series) -> tuple[Series, Series]:
    """Return (hours, values) of a series, thinned to what can be seen."""
    step = max(1, round(THIN / GRID), len(values) // 3000)
    return at_hours(len(values))[::step], smoothed(values, THIN)[::step]


# --- lanes ---------------------------------------------------------------------------------------


def _pit(axes: Axes, sight: Sight) -> None:
    cook = sight.cook
    low, high = sight.degrees(cook.target - cook.band), sight.degrees(cook.target + cook.band)
    at = at_hours(len(cook.pit))
    axes.fill_between(at[::3], low[::3], high[::3], step="post", color=ink("band"), linewidth=0)
    for name in cook.grates():
        beside = np.where(np.abs(cook.probes[name] - cook.pit) < 0.05, np.nan, cook.probes[name])
        axes.plot(*_line(beside, sight), color=ink("other"), linewidth=0.8)
    hour, pit = _line(cook.pit, sight)
    span = held(cook)
    if span is not None:
        counted = (hour >= span.start / 3600.0) & (hour <= span.end / 3600.0)
        edge_low, edge_high = np.interp(hour, at, low), np.interp(hour, at, high)
        for beyond, edge in ((pit > edge_high, edge_high), (pit < edge_low, edge_low)):
            axes.fill_between(hour, edge, pit, where=beyond & counted, color=ink("bad"), alpha=0.35, linewidth=0)
    axes.plot(hour, pit, color=ink("pit"), linewidth=1.5)
    axes.set_ylim(*_reach(sight))
    axes.set_title(f"The pit, and the band it was to hold, °{sight.look.degrees}")


def _line(values: Series, sight: Sight) -> tuple[Series, Series]:
    hour, line = thinned(values)
    return hour, sight.degrees(line)


def _reach(sight: Sight) -> tuple[float, float]:
    """Return from where to where the pit is drawn: the held time in full, the way up to it as far as it fits."""
    cook = sight.cook
    span = held(cook)
    at = GRID * np.arange(len(cook.pit))
    part = cook.pit if span is None else cook.pit[(at >= span.start) & (at <= span.end)]
    part = part[np.isfinite(part)]
    room = 2.2 * cook.band
    ends = [float((cook.target - room).min()), float((cook.target + room).max())]
    if len(part):
        ends += [float(np.quantile(part, 0.002)) - 2.0, float(np.quantile(part, 0.998)) + 2.0]
    return celsius_to(min(ends), sight.look.degrees), celsius_to(max(ends), sight.look.degrees)


def _wood(axes: Axes, sight: Sight) -> None:
    fed = sight.review.rhythm.fed
    at = [one.seconds / 3600.0 for one in fed]
    weights = [kg_to(one.kg, sight.look.mass) for one in fed]
    axes.vlines(at, 0.0, weights, color=ink("wood"), linewidth=2.2)
    solid = [ink("wood") if one.weighed else ink("paper") for one in fed]
    axes.scatter(at, weights, s=16, color=solid, edgecolors=ink("wood"), linewidths=1.0, zorder=3)
    axes.set_ylim(0.0, 1.25 * max(weights, default=1.0))
    axes.set_title(
        f"Wood laid, {sight.look.mass}" + ("" if all(one.weighed for one in fed) else "; hollow: not weighed")
    )
    axes.locator_params(axis="y", nbins=3)


def _dampers(axes: Axes, sight: Sight) -> None:
    cook = sight.cook
    for damper in DamperName:
        moves = cook.damper_moves(damper)
        stood = cook.setup.intake_open if damper is DamperName.INTAKE else cook.setup.stack_open
        steps = [(0.0, stood), *((at, to) for at, _, to in moves)]
        known = [(at / 3600.0, 100.0 * opening) for at, opening in steps if opening is not None]
        if not known:
            continue
        known.append((cook.end / 3600.0, known[-1][1]))
        at, opening = zip(*known, strict=True)
        dashes = "-" if damper is DamperName.INTAKE else (0, (4, 1.5))
        axes.step(at, opening, where="post", color=ink(damper.value), linewidth=1.3, linestyle=dashes)
        direct(axes, at[-1], opening[-1], damper.value, damper.value)
    axes.set_ylim(-8.0, 112.0)
    axes.set_yticks([0, 50, 100])
    axes.set_title("Dampers, % open")


def _log(axes: Axes, sight: Sight) -> None:
    """Draw what else happened as strokes in rows: doors, alarms, notes."""
    review = sight.review
    rows = [
        ("door", [one.seconds for one in review.doors if one.door is DoorName.COOK], "door"),
        ("alarm", [one.seconds for one in review.alarms], "bad"),
        ("note", [at for at, _ in review.notes], "soft"),
    ]
    for number, (_, at, name) in enumerate(reversed(rows)):
        axes.scatter(
            [one / 3600.0 for one in at], [number] * len(at), marker="|", s=46, linewidths=1.6, color=ink(name)
        )
    for one in review.slept:
        axes.hlines(
            len(rows),
            one.seconds / 3600.0,
            one.seconds / 3600.0 + one.minutes / 60.0,
            color=ink("soft"),
            linewidth=3.0,
        )
    words = [word for word, _, _ in reversed(rows)] + (["asleep"] if review.slept else [])
    axes.set_yticks(range(len(words)), words)
    axes.set_ylim(-0.7, len(words) - 0.3)


MEATS: Final = ("meat", "meat2", "meat3")
DASHES: Final = ("-", (0, (5, 1.5)), (0, (1.5, 1.5)))


def _meat(axes: Axes, sight: Sight) -> None:
    for number, piece in enumerate(sight.review.meats):
        name, dashes = MEATS[number % len(MEATS)], DASHES[number % len(DASHES)]
        hour, line = _line(sight.cook.probes[piece.probe], sight)
        axes.plot(hour, line, color=ink(name), linewidth=1.4, linestyle=dashes)
        known = np.flatnonzero(np.isfinite(line))
        if len(known):
            direct(axes, float(hour[known[-1]]), float(line[known[-1]]), piece.probe[:14], name)
        turns = ((piece.on, "on"), (piece.wrapped, "wrapped"), (piece.off, "off"))
        for at, word in turns:
            if at is not None:
                _turn(axes, at / 3600.0, float(np.interp(at / 3600.0, hour, line)), word, name)
    axes.set_title(f"The meat, °{sight.look.degrees}")


def _turn(axes: Axes, at: float, value: float, word: str, name: str) -> None:
    if not np.isfinite(value):
        return
    axes.scatter([at], [value], s=18, color=ink("paper"), edgecolors=ink(name), linewidths=1.2, zorder=3)
    axes.annotate(
        word, (at, value), xytext=(0, 6), textcoords="offset points", ha="center", fontsize=8.0, color=ink(name)
    )
