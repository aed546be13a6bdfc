"""The dashboard of a practice round: the same as of any pit, with the fire as it looks, an instructor, and a score."""

from datetime import datetime
from typing import Any, ClassVar, Final, Literal

from msgspec.structs import replace
from textual.binding import BindingType
from textual.content import Content
from textual.widgets import ContentSwitcher

from firebox.lessons import PACES, Coaching
from firebox.ports import PracticeLink
from firebox.records import Outlook
from tui import view as views
from tui.app import Dashboard
from tui.glance import Glance
from tui.practice.coach_words import LEVEL_WORDS, Level, next_level
from tui.practice.keys import PRACTICE_KEYS, bindings
from tui.practice.widgets import Coach, FireSeen, Hinted, PracticeBar, ScorePage
from tui.preferences import Preferences
from tui.screens.help import HelpPage
from tui.view import AlarmView, ViewState
from tui.widgets.words import Words

Left = Literal["again", "other"] | None
"""What the cook wants after the round; None: back to the opening screen, or out."""

READING: Final = frozenset({"help", "guide"})
"""Pages at which the fire waits."""

ASKED_FOR: Final = 10.0
"""Real seconds in which the second press of the key that leaves a round is an answer to the first one's question."""

LAG_SECONDS: Final = 0.1
"""Real seconds by which what is seen may run ahead of what was told: the fire itself may lag on a slow machine."""


class PracticeDashboard(Dashboard):
    """Shows a practice round.

    Parameters
    ----------
    link : PracticeLink
    preferences : Preferences
    level : Level
        How much of the advice is seen at first.
    more : dict
        As `Dashboard` takes it.

    Attributes
    ----------
    left : "again", "other" or None
        What the cook wanted when the dashboard was left.
    """

    CSS_PATH: ClassVar[list[str]] = ["../dashboard.tcss", "practice.tcss"]  # type: ignore[assignment]  # as App takes it
    BINDINGS: ClassVar[list[BindingType]] = [*bindings()]

    def __init__(
        self, link: PracticeLink, preferences: Preferences, *, level: Level = Level.HINTED, **more: Any
    ) -> None:  # what any dashboard takes
        super().__init__(link, preferences, **more)
        self._round = link
        self.level = level
        self.left: Left = None
        self._asks = True
        self._scored = False
        self._reads = False
        self._left_at = float("-inf")
        self._status = link.status()  # so that it is marked as practice before anything burns

    @property
    def coaching(self) -> Coaching:
        """The round as last told."""
        return self._round.coaching

    def on_mount(self) -> None:
        """Add what a practice round has more than a pit."""
        self.query_one("#top").mount(FireSeen(id="seen"), after="#pit")
        self.query_one("#top").mount(Hinted(id="hinted"), after="#next")
        self.query_one("#frame").mount(Coach(id="coach"), before="#answer")
        self.query_one("#frame").mount(PracticeBar(id="practice-keys"), after="#keys")
        score = ScorePage(id="score", classes="-scrolls")
        score.display = False
        self.query_one("#pages").mount(score)
        told = "PRACTICE\n" + "".join(f"  {key.shown:>5}  {key.help}\n" for key in PRACTICE_KEYS)
        help_page = self.query_one(HelpPage)
        help_page.mount(Words(id="help-practice"), before="#help-keys")
        self.screen.add_class("-practising")
        self.call_after_refresh(lambda: self.query_one("#help-practice", Words).say(Content(told)))

    # --- what is seen ----------------------------------------------------------------------------

    def glance(self) -> Glance:
        """Return everything that is to be seen now, the advice only as far as it is wanted."""
        glance = self._whole()
        return glance if self.level is Level.SHOWN else replace(glance, view=without_advice(glance.view))

    def _whole(self) -> Glance:
        glance, coaching = super().glance(), self.coaching
        held = is_held(coaching)
        silent = 0.0 if held else glance.silent_for
        seconds = glance.view.seconds + (0.0 if held else coaching.pace * min(silent, LAG_SECONDS))
        status = glance.status and replace(glance.status, rate=1.0 if held else coaching.pace)
        return replace(glance, silent_for=silent, seconds=seconds, status=status)

    def _time(self) -> datetime:
        """Return the fire's own time, which stands while the fire does."""
        return views.instant(self._view, self.glance().seconds) if self._view.epoch is not None else super()._time()

    def show(self) -> None:
        super().show()
        if not self.is_running or not self.query("#practice-keys"):
            return
        coaching, whole = self.coaching, self._whole()
        self.screen.set_class(self.level is not Level.SHOWN, "-hinted")
        self.screen.set_class(coaching.over, "-over")
        if coaching.over and not self._scored:
            self._scored = True
            self._page = "score"
            self.query_one(ContentSwitcher).current = "score"
            self._choose_focus()
        if self._page == "score":
            self.query_one(ScorePage).show(whole, coaching)
        elif self._page == "fire":
            self.query_one(FireSeen).show(whole, coaching)
            self.query_one(Hinted).show(whole, self.level, coaching.sight)
        self.query_one(Coach).show(whole, coaching)
        self.query_one(PracticeBar).show(self._page, is_over=coaching.over)

    def action_page(self, name: str) -> None:
        """Show a page; the fire waits while somebody reads."""
        super().action_page(name)
        reads = self._page in READING
        if reads and not self.coaching.paused and not self.coaching.over:
            self._reads = True
            self._round.pause(on=True)
        elif not reads and self._reads:
            self._reads = False
            self._round.pause(on=False)

    def _calling(self) -> tuple[AlarmView, ...]:
        """Return no alarm that takes the whole screen: a practice fire wakes nobody, its alarms are banners."""
        return ()

    # --- what is done ----------------------------------------------------------------------------

    def action_pause(self) -> None:
        paused = not self.coaching.paused
        self._reads = False
        self._round.pause(on=paused)
        self._say("The fire is held still." if paused else "The fire burns on.")

    def action_pace(self, way: str) -> None:
        """Let the fire burn faster or slower."""
        paces = [pace for pace in PACES if (pace > self.coaching.pace if way == "up" else pace < self.coaching.pace)]
        if not paces:
            self._say("It burns no faster than that." if way == "up" else "That is its own pace.")
            return
        pace = paces[0] if way == "up" else paces[-1]
        self._round.set_pace(pace)
        self._say(f"{pace:g} seconds of the fire in a second" if pace > 1.0 else "at its own pace")

    def action_advice(self) -> None:
        self.level = next_level(self.level)
        self._say(LEVEL_WORDS[self.level])

    def action_questions(self) -> None:
        self._asks = not self._asks
        self._round.ask(wanted=self._asks)
        self._say("Questions will be asked." if self._asks else "No more questions.")

    def action_guess(self, key: str) -> None:
        """Answer the open question."""
        quiz = self.coaching.quiz
        if quiz is None or quiz.answer is not None:
            self._say("No question is open.")
            return
        choice = int(key) - 1
        if choice > len(quiz.edges):
            return
        self._round.answer(None if choice < 0 else choice)
        self._say("passed over" if choice < 0 else f"You said {key}. The answer comes in {quiz.minutes:.0f} minutes.")

    def action_finish(self) -> None:
        """End the round; once it is over, show its score."""
        if self.coaching.over:
            self._page = ""
            self.action_page("score")
            return
        self._round.finish()
        self._say("The round ends here.")

    def action_again(self) -> None:
        """Play the same fire once more, once the round is over."""
        self._go("again")

    def action_other(self) -> None:
        """Choose another round, once this one is over."""
        self._go("other")

    def _go(self, left: Left) -> None:
        if not self.coaching.over:
            if left == "again":
                self._say("The round is not over yet; x ends it.")
            return
        self.left = left
        self.exit()

    def action_leave(self) -> None:
        """Leave: a page that is read for the fire, a round that is not over only when asked once more."""
        if self._page in READING:
            self.action_page("fire")
            return
        now = self._now()
        burns = self.coaching.begun is not None and self.coaching.seconds > 0.0 and not self.coaching.over
        if burns and now - self._left_at > ASKED_FOR:
            self._left_at = now
            self._say("Not over yet: q again leaves it without a score; x ends it with its score.")
            return
        self.exit()


def is_held(coaching: Coaching) -> bool:
    """Tell whether the fire is held still: paused, waiting for an answer, or over."""
    return coaching.paused or coaching.over or (coaching.quiz is not None and coaching.quiz.answer is None)


def without_advice(view: ViewState) -> ViewState:
    """Return what is to be seen without the next move and without a look ahead."""
    outlook = view.outlook and _here(view.outlook)
    return replace(view, move=None, promise=None, outlook=outlook)


def _here(outlook: Outlook) -> Outlook:
    return replace(outlook, minutes=(), p10=(), p50=(), p90=())
