"""The banners that cannot be missed: the watch itself in trouble, and alarms that nobody has acknowledged."""

from textual.content import Content

from tui import view as views
from tui.alarm_words import alarm_head, until
from tui.glance import Condition, Glance, condition, condition_words
from tui.widgets.words import Words


class WatchBanner(Words):
    """Says that the screen is blind, stale or that nobody is watching."""

    def show(self, glance: Glance) -> None:
        words = condition_words(glance)
        self.set_class(not words.head, "-hidden")
        if words.head:
            head = Content(f" {words.head} ")
            if condition(glance) is Condition.UNWATCHED and glance.can_revive:
                head = Content.from_markup("[@click=app.revive] $head [/]", head=words.head)
            self.say(Content.assemble(head.stylize("bold reverse"), "\n", words.body))


class AlarmBanner(Words):
    """The most urgent unacknowledged alarm as a reversed block of full width, with the one key that answers it."""

    def show(self, glance: Glance) -> None:
        ringing = views.ringing(glance.view)
        self.set_class(not ringing, "-hidden")
        if not ringing:
            return
        told = ringing[0]
        width = self.content_size.width or 78
        head = f" {alarm_head(told, len(ringing))} "
        key = " a acknowledge "
        fill = glance.drawing.alarm * max(2, width - len(head) - len(key) - 2)
        left = until(told, glance.seconds)
        self.say(
            Content.assemble(
                glance.drawing.alarm * 2,
                (head, "bold"),
                fill,
                Content.from_markup(f"[@click=app.enter('acknowledge')]{key}[/]").stylize("bold"),
                f"\n{told.alarm.text}" + (f" {left}." if left else ""),
                (f"\nFIRST: {told.alarm.first}", "bold"),
            )
        )
