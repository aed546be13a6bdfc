"""The banners that cannot be missed: the watch itself in trouble, and alarms that nobody has acknowledged."""

from textual.content import Content

from tui import view as views
from tui.alarm_words import alarm_head, until
from tui.glance import Condition, Glance, condition, condition_words
from tui.text import block, own_degrees
from tui.widgets.words import Words


class WatchBanner(Words):
    """Says that the screen is blind, stale or that nobody is watching; a reversed block of full width."""

    def show(self, glance: Glance) -> None:
        words = condition_words(glance)
        self.set_class(not words.head, "-hidden")
        if not words.head:
            return
        width = self.size.width or 80
        head = Content("\n".join(block(words.head, width)))
        if condition(glance) is Condition.UNWATCHED and glance.can_revive:
            head = Content.from_markup("[@click=app.revive]$head[/]", head=head.plain)
        self.say(Content("\n").join((head.stylize("bold"), Content("\n".join(block(words.body, width))))))


class AlarmBanner(Words):
    """The most urgent unacknowledged alarm, a reversed block of full width, with the one key that answers it."""

    def show(self, glance: Glance) -> None:
        ringing = views.ringing(glance.view)
        self.set_class(not ringing, "-hidden")
        if not ringing:
            return
        told = ringing[0]
        width = self.size.width or 80
        head = f" {alarm_head(told, len(ringing))} "
        key = " a acknowledge "
        fill = glance.drawing.alarm * max(2, width - len(head) - len(key) - 3)
        left = until(told, glance.seconds)
        what = own_degrees(told.alarm.text, glance.preferences) + (f" {left}." if left else "")
        self.say(
            Content.assemble(
                glance.drawing.alarm * 3,
                (head, "bold"),
                fill,
                Content.from_markup(f"[@click=app.enter('acknowledge')]{key}[/]").stylize("bold"),
                "\n" + "\n".join(block(what, width)),
                (
                    "\n" + "\n".join(block(f"FIRST: {own_degrees(told.alarm.first, glance.preferences)}", width)),
                    "bold",
                ),
            )
        )
