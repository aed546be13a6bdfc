"""Every key of the dashboard in one table: bindings, key bar and help page are made from it."""

from typing import Final

from msgspec import Struct
from textual.binding import Binding


class Key(Struct, frozen=True, kw_only=True):
    """One key: what it is called in the bar, what the help says, and which action it runs."""

    id: str
    key: str
    shown: str
    action: str
    label: str
    help: str
    group: str


_ROWS: Final = (
    ("entry.split", "s", "s", "split", "split", "a split went on: then 1 2 3 for its size, w to weigh it, Enter for the usual", "log"),
    ("entry.damper", "d", "d", "damper", "damper", "a damper was set: then i or t, then its mark", "log"),
    ("entry.door", "o", "o", "door('cook')", "door", "the cook door was opened, or closed", "log"),
    ("entry.fire_door", "O", "O", "door('firebox')", "fire door", "the firebox door was opened, or closed", "log"),
    ("entry.rake", "r", "r", "rake", "rake", "ash raked out or coals stirred", "log"),
    ("entry.lit", "l", "l", "lit", "lit", "the fire is lit, or lit again", "log"),
    ("entry.meat", "m", "m", "meat", "meat", "the meat went on, or came off", "log"),
    ("entry.spritz", "z", "z", "spritz", "spritz", "the meat was spritzed", "log"),
    ("entry.wrap", "w", "w", "wrap", "wrap", "the meat was wrapped or unwrapped", "log"),
    ("entry.note", "n", "n", "note", "note", "a note in your own words", "log"),
    ("entry.target", "t", "t", "target", "target", "what the pit is to hold, and how closely", "log"),
    ("entry.out", "x", "x", "out", "let die", "the cook is over, the fire may die: no more alarms for it", "log"),
    ("entry.undo", "u", "u", "undo", "undo", "take back the newest entry (in the log: the chosen one, or bring it back)", "log"),
    ("entry.earlier", "b", "b", "earlier", "5 min ago", "the newest entry happened 5 minutes earlier; again for 5 more", "log"),
    ("alarm.acknowledge", "a", "a", "acknowledge", "acknowledge", "you have seen the alarm: the bell stops", "alarm"),
    ("alarm.shelve", "h", "h", "shelve", "shelve", "put an alarm aside for a while, or take it back", "alarm"),
    ("page.fire", "escape", "Esc", "page('fire')", "fire", "back to the fire", "page"),
    ("page.probes", "p", "p", "page('probes')", "probes", "every probe and source, and its health", "page"),
    ("page.alarms", "A", "A", "page('alarms')", "alarms", "all alarms", "page"),
    ("page.log", "e", "e", "page('log')", "entries", "the log of entries", "page"),
    ("page.help", "question_mark", "?", "page('help')", "all keys", "all keys, and what to be careful of", "page"),
    ("look.degrees", "f", "f", "degrees", "F or C", "degrees Fahrenheit or Celsius", "look"),
    ("look.hours", "c", "c", "hours", "12 or 24 h", "clock of 12 or 24 hours", "look"),
    ("look.theme", "y", "y", "theme", "theme", "dusk, day, night (dim red), contrast", "look"),
    ("look.longer", "minus", "-", "longer", "longer", "the chart looks further back", "look"),
    ("look.shorter", "plus,equals_sign", "+", "shorter", "shorter", "the chart looks less far back", "look"),
    ("watch.revive", "k", "k", "revive", "start keeper", "start the keeper, when nobody is watching", "watch"),
    ("watch.leave", "q,ctrl+c", "q", "leave", "leave", "leave the dashboard; the watch goes on (end it with: firebox stop)", "watch"),
)  # fmt: skip

KEYS: Final = tuple(
    Key(id=row[0], key=row[1], shown=row[2], action=row[3], label=row[4], help=row[5], group=row[6]) for row in _ROWS
)

GROUPS: Final = {
    "log": "What you did at the pit",
    "alarm": "Alarms",
    "page": "Pages",
    "look": "How it looks",
    "watch": "The watch",
}

_BAR: Final = {
    "fire": (
        ("entry.split", "entry.damper", "entry.door", "entry.rake", "entry.meat", "entry.undo", "entry.earlier", "alarm.acknowledge"),
        ("page.probes", "page.alarms", "page.log", "page.help", "look.degrees", "look.theme", "look.longer", "watch.leave"),
    ),
    "probes": (("page.fire", "alarm.acknowledge", "look.degrees", "page.help", "watch.leave"),),
    "alarms": (("page.fire", "alarm.acknowledge", "alarm.shelve", "page.help", "watch.leave"),),
    "log": (("page.fire", "entry.undo", "alarm.acknowledge", "page.help", "watch.leave"),),
    "help": (("page.fire", "alarm.acknowledge", "watch.leave"),),
}  # fmt: skip

_BY_ID: Final = {key.id: key for key in KEYS}


def bindings() -> list[Binding]:
    """Return the bindings of the app; their ids let a cook's own keymap replace the keys."""
    return [
        Binding(key.key, key.action, key.label, id=key.id, tooltip=key.help, key_display=key.shown, priority=False)
        for key in KEYS
    ]


def bar(page: str) -> tuple[tuple[Key, ...], ...]:
    """Return the keys shown at the foot of a page, row by row."""
    return tuple(tuple(_BY_ID[name] for name in row) for row in _BAR[page])
