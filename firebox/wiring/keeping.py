"""A pit kept: the keeper put together and run."""

import asyncio
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from msgspec.structs import replace

from firebox.config.schema import Config
from firebox.errors import ConfigError
from firebox.links import PracticeOptions
from firebox.ports import Clock, Kind, ProbeSource
from firebox.setup import Setup
from firebox.wiring.lore import heeding, knowing, learn_later
from firebox.wiring.parts import outlets, sources
from firebox.wiring.watched import Watched

DEMO_HOURS: Final = 12.0
"""Logical hours after which a demo ends by itself, so that a forgotten one does not burn for ever."""


def keep(watched: Watched) -> None:
    """Keep a pit in the foreground until it is told to end.

    Raises
    ------
    HeldError
        Another process keeps this pit.
    ConfigError, JournalError
        It cannot be kept; the message says why.
    """
    from drivers.machine import SysfsMachine
    from firebox.keeper import loop
    from firebox.keeper.logs import write_log
    from firebox.keeper.mind import watch_reducer

    watched.journal.parent.mkdir(parents=True, exist_ok=True)
    if watched.kind is Kind.DEMO:
        _forget(watched.journal)
    write_log(watched.log)
    setup, played = _played(watched.config)
    if watched.kind is Kind.LIVE:
        setup = knowing(watched, setup)

    def reads(clock: Clock) -> list[ProbeSource]:
        if played is None:
            return sources(watched.config, clock)
        from drivers import load_source

        fire: ProbeSource = load_source("practice")("practice", clock, fire=played)
        return [fire, *sources(watched.config, clock)]

    asyncio.run(
        loop.keep(
            watched.journal,
            setup,
            watch_reducer(),
            sources=reads,
            outlets=lambda clock, hear: outlets(watched.config, clock, hear),
            kind=watched.kind,
            rate=watched.rate,
            heed=heeding(watched) if played is None else played.act,
            lasting=DEMO_HOURS * 3600.0 / watched.rate if watched.kind is Kind.DEMO else None,
            machine=SysfsMachine() if watched.kind is Kind.LIVE else None,
        )
    )
    if watched.kind is Kind.LIVE:
        learn_later(watched)


def _played(config: Config) -> tuple[Callable[[datetime], Setup], Any]:  # a practice session, or None
    """Return what the watch is told of the pit, and the fire that is played out where it is no real one."""
    practice = next((one for one in config.sources if isinstance(one, PracticeOptions)), None)
    if practice is None:
        return config.setup, None
    from firebox.practice import scenarios

    scene = scenarios.SCENES.get(practice.scenario)
    if scene is None:
        known = ", ".join(sorted(scenarios.SCENES))
        raise ConfigError(f'scenario: "{practice.scenario}" is no practice scene; one of {known} would be right')
    if practice.seed is not None:
        scene = replace(scene, seed=practice.seed)
    session = scenarios.stage(scene)
    return lambda time: scenarios.setup(scene, time, session), session


def _forget(journal: Path) -> None:
    """Take away the journal of the demo before: what was played is not a record of anything."""
    from firebox.journal.lock import holder

    if holder(journal) is None:
        for end in ("", "-wal", "-shm"):
            journal.with_name(journal.name + end).unlink(missing_ok=True)
