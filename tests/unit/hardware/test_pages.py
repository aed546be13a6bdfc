"""The pages in hardware/: their examples can be used, their links lead somewhere, their cautions stand."""

import csv
import json
import math
import re
import subprocess
import sys
from pathlib import Path

import pytest

from drivers import load_source
from firebox.config import load
from hardware.bench.board import NODE
from hardware.wiring import draw

HARDWARE = NODE.parent
PAGES = sorted(HARDWARE.rglob("*.md"))
NAMES = [str(page.relative_to(HARDWARE)) for page in PAGES]


def text_of(name: str) -> str:
    return (HARDWARE / name).read_text("utf-8")


def blocks(language: str) -> list[tuple[str, str]]:
    fence = re.compile(rf"^```{language}\n(.*?)^```$", re.MULTILINE | re.DOTALL)
    return [(name, block) for name in NAMES for block in fence.findall(text_of(name))]


def anchors(text: str) -> set[str]:
    """Return the anchors of a page's headings, as a forge makes them."""
    bare = re.sub(r"^```.*?^```$", "", text, flags=re.MULTILINE | re.DOTALL)
    headings = re.findall(r"^#+ (.*)$", bare, re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in headings}


# --- examples ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "block"), blocks("toml"), ids=[name for name, _ in blocks("toml")])
def test_every_piece_of_a_pits_file_can_be_used(tmp_path: Path, name, block):
    path = tmp_path / "north.toml"
    path.write_text(block)
    config = load(path)
    assert config.sources or config.notices.to, (
        f"{name}: a piece that tells of no probes and of no way to call people"
    )
    for source in config.sources:
        assert load_source(source.__struct_config__.tag)


def test_all_ways_are_shown():
    kinds = {kind for _, block in blocks("toml") for kind in re.findall(r'^kind = "(\w+)"', block, re.MULTILINE)}
    assert {"serial", "iio", "spi", "onewire", "gpio"} <= kinds


def test_the_bench_page_names_its_probes_as_its_sources_do():
    pages = [block for name, block in blocks("toml") if name == "README.md"]
    told = [
        (re.search(r'kind = "(\w+)"', one)[1], re.findall(r'^name = "(\w+)"', one, re.MULTILINE)) for one in pages
    ]
    assert told[:2] == [("iio", ["grate"]), ("serial", ["grate"])]  # one probe first, whichever way
    by_source = dict(told[2:])
    labels = re.findall(r'label = "(\w+)"', text_of("overlays/pit-amplifiers.dts"))
    shipped = [probe["name"] for probe in json.loads(text_of("node/settings.json"))["probes"]]
    assert by_source["iio"] == labels
    assert by_source["serial"] == shipped


@pytest.mark.parametrize(
    ("ending", "told"),
    [('"K"}', "can be used"), ('"K"},', "settings.json: not JSON"), ('"Q"}', "settings.json: probes[0].type")],
)
def test_the_first_settings_of_the_node_are_checked_as_its_page_says(tmp_path: Path, ending, told):
    page = text_of("node/README.md")
    settings = re.search(r"```json\n(.*?)```", page, re.DOTALL)[1]
    command = re.search(r"python3 -c '(.+)'", page)[1]
    (tmp_path / "settings.json").write_text(settings.replace('"K"}', ending))
    done = subprocess.run(
        [sys.executable, "-c", command],
        cwd=tmp_path, env={"PYTHONPATH": str(NODE)}, capture_output=True, text=True, timeout=20,
    )  # fmt: skip
    assert told in (done.stdout + done.stderr).splitlines()[-1]
    assert (done.returncode == 0) == (told == "can be used")
    assert [f"GP{probe['select']}" for probe in json.loads(settings)["probes"]] == [
        next(joint.host.split()[-1] for joint in draw.NODE_TO_AMPLIFIER if joint.part == "CS")
    ]


# --- links and cautions --------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_every_link_leads_somewhere(name):
    page = HARDWARE / name
    links = re.findall(r"\]\(([^)\s]+)\)", page.read_text("utf-8"))
    assert links
    for link in links:
        assert "://" not in link, f"{link}: pages are read without a network"
        file, _, anchor = link.partition("#")
        target = (page.parent / file).resolve() if file else page
        assert target.is_file(), f"{name}: {link}"
        assert target.is_relative_to(HARDWARE), f"{name}: {link}"
        if anchor:
            assert anchor in anchors(target.read_text("utf-8")), f"{name}: {link}"


def test_every_page_and_drawing_can_be_reached_from_the_bench_page():
    reached, ahead = set(), [HARDWARE / "README.md"]
    while ahead:
        page = ahead.pop()
        if page in reached:
            continue
        reached.add(page)
        if page.suffix == ".md":
            links = re.findall(r"\]\(([^)#\s]+)", page.read_text("utf-8"))
            ahead += [(page.parent / link).resolve() for link in links]
    wanted = [*PAGES, *HARDWARE.rglob("*.svg"), *HARDWARE.rglob("*.csv"), *HARDWARE.rglob("*.rules"),
              *HARDWARE.rglob("*.service"), *HARDWARE.rglob("*.dts"), *HARDWARE.rglob("*.conf"), NODE / "settings.json"]  # fmt: skip
    assert {path for path in wanted if path.resolve() not in reached} == set()


@pytest.mark.parametrize("name", NAMES)
def test_every_page_has_its_cautions(name):
    text = text_of(name)
    if name == "udev/README.md":
        return  # names of devices; nobody can be hurt
    section = text.partition("\n## Cautions\n")[2].partition("\n## ")[0]
    assert len(section.split()) > 20, f"{name}: no section Cautions"


@pytest.mark.parametrize(
    "words",
    [
        "carbon monoxide", "outdoors", "burns", "gloves", "electricity", "licensed", "unplug", "local codes", "never leave a live fire unattended",
        "grease fires are smothered", "never doused", "ash", "food", "children", "wooden deck", "fumes", "every lamp is dark", "thunder",
    ],
)  # fmt: skip
def test_the_bench_page_warns_of_everything_that_can_hurt(words):
    section = text_of("README.md").partition("\n## Cautions\n")[2].partition("\n## ")[0]
    assert words in " ".join(section.lower().replace("*", "").split())


def test_nobody_is_sent_into_a_thunderstorm_or_to_water_a_live_box():
    for name in ("README.md", "enclosure.md"):
        text = " ".join(text_of(name).replace("*", "").split())
        storm = text[text.lower().index("thunderstorm") - 60 :]
        assert "before" in storm[:140], name
        assert "stay indoors" in storm[:300], name
        assert re.search(r"never (pour )?water (on )?a box that is powered", text, re.IGNORECASE), name


def test_batteries_have_their_limits():
    cautions = text_of("power.md").partition("\n## Cautions\n")[2]
    for words in ("below 0 C", "45 C", "never a bare pouch", "never shut into the sealed box"):
        assert words in " ".join(cautions.replace("*", "").split())


def test_every_step_of_the_bench_page_says_how_to_see_that_it_worked():
    steps = re.split(r"^## (?=\d+\. )", text_of("README.md"), flags=re.MULTILINE)[1:]
    assert [step.partition(".")[0] for step in steps] == [str(number) for number in range(1, 13)]
    for step in steps[1:]:  # the first is a choice
        assert "**Works if**" in step, step.partition("\n")[0]


# --- drawings, tables, parts ---------------------------------------------------------------------


@pytest.mark.parametrize(("path", "text"), draw.files().items(), ids=[path.name for path in draw.files()])
def test_drawings_and_pin_tables_are_those_of_the_list(path: Path, text):
    assert path.read_text("utf-8") == text, f"run python3 {draw.HERE.name}/draw.py"


def test_the_settings_of_the_node_are_the_pins_of_its_drawing():
    settings = json.loads(text_of("node/settings.json"))
    drawn = {joint.host.split()[-1]: joint for joint in draw.NODE_TO_AMPLIFIER}
    assert drawn[f"GP{settings['spi']['sck']}"].part == "SCK"
    assert drawn[f"GP{settings['spi']['mosi']}"].part == "SDI"
    assert drawn[f"GP{settings['spi']['miso']}"].part == "SDO"
    selects = [probe["select"] for probe in settings["probes"] if "select" in probe]
    assert [f"GP{pin}" for pin in selects] == [
        joint.host.split()[-1] for joint in draw.NODE_TO_AMPLIFIER if joint.part == "CS"
    ]
    adc = [probe["adc"] for probe in settings["probes"] if "adc" in probe]
    assert [f"GP{pin}" for pin in adc] == [
        joint.host.split()[-1] for joint in draw.NODE_TO_THERMISTOR if joint.part == "middle"
    ]


RP2040_PINS = {
    "GP14": 19, "GP16": 21, "GP17": 22, "GP18": 24, "GP19": 25, "GP20": 26, "GP21": 27, "GP26": 31, "AGND": 33, "ADC_VREF": 35,
    "3V3": 36,
}  # fmt: skip
"""Pins of the usual 40-pin RP2040 board, from memory; GND is at 3, 8, 13, 18, 23, 28 and 38."""

PI_PINS = {
    "3V3": {1, 17}, "GPIO2": {3}, "GPIO3": {5}, "GPIO10": {19}, "GPIO9": {21}, "GPIO11": {23}, "GPIO8": {24}, "GPIO7": {26}, "GPIO17": {11},
    "GND": {6, 9, 14, 20, 25, 30, 34, 39},
}  # fmt: skip
"""Pins of the 40-pin header of a Raspberry Pi, from memory."""


def test_pin_numbers_and_names_belong_together():
    for joint in (*draw.NODE_TO_AMPLIFIER, *draw.NODE_TO_THERMISTOR):
        number, name = joint.host.split()
        assert int(number) in ({3, 8, 13, 18, 23, 28, 38} if name == "GND" else {RP2040_PINS[name]}), joint
    for joint in (*draw.PI_TO_AMPLIFIER, *draw.PI_TO_CONVERTER, *draw.PI_TO_SOUNDER):
        number, name = joint.host.split()[0], re.search(r"3V3|GND|GPIO\d+", joint.host)[0]
        assert int(number) in PI_PINS[name], joint


def test_the_list_of_parts_is_complete_and_without_holes():
    with (HARDWARE / "bill-of-materials.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert all(None not in row and None not in row.values() for row in rows)
    assert all(row["part"] and row["quantity"] and row["for"] and row["description"] for row in rows)
    parts = " ".join(row["part"] for row in rows)
    for part in (
        "Raspberry Pi",
        "MAX31856",
        "MAX31855",
        "RP2040",
        "thermistor",
        "ferrite",
        "box",
        "gland",
        "multimeter",
        "carbon monoxide",
        "stripboard",
        "service jumper",
        "safety glasses",
        "sounder",
        "1-Wire",
    ):
        assert part in parts
    assert len({row["part"] for row in rows}) == len(rows)


def test_no_wire_ends_on_a_pin_that_carries_five_volts_or_switches_the_board_off():
    for joint in (*draw.PI_TO_AMPLIFIER, *draw.PI_TO_CONVERTER, *draw.PI_TO_SOUNDER):
        assert int(joint.host.split()[0]) not in {2, 4}, joint
    for joint in (*draw.NODE_TO_AMPLIFIER, *draw.NODE_TO_THERMISTOR):
        assert int(joint.host.split()[0]) not in {37, 39, 40}, joint


def test_minus_is_red_in_ansi_and_white_in_iec():
    rows = re.findall(
        r"^\| ([A-Z, ]+) \| (\w+) \| (\w+) \| (\w+) \| (\w+) \| (.+) \|$", text_of("wiring/README.md"), re.MULTILINE
    )
    assert {row[0] for row in rows} == {"K", "J", "E", "T", "N", "R, S"}
    assert all(row[2] == "red" and row[4] == "white" and ("verified" in row[5] or "memory" in row[5]) for row in rows)


# --- figures -------------------------------------------------------------------------------------

REGION_4 = (
    0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5, -0.32325550322333e7,
    0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3,
)  # fmt: skip
"""Coefficients of the saturation line, IAPWS-IF97 (Revised Release, 2012), table 34; from memory, held against its table 36."""


def boiling(hpa: float) -> float:
    """Return the boiling point of water: IAPWS-IF97, equation 31. [degC]"""
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = REGION_4
    beta = (hpa / 10000) ** 0.25
    e, f, g = beta**2 + n3 * beta + n6, n1 * beta**2 + n4 * beta + n7, n2 * beta**2 + n5 * beta + n8
    d = 2 * g / (-f - math.sqrt(f**2 - 4 * e * g))
    return (n10 + d - math.sqrt((n10 + d) ** 2 - 4 * (n9 + n10 * d))) / 2 - 273.15


def test_the_equation_gives_the_check_values_of_its_release():
    assert boiling(1000) == pytest.approx(372.755919 - 273.15, abs=1e-6)  # table 36, 0.1 MPa
    assert boiling(10000) == pytest.approx(453.035632 - 273.15, abs=1e-6)  # 1 MPa


def test_the_boiling_points_of_the_page():
    text = text_of("calibration.md")
    by_pressure = re.findall(r"^\| ([\d.]+) \| ([\d.]+) \| ([\d.]+) \|$", text, re.MULTILINE)
    by_altitude = re.findall(r"^\| (\d+) \| (\d+) \| (\d+) \| ([\d.]+) \| ([\d.]+) \|$", text, re.MULTILINE)
    assert len(by_pressure) > 10
    assert len(by_altitude) > 8
    for hpa, celsius, fahrenheit in by_pressure:
        assert float(celsius) == pytest.approx(boiling(float(hpa)), abs=0.006)  # print rounding
        assert float(fahrenheit) == pytest.approx(boiling(float(hpa)) * 1.8 + 32, abs=0.06)
    for feet, metres, hpa, celsius, fahrenheit in by_altitude:
        pressure = 1013.25 * (1 - 0.0065 * int(feet) * 0.3048 / 288.15) ** 5.25588  # US Standard Atmosphere 1976
        assert int(metres) == round(int(feet) * 0.3048)
        assert int(hpa) == pytest.approx(
            pressure, abs=0.6 + int(feet) * 1e-4
        )  # geometric against geopotential height
        assert float(celsius) == pytest.approx(boiling(pressure), abs=0.02)
        assert float(fahrenheit) == pytest.approx(float(celsius) * 1.8 + 32, abs=0.06)


def test_the_worked_correction_of_the_page():
    worked = (121.0 - 0.8) * boiling(950) / (98.9 - 0.8)
    assert f"= {worked:.2f} C" in text_of("calibration.md")


# --- the node's page -----------------------------------------------------------------------------


def test_the_node_page_copies_exactly_the_files_of_the_board():
    copied = re.search(r"mpremote fs cp (.*) :", text_of("node/README.md"))[1].split()
    assert sorted(copied) == sorted(path.name for path in NODE.iterdir() if path.suffix in {".py", ".json"})


def test_everything_the_node_can_complain_of_is_explained():
    page = text_of("node/README.md")
    sources = "".join((NODE / name).read_text() for name in ("amplifiers.py", "thermistor.py"))
    told = [
        why
        for call in re.findall(r"bad\((?:FAILED|OPEN|SHORTED), (.*)\)", sources)
        for why in re.findall(r'"([^"]+)"', call)
    ]
    assert len(told) >= 10
    for why in told:
        for part in filter(None, (part.strip(" ;") for part in re.split(r"%\w+", why))):
            assert part in page, why
