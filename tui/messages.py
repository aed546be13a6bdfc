"""What the parts of the dashboard tell each other."""

from dataclasses import dataclass

from textual.message import Message

from firebox.ports import KeeperStatus
from firebox.records import Entry
from tui.view import ViewState


@dataclass
class Seen(Message):
    """The follower has news: the view, the keeper's status, and whether a record came."""

    view: ViewState
    status: KeeperStatus | None
    heard: bool
    problem: str = ""

    def can_replace(self, message: Message) -> bool:
        """Let a newer view take the place of one that a slow terminal has not drawn yet."""
        return isinstance(message, Seen) and (self.heard or not message.heard)


@dataclass
class Delivered(Message):
    """An entry lies with the keeper, or was refused with a reason."""

    entry: Entry
    problem: str = ""


@dataclass
class Pressed(Message):
    """A key was pressed while a question was open."""

    key: str
    character: str | None
