"""The help page: all keys, and what to be careful of."""

from typing import Final

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content

from tui.keys import GROUPS, KEYS
from tui.widgets.words import Words

CHART: Final = (
    ("line", "the pit so far"),
    ("dots", "where it goes if nothing more is done; 8 of 10 outcomes lie in the shade"),
    ("+ +", "where it goes if the recommended move is made"),
    ("dashes", "the band around the target"),
    ("log", "the keys of what you entered, a split with its weight; ? nobody watched"),
    ("heat", "what the fire gives, on the same time axis"),
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
    """Keys by what they are for, and the cautions: under them, or beside them where the screen is wide."""

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
        keys.append(("THE CHART\n", "bold $accent"))
        for part, meaning in CHART:
            keys += [(f"{part:>6}", "bold $accent"), f"  {meaning}\n"]
        keys.append("\n")
        self.query_one("#help-keys", Words).say(Content.assemble(*keys))
        care: list[str | tuple[str, str]] = [("TAKE CARE\n", "bold $accent")]
        for head, body in CAUTIONS:
            care += [(f"{head} ", "bold"), f"{body}\n"]
        self.query_one("#help-care", Words).say(Content.assemble(*care))
