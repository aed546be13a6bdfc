"""The page of a review: one file that asks nothing of any network and runs no script, for screens, phones and paper."""

from collections.abc import Callable, Sequence
from functools import partial
from html import escape
from importlib.metadata import version
from importlib.resources import files
from typing import Final

from matplotlib.figure import Figure
from msgspec import Struct

from firebox.report.abreast import abreast
from firebox.report.foretold import foretold
from firebox.report.humps import humps
from firebox.report.ink import drawing, svg
from firebox.report.night import Sight, night
from firebox.review.chronicle import Chronicle
from firebox.review.parts import Section, Table
from firebox.review.sheet import Sheet
from firebox.review.whole import Review
from firebox.review.wording import Look

POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
"""What a browser may load for the page: nothing. Whatever stood in a note, it could not run."""


class Picture(Struct, frozen=True, kw_only=True):
    """A drawing in two shapes, for wide and for narrow screens; inches."""

    name: str
    label: str
    caption: str
    draw: Callable[[Figure, bool], None]
    broad: tuple[float, float]
    slim: tuple[float, float]


def page(sheet: Sheet, looked: Sequence[tuple[Review, Chronicle]], look: Look) -> str:
    """Return a review as the text of an HTML page.

    Parameters
    ----------
    sheet : Sheet
        The words: of one cook, or of several side by side.
    looked : sequence of (Review, Chronicle)
        The cooks it is about.
    look : Look
    """
    pictures = _one(looked[0], look) if sheet.tiles else _several(looked, look)
    return "\n".join([
        "<!doctype html>",
        '<html lang="en">',
        "<head>",
        '<meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{escape(sheet.title)}</title>",
        f"<style>\n{files('firebox.report').joinpath('page.css').read_text(encoding='utf-8')}</style>",
        "</head>",
        "<body>",
        _header(sheet),
        "<main>",
        _tries(sheet),
        _picture(pictures["night"]) if "night" in pictures else "",
        *(_section(section, pictures.get(section.key)) for section in sheet.sections),
        "</main>",
        _footer(),
        "</body>",
        "</html>",
        "",
    ])  # fmt: skip


# --- words ---------------------------------------------------------------------------------------


def _header(sheet: Sheet) -> str:
    banner = f'<p class="banner">{escape(sheet.banner)}</p>' if sheet.banner else ""
    tiles = "".join(
        f'<div><dt>{escape(one.label)}</dt><dd class="value">{escape(one.value)}</dd>'
        f'<dd class="note">{escape(one.note)}</dd></div>'
        for one in sheet.tiles
    )
    return (
        f'<header>{banner}<h1>{escape(sheet.title)}</h1><p class="under">{escape(sheet.subtitle)}</p>'
        + (f'<dl class="tiles">{tiles}</dl>' if tiles else "")
        + "</header>"
    )


def _tries(sheet: Sheet) -> str:
    if not sheet.tries:
        return ""
    items = "".join(f"<li>{escape(one.what)}<span>{escape(one.why)}</span></li>" for one in sheet.tries)
    return f'<section class="tries"><h2>Three things to try next time</h2><ol>{items}</ol></section>'


def _section(section: Section, picture: Picture | None) -> str:
    parts = [f"<h2>{escape(section.title)}</h2>"]
    parts += [f"<p>{escape(words)}</p>" for words in section.words]
    parts += [_picture(picture)] if picture is not None else []
    parts += [_table(table, section.title) for table in section.tables]
    parts += [f'<p class="small">{escape(words)}</p>' for words in section.small]
    return f'<section id="{escape(section.key)}">{"".join(parts)}</section>'


def _table(table: Table, label: str) -> str:
    def kind(place: int) -> str:
        return ' class="wide"' if place in table.wide else ' class="left"' if place in table.left else ""

    heads = "".join(f'<th scope="col"{kind(place)}>{escape(head)}</th>' for place, head in enumerate(table.heads))
    rows = "".join(
        "<tr>"
        + "".join(f"<td{_bar(cell) or kind(place)}>{escape(cell)}</td>" for place, cell in enumerate(row))
        + "</tr>"
        for row in table.rows
    )
    made = (
        f'<div class="scroll" role="region" aria-label="{escape(table.title or label)}" tabindex="0">'
        f"<table><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table></div>"
    )
    return f"<details><summary>{escape(table.title)}</summary>{made}</details>" if table.full else made


def _bar(cell: str) -> str:
    return ' class="left bar"' if cell and set(cell) == {"█"} else ""


def _footer() -> str:
    return (
        "<footer><p>Told from the journal by firebox "
        f"{escape(version('firebox'))}. Causes and estimates are likely, not proven. Food is safe by time and temperature inside "
        "it and by your local rules, not by this page.</p></footer>"
    )


# --- pictures ------------------------------------------------------------------------------------


def _picture(picture: Picture) -> str:
    drawn = []
    for kind, size in (("broad", picture.broad), ("slim", picture.slim)):
        with drawing(*size) as figure:
            picture.draw(figure, kind == "slim")
            drawn.append(svg(figure, escape(picture.label), f"{picture.name}-{kind}", kind))
    return f"<figure>{''.join(drawn)}<figcaption>{escape(picture.caption)}</figcaption></figure>"


def _one(looked: tuple[Review, Chronicle], look: Look) -> dict[str, Picture]:
    review, cook = looked

    def sight(narrow: bool) -> Sight:  # noqa: FBT001  handed on by `partial`
        return Sight(review=review, cook=cook, look=look, narrow=narrow)

    def through(draw: Callable[[Figure, Sight], None], figure: Figure, narrow: bool) -> None:  # noqa: FBT001  as above
        draw(figure, sight(narrow))

    meat = 1.9 if review.meats else 0.0
    found = {
        "night": Picture(
            name="night",
            label="The temperatures of the pit through the cook with the target band, wood, dampers, doors and meat",
            caption="Green: the band. Red: out of it while it was to be held. Pale: the other probes at the grate. All on one "
            "axis of time.",
            draw=partial(through, night),
            broad=(10.4, 6.3 + meat),
            slim=(5.0, 7.2 + meat),
        )
    }
    if any(one.rise is not None for one in review.rhythm.fed):
        found["rhythm"] = Picture(
            name="rhythm",
            label="The hump of every split, and the lift of each through the night",
            caption="Hollow: a door stood open or the target moved meanwhile, so it is not counted. Dashed: how the lift "
            "drifted.",
            draw=partial(through, humps),
            broad=(10.4, 3.4),
            slim=(5.0, 6.4),
        )
    if review.honesty.kept:
        found["honesty"] = Picture(
            name="honesty",
            label="What was foretold a quarter of an hour before beside what came, and the error by horizon",
            caption="The blue band should hold four of five. It is broken off where something was done in between.",
            draw=partial(through, foretold),
            broad=(10.4, 3.4),
            slim=(5.0, 6.4),
        )
    return found


def _several(looked: Sequence[tuple[Review, Chronicle]], look: Look) -> dict[str, Picture]:
    def draw(figure: Figure, narrow: bool) -> None:  # noqa: FBT001  as `Picture.draw`
        abreast(figure, [Sight(review=review, cook=cook, look=look, narrow=narrow) for review, cook in looked])

    height = 0.6 + 1.5 * len(looked)
    return {
        "compare": Picture(
            name="compare",
            label="How far each cook was from its target, hour by hour",
            caption="Green: the band. Red: out of it.",
            draw=draw,
            broad=(10.4, height),
            slim=(5.0, height),
        )
    }
