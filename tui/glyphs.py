"""The characters that pictures are drawn with: a full set, and one that keeps to ASCII."""

from typing import Final

from msgspec import Struct


class Glyphs(Struct, frozen=True, kw_only=True):
    """One set of drawing characters; every one is a single column wide."""

    ascii: bool
    fan: str
    middle: str
    band: str
    now: str
    axis: str
    corner: str
    tick: str
    drying: str
    flaming: str
    coals: str
    other: str
    """Heat that no logged split explains."""
    needed: str
    """The line of the heat that the pit needs."""
    short: str
    """The same line where the fire gives less."""
    alarm: str
    demo: str
    dot: str
    dash: str
    plus_minus: str
    due: str
    up: str
    down: str
    level: str


FULL: Final = Glyphs(
    ascii=False,
    fan="░",
    middle="•",
    band="╌",
    now="│",
    axis="─",
    corner="└",
    tick="┴",
    drying="░",
    flaming="▓",
    coals="▒",
    other="≡",
    needed="━",
    short="▼",
    alarm="▚",
    demo="╱",
    dot="·",
    dash="–",
    plus_minus="±",
    due="▼",
    up="▲",
    down="▼",
    level="▶",
)

PLAIN: Final = Glyphs(
    ascii=True,
    fan=".",
    middle="o",
    band="-",
    now=":",
    axis="-",
    corner="+",
    tick="+",
    drying=",",
    flaming="#",
    coals="%",
    other="x",
    needed="=",
    short="v",
    alarm="!",
    demo="/",
    dot="|",
    dash="-",
    plus_minus="+-",
    due="v",
    up="^",
    down="v",
    level=">",
)


def glyphs(*, ascii_only: bool) -> Glyphs:
    """Return the drawing characters to use."""
    return PLAIN if ascii_only else FULL


def can_draw(encoding: str | None) -> bool:
    """Tell whether a terminal's encoding knows every character of the full set.

    Examples
    --------
    >>> can_draw("utf-8"), can_draw("ascii"), can_draw(None)
    (True, False, False)
    """
    text = "".join(
        value for value in (getattr(FULL, name) for name in FULL.__struct_fields__) if isinstance(value, str)
    )
    try:
        (text + "⠿▀▄█").encode(encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


# --- big digits ----------------------------------------------------------------------------------

_SHAPES: Final = {
    "0": ("###", "# #", "# #", "# #", "###"),
    "1": (" # ", "## ", " # ", " # ", "###"),
    "2": ("###", "  #", "###", "#  ", "###"),
    "3": ("###", "  #", " ##", "  #", "###"),
    "4": ("# #", "# #", "###", "  #", "  #"),
    "5": ("###", "#  ", "###", "  #", "###"),
    "6": ("###", "#  ", "###", "# #", "###"),
    "7": ("###", "  #", " # ", " # ", " # "),
    "8": ("###", "# #", "###", "# #", "###"),
    "9": ("###", "# #", "###", "  #", "###"),
    "-": ("   ", "   ", "###", "   ", "   "),
    "N": ("# #", "###", "###", "###", "# #"),
    "O": ("###", "# #", "# #", "# #", "###"),
    "W": ("# #", "# #", "###", "###", "# #"),
    "F": ("###", "#  ", "## ", "#  ", "#  "),
    "C": ("###", "#  ", "#  ", "#  ", "###"),
}
"""Five rows of three cells a character; a missing one is drawn as a gap."""

_SEGMENTS: Final = {
    "0": (" _ ", "| |", "|_|"),
    "1": ("   ", "  |", "  |"),
    "2": (" _ ", " _|", "|_ "),
    "3": (" _ ", " _|", " _|"),
    "4": ("   ", "|_|", "  |"),
    "5": (" _ ", "|_ ", " _|"),
    "6": (" _ ", "|_ ", "|_|"),
    "7": (" _ ", "  |", "  |"),
    "8": (" _ ", "|_|", "|_|"),
    "9": (" _ ", "|_|", " _|"),
    "-": ("   ", " _ ", "   "),
    "N": ("   ", "|\\|", "| |"),
    "O": (" _ ", "| |", "|_|"),
    "W": ("   ", "| |", "|^|"),
    "F": (" _ ", "|_ ", "|  "),
    "C": (" _ ", "|  ", "|_ "),
}
_HALVES: Final = {(" ", " "): " ", ("#", " "): "▀", (" ", "#"): "▄", ("#", "#"): "█"}


def big(word: str, drawing: Glyphs, *, double: bool = False) -> tuple[str, ...]:
    r"""Return a short number as rows of large figures: three rows high, or five with `double`.

    Examples
    --------
    >>> print("\n".join(big("25", PLAIN)))
     _   _
     _| |_
    |_   _|
    """
    if drawing.ascii and not double:
        return tuple(" ".join(_SEGMENTS.get(c, ("   ",) * 3)[row] for c in word).rstrip() for row in range(3))
    cells = [" ".join(_SHAPES.get(c, ("   ",) * 5)[row] for c in word) for row in range(5)]
    if double:
        full = "##" if drawing.ascii else "██"
        return tuple("".join(full if cell == "#" else "  " for cell in row) for row in cells)
    cells.append(" " * len(cells[0]))
    return tuple(
        "".join(_HALVES[pair] for pair in zip(cells[row], cells[row + 1], strict=True)) for row in range(0, 6, 2)
    )
