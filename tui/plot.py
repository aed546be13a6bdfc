"""The picture of the fire as rows of characters: temperature chart, marks, heat ribbon, one time axis for all.

Pure layout: numbers come in the cook's units, cells go out with the name of the part they belong to; the widget gives
each part its colours. A part's meaning never hangs on its colour: each has its own character.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from typing import Final

from msgspec import Struct

from tui.glyphs import Glyphs
from tui.ribbon import Heat, ribbon

LABEL: Final = 5
"""Columns left of the plot for the scale."""

AHEAD_SECONDS: Final = 3600.0
"""How far the chart looks ahead: to the outlook's last horizon."""

JOIN_SECONDS: Final = 150.0
"""Points further apart than this are not joined: nobody knows what lay between."""

RIBBON_FROM_ROWS: Final = 11
"""A picture of fewer rows has no heat ribbon."""

BANDS_AHEAD: Final = 3.0
"""Half bands from the target up to which the scale follows a forecast; what lies further leaves the chart."""

BANDS_BACK: Final = 4.0
"""The same for what was measured, while the pit is near its target."""

BEYOND: Final = 1e5
"""Degrees that no scale is made for: a record of a probe cannot say so much."""

PROMISED: Final = "+"

_DOTS: Final = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
"""Unicode, "Braille Patterns", U+2800: the bit of each dot, by row and column."""

_TICK_MINUTES: Final = (5, 10, 15, 30, 60, 120, 180, 240, 360, 720)

Cell = tuple[str, str]
Picture = tuple[tuple[Cell, ...], ...]
"""Rows of (character, part)."""


class Scene(Struct, frozen=True, kw_only=True):
    """What is to be drawn; temperatures in the cook's degrees, times in logical seconds."""

    now: float
    history_seconds: float
    title: str = ""
    trail: tuple[tuple[float, float], ...] = ()
    fan: tuple[tuple[float, float, float, float], ...] = ()
    """(seconds, 10 %, 50 %, 90 %) points of the forecast."""
    promise: tuple[tuple[float, float], ...] = ()
    """(seconds, 50 %) points of the forecast under the recommended move."""
    target: Callable[[float], tuple[float, float]] | None = None
    """Target and half band at a time."""
    marks: tuple[tuple[float, str], ...] = ()
    """(seconds, letter or short word) of what was logged."""
    due: float | None = None
    """When the next split is due."""
    heat: tuple[Heat, ...] = ()
    """What the fire gave, in order of time."""
    gaps: tuple[tuple[float, float], ...] = ()
    clock: Callable[[float], tuple[int, str]]
    """Logical seconds -> (minutes since local midnight, clock time in words)."""


class _Grid:
    """Cells being drawn; lives only inside `draw`."""

    def __init__(self, width: int, height: int) -> None:
        self.width, self.height = width, height
        self.cells: list[list[Cell]] = [[(" ", "plain")] * width for _ in range(height)]

    def put(self, row: int, column: int, character: str, part: str) -> None:
        if 0 <= row < self.height and 0 <= column < self.width:
            self.cells[row][column] = (character, part)

    def write(self, row: int, column: int, text: str, part: str) -> None:
        for offset, character in enumerate(text):
            self.put(row, column + offset, character, part)


def seconds_per_column(history_seconds: float, width: int) -> float:
    """Return how much time one column of a picture `width` wide stands for. [s]"""
    return (history_seconds + AHEAD_SECONDS) / max(1, width - LABEL)


def draw(scene: Scene, width: int, height: int, drawing: Glyphs) -> Picture:
    """Return the picture of a scene in `height` rows of `width` cells; empty where there is no room at all."""
    if width < LABEL + 10 or height < 4:
        return ()
    rows = 0 if height < RIBBON_FROM_ROWS else max(3, min(10, height // 4))
    grid = _Grid(width, height)
    lay = _Layout.of(scene, width, height - rows - 2, rows)
    _draw_band(grid, scene, lay, drawing)
    _draw_fan(grid, scene, lay, drawing)
    _draw_promise(grid, scene, lay, drawing)
    _draw_now(grid, lay, drawing)
    _draw_trail(grid, scene, lay, drawing)
    _draw_scale(grid, scene, lay)
    grid.write(0, LABEL + 1, scene.title, "aim")
    _draw_axis(grid, scene, lay, drawing)
    if rows:
        _draw_ribbon(grid, scene, lay, drawing)
    _draw_clock(grid, scene, lay)
    return tuple(tuple(row) for row in grid.cells)


class _Layout(Struct, frozen=True, kw_only=True):
    left: float
    per_column: float
    columns: int
    rows: int
    """Rows of the temperature chart."""
    ribbon: int
    low: float
    high: float
    now: int
    """Column of the present."""

    @classmethod
    def of(cls, scene: Scene, width: int, rows: int, ribbon: int) -> "_Layout":
        per_column = seconds_per_column(scene.history_seconds, width)
        left = math.floor((scene.now - scene.history_seconds) / per_column) * per_column
        low, high = _scale(scene, left)
        return cls(
            left=left,
            per_column=per_column,
            columns=width - LABEL,
            rows=rows,
            ribbon=ribbon,
            low=low,
            high=high,
            now=int((scene.now - left) / per_column),
        )

    def column(self, seconds: float) -> int:
        """Return the column, counted from the plot's left edge, in which a time lies."""
        return math.floor((seconds - self.left) / self.per_column)

    def middle(self, column: int) -> float:
        """Return the time in the middle of a column."""
        return self.left + (column + 0.5) * self.per_column

    def height(self, value: float) -> float:
        """Return how far below the top a value lies, in rows."""
        share = (self.high - value) / (self.high - self.low)
        return min(max(share, 0.0), 0.999_999) * self.rows

    def row(self, value: float) -> int:
        return int(self.height(value))


def _scale(scene: Scene, left: float) -> tuple[float, float]:
    """Return the lowest and highest value on the chart, on fives, with some air."""
    values = [value for seconds, value in scene.trail if seconds >= left]
    ahead = [value for point in (*scene.fan, *scene.promise) for value in point[1:]]
    if scene.target is not None:
        middle, band = scene.target(scene.now)
        if values and abs(values[-1] - middle) <= BANDS_AHEAD * band:
            # So would the way up to the fire's first hour, once the pit holds its target.
            values = [_within(value, middle, BANDS_BACK * band) for value in values]
        # A fire left alone falls far within the hour: drawn to its end it would flatten the band and all the history.
        ahead = [_within(value, middle, BANDS_AHEAD * band) for value in ahead]
        values += [middle - 1.5 * band, middle + 1.5 * band]
    values += ahead
    values = [value for value in values if abs(value) <= BEYOND]  # so not NaN either
    if not values:
        return 0.0, 100.0
    low, high = math.floor(min(values) / 5 - 0.2) * 5.0, math.ceil(max(values) / 5 + 0.2) * 5.0
    return low, max(high, low + 20.0)


def _within(value: float, middle: float, reach: float) -> float:
    return min(max(value, middle - reach), middle + reach)


def _draw_band(grid: _Grid, scene: Scene, lay: _Layout, drawing: Glyphs) -> None:
    if scene.target is None:
        return
    for column in range(lay.columns):
        middle, band = scene.target(lay.middle(column))
        for value in (middle - band, middle + band):
            if column % 3 and lay.low <= value <= lay.high:
                grid.put(lay.row(value), LABEL + column, drawing.band, "band")


def _draw_fan(grid: _Grid, scene: Scene, lay: _Layout, drawing: Glyphs) -> None:
    if len(scene.fan) < 2:
        return
    for column in range(max(0, lay.column(scene.fan[0][0])), lay.columns):
        low, middle, high = (_between(scene.fan, lay.middle(column), part) for part in (1, 2, 3))
        if low is None or middle is None or high is None:
            continue
        if high >= lay.low and low <= lay.high:
            for row in range(lay.row(high), lay.row(low) + 1):
                grid.put(row, LABEL + column, drawing.fan, "fan")
        if column % 2 == 0 and lay.low <= middle <= lay.high:
            grid.put(lay.row(middle), LABEL + column, drawing.middle, "middle")


def _draw_promise(grid: _Grid, scene: Scene, lay: _Layout, drawing: Glyphs) -> None:
    """Draw where the recommended move would take it, beside the course of leaving it alone."""
    if len(scene.promise) < 2:
        return
    grid.write(lay.rows - 1, LABEL + 1, f"{PROMISED} with the move   {drawing.middle} left alone", "label")
    for column in range(max(0, lay.column(scene.promise[0][0])), lay.columns):
        middle = _between(scene.promise, lay.middle(column), 1)
        if middle is not None and column % 2 == 1 and lay.low <= middle <= lay.high:
            grid.put(lay.row(middle), LABEL + column, PROMISED, "promise")


def _between(points: Sequence[tuple[float, ...]], seconds: float, part: int) -> float | None:
    """Return a part of the points at a time, on the straight line between its neighbours; None outside them."""
    for earlier, later in pairwise(points):
        if earlier[0] <= seconds <= later[0] and later[0] > earlier[0]:
            share = (seconds - earlier[0]) / (later[0] - earlier[0])
            return earlier[part] + share * (later[part] - earlier[part])
    return None


def _draw_now(grid: _Grid, lay: _Layout, drawing: Glyphs) -> None:
    for row in range(lay.rows):
        grid.put(row, LABEL + lay.now, drawing.now, "now")


def _draw_trail(grid: _Grid, scene: Scene, lay: _Layout, drawing: Glyphs) -> None:
    if drawing.ascii:
        for column, row in _dots(scene, lay, 1, 1):
            grid.put(row, LABEL + column, "*", "history")
        return
    cells: dict[tuple[int, int], int] = {}
    for column, row in _dots(scene, lay, 2, 4):
        cell = (row // 4, column // 2)
        cells[cell] = cells.get(cell, 0) | _DOTS[row % 4][column % 2]
    for (row, column), bits in cells.items():
        grid.put(row, LABEL + column, chr(0x2800 + bits), "history")


def _dots(scene: Scene, lay: _Layout, across: int, down: int) -> Iterator[tuple[int, int]]:
    """Yield the dots of the line through the trail, on a grid `across` by `down` finer than the cells."""
    last: tuple[int, int, float] | None = None
    for seconds, value in scene.trail:
        column = math.floor((seconds - lay.left) / lay.per_column * across)
        if not 0 <= column < lay.columns * across or not lay.low <= value <= lay.high:
            last = None
            continue
        row = int(lay.height(value) * down)
        if last is not None and seconds - last[2] <= max(JOIN_SECONDS, 2 * lay.per_column):
            yield from _join(last[0], last[1], column, row)
        else:
            yield column, row
        last = (column, row, seconds)


def _join(column: int, row: int, to_column: int, to_row: int) -> Iterator[tuple[int, int]]:
    steps = max(abs(to_column - column), abs(to_row - row), 1)
    for step in range(1, steps + 1):
        yield column + round((to_column - column) * step / steps), row + round((to_row - row) * step / steps)


def _draw_scale(grid: _Grid, scene: Scene, lay: _Layout) -> None:
    """Write the scale's numbers; the target's first, others where they do not crowd it."""
    taken: set[int] = set()
    values: list[tuple[float, str]] = []
    if scene.target is not None:
        middle, band = scene.target(scene.now)
        values = [(middle, "aim"), (middle + band, "label"), (middle - band, "label")]
    values += [(lay.high, "label"), (lay.low, "label")]
    for value, part in values:
        row = lay.row(value)
        if row not in taken:
            taken.add(row)
            grid.write(row, 0, f"{math.floor(value + 0.5):4d} "[:LABEL], part)


def _draw_axis(grid: _Grid, scene: Scene, lay: _Layout, drawing: Glyphs) -> None:
    row = lay.rows
    grid.write(row, 0, "log".rjust(LABEL - 1) + drawing.corner, "label")
    grid.write(row, LABEL, drawing.axis * lay.columns, "axis")
    for start, end in scene.gaps:
        for column in range(max(0, lay.column(start)), min(lay.columns, lay.column(end) + 1)):
            grid.put(row, LABEL + column, "?", "gap")
    grid.put(row, LABEL + lay.now, drawing.now, "now")
    free = [True] * lay.columns
    for seconds, word in scene.marks:
        column = lay.column(seconds)
        while 0 <= column < lay.columns and not free[column]:
            column += 1
        if 0 <= column < lay.columns:
            room = word if column + len(word) <= lay.columns and all(free[column : column + len(word)]) else word[:1]
            grid.write(row, LABEL + column, room, "mark")
            taken = slice(column, column + len(room) + (len(room) > 1))  # a weight keeps its distance
            free[taken] = [False] * len(free[taken])
    if scene.due is not None:
        at, words = LABEL + max(lay.now, lay.column(scene.due)), f"{drawing.due} split"
        grid.write(row, at, words if at + len(words) <= grid.width else drawing.due, "due")


def _draw_ribbon(grid: _Grid, scene: Scene, lay: _Layout, drawing: Glyphs) -> None:
    top = lay.rows + 1
    drawn = ribbon(_columns(scene.heat, lay), lay.now, lay.columns, lay.ribbon, drawing)
    for row, (label, cells) in enumerate(zip(drawn.labels, drawn.rows, strict=True)):
        grid.write(top + row, 0, label.rjust(LABEL - 1), "label")
        for column, (character, part) in enumerate(cells):
            grid.put(top + row, LABEL + column, character, part)


def _columns(heat: Sequence[Heat], lay: _Layout) -> list[Heat | None]:
    """Return for each column of the past the newest heat at or before its end; None where that is too old."""
    found: list[Heat | None] = []
    index = -1
    for column in range(min(lay.columns, lay.now + 1)):
        end = lay.left + (column + 1) * lay.per_column
        while index + 1 < len(heat) and heat[index + 1].seconds < end:
            index += 1
        is_fresh = index >= 0 and end - heat[index].seconds <= JOIN_SECONDS + 2 * lay.per_column
        found.append(heat[index] if is_fresh else None)
    return found


def _draw_clock(grid: _Grid, scene: Scene, lay: _Layout) -> None:
    row = lay.rows + 1 + lay.ribbon
    step = next((m for m in _TICK_MINUTES if m * 60 / lay.per_column >= 11), _TICK_MINUTES[-1])
    minutes, _ = scene.clock(lay.left)
    first = lay.left + ((-minutes) % step) * 60.0
    _, now = scene.clock(scene.now)
    at_now = LABEL + lay.now - len(now) // 2
    for count in range(lay.columns):
        seconds = first + count * step * 60.0
        if seconds > lay.left + lay.columns * lay.per_column:
            break
        _, text = scene.clock(seconds)
        column = LABEL + lay.column(seconds)
        start = column - len(text) // 2
        if start >= LABEL - 1 and start + len(text) <= grid.width and not _touch(start, len(text), at_now, len(now)):
            grid.write(row, start, text, "label")
    grid.write(row, max(0, min(at_now, grid.width - len(now))), now, "now")


def _touch(start: int, length: int, other: int, other_length: int) -> bool:
    return start <= other + other_length and other <= start + length
