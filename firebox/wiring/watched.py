"""A pit that can be watched: where its files are, and the process that keeps it."""

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from msgspec import Struct

from firebox.config import locations
from firebox.config.schema import Config
from firebox.links import PracticeOptions, ReplayOptions, SourceOptions
from firebox.ports import Kind

DEMO: Final = "demo"
"""Name under which the demo's files are kept; a pit's own file may not be called so."""

DEMO_SCENE: Final = "lantern"

DEMO_RATE: Final = 24.0
"""Logical seconds a real second: a split's hump takes a minute, and both alarms of the scene come within a bit over three."""


class Watched(Struct, frozen=True, kw_only=True):
    """A pit that can be kept and looked at: where its files are, and how its keeper is started."""

    name: str
    config: Config
    kind: Kind = Kind.LIVE
    rate: float = 1.0
    config_path: Path | None = None
    journal: Path
    log: Path

    def keeper_command(self) -> list[str]:
        """Return the command that keeps this pit in the foreground."""
        command = [sys.executable, "-m", "firebox", "keep"]
        if self.kind is Kind.DEMO:
            return [*command, "--demo", "--rate", f"{self.rate:g}"]
        if self.config_path is not None:
            command += ["--config", str(self.config_path.absolute())]
        return command if self.rate == 1.0 else [*command, "--rate", f"{self.rate:g}"]

    def learn_command(self) -> list[str]:
        """Return the command that goes over the newest cooks of this pit."""
        command = [sys.executable, "-m", "firebox", "review", "--learn"]
        return command if self.config_path is None else [*command, "--config", str(self.config_path.absolute())]


def configured(config: Config, path: Path | None, rate: float | None = None) -> Watched:
    """Return the pit of a configuration, with its files where they belong.

    A pit whose only source is a recording is a replay; one with a practice fire is practice. `rate` is passed over
    on a live pit, where a second is a second.
    """
    kind = kind_of(config.sources)
    return Watched(
        name=config.name,
        config=config,
        kind=kind,
        rate=1.0 if kind is Kind.LIVE or rate is None else rate,
        config_path=path,
        journal=locations.journal_file(config.name),
        log=locations.log_file(config.name),
    )


def demo(rate: float | None = None) -> Watched:
    """Return the demo pit: invented, and needing neither hardware nor a configuration."""
    return Watched(
        name=DEMO,
        config=Config(sources=(PracticeOptions(name=DEMO, scenario=DEMO_SCENE),)),
        kind=Kind.DEMO,
        rate=rate or DEMO_RATE,
        journal=locations.journal_file(DEMO),
        log=locations.log_file(DEMO),
    )


def kind_of(sources: Sequence[SourceOptions]) -> Kind:
    if sources and all(isinstance(source, ReplayOptions) for source in sources):
        return Kind.REPLAY
    return Kind.PRACTICE if any(isinstance(source, PracticeOptions) for source in sources) else Kind.LIVE


def is_kept(watched: Watched) -> bool:
    """Tell whether a process keeps this pit now."""
    from firebox.journal.lock import holder

    return holder(watched.journal) is not None


def start(watched: Watched) -> None:
    """Start a keeper that outlives this process; returns when it holds the pit.

    Raises
    ------
    FireboxError
        It ended at once or did not get going; the message has what it said.
    """
    from firebox.keeper.background import spawn

    spawn(watched.keeper_command(), watched.journal, watched.log.with_suffix(".out"))


def stop(watched: Watched) -> str | None:
    """End the keeper of a pit and return who it was, in words; None where nobody keeps it.

    Raises
    ------
    FireboxError
        It could not be ended.
    """
    from firebox.keeper import background

    ended = background.stop(watched.journal)
    return None if ended is None else ended.describe()
