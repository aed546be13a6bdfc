"""What cooks have taught of a pit: learned, told, forgotten."""

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from firebox.review.wording import Look
    from firebox.wiring import Watched


def change(watched: "Watched | None", look: "Look", *, learn: bool, forget: bool) -> None:
    """Forget or learn what cooks have taught of a pit, or the one and then the other; and tell what is known then.

    Raises
    ------
    ConfigError, JournalError
        It cannot be read or kept.
    click.UsageError
        It was no real fire.
    """
    from firebox import wiring
    from firebox.ports import Kind

    if watched is None or watched.kind in {Kind.DEMO, Kind.PRACTICE}:
        raise click.UsageError("what was practised teaches nothing of a real pit; leave --demo and --practice out")
    if not learn:
        found = wiring.forget(watched)
        kept = "its cooks stay in the journal, and the next watch that ends, or --learn, learns from them again"
        click.echo(f"{watched.name}: {f'forgotten; {kept}' if found else 'nothing was known'}")
        return
    known = wiring.learn(watched, afresh=forget, say=lambda text: click.echo(text, err=True))
    if known is None:
        click.echo(f"{watched.name}: nothing is known yet; it takes a cook of two hours with its splits logged")
        return
    from firebox.commands.showing import show
    from firebox.review.knowledge import knowledge
    from firebox.review.sheet import Sheet
    from firebox.review.told_known import section

    told = knowledge(known)
    assert told is not None
    show(Sheet(title=watched.name, sections=(section(told, look),)), full=True)
