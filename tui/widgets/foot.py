"""The lines at the foot: meat, state, what the last key did, and the keys that act here."""

from textual import events
from textual.content import Content

from tui import view as views
from tui.alarm_words import strip
from tui.asking import Hint
from tui.glance import Glance, is_played
from tui.keys import GAP, bar
from tui.lines import meat_lines, state_line
from tui.messages import Pressed
from tui.outgoing import open_question
from tui.text import clock, cut, question_words
from tui.widgets.words import Words

TAKE_BACK = (
    "   [@click=app.enter('undo')][b $accent]u[/] undo[/]  [@click=app.enter('earlier')][b $accent]b[/] 5 min ago[/]"
)
"""What may be done about the last entry; on a simulated fire it has happened."""


ANSWERS = "  [@click=app.enter('yes')][b $accent]Y[/] yes[/]   [@click=app.enter('no')][b $accent]N[/] no[/]"


class MeatLine(Words):
    """One line a meat probe; hidden where there is none."""

    def show(self, glance: Glance) -> None:
        lines = meat_lines(glance)
        self.set_class(not lines, "-hidden")
        self.say(Content("\n".join(cut(line, self.size.width or 80) for line in lines)))


class QuestionLine(Words):
    """What the watch would like to know, with the keys that answer it; hidden where it asks nothing."""

    def show(self, glance: Glance) -> None:
        question = open_question(glance.view, glance.outgoing)
        self.set_class(question is None, "-hidden")
        if question is None:
            return
        at = question.suggests.at or question.time
        asked = question_words(question, clock(at, glance.preferences, glance.zone))
        self.say(Content.assemble((f" {asked} ", "bold reverse"), Content.from_markup(ANSWERS)))


class AlarmStrip(Words):
    """The most urgent alarm that stands, acknowledged or not, with what to do first; hidden where there is none."""

    def show(self, glance: Glance) -> None:
        words = strip(glance.view)
        self.set_class(not words or bool(views.ringing(glance.view)), "-hidden")
        self.say(Content(words))


class StateLine(Words):
    """Doors, alarms, heartbeat, probes and fire in one line."""

    def show(self, glance: Glance) -> None:
        self.say(Content(state_line(glance, self.content_size.width or 78)))


class Answer(Words, can_focus=False):
    """The question that is open, or what became of the last entry.

    While a question is open it holds the focus and takes every key, so that none acts by accident.
    """

    def ask(self, hint: Hint) -> None:
        """Show a question with the keys that answer it."""
        parts: list[str | tuple[str, str]] = [(f" {hint.asked} ", "bold reverse")]
        for key, label in hint.keys:
            parts += [(f"  {key} ", "bold $accent"), label]
        if hint.complaint:
            parts.append((f"  {hint.complaint}", "bold $error"))
        self.say(Content.assemble(*parts))
        if not self.can_focus:
            self.can_focus = True
            self.focus()

    def show(self, glance: Glance) -> None:
        """Show what became of the last entry."""
        self.can_focus = False
        outgoing = glance.outgoing
        if outgoing.refused is not None:
            self.say(
                Content.assemble(("NOT TAKEN: ", "bold reverse"), f"{outgoing.said}: {outgoing.refused.problem}")
            )
            return
        progress = outgoing.progress
        if not progress:
            self.say(Content(outgoing.said))
            return
        said = Content.assemble(f"{outgoing.said} {glance.drawing.dash} ", (progress, "bold"))
        self.say(said if is_played(glance) else Content.assemble(said, Content.from_markup(TAKE_BACK)))

    def on_key(self, event: events.Key) -> None:
        if event.key == "ctrl+c":
            return
        event.stop()
        event.prevent_default()
        self.post_message(Pressed(event.key, event.character))

    def on_paste(self, event: events.Paste) -> None:
        event.stop()
        for character in event.text:
            self.post_message(Pressed(character, character))


class KeyBar(Words):
    """The keys of this page; each can be clicked."""

    def show(self, page: str) -> None:
        rows = []
        for row in bar(page, self.content_size.width or 76):
            keys = (
                Content.from_markup(f"[@click=app.{key.action}][b $accent]{key.shown}[/] {key.label}[/]")
                for key in row
            )
            rows.append(Content(" " * GAP).join(keys))
        self.say(Content("\n").join(rows))
