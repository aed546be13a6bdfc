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
    ("entry.split", "s", "s", "ask('split')", "split", "a split went on: then 1 2 3 its size, w its weight, Enter the usual", "log"),
    ("entry.damper", "d", "d", "ask('damper')", "damper", "a damper was set: then i (intake) or t (stack), then its mark", "log"),
    ("entry.door", "o", "o", "enter('cook-door')", "door", "the cook door was opened, or closed", "log"),
    ("entry.fire_door", "O", "O", "enter('fire-door')", "fire door", "the firebox door was opened, or closed", "log"),
    ("entry.rake", "r", "r", "enter('rake')", "rake", "ash raked out or coals stirred", "log"),
    ("entry.lit", "l", "l", "enter('lit')", "lit", "the fire is lit, or lit again", "log"),
    ("entry.meat", "m", "m", "ask('meat')", "meat", "meat: Enter on or pulled; c k h where it rests, t turned, v moved, w weighed, p a picture", "log"),
    ("entry.feel", "F", "F", "ask('feel')", "felt", "your hand on the meat: then s springy, g giving, x gone", "log"),
    ("entry.spritz", "z", "z", "spritz", "spritz", "the meat was spritzed", "log"),
    ("entry.wrap", "w", "w", "ask('wrap')", "wrap", "the meat was wrapped or unwrapped", "log"),
    ("entry.note", "n", "n", "ask('note')", "note", "a note in your own words", "log"),
    ("entry.hush", "H", "H", "ask('hush')", "hush", "hear no more of a care prompt of the meat page, or hear it again", "log"),
    ("entry.serving", "T", "T", "ask('serving')", "serve at", "when people sit down: 18:00, then w the wrap, r the rest, p who keeps watch", "log"),
    ("entry.target", "t", "t", "ask('target')", "target", "what the pit is to hold, and how closely", "log"),
    ("entry.sleep", "S", "S", "enter('sleep')", "sleep", "you lie down: advice plans a long sleep and calls when wood is due; again: you are up", "log"),
    ("entry.yes", "Y", "Y", "enter('yes')", "yes", "yes to what the watch asks: it is entered, back when it happened", "log"),
    ("entry.no", "N", "N", "enter('no')", "no", "no to what the watch asks: it did not happen, and is not asked again", "log"),
    ("entry.out", "x", "x", "enter('out')", "let die", "the cook is over, the fire may die", "log"),
    ("entry.undo", "u", "u", "enter('undo')", "undo", "take back what was entered last; in the log, the chosen one, or bring it back", "log"),
    ("entry.earlier", "b", "b", "enter('earlier')", "5 min ago", "what was entered last happened 5 min earlier; again for 5 more", "log"),
    ("alarm.acknowledge", "a", "a", "enter('acknowledge')", "acknowledge", "you have seen the alarm: the bell stops", "alarm"),
    ("alarm.shelve", "h", "h", "shelve", "shelve", "put an alarm aside for a while, or take it back", "alarm"),
    ("page.fire", "escape", "Esc", "page('fire')", "fire", "back to the fire", "page"),
    ("page.meat", "i", "i", "page('pieces')", "meat", "the meat: inside, when to go and feel, care, safety, resting", "page"),
    ("page.plan", "P", "P", "page('plan')", "plan", "the plan: timetable, wood, watches, early or late", "page"),
    ("page.probes", "p", "p", "page('probes')", "probes", "every probe and source, and its health", "page"),
    ("page.alarms", "A", "A", "page('alarms')", "alarms", "all alarms", "page"),
    ("page.log", "e", "e", "page('log')", "entries", "the log of entries", "page"),
    ("page.help", "question_mark", "?", "page('help')", "all keys", "all keys, and what to be careful of", "page"),
    ("page.guide", "G", "G", "page('guide')", "guide", "how to keep a fire: wood, coals, flame, smoke, night, cautions", "page"),
    ("look.chart", "v", "v", "chart", "chart", "the chart shows the next probe, then the pit again", "look"),
    ("look.longer", "minus", "-", "look('longer')", "longer", "the chart looks further back", "look"),
    ("look.shorter", "plus,equals_sign", "+", "look('shorter')", "closer", "the chart looks less far back", "look"),
    ("look.degrees", "f", "f", "look('degrees')", "F/C", "degrees Fahrenheit or Celsius", "look"),
    ("look.hours", "c", "c", "look('hours')", "12/24 h", "clock of 12 or 24 hours", "look"),
    ("look.mass", "g", "g", "look('mass')", "kg/lb", "weights in kilograms or pounds", "look"),
    ("look.theme", "y", "y", "look('theme')", "theme", "dusk, day, night (dim red), contrast", "look"),
    ("watch.revive", "k", "k", "revive", "start keeper", "start the keeper, when nobody is watching", "watch"),
    ("watch.leave", "q,ctrl+c", "q", "leave", "leave", "leave the dashboard; the watch goes on (to end it: firebox stop)", "watch"),
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
        (
            "entry.split", "entry.damper", "entry.door", "entry.undo", "alarm.acknowledge", "entry.rake", "entry.earlier",
            "entry.meat", "entry.wrap", "entry.spritz", "entry.note", "entry.target", "entry.fire_door", "entry.lit",
        ),
        (
            "page.help", "watch.leave", "page.meat", "page.plan", "page.probes", "page.alarms", "page.log", "look.degrees", "look.theme", "look.chart",
            "look.longer", "look.shorter", "look.hours", "look.mass",
        ),
    ),
    "pieces": (("page.fire", "entry.feel", "entry.meat", "entry.wrap", "entry.spritz", "entry.hush", "page.plan", "entry.undo", "alarm.acknowledge", "page.help", "watch.leave"),),
    "plan": (("page.fire", "entry.serving", "page.meat", "entry.undo", "alarm.acknowledge", "page.help", "watch.leave"),),
    "probes": (("page.fire", "alarm.acknowledge", "page.help", "watch.leave", "look.degrees"),),
    "alarms": (("page.fire", "alarm.acknowledge", "alarm.shelve", "page.help", "watch.leave"),),
    "log": (("page.fire", "entry.undo", "alarm.acknowledge", "page.help", "watch.leave"),),
    "help": (("page.fire", "page.guide", "alarm.acknowledge", "watch.leave"),),
    "score": (("page.fire", "page.log", "page.help", "watch.leave"),),
    "guide": (("page.fire", "page.help", "alarm.acknowledge", "watch.leave"),),
}  # fmt: skip
"""Page -> rows of keys, the most needed first: a narrow screen leaves out the last ones."""

GAP: Final = 2

_BY_ID: Final = {key.id: key for key in KEYS}


def bindings() -> list[Binding]:
    """Return the bindings of the app; their ids let a cook's own keymap replace the keys."""
    return [
        Binding(key.key, key.action, key.label, id=key.id, tooltip=key.help, key_display=key.shown, priority=False)
        for key in KEYS
    ]


def bar(page: str, width: int) -> tuple[tuple[Key, ...], ...]:
    """Return the keys shown at the foot of a page, row by row: as many as fit, in the order of the table."""
    fitted = (fitting(tuple(_BY_ID[name] for name in row), width) for row in _BAR[page])
    return tuple(tuple(sorted(row, key=KEYS.index)) for row in fitted)


def fitting(keys: tuple[Key, ...], width: int) -> tuple[Key, ...]:
    """Return the first of some keys, as many as fit into a row."""
    room, taken = width + GAP, []
    for key in keys:
        room -= len(key.shown) + 1 + len(key.label) + GAP
        if room < 0:
            break
        taken.append(key)
    return tuple(taken)
