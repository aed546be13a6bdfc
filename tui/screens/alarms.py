"""The alarms page: what stands, what is set aside, what has been."""

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.content import Content

from tui import view as views
from tui.alarm_words import STATE_WORDS, alarm_row
from tui.glance import Glance
from tui.text import cut
from tui.widgets.rows import Rows
from tui.widgets.words import Words

EARLIER = 8


class AlarmsPage(Vertical):
    """Standing alarms to act on, and the newest changes under them."""

    def compose(self) -> ComposeResult:
        yield Words(id="alarms-head")
        yield Rows(id="alarm-rows")
        yield Words(id="alarms-earlier")

    def show(self, glance: Glance) -> None:
        alarms = (*views.standing(glance.view), *views.set_aside(glance.view))
        rows = self.query_one(Rows)
        rows.fill(tuple((told.alarm.alarm, alarm_row(glance, told)) for told in alarms))
        rows.display = bool(alarms)
        head = f"{len(alarms)} alarms" if len(alarms) != 1 else "1 alarm"
        self.query_one("#alarms-head", Words).say(Content.assemble((head if alarms else "NO ALARMS", "bold $accent")))
        width = max(20, self.size.width - 2)
        lines = [
            cut(f"{glance.clock(told.seconds)}  {STATE_WORDS[told.alarm.state]}: {told.alarm.text}", width)
            for told in reversed(glance.view.earlier_alarms[-EARLIER:])
        ]
        earlier = Content.assemble(("EARLIER, newest first\n", "bold $accent"), "\n".join(lines) or "none")
        self.query_one("#alarms-earlier", Words).say(earlier)

    @property
    def chosen(self) -> str | None:
        """The chosen alarm."""
        return self.query_one(Rows).chosen
