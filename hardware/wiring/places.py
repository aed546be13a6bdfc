"""Where probes and cables belong: the side view of a pit, and the way of a lead into the box."""

from sheet import Box, Sheet, Spot


def placement() -> Sheet:
    """Return the side view of a pit with the places of the probes."""
    sheet = Sheet(1060, 580, "Where the probes belong (side view, not to scale)")
    sheet.shape('<rect x="60" y="250" width="230" height="180" rx="6"', fill="#f1e3d6", width=3)
    sheet.shape('<path d="M 290 150 H 860 V 400 H 290 Z"', fill="#f2f2f2", width=3)
    sheet.shape('<path d="M 800 150 V 60 H 850 V 150"', fill="#f2f2f2", width=3)
    sheet.shape('<path d="M 290 290 V 390"', stroke="#f6e0cf", width=9)
    sheet.words(Spot(175, 450), "firebox", anchor="middle", bold=True)
    sheet.words(Spot(575, 425), "cook chamber", anchor="middle", bold=True)
    sheet.words(Spot(825, 50), "stack", anchor="middle", bold=True)
    sheet.words(Spot(302, 345), "throat", size=12)
    sheet.shape('<path d="M 300 290 H 850"', width=2, stroke="#666666")
    sheet.words(Spot(842, 308), "grate", size=12, anchor="end")
    sheet.shape('<ellipse cx="560" cy="266" rx="95" ry="24"', fill="#d9b8a8")
    sheet.words(Spot(608, 271), "meat", anchor="middle", size=12)
    sheet.wire("supply", Spot(298, 372), Spot(350, 366), Spot(390, 350), dashed=True)
    sheet.words(Spot(402, 352), "hot jet", size=12)
    sheet.shape('<path d="M 394 347 L 381 347 L 386 359 Z"', fill="#b3261e", stroke="#b3261e")
    _mark(sheet, Spot(700, 278), Spot(700, 100), "1", "grate: lead probe")
    _mark(sheet, Spot(420, 278), Spot(420, 100), "2", "grate2: the hot end")
    _mark(sheet, Spot(560, 262), Spot(560, 205), "3", "meat: thickest part")
    _mark(sheet, Spot(130, 290), Spot(130, 205), "4", "firebox gas, if at all")
    _mark(sheet, Spot(825, 120), Spot(930, 120), "5", "stack", below=True)
    _mark(sheet, Spot(930, 330), Spot(990, 330), "6", "ambient, shaded", below=True)
    sheet.note(
        Spot(60, 490), "1 and 2: at the height of the meat, 5 cm from meat, wall and lid, and not in the jet from the throat.",
        "Numbers are those of the table in placement.md; the thin lines point, they are no leads.",
        "Leads go out at the side or the end, clear of door and firebox, with a drip loop before the box.",
    )  # fmt: skip
    return sheet


def _mark(sheet: Sheet, tip: Spot, label: Spot, number: str, words: str, *, below: bool = False) -> None:
    way = f"M {label.x:g} {label.y:g} L {tip.x:g} {tip.y:g}"
    sheet.shape(f'<path d="{way}" stroke-dasharray="2 4"', stroke="#777777", width=1.2)
    sheet.dot(tip, "supply")
    sheet.shape(f'<circle cx="{label.x}" cy="{label.y}" r="13"', fill="#ffffff")
    sheet.words(Spot(label.x, label.y + 5), number, anchor="middle", bold=True)
    spot = Spot(label.x, label.y + 32) if below else Spot(label.x, label.y - 20)
    sheet.words(spot, words, anchor="middle", size=13)


def grounding() -> Sheet:
    """Return the drawing of a probe cable from the pit to the box."""
    sheet = Sheet(1060, 420, "From the pit to the box: insulated junction, drip loop, shield at one end")
    sheet.shape('<rect x="40" y="90" width="70" height="240"', fill="#e3ded8", width=3)
    sheet.words(Spot(75, 350), "pit wall", anchor="middle", size=13)
    sheet.shape('<rect x="66" y="150" width="170" height="16" rx="8"', fill="#d8d8d8")
    sheet.words(Spot(130, 138), "metal sheath; the junction inside does not touch it", size=13)
    way = "M 236 158 C 330 158 330 320 480 320 S 740 330 740 258"
    sheet.shape(f'<path d="{way}"', stroke="#999999", width=9)
    sheet.shape(f'<path d="{way}"', stroke="#ffffff", width=4)
    sheet.words(Spot(480, 350), "drip loop: water runs off at the lowest point", anchor="middle", size=13)
    sheet.note(Spot(125, 200), "the braid ends here and", "touches nothing (meter it)", size=12)
    sheet.shape('<rect x="690" y="80" width="330" height="172" rx="8"', fill="#f6f3ec")
    sheet.words(Spot(855, 104), "Box in the shade, glands at the bottom", anchor="middle", bold=True, size=13)
    amplifier_box = Box(Spot(810, 112), 180, "Amplifier", left=("T+", "T-", "GND"))
    sheet.wire("plain", Spot(738, 252), Spot(738, amplifier_box.pin("T+").y), amplifier_box.pin("T+"))
    sheet.wire("plain", Spot(744, 252), Spot(744, amplifier_box.pin("T-").y), amplifier_box.pin("T-"))
    sheet.wire("ground", Spot(750, 252), Spot(750, amplifier_box.pin("GND").y), amplifier_box.pin("GND"), dashed=True)
    sheet.box(amplifier_box, fill="#ffffff")
    sheet.shape('<rect x="726" y="246" width="30" height="14" rx="3"', fill="#6b6b6b")
    sheet.shape('<rect x="727" y="274" width="26" height="20" rx="4"', fill="#6b6b6b")
    sheet.words(Spot(766, 258 + 6), "gland", size=12)
    sheet.words(Spot(766, 289), "clamp-on ferrite", size=12)
    sheet.note(Spot(766, 318), "braid (dashed) to the ground of the", "electronics, at this end only", size=12)
    sheet.note(
        Spot(40, 395), "The steel of the pit is never a conductor of this circuit. Whether the pit itself must be earthed: local code.",
    )  # fmt: skip
    return sheet
