"""The ways of calling people, tried before the night: what each says, and whether it got out."""

import asyncio
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from firebox.ports import Announcer
    from firebox.records import Notice
    from firebox.wiring import Watched

FROM_THE_BED = "Listen from your bed, with the doors shut as at night. What does not wake you there is no alarm."


def sound(watched: "Watched") -> bool:
    """Sound every urgency on every sounder, or on the default loudspeaker; return whether all of it got out."""
    from firebox import wiring
    from firebox.ways import PushOptions, SoundOptions

    wanted = [way for way in watched.config.notices.to if not isinstance(way, PushOptions)]
    if not wanted:
        click.echo("no sound under [[notices.to]] yet; this is the default loudspeaker", err=True)
    click.echo(FROM_THE_BED, err=True)
    return asyncio.run(_sounded([wiring.announcer(way) for way in wanted or [SoundOptions()]], watched.name))


async def _sounded(ways: Sequence["Announcer"], pit: str) -> bool:
    from firebox.keeper.notices import trial
    from firebox.records import Priority

    well = True
    for way in ways:
        for priority in Priority:
            problem = await _tried(way, trial(way.name, pit, datetime.now(UTC), priority))
            click.echo(f"{way.name}: {priority}: {problem or 'sounded'}")
            well = well and problem is None
        await way.close()
    return well


def notices(watched: "Watched") -> bool:
    """Send a test, marked as one, in every configured way; return whether all of them got out.

    Raises
    ------
    ConfigError
        No way is configured, or its address cannot be read.
    """
    from firebox import wiring
    from firebox.errors import ConfigError

    if not watched.config.notices.to:
        raise ConfigError(
            f"{watched.config_path}: no [[notices.to]]: say how people are to be called, as in\n"
            '  [[notices.to]]\n  kind = "sound"'
        )
    ways = [wiring.announcer(options) for options in watched.config.notices.to]
    return asyncio.run(_sent(ways, watched.name))


async def _sent(ways: Sequence["Announcer"], pit: str) -> bool:
    from firebox.keeper.notices import trial
    from firebox.records import Priority

    problems = []
    for way in ways:
        problems.append(await _tried(way, trial(way.name, pit, datetime.now(UTC), Priority.HIGH)))
        click.echo(f"{way.name}: {problems[-1] or 'handed over; look whether it arrives'}")
        await way.close()
    return not any(problems)


async def _tried(way: "Announcer", notice: "Notice") -> str | None:
    """Return why a notice did not get out; None: it did."""
    from firebox.errors import NoticeError

    try:
        await way.announce(notice)
    except NoticeError as error:
        return f"failed: {error}"
    return None
