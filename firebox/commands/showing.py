"""A review in the terminal: plain to read at 80 columns, in colour only where colour is wanted."""

import sys
from io import StringIO
from typing import TYPE_CHECKING, Final

import click
import msgspec
from rich import box
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from firebox.review.wording import CLOSE

if TYPE_CHECKING:
    from firebox.review import parts
    from firebox.review.sheet import Sheet

WIDEST: Final = 100
"""Columns; lines of words that run further are tiring to read."""

PIPED: Final = 80

HELD: Final = "\ue000"
"""Stands for a space that breaks no line while lines are broken: the library takes every kind of space for a break."""

PLAIN: Final = str.maketrans({"°": "", "±": "+-", "█": "#", "·": ".", "▲": "^", "▼": "v"})
"""For an output that knows only ASCII."""


def show(sheet: "Sheet", *, full: bool) -> None:
    """Write a review to standard output, through the pager where it is longer than the terminal; tables of single things only where it is to be `full`."""
    is_terminal = sys.stdout.isatty()
    console = Console(
        file=StringIO(),
        force_terminal=is_terminal,
        width=min(Console().width, WIDEST) if is_terminal else PIPED,
        highlight=False,
        emoji=False,
        markup=False,
    )
    _draw(console, _holding_together(sheet), full=full)
    file = console.file
    assert isinstance(file, StringIO)
    lines = (line.rstrip() for line in file.getvalue().replace(HELD, " ").splitlines())
    text = _sayable("\n".join(lines))
    if is_terminal and sys.stdin.isatty() and text.count("\n") + 2 > Console().height:
        click.echo_via_pager(text, color=True)
    else:
        click.echo(text, color=is_terminal)


def _holding_together(sheet: "Sheet") -> "Sheet":
    """Return a sheet whose numbers stay with their units."""
    kind = type(sheet)
    return msgspec.json.decode(msgspec.json.encode(sheet).replace(CLOSE.encode(), HELD.encode()), type=kind)


def _sayable(text: str) -> str:
    """Return a text in characters that standard output knows."""
    encoding = sys.stdout.encoding or "utf-8"
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        return text.translate(PLAIN).encode(encoding, "replace").decode(encoding)
    return text


def _draw(console: Console, sheet: "Sheet", *, full: bool) -> None:
    if sheet.banner:
        console.print(Text(sheet.banner, style="bold reverse"))
    console.print(Text(sheet.title, style="bold"))
    if sheet.subtitle:
        console.print(Text(sheet.subtitle))
    if sheet.tiles:
        console.print()
        console.print(_tiles(sheet.tiles))
    for section in sheet.sections:
        _section(console, section, full=full)
    if sheet.tries:
        console.print()
        console.print(Text("Three things to try next time", style="bold"))
        for number, one in enumerate(sheet.tries, 1):
            console.print()
            grid = Table.grid(padding=(0, 1))
            grid.add_row(f"  {number}.", Text(one.what))
            console.print(grid)
            console.print(Padding(Text(one.why, style="dim"), (0, 0, 0, 5)))


def _tiles(tiles: "tuple[parts.Tile, ...]") -> Table:
    grid = Table.grid(padding=(0, 2))
    for tile in tiles:
        grid.add_row(
            Text(f"  {tile.label}"), Text(tile.value, style="bold", justify="right"), Text(tile.note, style="dim")
        )
    return grid


def _section(console: Console, section: "parts.Section", *, full: bool) -> None:
    console.print()
    console.print(Text(section.title, style="bold"))
    for words in section.words:
        console.print(Padding(Text(words), (0, 0, 0, 2)))
    for table in section.tables:
        if full or not table.full:
            console.print()
            if table.title:
                console.print(Padding(Text(table.title, style="dim"), (0, 0, 0, 2)))
            console.print(Padding(_table(table), (0, 0, 0, 1)))
    if section.tables and section.small:
        console.print()
    for words in section.small:
        console.print(Padding(Text(words, style="dim"), (0, 0, 0, 2)))


def _table(made: "parts.Table") -> Table:
    table = Table(box=box.SIMPLE_HEAD, pad_edge=True, padding=(0, 1), header_style="dim", show_edge=False)
    for place, head in enumerate(made.heads):
        table.add_column(
            Text(head),
            justify="left" if place in made.left else "right",
            no_wrap=place not in made.wide,
            overflow="fold",
        )
    for row in made.rows:
        table.add_row(*(Text(cell) for cell in row))
    return table
