"""Draw the wiring and write the pin tables, from one list of connections: `python hardware/wiring/draw.py`.

What is drawn is what the tables say, because both come from `TABLES`. A test compares the files that lie here with
what this script makes.
"""

import sys
from pathlib import Path
from typing import Final, NamedTuple

HERE: Final = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))

from sheet import Box, Sheet, Spot  # noqa: E402  found in this folder, however the script is started


class Joint(NamedTuple):
    """One wire: from a pin of the host to a pin of the part."""

    host: str
    part: str
    kind: str
    what: str


PI_TO_AMPLIFIER: Final = (
    Joint("17  3V3", "VCC", "supply", "3.3 V supply; never 5 V"),
    Joint("19  MOSI (GPIO10)", "SDI", "to chip", "data to the chip; not there on a MAX31855"),
    Joint("21  MISO (GPIO9)", "SDO", "from chip", "data from the chip; DO or SO on some boards"),
    Joint("23  SCLK (GPIO11)", "SCK", "clock", "clock; CLK on some boards"),
    Joint("24  CE0 (GPIO8)", "CS", "select", "select of the first amplifier"),
    Joint("25  GND", "GND", "ground", "ground"),
    Joint("26  CE1 (GPIO7)", "CS", "select 2", "select of the second amplifier"),
)
"""Pins of the Pi's 40-pin header, in their order."""

NODE_TO_AMPLIFIER: Final = (
    Joint("21  GP16", "SDO", "from chip", "MISO: data from the chips"),
    Joint("22  GP17", "CS", "select", "select of the first amplifier (grate)"),
    Joint("24  GP18", "SCK", "clock", "clock"),
    Joint("25  GP19", "SDI", "to chip", "MOSI: data to the chips"),
    Joint("26  GP20", "CS", "select 2", "select of the second amplifier (grate2)"),
    Joint("27  GP21", "CS", "select 3", "select of the third amplifier (firebox)"),
    Joint("36  3V3", "VCC", "supply", "3.3 V from the board's own regulator"),
    Joint("38  GND", "GND", "ground", "ground"),
)
"""Pins of the usual 40-pin RP2040 board: number on the board, name of the pin."""

NODE_TO_THERMISTOR: Final = (
    Joint("35  ADC_VREF", "resistor", "supply", "top of the 10 kohm resistor"),
    Joint("31  GP26", "middle", "analog", "where resistor and thermistor meet"),
    Joint("33  AGND", "thermistor", "ground", "foot of the thermistor and of the capacitor"),
)

PI_TO_CONVERTER: Final = (
    Joint("1   3V3", "VDD", "supply", "3.3 V supply, and top of the 10 kohm resistor"),
    Joint("3   SDA (GPIO2)", "SDA", "from chip", "data"),
    Joint("5   SCL (GPIO3)", "SCL", "clock", "clock"),
    Joint("9   GND", "GND", "ground", "ground, ADDR (address 0x48), and foot of the thermistor"),
)

TABLES: Final = {
    "amplifier-to-pi": ("Pi header pin", "amplifier pin", PI_TO_AMPLIFIER),
    "node-to-amplifiers": ("board pin", "amplifier pin", NODE_TO_AMPLIFIER),
    "node-to-thermistor": ("board pin", "to", NODE_TO_THERMISTOR),
    "converter-to-pi": ("Pi header pin", "ADS1115 pin", PI_TO_CONVERTER),
}


# --- amplifiers ----------------------------------------------------------------------------------


def amplifier(corner: Spot, title: str, note: str, *, written: bool = True) -> Box:
    """Return the box of an amplifier board; one that is only read has no SDI."""
    pins = ("VCC", "GND", "SCK", "SDO", "SDI" if written else "", "CS")
    return Box(corner, 190, title, note, left=pins, right=("", "T+", "T-"))


def bus(sheet: Sheet, host: Box, joints: tuple[Joint, ...], parts: list[Box], first: float) -> None:
    """Draw the wires from a host to several amplifiers: each has a track of its own, joints are dots."""
    selects = iter(parts)
    for track, joint in enumerate(joints):
        x = first + 17 * track
        start = host.pin(joint.host)
        takers = [next(selects)] if joint.part == "CS" else [part for part in parts if joint.part in part.left]
        ends = [part.pin(joint.part) for part in takers]
        heights = [start.y, *(end.y for end in ends)]
        sheet.wire(joint.kind, start, Spot(x, start.y))
        sheet.wire(joint.kind, Spot(x, min(heights)), Spot(x, max(heights)))
        for end in ends:
            sheet.wire(joint.kind, Spot(x, end.y), end)
        for height in heights:
            if min(heights) < height < max(heights):
                sheet.dot(Spot(x, height), joint.kind)


def thermocouple(sheet: Sheet, box: Box, words: str) -> None:
    """Draw a probe at the right of an amplifier."""
    plus, minus = box.pin("T+"), box.pin("T-")
    tip = Spot(plus.x + 150, (plus.y + minus.y) / 2)
    sheet.wire("plain", plus, Spot(tip.x - 30, plus.y), tip)
    sheet.wire("plain", minus, Spot(tip.x - 30, minus.y), tip)
    sheet.dot(tip)
    sheet.words(Spot(plus.x + 12, plus.y - 8), "+", size=13)
    sheet.words(Spot(minus.x + 12, minus.y + 16), "-  (red in ANSI, white in IEC)", size=11)
    sheet.words(Spot(plus.x + 32, plus.y - 8), words, size=12)


def amplifier_to_pi() -> Sheet:
    """Return the drawing of two amplifiers on the Pi's own SPI."""
    sheet = Sheet(1040, 600, "Two thermocouple amplifiers on the Pi's SPI bus")
    host = Box(Spot(40, 150), 210, "Pi header", "pins by number", right=[joint.host for joint in PI_TO_AMPLIFIER])
    parts = [
        amplifier(Spot(520, 70), "Amplifier 1", "MAX31856 or MAX31855"),
        amplifier(Spot(520, 345), "Amplifier 2", "the same kind"),
    ]
    bus(sheet, host, PI_TO_AMPLIFIER, parts, 300)
    sheet.box(host, fill="#eaf1ea")
    for part, words in zip(parts, ("grate", "grate2"), strict=True):
        sheet.box(part)
        thermocouple(sheet, part, words)
    sheet.note(
        Spot(40, 455), "A dot is a joint; lines that only cross", "are not joined.", "", "Pull the Pi's plug before you",
        "touch a wire.",
    )  # fmt: skip
    sheet.note(
        Spot(750, 240), "Keep these wires under 20 cm.", "Thermocouple wire, or extension",
        "wire of the same type, all the", "way to T+ and T-.",
    )  # fmt: skip
    return sheet


def node_to_pi() -> Sheet:
    """Return the drawing of the probe node with three amplifiers, on the Pi's USB."""
    sheet = Sheet(1240, 850, "Probe node: three amplifiers, one microcontroller board, one USB cable")
    pins = [joint.host for joint in NODE_TO_AMPLIFIER]
    host = Box(
        Spot(330, 290), 190, "RP2040 board", "40-pin form", left=["USB", "", "19  GP14", "18  GND"], right=pins
    )
    pi = Box(Spot(30, 290), 130, "Pi", "any USB socket", right=["USB"])
    parts = [
        amplifier(Spot(760, 60), "Amplifier 1", "MAX31856"),
        amplifier(Spot(760, 315), "Amplifier 2", "MAX31856"),
        amplifier(Spot(760, 570), "Amplifier 3", "MAX31855: no SDI", written=False),
    ]
    bus(sheet, host, NODE_TO_AMPLIFIER, parts, 560)
    sheet.wire("plain", pi.pin("USB"), host.pin("USB"))
    sheet.words(Spot(245, 334), "USB data cable", size=12, anchor="middle")
    plug, ground = host.pin("19  GP14"), host.pin("18  GND")
    sheet.wire("plain", plug, Spot(plug.x - 60, plug.y), Spot(plug.x - 60, plug.y + 6))
    sheet.wire("plain", ground, Spot(ground.x - 60, ground.y), Spot(ground.x - 60, ground.y - 6))
    sheet.wire("plain", Spot(plug.x - 60, plug.y + 6), Spot(plug.x - 72, ground.y - 6), dashed=True)
    sheet.note(Spot(40, 412), "Service plug: closed only", "while you copy files to", "the board.")
    sheet.box(host, fill="#e8eef5")
    sheet.box(pi, fill="#eaf1ea")
    for part, words in zip(parts, ("grate", "grate2", "firebox"), strict=True):
        sheet.box(part)
        thermocouple(sheet, part, words)
    sheet.note(
        Spot(40, 640), "A dot is a joint; lines that only cross are not joined.", "",
        "The thermistor for the air outside has a drawing of its own.", "",
        "Pull the USB plug before you touch a wire.",
    )  # fmt: skip
    return sheet


# --- thermistors ---------------------------------------------------------------------------------


def divider(sheet: Sheet, top: Spot, capacitor_x: float) -> tuple[Spot, Spot]:
    """Draw a divider with its capacitor hanging from `top`; return its middle and its foot."""
    middle = sheet.resistor(top, 110, ("10 kohm, 1 %", "metal film"))
    foot = sheet.resistor(middle, 110, ("thermistor", "10 kohm at 25 C"))
    sheet.dot(middle, "analog")
    sheet.wire("analog", middle, Spot(capacitor_x, middle.y), Spot(capacitor_x, middle.y + 48))
    for y in (48, 58):
        sheet.wire("analog", Spot(capacitor_x - 14, middle.y + y), Spot(capacitor_x + 14, middle.y + y))
    sheet.wire("analog", Spot(capacitor_x, middle.y + 58), Spot(capacitor_x, foot.y), foot)
    sheet.words(Spot(capacitor_x + 20, middle.y + 58), "100 nF", size=12.5)
    sheet.dot(foot, "ground")
    return middle, foot


def thermistor_to_node() -> Sheet:
    """Return the drawing of a thermistor on the probe node."""
    sheet = Sheet(760, 400, "Thermistor for the air outside, on the probe node")
    host = Box(Spot(40, 80), 190, "RP2040 board", "40-pin form", right=[joint.host for joint in NODE_TO_THERMISTOR])
    reference, middle_pin, ground = (host.pin(joint.host) for joint in NODE_TO_THERMISTOR)
    top = Spot(430, 100)
    middle, foot = divider(sheet, top, 600)
    sheet.wire("supply", reference, Spot(330, reference.y), Spot(330, top.y), top)
    sheet.wire("analog", middle_pin, Spot(300, middle_pin.y), Spot(300, middle.y), middle)
    sheet.wire("ground", ground, Spot(270, ground.y), Spot(270, foot.y), foot)
    sheet.box(host, fill="#e8eef5")
    sheet.note(Spot(40, 365), "Put the resistor and the capacitor beside the board; only the thermistor is outside.")
    return sheet


def thermistor_to_pi() -> Sheet:
    """Return the drawing of a thermistor on an ADS1115 on the Pi."""
    sheet = Sheet(1080, 470, "Thermistor for the air outside, on an ADS1115 on the Pi")
    host = Box(Spot(40, 100), 190, "Pi header", "pins by number", right=[joint.host for joint in PI_TO_CONVERTER])
    chip = Box(
        Spot(420, 100),
        170,
        "ADS1115",
        "address 0x48",
        left=("VDD", "SDA", "SCL", "GND", "ADDR"),
        right=("", "", "A0"),
    )
    for joint in PI_TO_CONVERTER:
        sheet.wire(joint.kind, host.pin(joint.host), chip.pin(joint.part))
    sheet.wire("ground", chip.pin("ADDR"), Spot(390, chip.pin("ADDR").y), Spot(390, chip.pin("GND").y))
    sheet.dot(Spot(390, chip.pin("GND").y), "ground")
    top = Spot(760, 102)
    middle, foot = divider(sheet, top, 930)
    sheet.wire("analog", chip.pin("A0"), middle)
    sheet.wire("supply", Spot(330, chip.pin("VDD").y), Spot(330, 70), Spot(top.x, 70), top)
    sheet.dot(Spot(330, chip.pin("VDD").y), "supply")
    sheet.wire("ground", Spot(330, chip.pin("GND").y), Spot(330, foot.y), foot)
    sheet.dot(Spot(330, chip.pin("GND").y), "ground")
    sheet.box(host, fill="#eaf1ea")
    sheet.box(chip)
    sheet.note(Spot(40, 420), "The chip measures volts: tell firebox the supply as your meter shows it (supply_volts).",
               "Put the resistor and the capacitor beside the chip; only the thermistor is outside.")  # fmt: skip
    return sheet


# --- places --------------------------------------------------------------------------------------


def placement() -> Sheet:
    """Return the side view of a pit with the places of the probes."""
    sheet = Sheet(1060, 560, "Where the probes belong (side view, not to scale)")
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
    sheet.words(Spot(396, 356), "hot jet", size=12)
    _mark(sheet, Spot(700, 278), Spot(700, 100), "1", "grate: lead probe")
    _mark(sheet, Spot(420, 278), Spot(420, 100), "2", "grate2: the hot end")
    _mark(sheet, Spot(560, 262), Spot(560, 205), "3", "meat: thickest part")
    _mark(sheet, Spot(130, 290), Spot(130, 205), "4", "firebox gas, if at all")
    _mark(sheet, Spot(825, 120), Spot(930, 120), "5", "stack", below=True)
    _mark(sheet, Spot(930, 330), Spot(990, 330), "6", "ambient, shaded", below=True)
    sheet.note(
        Spot(60, 490), "1 and 2: at the height of the meat, 5 cm from meat, wall and lid, and not in the jet from the throat.",
        "Numbers are those of the table in placement.md. Leads go up or sideways, with a drip loop before the box.",
    )  # fmt: skip
    return sheet


def _mark(sheet: Sheet, tip: Spot, label: Spot, number: str, words: str, *, below: bool = False) -> None:
    sheet.wire("plain", label, tip)
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
    sheet.note(Spot(125, 200), "the braid ends here and", "touches nothing", size=12)
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


DRAWINGS: Final = {
    "amplifier-to-pi": amplifier_to_pi,
    "node-to-pi": node_to_pi,
    "thermistor-to-node": thermistor_to_node,
    "thermistor-to-pi": thermistor_to_pi,
    "placement": placement,
    "grounding": grounding,
}


# --- tables --------------------------------------------------------------------------------------


def table(name: str) -> str:
    """Return a pin table as Markdown."""
    host, part, joints = TABLES[name]
    rows = [f"| {host} | {part} | what |", "|---|---|---|"]
    rows += [f"| {' '.join(joint.host.split())} | {joint.part} | {joint.what} |" for joint in joints]
    return "\n".join(rows)


def with_tables(text: str) -> str:
    """Return a page with the tables between its markers made anew."""
    for name in TABLES:
        start, end = f"<!-- pins: {name} -->\n", "\n<!-- end -->"
        before, _, rest = text.partition(start)
        _, _, after = rest.partition(end)
        text = before + start + table(name) + end + after
    return text


def files() -> dict[Path, str]:
    """Return every file this script makes, with its text."""
    page = HERE / "README.md"
    drawings = {HERE / f"{name}.svg": draw().text() for name, draw in DRAWINGS.items()}
    return drawings | {page: with_tables(page.read_text("utf-8"))}


if __name__ == "__main__":
    for path, text in files().items():
        path.write_text(text, "utf-8")
