"""The practice fire as a small picture and in words, as somebody sees it who stands before it. Pure."""

from typing import Final

from firebox.lessons import Coals, Flame, Sight, Smoke
from tui.glyphs import Glyphs

Run = tuple[str, str]
"""(text, part): the part names its colour."""

Rows = tuple[tuple[Run, ...], ...]

FLAME_WORDS: Final = {
    Flame.NONE: "no flame",
    Flame.LOW: "low flame",
    Flame.STEADY: "steady flame",
    Flame.HIGH: "HIGH FLAME",
}
SMOKE_WORDS: Final = {
    Smoke.CLEAR: "no smoke",
    Smoke.THIN: "thin smoke",
    Smoke.THICK: "thick white smoke",
    Smoke.DIRTY: "DIRTY SMOKE",
}
COAL_WORDS: Final = {
    Coals.DEAD: "no glow",
    Coals.DULL: "dull coals",
    Coals.GLOWING: "glowing coals",
    Coals.BRIGHT: "bright coals",
}

_FULL: Final[dict[str, dict[str, str]]] = {
    "smoke": {Smoke.CLEAR: "   ", Smoke.THIN: " ' ", Smoke.THICK: "░▒░", Smoke.DIRTY: "▓▓▓"},
    "flame": {Flame.NONE: "   ", Flame.LOW: " . ", Flame.STEADY: " ▲ ", Flame.HIGH: "▲▲▲"},
    "coals": {Coals.DEAD: "   ", Coals.DULL: "...", Coals.GLOWING: "▒▒▒", Coals.BRIGHT: "▓▓▓"},
}
_PLAIN: Final[dict[str, dict[str, str]]] = {
    "smoke": {Smoke.CLEAR: "   ", Smoke.THIN: " ' ", Smoke.THICK: "(()", Smoke.DIRTY: "###"},
    "flame": {Flame.NONE: "   ", Flame.LOW: " . ", Flame.STEADY: " ^ ", Flame.HIGH: "^^^"},
    "coals": {Coals.DEAD: "   ", Coals.DULL: "...", Coals.GLOWING: "ooo", Coals.BRIGHT: "***"},
}


def picture(sight: Sight, drawing: Glyphs) -> Rows:
    """Return the pit from the side in four rows: smoke over the stack, flames and coals in the firebox."""
    signs = _PLAIN if drawing.ascii else _FULL
    smoke, flame, coals = signs["smoke"][sight.smoke], signs["flame"][sight.flame], signs["coals"][sight.coals]
    grease = (" ^^^ " if drawing.ascii else " ▲▲▲ ") if sight.grease else "     "
    gap = ("~" if drawing.ascii else "≈") if sight.ajar else None
    if drawing.ascii:
        top, lid, stack, side, bottom = "+---+", "---", "-| |-+", "|", "+---+---------+"
        closed = "-"
    else:
        top, lid, stack, side, bottom = "┌───┬", "───", "─┘ └─┐", "│", "└───┴─────────┘"
        closed = "─"
    part = "dirty" if sight.smoke is Smoke.DIRTY else "smoke"
    return (
        ((" " * 10, "steel"), (smoke, part)),
        ((top + lid, "steel"), (gap or closed, "alert" if gap else "steel"), (stack, "steel")),
        ((side, "steel"), (flame, "flame"), (side, "steel"), (grease, "alert"), ("    " + side, "steel")),
        ((side, "steel"), (coals, "coals"), (side + " " * 9 + side, "steel")),
        ((bottom, "steel"),),
    )


def words(sight: Sight) -> tuple[Run, ...]:
    """Return what is to be seen, in words; what asks for something first."""
    found: list[Run] = []
    if sight.grease:
        found.append(("GREASE BURNS", "alert"))
    found.append((FLAME_WORDS[sight.flame], "flame"))
    found.append((SMOKE_WORDS[sight.smoke], "dirty" if sight.smoke is Smoke.DIRTY else "smoke"))
    found.append((COAL_WORDS[sight.coals], "coals"))
    if sight.ajar:
        found.append(("smoke at the lid", "alert"))
    if sight.ash:
        found.append(("grate full of ash", "alert"))
    if sight.rain:
        found.append(("it rains", "smoke"))
    elif sight.wind >= GUSTY:
        found.append(("gusts", "smoke"))
    return tuple(found)


GUSTY: Final = 6.0
"""m/s."""
