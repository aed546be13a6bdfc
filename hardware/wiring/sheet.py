"""A drawing sheet: boxes with pins, wires with corners, and words, written as SVG.

Coordinates are in units of the drawing, from the upper left corner. Everything that a colour says is said in words too.
"""

from collections.abc import Sequence
from typing import Final, NamedTuple
from xml.sax.saxutils import escape

COLOURS: Final = {
    "supply": "#b3261e",
    "ground": "#1a1a1a",
    "clock": "#1f5fa8",
    "to chip": "#2e7d32",
    "from chip": "#b45f06",
    "select": "#6a3d9a",
    "select 2": "#a0308c",
    "select 3": "#7a4b2a",
    "analog": "#00707a",
    "plain": "#555555",
}
"""Kind of wire -> colour."""

PITCH: Final = 30
"""Between two pins of a box."""

HEAD: Final = 52
"""From the top of a box to its first pin."""


class Spot(NamedTuple):
    """A place on the sheet."""

    x: float
    y: float


class Box:
    """A box with a title and pins along its left and right edges.

    Parameters
    ----------
    corner : Spot
        Upper left.
    width : float
    title, note : str
    left, right : sequence of str
        Pin names from the top down; "" leaves a place out.
    """

    def __init__(
        self, corner: Spot, width: float, title: str, note: str = "",
        *, left: Sequence[str] = (), right: Sequence[str] = (),
    ) -> None:  # fmt: skip
        self.corner, self.width, self.title, self.note = corner, width, title, note
        self.left, self.right = tuple(left), tuple(right)

    @property
    def height(self) -> float:
        """From the upper edge to the lower."""
        return HEAD + PITCH * max(len(self.left), len(self.right)) - PITCH / 2 + 6

    def pin(self, name: str) -> Spot:
        """Return where a pin is."""
        for names, x in ((self.left, self.corner.x), (self.right, self.corner.x + self.width)):
            if name in names:
                return Spot(x, self.corner.y + HEAD + PITCH * names.index(name))
        raise KeyError(name)


class Header(NamedTuple):
    """Pins of a board in two rows, as they are seen from above."""

    rows: tuple[tuple[int, ...], tuple[int, ...]]
    used: frozenset[int]
    spared: frozenset[int]
    """Those that must not be touched."""


class Sheet:
    """A drawing, put together piece by piece.

    Parameters
    ----------
    width, height : float
    title : str
        Also what a screen reader says.
    """

    def __init__(self, width: float, height: float, title: str) -> None:
        self._width, self._height, self._title = width, height, title
        self._parts: list[str] = []
        self.words(Spot(20, 32), title, size=20, bold=True)

    # --- pieces ------------------------------------------------------------------------------

    def box(self, box: Box, *, fill: str = "#f6f3ec") -> None:
        """Draw a box with its pins."""
        x, y = box.corner
        self.shape(f'<rect x="{x}" y="{y}" width="{box.width}" height="{box.height}" rx="8"', fill=fill)
        self.words(Spot(x + box.width / 2, y + 20), box.title, bold=True, anchor="middle")
        if box.note:
            self.words(Spot(x + box.width / 2, y + 36), box.note, size=11, anchor="middle")
        for names, anchor, step in ((box.left, "start", 10), (box.right, "end", -10)):
            for name in filter(None, names):
                spot = box.pin(name)
                self.dot(spot, hollow=True)
                self.words(Spot(spot.x + step, spot.y + 4.5), name, size=12.5, anchor=anchor)

    def wire(self, kind: str, *spots: Spot, dashed: bool = False) -> None:
        """Draw a wire through spots, in straight pieces."""
        way = " ".join(f"{spot.x:g},{spot.y:g}" for spot in spots)
        dash = ' stroke-dasharray="7 5"' if dashed else ""
        self._parts.append(
            f'<polyline points="{way}" fill="none" stroke="{COLOURS[kind]}" stroke-width="2.4"{dash}'
            ' stroke-linejoin="round"/>'
        )

    def dot(self, spot: Spot, kind: str = "plain", *, hollow: bool = False) -> None:
        """Draw a joint, or, hollow, the end of a pin."""
        fill, radius = ("#ffffff", 4) if hollow else (COLOURS[kind], 4.2)
        self._parts.append(
            f'<circle cx="{spot.x:g}" cy="{spot.y:g}" r="{radius}" fill="{fill}" stroke="{COLOURS[kind]}"/>'
        )

    def resistor(self, upper: Spot, length: float, words: Sequence[str], kind: str = "analog") -> Spot:
        """Draw a resistor hanging down from a spot; return its lower end."""
        lead = (length - 44) / 2
        lower = Spot(upper.x, upper.y + length)
        self.wire(kind, upper, Spot(upper.x, upper.y + lead))
        self.wire(kind, Spot(lower.x, lower.y - lead), lower)
        self.shape(f'<rect x="{upper.x - 9}" y="{upper.y + lead}" width="18" height="44"', fill="#ffffff")
        for row, text in enumerate(words):
            self.words(Spot(upper.x + 18, upper.y + lead + 20 + 16 * row), text, size=12.5)
        return lower

    def header(self, corner: Spot, header: Header) -> None:
        """Draw a header's pins, each with its number; the middle of the first one is at the corner."""
        for row, pins in enumerate(header.rows):
            for column, pin in enumerate(pins):
                x, y = corner.x + 23 * column, corner.y + 23 * row
                fill = "#b7dfb9" if pin in header.used else "#f2b8b5" if pin in header.spared else "#ffffff"
                round_off = 0 if pin == 1 else 10
                self.shape(f'<rect x="{x - 10}" y="{y - 10}" width="20" height="20" rx="{round_off}"', fill=fill)
                self.words(Spot(x, y + 3.5), str(pin), size=9.5, anchor="middle", bold=pin in header.used)

    def words(
        self, spot: Spot, text: str, *, size: float = 14, bold: bool = False, anchor: str = "start",
        turned: bool = False,
    ) -> None:  # fmt: skip
        """Write a line of words."""
        weight = ' font-weight="bold"' if bold else ""
        turn = f' transform="rotate(-90 {spot.x:g} {spot.y:g})"' if turned else ""
        self._parts.append(
            f'<text x="{spot.x:g}" y="{spot.y:g}" font-size="{size:g}" text-anchor="{anchor}"{weight}{turn}>'
            f"{escape(text)}</text>"
        )

    def note(self, spot: Spot, *lines: str, size: float = 13) -> None:
        """Write lines under each other."""
        for row, line in enumerate(lines):
            self.words(Spot(spot.x, spot.y + row * (size + 6)), line, size=size)

    def shape(self, start: str, *, fill: str = "none", stroke: str = "#333333", width: float = 1.6) -> None:
        """Draw any other shape; `start` is its element up to the look of it."""
        self._parts.append(f'{start} fill="{fill}" stroke="{stroke}" stroke-width="{width}"/>')

    # --- the whole ---------------------------------------------------------------------------

    def text(self) -> str:
        """Return the drawing as an SVG file."""
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {self._width:g} {self._height:g}" '
            f'width="{self._width:g}" height="{self._height:g}" role="img" font-family="DejaVu Sans, Arial, sans-serif" '
            f'fill="#1a1a1a">\n<title>{escape(self._title)}</title>\n'
            f'<rect width="{self._width:g}" height="{self._height:g}" fill="#ffffff"/>'
        )
        return "\n".join([head, *self._parts, "</svg>"]) + "\n"
