"""The opening screen of the practice: what to master, on which pit, in which weather, with which wood."""

import textwrap
from collections.abc import Callable, Mapping
from typing import ClassVar, Final

from msgspec import Struct
from msgspec.structs import replace
from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import ContentSwitcher

from firebox.lessons import PACES, Choice, Menu, Offer, Option, Progress
from tui import themes
from tui.glyphs import Glyphs, can_draw, glyphs
from tui.practice.coach_words import Level, next_level
from tui.preferences import LOOKS, Preferences
from tui.screens.guide import GuidePage
from tui.widgets.words import Words

PACE: Final = 20.0
"""At first: two hours of the fire in six minutes."""

Run = tuple[str, str]
Line = tuple[Run, ...]


class Wishes(Struct, frozen=True, kw_only=True):
    """What is chosen so far; None: as the scenario was made for."""

    at: int = 0
    pit: str | None = None
    weather: str | None = None
    wood: str | None = None
    pace: float = PACE
    level: Level = Level.HINTED
    seed: int = 1


def offer(menu: Menu, wishes: Wishes) -> Offer:
    """Return the scenario that is pointed at."""
    return menu.offers[wishes.at % len(menu.offers)]


def choice(menu: Menu, wishes: Wishes) -> Choice:
    """Return the round as it would begin."""
    made = offer(menu, wishes)
    return Choice(
        scenario=made.name,
        pit=wishes.pit or made.pit,
        weather=wishes.weather or made.weather,
        wood=wishes.wood or made.wood,
        seed=wishes.seed,
    )


def _after(options: tuple[Option, ...], name: str) -> str:
    names = [option.name for option in options]
    return names[(names.index(name) + 1) % len(names)]


def step(menu: Menu, wishes: Wishes, word: str) -> Wishes:
    """Return the wishes after a key: up, down, pit, weather, wood, pace, level, seed."""
    now = choice(menu, wishes)
    match word:
        case "up" | "down":
            # another scenario, another pit: what was changed was changed for the one before
            at = (wishes.at + (1 if word == "down" else -1)) % len(menu.offers)
            return replace(wishes, at=at, pit=None, weather=None, wood=None)
        case "pit":
            return replace(wishes, pit=_after(menu.pits, now.pit))
        case "weather":
            return replace(wishes, weather=_after(menu.weathers, now.weather))
        case "wood":
            return replace(wishes, wood=_after(menu.woods, now.wood))
        case "pace":
            at = PACES.index(wishes.pace) if wishes.pace in PACES else 0
            return replace(wishes, pace=PACES[(at + 1) % len(PACES)])
        case "level":
            return replace(wishes, level=next_level(wishes.level))
        case "seed":
            return replace(wishes, seed=wishes.seed + 1)
        case _:
            return wishes


# --- how it reads --------------------------------------------------------------------------------


def lines(
    menu: Menu, wishes: Wishes, progress: Mapping[str, Progress], *, width: int, height: int, drawing: Glyphs
) -> tuple[Line, ...]:
    """Return the screen, line by line."""
    made, now = offer(menu, wishes), choice(menu, wishes)
    roomy = height >= ROOMY
    found: list[Line] = [
        (("PRACTICE", "bold reverse"), ("  a fire that costs nothing, and hurts nobody", "bold $accent"))
    ]
    if roomy:
        found.append(())
    for number, one in enumerate(menu.offers):
        chosen = number == wishes.at % len(menu.offers)
        row = (
            f"{'> ' if chosen else '  '}{one.title:<30}{_length(one.minutes):>7}   {_played(progress.get(one.name))}"
        )
        found.append(((row[:width], "bold $accent" if chosen else ""),))
    found.append(())
    brief = textwrap.wrap(made.brief, max(20, min(width, WIDEST)))
    found += [((row, ""),) for row in brief]
    found.append((("Goal: ", "bold"), (f"{made.goal}.", "bold")))
    found += [()] * ((_MOST_BRIEF - len(brief) + 1) if roomy else 1)
    for key, what, name, options, usual in (
        ("p", "pit", now.pit, menu.pits, made.pit),
        ("w", "weather", now.weather, menu.weathers, made.weather),
        ("o", "wood", now.wood, menu.woods, made.wood),
    ):
        words = next(option.words for option in options if option.name == name)
        changed = "" if name == usual else "  (changed)"
        found.append(
            (
                (f"{key} ", "bold $accent"),
                (f"{what:<9}", "$quiet"),
                (f"{name:<13}", "bold"),
                (f"{words}{changed}", ""),
            )
        )
    pace = f"{wishes.pace:g}"
    took = f"seconds of the fire in one; this round takes {_length(round(made.minutes / wishes.pace))}"
    found.append((("r ", "bold $accent"), ("pace     ", "$quiet"), (f"{pace:<13}", "bold"), (took, "")))
    found.append(
        (
            ("j ", "bold $accent"),
            ("advice   ", "$quiet"),
            (f"{wishes.level:<13}", "bold"),
            (_LEVELS[wishes.level], ""),
        )
    )
    found.append(
        (
            ("n ", "bold $accent"),
            ("fire     ", "$quiet"),
            (f"{f'no. {wishes.seed}':<13}", "bold"),
            ("its wind and luck; the same number, the same fire", ""),
        )
    )
    found.append(())
    up = "up/down" if drawing.ascii else "↑↓"
    keys = (("Enter", "begin"), (up, "choose"), ("G", "guide"), ("y", "theme"), ("q", "leave"))
    found.append(tuple(run for key, words in keys for run in ((key, "bold $accent"), (f" {words}   ", "$quiet"))))
    return tuple(found)


WIDEST: Final = 90
"""Columns beyond which a paragraph is hard to read."""

ROOMY: Final = 26
"""Rows from which blank lines are affordable."""

_MOST_BRIEF: Final = 3

_LEVELS: Final = {
    Level.HIDDEN: "you judge alone",
    Level.HINTED: "where to look, not what to do",
    Level.SHOWN: "what to do and why, as on a real pit",
}


def _length(minutes: int) -> str:
    if minutes < 1:
        return "less than a minute"
    if minutes < 60:
        return f"{minutes} min"
    hours, rest = divmod(minutes, 60)
    return f"{hours} h" + (f" {rest:02}" if rest else "")


def _played(progress: Progress | None) -> str:
    """Return what rounds came to: how many reached their goal, and the largest and the last share of time in the band."""
    if progress is None or not progress.rounds:
        return "not played yet"
    best = "" if progress.best is None else f", best {progress.best:.0%}"
    last = "" if progress.last is None or progress.rounds == 1 else f", last {progress.last:.0%}"
    return f"{progress.reached} of {progress.rounds} reached{best}{last}"


class Opened(Struct, frozen=True, kw_only=True):
    """A round to begin, and what was wished, for the next time this screen is shown."""

    choice: Choice
    wishes: Wishes


class Opening(App[Opened]):
    """Asks what to practise; returns it, or None when the cook leaves.

    Parameters
    ----------
    menu : Menu
    progress : mapping of str to Progress
        Scenario -> what its rounds came to.
    wishes : Wishes
    preferences : Preferences
    remember : callable, optional
        Takes the preferences when the theme was changed.
    encoding : str, optional
        What the terminal can show.
    """

    CSS_PATH = "../dashboard.tcss"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "step('up')", priority=True),
        Binding("down", "step('down')", priority=True),
        Binding("p", "step('pit')"),
        Binding("w", "step('weather')"),
        Binding("o", "step('wood')"),
        Binding("r", "step('pace')"),
        Binding("j", "step('level')"),
        Binding("n", "step('seed')"),
        Binding("enter", "begin"),
        Binding("G,escape,question_mark", "guide"),
        Binding("y", "theme"),
        Binding("q,ctrl+c", "leave"),
    ]

    def __init__(
        self,
        menu: Menu,
        progress: Mapping[str, Progress],
        wishes: Wishes,
        preferences: Preferences,
        *,
        remember: Callable[[Preferences], None] | None = None,
        encoding: str | None = None,
        uncoloured: bool = False,
    ) -> None:
        super().__init__(ansi_color=True if uncoloured else None)
        self.menu, self.progress, self.wishes, self.preferences = menu, progress, wishes, preferences
        self._remember, self._uncoloured = remember, uncoloured
        self._drawing = glyphs(ascii_only=preferences.ascii or not can_draw(encoding))
        for theme in themes.ALL:
            self.register_theme(theme)
        self.theme = themes.UNCOLOURED.name if uncoloured else preferences.theme

    def compose(self) -> ComposeResult:
        with ContentSwitcher(initial="opening", id="pages"):
            with VerticalScroll(id="opening", can_focus=False):
                yield Words(id="opening-lines")
            with Vertical(id="guide"):
                yield GuidePage(self._drawing, id="guide-text", classes="-scrolls")
                yield Words(id="guide-keys")

    def on_mount(self) -> None:
        self.title = "firebox"
        self.screen.set_class(self._drawing.ascii, "-ascii")
        self.call_after_refresh(self.show)

    def on_resize(self) -> None:
        self.call_after_refresh(self.show)

    def show(self) -> None:
        """Draw the screen anew."""
        width, height = max(40, self.size.width - 2), self.size.height
        shown = lines(self.menu, self.wishes, self.progress, width=width, height=height, drawing=self._drawing)
        parts: list[str | Run] = []
        for line in shown:
            parts += [" ", *((text, style) if style else text for text, style in line), "\n"]
        self.query_one("#opening-lines", Words).say(Content.assemble(*parts[:-1]))

    def action_step(self, word: str) -> None:
        if self.query_one(ContentSwitcher).current != "opening":
            guide = self.query_one(GuidePage)
            guide.scroll_relative(y=-1 if word == "up" else 1 if word == "down" else 0, animate=False)
            return
        self.wishes = step(self.menu, self.wishes, word)
        self.show()

    def action_begin(self) -> None:
        self.exit(Opened(choice=choice(self.menu, self.wishes), wishes=self.wishes))

    def action_guide(self) -> None:
        """Show the guide, or go back to the choice."""
        pages = self.query_one(ContentSwitcher)
        pages.current = "guide" if pages.current == "opening" else "opening"
        up = "up/down" if self._drawing.ascii else "↑↓"
        self.query_one("#guide-keys", Words).say(
            Content.assemble(
                (" Esc", "bold $accent"), " or ", ("q", "bold $accent"), " back   ", (up, "bold $accent"), " scroll"
            )
        )
        self.set_focus(self.query_one(GuidePage) if pages.current == "guide" else None)

    def action_theme(self) -> None:
        if self._uncoloured:
            return
        self.preferences, _ = LOOKS["theme"](self.preferences)
        self.theme = self.preferences.theme
        if self._remember is not None:
            self._remember(self.preferences)

    def action_leave(self) -> None:
        """Leave: the guide for the choice, the choice for good."""
        if self.query_one(ContentSwitcher).current == "guide":
            self.action_guide()
            return
        self.exit()
