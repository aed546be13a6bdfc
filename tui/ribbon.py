"""The heat ribbon: what each split gives, one on top of the other, against the heat that the pit needs. Pure.

Columns are moments, rows are watts. At the bottom lies the heat that no logged split explains (wood from before, and
what was never told), then the splits, the oldest first, each drawn with the character of its stage. The line of the
heat needed is drawn over the stack; where the stack does not reach it, the line is made of the mark that also says
where the next split is due. All of it reads without colour.
"""

import math
import textwrap
from collections.abc import Iterator, Sequence
from typing import Final

from msgspec import Struct

from firebox.records import Stage
from tui.glyphs import Glyphs

SHORT: Final = 0.97
"""Share of the heat needed below which the fire gives too little: nearer is nearer than the estimate knows."""

TOWER: Final = 2.0
"""Multiples of the heat needed beyond which the scale does not grow: a lighting fire would flatten all else."""

SCALES: Final = (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
"""What the top of the scale may be, times a power of ten."""

LINGER: Final = 0.3
"""Rows by which the need may leave the row of its line before the line follows: it shall not flutter about an edge."""

LEAST_ROOM: Final = 8
"""Columns right of the present below which nothing is written there."""

Cell = tuple[str, str]


class Bar(Struct, frozen=True):
    """One split's part of the heat; `number` counts the splits of the cook, so that neighbours can be told apart."""

    number: int
    stage: Stage
    watts: float


class Heat(Struct, frozen=True, kw_only=True):
    """The heat of one moment; `bars` are those of the splits, the oldest first."""

    seconds: float
    watts: float
    need: float | None = None
    bars: tuple[Bar, ...] = ()

    @property
    def is_short(self) -> bool:
        """Whether the fire gives less than the pit needs."""
        return self.need is not None and self.watts < SHORT * self.need


class Ribbon(Struct, frozen=True):
    """The drawn ribbon: rows of cells, and what stands left of each row."""

    rows: tuple[tuple[Cell, ...], ...]
    labels: tuple[str, ...]


def ribbon(columns: Sequence[Heat | None], now: int, width: int, height: int, drawing: Glyphs) -> Ribbon:
    """Return the ribbon in `height` rows of `width` cells.

    Parameters
    ----------
    columns : sequence of Heat or None
        What each column up to the present shows; None: not known.
    now : int
        Column of the present.
    width, height : int
        Cells.
    drawing : Glyphs
    """
    known = [heat for heat in columns if heat is not None]
    if not any(heat.watts > 0.0 or heat.need for heat in known):
        return _unknown(width, height)
    full = scale(known, height)
    cells: list[list[Cell]] = [[(" ", "plain")] * width for _ in range(height)]
    for column, heat in enumerate(columns[:width]):
        if heat is not None:
            for row, cell in _stack(heat, full, height, drawing):
                cells[row][column] = cell
    lines = _line_rows(columns[:width], full, height)
    run = 0
    for column, (moment, line) in enumerate(zip(columns, lines, strict=False)):
        run = run + 1 if moment is not None and moment.is_short else 0
        if line is not None:
            cells[line][column] = (drawing.short if run % 2 else drawing.needed, "short" if run else "needed")
    _write_legend(cells, columns[now] if now < len(columns) else None, now + 2, drawing)
    for row in range(height):
        if now < width:
            cells[row][now] = (drawing.now, "now")
    newest = next((row for row in reversed(lines) if row is not None), None)
    return Ribbon(tuple(tuple(row) for row in cells), _labels(full, newest, height))


def _unknown(width: int, height: int) -> Ribbon:
    words = " the fire's heat is not known"[:width].ljust(width)
    blank: tuple[Cell, ...] = ((" ", "plain"),) * width
    first = tuple((character, "label") for character in words)
    return Ribbon((first, *(blank,) * (height - 1)), ("heat", *("",) * (height - 1)))


def scale(known: Sequence[Heat], height: int) -> float:
    """Return the heat at the top of the scale. [W] Round, a row above the need, not stretched by a lighting fire."""
    need = max((heat.need for heat in known if heat.need), default=0.0)
    most = max(heat.watts for heat in known)
    wanted = max(min(most, TOWER * need) if need else most, 1.01 * need * height / (height - 1))
    power = 10.0 ** math.floor(math.log10(max(wanted, 100.0)))
    return next(step * power for step in SCALES if step * power >= wanted * 0.999)


def _line_rows(columns: Sequence[Heat | None], full: float, height: int) -> list[int | None]:
    """Return for each column the row, counted from the top, in which the line of the need lies; None: no line."""
    found: list[int | None] = []
    last: int | None = None
    for heat in columns:
        if heat is None or not heat.need:
            found.append(None)
            continue
        above = heat.need / full * height
        if last is None or not last - LINGER <= above < last + 1 + LINGER:
            last = min(height - 1, math.floor(above))
        found.append(height - 1 - last)
    return found


def _stack(heat: Heat, full: float, height: int, drawing: Glyphs) -> Iterator[tuple[int, Cell]]:
    """Yield the cells of one column's stack."""
    level = heat.watts / full * height
    filled = min(height, max(math.floor(level + 0.5), 1 if heat.watts > 0.0 else 0))
    for count in range(filled):
        part = _part(heat, (count + 0.0) / height * full, (count + 1.0) / height * full, is_top=count == filled - 1)
        yield height - 1 - count, _shade(part, drawing)
    if level > height + 0.5:
        yield 0, (drawing.up, "flaming")


def _part(heat: Heat, low: float, high: float, *, is_top: bool) -> Bar | None:
    """Return the split that fills most of a cell; None: what no split explains.

    A split that is drying gives hardly any heat yet. So that it is seen to be there, it has the top cell.
    """
    drying = next((bar for bar in reversed(heat.bars) if bar.stage is Stage.DRYING), None)
    if is_top and drying is not None:
        return drying
    explained = sum(bar.watts for bar in heat.bars)
    bottom = max(0.0, heat.watts - explained)
    best, most = None, min(high, bottom) - low
    for bar in heat.bars:
        covered = min(high, bottom + bar.watts) - max(low, bottom)
        if covered > most:
            best, most = bar, covered
        bottom += bar.watts
    return best


def _shade(bar: Bar | None, drawing: Glyphs) -> Cell:
    if bar is None:
        return drawing.other, "other"
    characters = {Stage.DRYING: drawing.drying, Stage.FLAMING: drawing.flaming, Stage.COALS: drawing.coals}
    return characters[bar.stage], f"{bar.stage.value}{'-next' if bar.number % 2 else ''}"


# --- words ---------------------------------------------------------------------------------------


def _labels(full: float, line: int | None, height: int) -> tuple[str, ...]:
    labels = [""] * height
    labels[height - 1] = "heat"
    if line is not None:
        labels[line] = "need"
    if not labels[0]:
        labels[0] = f"{kilowatts(full)}kW"
    return tuple(labels)


def kilowatts(watts: float) -> str:
    """Return a heat in kilowatts, as exactly as it is worth telling.

    Examples
    --------
    >>> kilowatts(14_230.0), kilowatts(3_620.0), kilowatts(3_000.0)
    ('14', '3.6', '3')
    """
    thousands = watts / 1000.0
    return f"{thousands:.0f}" if thousands >= 9.95 else f"{thousands:.1f}".removesuffix(".0")


def heat_words(watts: float, need: float | None) -> str:
    """Return what the fire gives against what the pit needs.

    Examples
    --------
    >>> heat_words(14_230.0, 12_000.0), heat_words(9_100.0, None)
    ('gives 14 kW, needs 12', 'gives 9.1 kW')
    """
    return f"gives {kilowatts(watts)} kW" + (f", needs {kilowatts(need)}" if need else "")


def _write_legend(cells: list[list[Cell]], here: Heat | None, start: int, drawing: Glyphs) -> None:
    """Write right of the present, where nothing can be drawn yet: what the fire gives, and what the marks mean."""
    room = len(cells[0]) - start
    if room < LEAST_ROOM:
        return
    lines = [] if here is None else textwrap.wrap(heat_words(here.watts, here.need), room)
    if len(lines) > len(cells):
        return
    marks = (
        (drawing.flaming, "flames", "flaming"), (drawing.coals, "coals", "coals"), (drawing.drying, "drying", "drying"),
        (drawing.other, "other", "other"), (drawing.needed, "need", "needed"), (drawing.short, "too little", "short"),
    )  # fmt: skip
    row, column = len(lines), start
    for index, line in enumerate(lines):
        for offset, character in enumerate(line):
            cells[index][start + offset] = (character, "short" if here is not None and here.is_short else "aim")
    for mark, word, part in marks:
        length = len(word) + 2
        if column + length > len(cells[0]):
            row, column = row + 1, start
        if row >= len(cells) or column + length > len(cells[0]):
            return
        cells[row][column] = (mark, part)
        for offset, character in enumerate(f" {word}"):
            cells[row][column + 1 + offset] = (character, "label")
        column += length + 2
