"""Practice rounds, one after another."""

import os
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from firebox.config import locations
from firebox.config.schema import Config
from firebox.wiring.looks import changed_look, first_look, remembering

if TYPE_CHECKING:
    from tui.practice.opening import Opened, Wishes
    from tui.preferences import Preferences


class PracticeWish(Struct, frozen=True, kw_only=True):
    """What was said on the command line of the round to practise; None: not said."""

    scenario: str | None = None
    pit: str | None = None
    weather: str | None = None
    wood: str | None = None
    seed: int | None = None
    pace: float | None = None
    advice: str | None = None


def practise(wish: PracticeWish, *, theme: str | None = None, ascii_only: bool = False) -> None:
    """Let rounds be practised until the cook leaves; without a scenario the opening screen asks.

    Nothing of it touches a real pit: its journal lies in a folder of its own, and nobody is called.

    Raises
    ------
    ConfigError
        Something that was wished is not known.
    HeldError
        Another round is being practised.
    """
    from firebox.keeper.logs import write_log
    from firebox.practice import rounds
    from tui.practice.opening import Opened

    folder = locations.practice_folder()
    write_log(folder / "practice.log")
    look = folder / "look.json"
    preferences = first_look(Config(), changed_look(look), theme, ascii_only=ascii_only)
    remember = remembering(look, preferences)
    wishes = _wished(wish)
    opened = None
    if wish.scenario is not None:
        chosen = rounds.choose(wish.scenario, pit=wish.pit, weather=wish.weather, wood=wish.wood, seed=wishes.seed)
        opened = Opened(choice=chosen, wishes=wishes)
    while True:
        opened = opened or _opening(folder, wishes, preferences, remember)
        if opened is None:
            return
        wishes = opened.wishes
        again = _round(opened, folder, preferences, remember)
        preferences = first_look(Config(), changed_look(look), theme, ascii_only=ascii_only)
        opened = opened if again else None


def _wished(wish: PracticeWish) -> "Wishes":
    """Return what the opening screen begins with.

    Raises
    ------
    ConfigError
        A name is not known.
    """
    from firebox.practice import rounds
    from tui.practice.coach_words import Level
    from tui.practice.opening import Wishes

    names = list(rounds.SCENARIOS)
    scenario = wish.scenario or names[0]
    rounds.choose(scenario, pit=wish.pit, weather=wish.weather, wood=wish.wood)
    begun = Wishes(at=names.index(scenario), pit=wish.pit, weather=wish.weather, wood=wish.wood)
    return replace(
        begun,
        seed=wish.seed or begun.seed,
        pace=wish.pace or begun.pace,
        level=begun.level if wish.advice is None else Level(wish.advice),
    )


def _opening(
    folder: Path, wishes: "Wishes", preferences: "Preferences", remember: Callable[["Preferences"], None]
) -> "Opened | None":
    from firebox.keeper import progress
    from firebox.practice import rounds
    from tui.practice.opening import Opening

    played = progress.progress(progress.read(folder / "rounds.jsonl"))
    opening = Opening(
        rounds.menu(),
        played,
        wishes,
        preferences,
        remember=remember,
        encoding=sys.stdout.encoding,
        uncoloured="NO_COLOR" in os.environ,
    )
    return opening.run()


def _round(
    opened: "Opened", folder: Path, preferences: "Preferences", remember: Callable[["Preferences"], None]
) -> bool:
    """Play one round; return whether the same is wanted again."""
    from firebox.keeper.practising import PracticeLink
    from firebox.keeper.twinning import Twin
    from firebox.practice.rounds import SCENARIOS
    from tui.practice.app import PracticeDashboard

    choice, wishes = opened.choice, opened.wishes
    hour, minute = divmod(round(60.0 * SCENARIOS[choice.scenario].hour), 60)
    start = datetime.now().astimezone().replace(hour=hour, minute=minute, second=0, microsecond=0)
    link = PracticeLink(choice, start.astimezone(UTC), folder, pace=wishes.pace, held=True, twin=Twin(choice))
    dashboard = PracticeDashboard(link, preferences, level=wishes.level, remember=remember, bell=False)
    try:
        dashboard.run()
    finally:
        link.close()
    return dashboard.left == "again"
