"""The help page: all keys, and what to be careful of."""

from typing import Final

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content

from tui.glyphs import Glyphs
from tui.keys import GROUPS, KEYS
from tui.plot import PROMISED
from tui.widgets.words import Words


def chart_parts(drawing: Glyphs) -> tuple[tuple[str, str], ...]:
    """Return (mark, meaning) of everything that is drawn on the page of the fire."""
    return (
        ("line", "the pit so far"),
        (drawing.middle, "where it goes if nothing more is done; 8 of 10 outcomes lie in the shade"),
        (PROMISED, "where it goes if the recommended move is made"),
        ("dashes", "the band around the target"),
        ("log", "the keys of what you entered, a split with its weight; ? nobody watched"),
        (f"{drawing.due} split", "when the next split is due"),
        ("heat", "every split from the minute it went in, as high as the heat it gives, one on the other:"),
        (drawing.drying, "a split that is drying"),
        (drawing.flaming, "a split in flames"),
        (drawing.coals, "a split burnt to coals"),
        (drawing.other, "heat that no logged split explains"),
        (drawing.needed, "the heat that the pit needs"),
        (drawing.short, "the fire gives less than that: the next split is due about here"),
    )


CAUTIONS: Final = (
    ("This program only advises.", "You act, and you judge. It does not replace watching the fire."),
    (
        "Never leave a live fire unattended.",
        "An alarm does not replace a person. A terminal bell does not wake a sleeper.",
    ),
    (
        "Carbon monoxide kills.",
        "Burn outdoors only: never in a house, garage, tent or vehicle nor under a closed shelter, windows open or not.",
    ),
    (
        "Embers and ash",
        "give off carbon monoxide until they are fully out: do not bring the pit in after the cook.",
    ),
    (
        "Grease fire:",
        "smother it. Close the lid and the dampers, keep them closed until it is out and cool. NEVER WATER.",
    ),
    ("Burns.", "Firebox and chamber burn at a touch: gloves. Stand aside when you open a door, and open it slowly."),
    ("Hot ash and coals", "stay hot for days: metal container, tight lid, outside, away from all that burns."),
    (
        "Clearances.",
        "Keep the pit well away from buildings, eaves, branches and dry ground; children and pets away from it.",
    ),
    ("Fuel.", "Clean dry hardwood. No petrol, no lighter fluid on a lit fire, no painted or treated wood."),
    ("Keep at hand", "an extinguisher or a charged garden hose for what catches fire around the pit."),
    (
        "Food safety.",
        "Trust a calibrated tip probe in the thickest part. Mind the hours that food spends between cold and hot.",
    ),
    ("Local codes, the fire authority and the maker of your pit", "have the last word in all of this."),
)


class HelpPage(VerticalScroll):
    """Keys by what they are for; the chart and the cautions under them, or beside them where the screen is wide."""

    def __init__(self, drawing: Glyphs, *, id: str | None = None, classes: str | None = None) -> None:  # noqa: A002 - as every widget
        super().__init__(id=id, classes=classes)
        self._drawing = drawing

    def compose(self) -> ComposeResult:
        yield Words(id="help-keys")
        yield Words(id="help-care")

    def on_mount(self) -> None:
        keys: list[str | tuple[str, str]] = [
            ("arrow keys and page keys move through this page; TAKE CARE is below\n\n", "$quiet")
        ]
        for group, head in GROUPS.items():
            keys.append((f"{head.upper()}\n", "bold $accent"))
            for key in KEYS:
                if key.group == group:
                    keys += [(f"  {key.shown:>3}", "bold $accent"), f"  {key.help}\n"]
            keys.append("\n")
        self.query_one("#help-keys", Words).say(Content.assemble(*keys))
        care: list[str | tuple[str, str]] = [("THE CHART\n", "bold $accent")]
        for part, meaning in chart_parts(self._drawing):
            care += [(f"{part:>7}", "bold $accent"), f"  {meaning}\n"]
        care.append(("\nTAKE CARE\n", "bold $accent"))
        for head, body in CAUTIONS:
            care += [(f"{head} ", "bold"), f"{body}\n"]
        self.query_one("#help-care", Words).say(Content.assemble(*care))
