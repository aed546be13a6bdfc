"""Draw the wiring and write the pin tables, from one list of connections: `python hardware/wiring/draw.py`.

What is drawn is what the tables say, because both come from `TABLES`. A test compares the files that lie here with
what this script makes.
"""

import sys
from pathlib import Path
from typing import Final, NamedTuple

HERE: Final = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))

from places import grounding, placement  # noqa: E402  found in this folder, however the script is started
from sheet import Box, Header, Sheet, Spot  # noqa: E402  as above


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
    Joint("31  GP26", "middle", "analog", "where resistor, thermistor and the capacitor's upper end meet"),
    Joint("33  AGND", "thermistor", "ground", "foot of the thermistor and of the capacitor"),
)

PI_TO_CONVERTER: Final = (
    Joint("1   3V3", "VDD", "supply", "3.3 V supply"),
    Joint("3   SDA (GPIO2)", "SDA", "from chip", "data"),
    Joint("5   SCL (GPIO3)", "SCL", "clock", "clock"),
    Joint("9   GND", "GND", "ground", "ground; ADDR goes there too (address 0x48)"),
)

CONVERTER_TO_THERMISTOR: Final = (
    Joint("VDD", "resistor", "supply", "top of the 10 kohm resistor"),
    Joint("A0", "middle", "analog", "where resistor, thermistor and the capacitor's upper end meet"),
    Joint("GND", "thermistor", "ground", "foot of the thermistor and of the capacitor"),
)

PI_TO_SOUNDER: Final = (
    Joint("1   3V3", "sounder +", "supply", "3.3 V; a sounder of 30 mA at most"),
    Joint("11  GPIO17", "base", "to chip", "through 1 kohm to the base of the transistor"),
    Joint("14  GND", "emitter", "ground", "emitter of the transistor; its collector goes to sounder -"),
)

TABLES: Final = {
    "amplifier-to-pi": ("Pi header pin", "amplifier pin", PI_TO_AMPLIFIER),
    "node-to-amplifiers": ("board pin", "amplifier pin", NODE_TO_AMPLIFIER),
    "node-to-thermistor": ("board pin", "to", NODE_TO_THERMISTOR),
    "converter-to-pi": ("Pi header pin", "ADS1115 pin", PI_TO_CONVERTER),
    "converter-to-thermistor": ("ADS1115 pin", "to", CONVERTER_TO_THERMISTOR),
    "sounder-to-pi": ("Pi header pin", "to", PI_TO_SOUNDER),
}


# --- amplifiers ----------------------------------------------------------------------------------


def amplifier(corner: Spot, title: str, note: str) -> Box:
    """Return the box of an amplifier board."""
    return Box(corner, 190, title, note, left=("VCC", "GND", "SCK", "SDO", "SDI", "CS"), right=("", "T+", "T-"))


def pi_header(sheet: Sheet, corner: Spot, joints: tuple[Joint, ...]) -> None:
    """Draw the Pi's header from above, with the pins that are wired. What is where: from memory."""
    rows = (tuple(range(2, 41, 2)), tuple(range(1, 41, 2)))
    sheet.header(corner, Header(rows, _numbers(joints), frozenset({2, 4})))
    sheet.note(Spot(corner.x - 14, corner.y - 44), "The header from above, the board's edge upwards. Pin 1 (square) is at",
               "the end away from the USB sockets. Green: wired. Red: 5 V, never.", size=12)  # fmt: skip


def board_header(sheet: Sheet, corner: Spot) -> None:
    """Draw the node's board from above, with the pins that are wired. What is where: from memory."""
    rows = (tuple(range(40, 20, -1)), tuple(range(1, 21)))
    used = _numbers(NODE_TO_AMPLIFIER) | {18, 19}
    sheet.header(corner, Header(rows, used, frozenset({37, 39, 40})))
    sheet.note(Spot(corner.x - 14, corner.y - 44), "The board from above, its USB socket to the left. Pin 1 is square.",
               "Green: wired. Red, never: 39 and 40 (5 V), 37 (switches the board off).", size=12)  # fmt: skip


def _numbers(joints: tuple[Joint, ...]) -> frozenset[int]:
    return frozenset(int(joint.host.split()[0]) for joint in joints)


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
            sheet.wire(joint.kind, Spot(x, end.y), end, dashed=joint.part == "SDI")
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
    sheet = Sheet(1040, 730, "Two thermocouple amplifiers on the Pi's SPI bus")
    host = Box(Spot(40, 150), 210, "Pi header", "pins by number", right=[joint.host for joint in PI_TO_AMPLIFIER])
    parts = [
        amplifier(Spot(520, 70), "Amplifier 1", "MAX31856 or MAX31855"),
        amplifier(Spot(520, 345), "Amplifier 2", "MAX31856 or MAX31855"),
    ]
    bus(sheet, host, PI_TO_AMPLIFIER, parts, 300)
    sheet.box(host, fill="#eaf1ea")
    for part, words in zip(parts, ("grate", "grate2"), strict=True):
        sheet.box(part)
        thermocouple(sheet, part, words)
    sheet.note(
        Spot(40, 455), "A dot is a joint (a strip of stripboard);", "lines that only cross are not joined.",
        "Dashed: not there on a MAX31855.", "", "All power off before you touch a wire.",
    )  # fmt: skip
    pi_header(sheet, Spot(60, 660), PI_TO_AMPLIFIER)
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
    pi = Box(Spot(30, 290), 130, "Pi", "USB data socket", right=["USB"])
    parts = [
        amplifier(Spot(760, 60), "Amplifier 1", "MAX31856"),
        amplifier(Spot(760, 315), "Amplifier 2", "MAX31856"),
        amplifier(Spot(760, 570), "Amplifier 3", "MAX31856"),
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
        Spot(40, 640), "A dot is a joint (a strip of stripboard); lines that only cross are not joined.", "",
        "A MAX31855 has no SDI: the dashed wire is left away,", "and the settings have to say so.", "",
        "The thermistor for the air outside has a drawing of its own.", "",
        "All power off before you touch a wire.",
    )  # fmt: skip
    board_header(sheet, Spot(64, 140))
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


# --- sounder -------------------------------------------------------------------------------------


def sounder_to_pi() -> Sheet:
    """Return the drawing of a sounder on a pin of the Pi, behind a transistor."""
    sheet = Sheet(1000, 500, "A sounder on the Pi, behind a transistor")
    host = Box(Spot(40, 90), 190, "Pi header", "pins by number", right=[joint.host for joint in PI_TO_SOUNDER])
    sounder = Box(Spot(640, 90), 170, "Sounder", "with its own beep, 3 V", left=("+", "-"))
    transistor = Box(Spot(430, 180), 130, "NPN", "transistor", left=("base", "emitter"), right=("collector",))
    supply, base, ground = (host.pin(joint.host) for joint in PI_TO_SOUNDER)
    sheet.wire("supply", supply, sounder.pin("+"))
    base_in = transistor.pin("base")
    sheet.wire("to chip", base, Spot(270, base.y), Spot(270, base_in.y), base_in)
    sheet.shape(f'<rect x="316" y="{base_in.y - 9}" width="44" height="18"', fill="#ffffff")
    sheet.words(Spot(338, base_in.y - 16), "1 kohm", size=12.5, anchor="middle")
    emitter = transistor.pin("emitter")
    sheet.wire("ground", ground, Spot(250, ground.y), Spot(250, emitter.y), emitter)
    collector, minus = transistor.pin("collector"), sounder.pin("-")
    sheet.wire("plain", collector, Spot(600, collector.y), Spot(600, minus.y), minus)
    sheet.box(host, fill="#eaf1ea")
    sheet.box(sounder)
    sheet.box(transistor)
    sheet.note(Spot(40, 320), "Which leg of the transistor is which stands in its data sheet: makers differ.")
    pi_header(sheet, Spot(60, 420), PI_TO_SOUNDER)
    return sheet


DRAWINGS: Final = {
    "amplifier-to-pi": amplifier_to_pi,
    "node-to-pi": node_to_pi,
    "thermistor-to-node": thermistor_to_node,
    "thermistor-to-pi": thermistor_to_pi,
    "sounder-to-pi": sounder_to_pi,
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
