"""The dashboard as an app: one frame around the pages, keys to actions, the follower's news to the screen."""

import os
import sys
import time
import uuid
from collections.abc import Callable
from datetime import UTC, datetime, tzinfo
from typing import ClassVar, Final

from textual import events, work
from textual.app import App, ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.widgets import ContentSwitcher
from textual.worker import Worker, WorkerState

from firebox.ports import KeeperStatus, Kind, WatchLink
from firebox.records import DamperName, Split
from tui import outgoing, themes
from tui import view as views
from tui.acts import ACTS, Entered, Stage, alarm_to_shelve, answer_to, unshelve
from tui.alarm_words import ring_every
from tui.asking import Desk, Prompt, Question
from tui.follow import Follower
from tui.glance import STALE_SECONDS, Condition, Glance, condition, is_played
from tui.glyphs import can_draw, glyphs
from tui.keys import bindings
from tui.meat_words import meat_desk, pieces
from tui.messages import Delivered, Pressed, Seen
from tui.outgoing import Outgoing
from tui.preferences import LOOKS, Preferences
from tui.prompts import hint, press, turns_away
from tui.scene import charts
from tui.screens.alarms import AlarmsPage
from tui.screens.fire import FirePage
from tui.screens.guide import GuidePage
from tui.screens.help import HelpPage
from tui.screens.log import LogPage
from tui.screens.meat import MeatPage
from tui.screens.plan import PlanPage
from tui.screens.probes import ProbesPage
from tui.view import ViewState
from tui.widgets.banner import AlarmBanner, WatchBanner
from tui.widgets.edge import Edge
from tui.widgets.foot import Answer, KeyBar
from tui.widgets.header import Header
from tui.widgets.summons import Summons

REFRESH_SECONDS: Final = 1.0
GOODBYE: Final = "The watch goes on without the dashboard. To end it: firebox stop"


class Dashboard(App[None]):
    """Shows a watch and takes the cook's entries.

    Parameters
    ----------
    link : WatchLink
        Followed from a thread of its own until the dashboard is left; closed then.
    preferences : Preferences
        As read from the configuration; `self.preferences` holds what the cook made of them.
    now : callable, optional
        Real seconds on a clock that never jumps.
    wall : callable, optional
        The wall clock, aware; looked at only while no record has told the time, and to see how old a history is.
    zone : tzinfo, optional
        The cook's time zone; None: that of the machine.
    revive : callable, optional
        Starts the keeper; may raise `FireboxError`. None: the dashboard cannot.
    remember : callable, optional
        Takes the preferences whenever the cook changed them at a key.
    bell : bool
        Whether an alarm rings the terminal's bell; its banner comes in any case.
    encoding : str, optional
        What the terminal can show; None: that of the standard output.
    """

    CSS_PATH = "dashboard.tcss"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [*bindings()]
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (76, "-medium"), (120, "-wide")]  # noqa: RUF012 - declared so by App
    VERTICAL_BREAKPOINTS = [(0, "-low"), (23, "-middling"), (36, "-tall")]  # noqa: RUF012 - as above

    def __init__(
        self,
        link: WatchLink,
        preferences: Preferences,
        *,
        now: Callable[[], float] = time.monotonic,
        wall: Callable[[], datetime] = lambda: datetime.now(UTC),
        zone: tzinfo | None = None,
        revive: Callable[[], None] | None = None,
        remember: Callable[[Preferences], None] | None = None,
        bell: bool = True,
        encoding: str | None = None,
    ) -> None:
        without_colour = "NO_COLOR" in os.environ
        super().__init__(ansi_color=True if without_colour else None)
        self.preferences = preferences
        self._now, self._wall, self._zone, self._revive = now, wall, zone, revive
        self._remember, self._rings = remember, bell
        told = encoding or (sys.__stdout__.encoding if sys.__stdout__ else None)
        self._drawing = glyphs(ascii_only=preferences.ascii or not can_draw(told))
        self._follower = Follower(link, self.post_message)
        self._view = ViewState()
        self._status: KeeperStatus | None = None
        self._problem = ""
        self._heard_at = now()
        self._rung_at = float("-inf")
        self._outgoing = Outgoing()
        self._prompt: Prompt | None = None
        self._charted: str | None = None
        self._page = "fire"
        self._looked_past: frozenset[tuple[str, str]] = frozenset()
        for theme in themes.ALL:
            self.register_theme(theme)
        self.theme = themes.UNCOLOURED.name if without_colour else preferences.theme

    # --- frame -----------------------------------------------------------------------------------

    def compose(self) -> ComposeResult:
        with Horizontal(id="whole"):
            yield Edge(id="edge-left")
            with Vertical(id="frame"):
                yield Header(id="header")
                yield WatchBanner(id="watch-banner", classes="-hidden")
                yield AlarmBanner(id="alarm-banner", classes="-hidden")
                yield Summons(id="summons")
                with ContentSwitcher(initial="fire", id="pages"):
                    yield FirePage(id="fire")
                    yield ProbesPage(id="probes", classes="-scrolls")
                    yield AlarmsPage(id="alarms")
                    yield LogPage(id="log")
                    yield MeatPage(id="pieces")
                    yield PlanPage(id="plan", classes="-scrolls")
                    yield HelpPage(self._drawing, id="help", classes="-scrolls")
                    yield GuidePage(self._drawing, id="guide", classes="-scrolls")
                yield Answer(id="answer")
                yield KeyBar(id="keys")
            yield Edge(id="edge-right")

    def on_mount(self) -> None:
        self.title = "firebox"
        self.screen.set_class(self._drawing.ascii, "-ascii")
        self._follow()
        self.set_interval(REFRESH_SECONDS, self._beat, name="beat")
        self.call_after_refresh(self.show)

    def on_unmount(self) -> None:
        self._follower.outbox.put(None)

    def on_resize(self) -> None:
        self.call_after_refresh(self.show)

    @work(thread=True, exclusive=True, group="follow", name="follow the watch", exit_on_error=False)
    def _follow(self) -> None:
        self._follower.run()

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        if event.worker.group == "follow" and event.state is WorkerState.ERROR:
            self._problem = (
                f"The dashboard lost the watch ({event.worker.error!r}); leave it with q and start it again."
            )
            self.show()
        if event.worker.group == "revive" and event.state is WorkerState.ERROR:
            self._say(f"The keeper did not start: {event.worker.error}")

    def on_seen(self, message: Seen) -> None:
        first = self._view.epoch is None
        self._view, self._status, self._problem = message.view, message.status, message.problem
        if message.heard:
            self._heard_at = self._now() - (self._age_of_history() if first else 0.0)
        self._outgoing = outgoing.echo(self._outgoing, self._view)
        self._beat()

    def _age_of_history(self) -> float:
        """Return how old the newest record of a history is, where the wall clock can tell. [s]"""
        if self._status is None or self._status.kind is not Kind.LIVE or self._view.epoch is None:
            return 0.0
        return max(0.0, (self._wall() - views.instant(self._view, self._view.seconds)).total_seconds())

    def _beat(self) -> None:
        every = ring_every(self._view) if self._rings else None
        if every is not None and self._now() - self._rung_at >= every - REFRESH_SECONDS / 2:
            self._rung_at = self._now()
            self.bell()
        self.show()

    # --- drawing ---------------------------------------------------------------------------------

    def glance(self) -> Glance:
        """Return everything that is to be seen now."""
        silent_for = self._now() - self._heard_at
        rate = self._status.rate if self._status else 1.0
        return Glance(
            view=self._view,
            seconds=self._view.seconds + rate * max(0.0, min(silent_for, STALE_SECONDS)),
            silent_for=silent_for,
            status=self._status,
            preferences=self.preferences,
            zone=self._zone,
            drawing=self._drawing,
            outgoing=self._outgoing,
            link_problem=self._problem,
            charted=self._charted,
            can_revive=self._revive is not None,
        )

    def show(self) -> None:
        """Bring the screen up to date; parts that have not changed are left alone."""
        if not self.is_running or not self.query("#frame"):
            return
        glance = self.glance()
        self.screen.set_class(bool(views.ringing(glance.view)), "-alarm")
        calling = self._calling()
        self.screen.set_class(bool(calling), "-summoned")
        self.query_one(Summons).show(glance, calling)
        kind = glance.status.kind if glance.status else Kind.LIVE
        self.screen.set_class(condition(glance) in {Condition.STALE, Condition.UNWATCHED}, "-stale")
        self.screen.set_class(kind is not Kind.LIVE, "-unreal")
        for edge in self.query(Edge):
            edge.show(glance)
        self.query_one(Header).show(glance)
        self.query_one(WatchBanner).show(glance)
        self.query_one(AlarmBanner).show(glance)
        match self._page:
            case "fire":
                self.query_one(FirePage).show(glance)
            case "probes":
                self.query_one(ProbesPage).show(glance)
            case "alarms":
                self.query_one(AlarmsPage).show(glance)
            case "log":
                self.query_one(LogPage).show(glance)
            case "pieces":
                self.query_one(MeatPage).show(glance)
            case "plan":
                self.query_one(PlanPage).show(glance)
        self.query_one(KeyBar).show(self._page)
        if self._prompt is None:
            self.query_one(Answer).show(glance)
        else:
            self.query_one(Answer).ask(hint(self._prompt, self._desk()))

    def _calling(self) -> tuple[views.AlarmView, ...]:
        """Return the alarms that take the whole screen: those that cannot wait and that nobody has looked past."""
        calling = views.calling(self._view)
        self._looked_past &= {views.call_of(told) for told in calling}
        return tuple(told for told in calling if views.call_of(told) not in self._looked_past)

    # --- entries ---------------------------------------------------------------------------------

    def _time(self) -> datetime:
        """Return the present by the watch's reckoning, however long it has been silent."""
        if self._view.epoch is None:
            return self._wall()
        rate = self._status.rate if self._status else 1.0
        return views.instant(self._view, self._view.seconds + rate * max(0.0, self._now() - self._heard_at))

    def _stage(self) -> Stage:
        chosen = None
        if self._page == "alarms":
            chosen = self.query_one(AlarmsPage).chosen
        elif self._page == "log":
            chosen = self.query_one(LogPage).chosen
        return Stage(glance=self.glance(), time=self._time(), fresh_id=_fresh_id, chosen=chosen)

    def _enter(self, entered: Entered) -> None:
        """Hand entries on and answer at once; the answer is about the last of them."""
        for entry, words in entered:
            self._outgoing = outgoing.leave(self._outgoing, entry, words)
            self._follower.outbox.put(entry)
        self.show()

    def _say(self, words: str) -> None:
        self._outgoing = outgoing.say(self._outgoing, words)
        self.show()

    def on_delivered(self, message: Delivered) -> None:
        delivered = outgoing.deliver(self._outgoing, message.entry, message.problem)
        self._outgoing = outgoing.echo(delivered, self._view)
        self.show()

    def action_enter(self, name: str) -> None:
        """Do what one key enters."""
        entered = ACTS[name](self._stage())
        if isinstance(entered, str):
            self._say(entered)
        else:
            self._enter(entered)

    # --- questions -------------------------------------------------------------------------------

    def _desk(self) -> Desk:
        glance = self.glance()
        last = outgoing.newest_of(self._view, self._outgoing, Split)
        return Desk(
            setup=glance.setup,
            preferences=self.preferences,
            time=self._time(),
            id=_fresh_id(),
            usual_kg=last.kg if last else None,
            target=views.target(self._view) or (glance.setup.target_celsius, glance.setup.band),
            dampers={name: glance.stands(name) for name in DamperName},
            dates_back=not is_played(glance),
            zone=self._zone,
            **meat_desk(glance, self.query_one(MeatPage).chosen),
        )

    def _ask(self, prompt: Prompt | None) -> None:
        """Open a question, go on with it, or close it."""
        self._prompt = prompt
        if prompt is None:
            self._choose_focus()
        self.show()

    def on_key(self, event: events.Key) -> None:
        """Take a key that came before the open question had the focus: fast fingers must not act by accident."""
        if self._prompt is not None and event.key != "ctrl+c":
            event.prevent_default()
            event.stop()
            self.on_pressed(Pressed(event.key, event.character))

    def on_pressed(self, message: Pressed) -> None:
        """Take a key that answers the open question."""
        if self._prompt is None:
            return
        if turns_away(self._prompt, message.key, message.character):
            self._ask(None)
            self.simulate_key(message.key)
            return
        answer = press(self._prompt, message.key, message.character, self._desk())
        if isinstance(answer, Prompt):
            if message.key == "a" and answer.complaint and views.ringing(self._view):
                self.action_enter(
                    "acknowledge"
                )  # what is no answer may still quiet an alarm; the question stays open
            else:
                self._ask(answer)
            return
        self._ask(None)
        if answer is None:
            self._say("")
        else:
            self._enter(((answer, answer_to(self._stage(), answer)),))

    def action_ask(self, question: str) -> None:
        self._ask(Prompt(question=Question(question)))

    def action_spritz(self) -> None:
        """Enter a spritz at once; where there are several pieces, ask which."""
        if len(pieces(self.glance())) > 1:
            self.action_ask("spritz")
        else:
            self.action_enter("spritz")

    def action_shelve(self) -> None:
        found = alarm_to_shelve(self._stage())
        match found:
            case None:
                self._say("There is no alarm to shelve.")
            case (alarm, True):
                self._enter(unshelve(self._stage(), alarm))
            case (alarm, _):
                self._ask(Prompt(question=Question.SHELVE, alarm=alarm))

    # --- pages and looks -------------------------------------------------------------------------

    def action_page(self, name: str) -> None:
        """Show a page; the key of the page that is shown goes back to the fire, and Esc past an alarm to the page."""
        calling = self._calling()
        if calling:
            self._looked_past |= {views.call_of(told) for told in calling}
            if name == "fire":
                self.show()
                return
        self._page = "fire" if name == self._page else name
        self.query_one(ContentSwitcher).current = self._page
        self._choose_focus()
        self.call_after_refresh(self.show)

    def _choose_focus(self) -> None:
        """Give the arrow keys to the list or the scroll of the page that is shown."""
        self.set_focus(None)
        for widget in self.query(f"#{self._page} Rows, #{self._page} .-scrolls, #{self._page}.-scrolls"):
            if widget.display:
                widget.focus()
                return

    def action_look(self, what: str) -> None:
        """Change how things look."""
        if what == "theme" and self.no_color:
            self._say("Colours are off: NO_COLOR is set.")
            return
        self.preferences, words = LOOKS[what](self.preferences)
        if self._remember is not None:
            self._remember(self.preferences)
        if not self.no_color:
            self.theme = self.preferences.theme
        self._say(words)

    def action_chart(self) -> None:
        choices = charts(self.glance())
        at = choices.index(self._charted) if self._charted in choices else 0
        self._charted = choices[(at + 1) % len(choices)]
        self._say(f"the chart shows {self._charted or 'the pit'}")

    # --- the watch -------------------------------------------------------------------------------

    def action_revive(self) -> None:
        if condition(self.glance()) is not Condition.UNWATCHED:
            self._say("The keeper runs.")
        elif self._revive is None:
            self._say("The keeper cannot be started from here; start it with: firebox keep")
        else:
            self._say("starting the keeper ...")
            self._start_keeper(self._revive)

    @work(thread=True, exclusive=True, group="revive", name="start the keeper", exit_on_error=False)
    def _start_keeper(self, revive: Callable[[], None]) -> None:
        revive()

    def action_leave(self) -> None:
        is_demo = self._status is not None and self._status.kind is Kind.DEMO
        self.exit(message=None if is_demo else GOODBYE)


def _fresh_id() -> str:
    return uuid.uuid4().hex
