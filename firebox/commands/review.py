"""`firebox review`: the honest look back on a cook, or on several side by side."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from firebox.commands import cooks
from firebox.commands.which import demo_option, pit_options

if TYPE_CHECKING:
    from firebox.config import Config
    from firebox.journal.history import Cook
    from firebox.review.chronicle import Chronicle
    from firebox.review.sheet import Sheet
    from firebox.review.whole import Review
    from firebox.review.wording import Look
    from firebox.setup import KnownPit
    from firebox.wiring import Watched


@click.command()
@click.argument("which", nargs=-1, metavar=f"[{cooks.WORDS}]...")
@pit_options
@demo_option
@cooks.practice_option
@click.option("--cook", "more", multiple=True, metavar=cooks.WORDS, help="The same as to name a cook without it.")
@click.option("--compare", is_flag=True, help="Side by side; the two newest where no cook is named.")
@click.option("--list", "listed", is_flag=True, help="Only list the cooks.")
@click.option("--full", is_flag=True, help="Every split and every piece of advice as well.")
@click.option(
    "--page",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write one self-contained HTML page with pictures instead.",
)
@click.option("--json", "as_json", is_flag=True, help="Write the figures as JSON, one line a cook, in SI units.")
@click.option(
    "--learn", is_flag=True, help="Let the cooks that are over teach what is known of the pit; then tell it."
)
@click.option("--afresh", is_flag=True, help="The same, with what was known before left aside.")
@click.option(
    "--forget",
    is_flag=True,
    help="Forget what cooks have taught of the pit; the cooks stay, and are learned from again by --learn.",
)
@click.option("--price", type=click.FloatRange(min=0), help="What a kg of wood costs (a lb, in a pit that uses lb).")
@click.option("--money", metavar="WORD", help="The word behind an amount of money; any.")
def command(
    which: Sequence[str],
    config_file: Path | None,
    pit: str | None,
    *,
    demo: bool,
    practice: bool,
    more: Sequence[str],
    compare: bool,
    listed: bool,
    full: bool,
    page: Path | None,
    as_json: bool,
    learn: bool,
    afresh: bool,
    forget: bool,
    price: float | None,
    money: str | None,
) -> None:
    """Look back on a cook: how it went, why, and what to try next time.

    Time in the band, the rhythm of the splits, each time that the pit left its band and why it probably did, wood and
    cost, whether the forecasts and the advice were worth it, alarms, and the meat. Without a word it is the newest cook;
    with two or more they stand side by side.

    What is known of a pit is learned when a watch ends; --learn does it now, and takes about a second for each hour of
    a cook.
    """
    from firebox.journal.export import list_cooks

    kept = cooks.kept(config_file, pit, demo=demo, practice=practice)
    config, journal = kept.config, kept.journal
    if learn or afresh or forget:
        from firebox.commands import lore

        lore.change(kept.watched, _look(config, money), learn=learn or afresh, forget=forget or afresh)
        return
    cooks_there = list_cooks(journal)
    if listed:
        for line in cooks.lines(journal, cooks_there):
            click.echo(line)
        return
    chosen = _chosen([*which, *more], cooks_there, compare=compare)
    price_per_kg = _price_per_kg(config, price)
    known = None if kept.watched is None else _known(kept.watched)
    burning = _going_on(journal, cooks_there[-1])
    looked = [_looked(journal, cook, price_per_kg, known, going_on=burning == cook) for cook in chosen]
    if as_json:
        _json(looked)
        return
    look = _look(config, money)
    compared = compare or len(chosen) > 1
    sheet = _sheet([review for review, _ in looked], look, compared=compared)
    if page is None:
        from firebox.commands.showing import show

        show(sheet, full=full)
        return
    _write(page, sheet, looked, look)
    click.echo(f"{page}: written")


# --- what is meant -------------------------------------------------------------------------------


def _chosen(words: Sequence[str], known: "Sequence[Cook]", *, compare: bool) -> "list[Cook]":
    if not words and compare:
        if len(known) < COMPARED:
            raise click.UsageError("--compare: the journal has less than two cooks yet")
        return list(known[-COMPARED:])
    found = [cook for word in (words or ["last"]) for cook in cooks.meant(word, known)]
    chosen = list({cook.id: cook for cook in found}.values())
    if compare and len(chosen) < COMPARED:
        raise click.UsageError("--compare: that is one cook only; name another, or none for the two newest")
    return chosen


COMPARED = 2


def _price_per_kg(config: "Config", price: float | None) -> float | None:
    """Return the price of a kilogram of wood: as told now, else as the pit's file has it."""
    from firebox.units import kg_from

    told = config.wood.price if price is None else price
    return None if told is None else told / kg_from(1.0, config.units.mass)


def _look(config: "Config", money: str | None) -> "Look":
    from firebox.commands.here import Here
    from firebox.review.wording import Look

    units = config.units
    return Look(
        degrees=units.degrees,
        mass=units.mass,
        clock=units.clock,
        zone=Here(),
        money=(config.wood.currency if money is None else money).strip(),
    )


# --- what comes out ------------------------------------------------------------------------------


def _known(watched: "Watched") -> "KnownPit | None":
    """Return what is known of the pit; what cannot be read is told, and keeps nobody from looking back."""
    from firebox import wiring
    from firebox.errors import ConfigError

    try:
        return wiring.known(watched)
    except ConfigError as error:
        click.echo(str(error), err=True)
    return None


def _going_on(journal: Path, newest: "Cook") -> "Cook | None":
    """Return the newest cook where somebody still keeps it."""
    from firebox.journal.lock import holder

    return newest if newest.ended is None and holder(journal) is not None else None


def _looked(
    journal: Path, cook: "Cook", price_per_kg: float | None, known: "KnownPit | None", *, going_on: bool
) -> "tuple[Review, Chronicle]":
    from firebox.journal.lookback import thinned
    from firebox.review.whole import review

    records = thinned(journal, cook, say=lambda text: click.echo(text, err=True))
    return review(records, number=cook.id, kind=cook.kind, price_per_kg=price_per_kg, known=known, going_on=going_on)


def _sheet(reviews: "Sequence[Review]", look: "Look", *, compared: bool) -> "Sheet":
    from firebox.review.comparing import side_by_side
    from firebox.review.sheet import sheet

    return side_by_side(reviews, look) if compared else sheet(reviews[0], look)


def _json(looked: "Sequence[tuple[Review, Chronicle]]") -> None:
    import msgspec

    for review, _ in looked:
        click.echo(msgspec.json.encode(review).decode())


def _write(path: Path, sheet: "Sheet", looked: "Sequence[tuple[Review, Chronicle]]", look: "Look") -> None:
    from firebox.errors import FireboxError

    try:
        from firebox.report.page import page
    except ImportError as error:
        raise FireboxError(f'--page: {error.name} is not installed; pip install "firebox[report]"') from error
    try:
        path.write_text(page(sheet, looked, look), encoding="utf-8")
    except OSError as error:
        raise click.FileError(str(path), error.strerror) from error
