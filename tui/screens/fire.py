"""The main page: the pit, the next move, the picture of the fire, the meat, the state of things."""

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical

from tui.glance import Glance
from tui.widgets.foot import AlarmStrip, MeatLine, QuestionLine, StateLine
from tui.widgets.next import Countdown, NextMove
from tui.widgets.picture import FirePicture
from tui.widgets.pit import PitNow
from tui.widgets.side import SidePanel


class FirePage(Vertical):
    """What a cook sees at a glance."""

    def compose(self) -> ComposeResult:
        with Horizontal(id="top"):
            yield PitNow(id="pit")
            yield NextMove(id="next")
            yield Countdown(id="countdown")
        with Horizontal(id="middle"):
            yield FirePicture(id="picture")
            yield SidePanel(id="side")
        yield MeatLine(id="meat")
        yield QuestionLine(id="question", classes="-hidden")
        yield AlarmStrip(id="strip")
        yield StateLine(id="state")

    def show(self, glance: Glance) -> None:
        self.query_one(PitNow).show(glance)
        self.query_one(NextMove).show(glance)
        if self.query_one(Countdown).display:
            self.query_one(Countdown).show(glance)
        self.query_one(FirePicture).show(glance)
        if self.query_one(SidePanel).display:
            self.query_one(SidePanel).show(glance)
        self.query_one(MeatLine).show(glance)
        self.query_one(QuestionLine).show(glance)
        self.query_one(AlarmStrip).show(glance)
        self.query_one(StateLine).show(glance)
