"""The parts of the node's firmware, each asked in a real MicroPython and held against published figures."""

import json
import sys
from pathlib import Path

import numpy as np
import pytest
import thermocouple_its90

from drivers.lines import make_parser
from firebox.links import LineFormat
from hardware.bench.board import MICROPYTHON, MISSING, NODE, evaluate

pytestmark = pytest.mark.skipif(MICROPYTHON is None, reason=MISSING)

NIST = {
    "K": {-50: -1.889, -25: -0.968, 25: 1.000, 63: 2.561, 95: 3.889, 121: 4.961, 163: 6.660, 400: 16.397, 538: 22.265,
          1000: 41.276, 1350: 54.138},
    "J": {-25: -1.239, 25: 1.277, 95: 4.997, 121: 6.415, 163: 8.728, 400: 21.848, 649: 36.010, 1200: 69.553},
    "N": {-25: -0.646, 25: 0.659, 95: 2.626, 121: 3.405, 163: 4.713, 400: 12.974, 649: 22.527, 1300: 47.513},
    "T": {-25: -0.940, 25: 0.992, 95: 4.046, 121: 5.277, 163: 7.361, 275: 13.423, 399: 20.810},
    "E": {-25: -1.432, 25: 1.495, 95: 5.982, 121: 7.754, 163: 10.719, 400: 28.946, 649: 49.035, 1000: 76.373},
}  # fmt: skip
"""degC -> mV. NIST Monograph 175 (1993), ITS-90 tables, as printed; seen in the table files of the package
thermocouple-its90 1.0.2. Many lie between the firmware's own ten-degree steps."""

LIBRARY = {kind: getattr(thermocouple_its90, f"Type{kind}") for kind in NIST}

SHIPPED = json.loads((NODE / "settings.json").read_text())
MIXED = SHIPPED | {
    "probes": [
        one | {"chip": "max31855", "straighten": True} if one["name"] == "firebox" else one
        for one in SHIPPED["probes"]
    ]
}
"""With a chip of the other kind at the firebox."""


# --- curves --------------------------------------------------------------------------------------


def test_the_curves_are_the_published_tables():
    given = [[kind, celsius] for kind, table in NIST.items() for celsius in table]
    found = evaluate("from curves import microvolts; answer = [microvolts(*one) for one in given]", given)
    for (kind, celsius), force in zip(given, found, strict=True):
        slope = LIBRARY[kind].seebeck(celsius) * 1000
        assert abs(force - NIST[kind][celsius] * 1000) <= 0.5 + 0.04 * slope, (
            kind,
            celsius,
        )  # print and interpolation


def test_every_step_of_the_tables_is_the_reference_function_rounded():
    tables = evaluate("from curves import MICROVOLTS; answer = MICROVOLTS")
    assert set(tables) == set(NIST)
    for kind, table in tables.items():
        exact = [LIBRARY[kind].emf(float(-50 + 10 * step)) * 1000 for step in range(len(table))]
        assert np.allclose(table, exact, atol=0.501, rtol=0), kind


def test_looking_up_and_looking_back_is_within_what_is_promised():
    given = [[kind, celsius] for kind, table in NIST.items() for celsius in range(-50, max(table), 7)]
    forces = [[kind, LIBRARY[kind].emf(float(celsius)) * 1000] for kind, celsius in given]
    found = evaluate("from curves import celsius_at; answer = [celsius_at(*one) for one in given]", forces)
    worst = max(abs(one - celsius) for one, (_, celsius) in zip(found, given, strict=True))
    assert worst <= 0.04


def test_a_straight_line_chip_is_corrected_at_any_cold_junction():
    given, true = [], []
    lines = evaluate("from curves import SENSITIVITY; answer = SENSITIVITY")
    for kind, slope in lines.items():
        for hot in (0.0, 25.0, 121.0, 250.0, 400.0):
            for cold in (-20.0, 5.0, 25.0, 60.0):
                measured = (LIBRARY[kind].emf(hot) - LIBRARY[kind].emf(cold)) * 1000
                given.append([kind, measured / slope + cold, cold])
                true.append(hot)
    found = evaluate("from curves import straighten; answer = [straighten(*one) for one in given]", given)
    assert max(abs(one - hot) for one, hot in zip(found, true, strict=True)) <= 0.08  # two look-ups of 0.04
    assert max(abs(chip - hot) for (_, chip, _), hot in zip(given, true, strict=True)) > 5.0  # what is mended


def test_the_worked_case_of_the_datasheet_line():
    chip = 35.0 + 14989.993 / 41.276  # type K, 400 degC against 35 degC
    assert chip == pytest.approx(398.16, abs=0.01)
    true = evaluate("from curves import straighten; answer = straighten('K', given, 35.0)", chip)
    assert true == pytest.approx(400.0, abs=0.08)


def test_floats_of_32_bits_are_enough(monkeypatch):
    """The chip on the board has no others; the same code is run on them here."""
    monkeypatch.syspath_prepend(str(NODE))
    monkeypatch.delitem(sys.modules, "curves", raising=False)
    import curves  # noqa: PLC0415  only with the node's folder on the path

    single = {kind: np.float32(value) for kind, value in curves.SENSITIVITY.items()}
    worst = 0.0
    for hot in np.arange(0, 1000, 13.25):
        exact = curves.straighten("K", float(hot), 25.0)
        monkeypatch.setitem(curves.SENSITIVITY, "K", single["K"])
        rough = curves.straighten("K", np.float32(hot), np.float32(25.0))
        monkeypatch.setitem(curves.SENSITIVITY, "K", 41.276)
        worst = max(worst, abs(float(rough) - exact))
    assert worst < 0.001
    monkeypatch.delitem(sys.modules, "curves")


# --- chips ---------------------------------------------------------------------------------------

MAX31855 = [
    (0x64000000, 1600.0), (0x3E800000, 1000.0), (0x064C0000, 100.75), (0x01900000, 25.0), (0xFFFC0000, -0.25),
    (0xFFF00000, -1.0), (0xF0600000, -250.0),
]  # fmt: skip
"""Datasheet MAX31855, table 4 (p. 10), thermocouple field; verified. The rest of each word is a cold junction of 0."""

COLD = [
    (0x7F00, 127.0), (0x6490, 100.5625), (0x1900, 25.0), (0xFFF0, -0.0625), (0xFF00, -1.0), (0xEC00, -20.0), (0xC900, -55.0),
]  # fmt: skip
"""The same, table 5, cold junction field; verified."""


def test_the_words_of_the_max31855_datasheet():
    given = [word for word, _ in MAX31855] + [0x01900000 | word for word, _ in COLD]
    found = evaluate(
        "from amplifiers import decode_max31855; answer = [decode_max31855(one) for one in given]", given
    )
    assert [(one[0][:2], one[1]) for one in found[: len(MAX31855)]] == [([c, "good"], 0.0) for _, c in MAX31855]
    assert [one[1] for one in found[len(MAX31855) :]] == [cold for _, cold in COLD]


@pytest.mark.parametrize(
    ("word", "status"),
    [
        (0x01910001, "open"), (0x01910002, "shorted"), (0x01910004, "shorted"), (0x01910005, "open"),
        (0x00000000, "failed"), (0xFFFFFFFF, "failed"),  # nothing on the line
        (0x01910000, "failed"), (0x01900001, "failed"),  # the fault bit and the reasons disagree
        (0x01920000, "failed"), (0x01900008, "failed"),  # a bit is set that is always 0
    ],
)  # fmt: skip
def test_a_faulty_word_of_the_max31855_is_no_temperature(word, status):
    reading, cold = evaluate("from amplifiers import decode_max31855; answer = decode_max31855(given)", word)
    assert reading[:2] == [None, status]
    assert reading[2]
    assert cold is None


def test_no_bit_turned_over_makes_a_fault_of_the_max31855_a_temperature():
    given = [0x01911901 ^ (1 << bit) for bit in range(32)]  # an open probe, one bit wrong in each word
    found = evaluate(
        "from amplifiers import decode_max31855; answer = [decode_max31855(one)[0] for one in given]", given
    )
    assert all(reading[0] is None for reading in found)


MAX31856 = [
    (0x640000, 1600.0), (0x3E8000, 1000.0), (0x064F00, 100.9375), (0x019000, 25.0), (0x000100, 0.0625), (0x000000, 0.0),
    (0xFFFF00, -0.0625), (0xFFF000, -1.0), (0xF06000, -250.0),
]  # fmt: skip
"""Datasheet MAX31856, example codes of the linearised temperature: rows from memory, arithmetic as in the kernel's driver."""


def test_the_words_of_the_max31856_datasheet():
    given = [[0x91, 3] + [0] * 10 + list(word.to_bytes(3, "big")) + [0] for word, _ in MAX31856]
    found = evaluate(
        "from amplifiers import decode_max31856; answer = [decode_max31856(bytes(g)) for g in given]", given
    )
    assert found == [[celsius, "good", ""] for _, celsius in MAX31856]


@pytest.mark.parametrize(
    ("state", "status"), [(1, "open"), (2, "shorted"), (3, "open"), (0x40, "failed"), (0x80, "failed")]
)
def test_a_fault_of_the_max31856_is_no_temperature(state, status):
    given = [0x91, 3] + [0] * 10 + [0x01, 0x90, 0x00, state]
    found = evaluate("from amplifiers import decode_max31856; answer = decode_max31856(bytes(given))", given)
    assert found[:2] == [None, status]


# --- thermistor ----------------------------------------------------------------------------------

BETA_3950 = {0.0: 33620.60, 50.0: 3588.18, 85.0: 1086.67, 100.0: 697.52, 121.0: 396.84}
"""degC -> ohm of a thermistor of 10 kohm at 25 degC and beta 3950: the beta equation, worked apart from this code."""


def test_a_thermistor_is_read_by_the_beta_equation():
    given = [65535 * ohm / (ohm + 10000) for ohm in BETA_3950.values()]
    program = "from thermistor import decode_divider; answer = [decode_divider(g, 10000, 10000, 3950) for g in given]"
    for celsius, (found, status, _) in zip(BETA_3950, evaluate(program, given), strict=True):
        assert status == "good"
        assert found == pytest.approx(celsius, abs=0.001)


def test_a_thermistor_at_either_end_is_a_fault():
    program = (
        "from thermistor import decode_divider; answer = [decode_divider(g, 10000, 10000, 3950)[:2] for g in given]"
    )
    assert evaluate(program, [0, 300, 65300, 65535]) == [[None, "shorted"]] * 2 + [[None, "open"]] * 2
    assert evaluate(program, [600]) == [[None, "failed"]]  # 92 ohm: no air is that hot


# --- lines ---------------------------------------------------------------------------------------


def test_lines_are_in_the_order_of_the_settings_and_the_source_understands_them():
    given = [["grate", 'a "quoted" name', "flat"], [[121.4, "good", ""], [None, "open", "x"], [-3.999, "good", ""]]]
    line = evaluate("from readings import sample_line; answer = sample_line(*given)", given)
    assert line == '{"grate": 121.40, "a \\"quoted\\" name": {"celsius": null, "status": "open"}, "flat": -4.00}'
    heard = make_parser(LineFormat())(line.encode())
    assert [(one.probe, one.celsius, str(one.status)) for one in heard.samples] == [
        ("grate", 121.4, "good"), ('a "quoted" name', None, "open"), ("flat", -4.0, "good"),
    ]  # fmt: skip
    assert heard.problems == ()


@pytest.mark.parametrize("count", [0, 1, 5, 40])
def test_the_node_tells_as_many_troubles_as_a_line_holds(count):
    facts = [["name", "pit-node"], ["probes", ["grate", "flat"]]]
    program = "from readings import node_line; answer = node_line([tuple(f) for f in given[0]], given[1])"
    line = evaluate(program, [facts, [f"probe {number}: thermocouple open" for number in range(count)]])
    assert len(line.encode()) <= 512
    node = make_parser(LineFormat())(line.encode()).node
    assert node["name"] == "pit-node"
    assert len(node.get("trouble", [])) + node.get("more_trouble", 0) == count


# --- settings ------------------------------------------------------------------------------------


def refusal(settings: object) -> str:
    program = """
from settings import SettingsError, check
try:
    check(given)
    answer = ""
except SettingsError as error:
    answer = str(error)
"""
    return evaluate(program, settings)


def probe(**changed: object) -> dict[str, object]:
    whole = {"name": "grate", "chip": "max31856", "select": 17, "type": "K"} | changed
    return {"probes": [{key: value for key, value in whole.items() if value != "gone"}]}


def test_the_settings_that_are_shipped_can_be_used_and_the_least_too():
    assert refusal(SHIPPED) == ""
    assert refusal(MIXED) == ""
    assert refusal(probe()) == ""


@pytest.mark.parametrize(
    ("settings", "told"),
    [
        ({}, "probes: null is not right; write a list"),
        ({"probes": []}, "probes: [] is not right"),
        ({"probes": [7]}, "probes[0]: 7 is not right; write an object"),
        (probe() | {"second": 2}, "second: no such key; there are name, seconds"),
        (probe() | {"seconds": 60}, "seconds: 60 is not right; write a number from 0.25 to 5"),
        (probe() | {"seconds": True}, "seconds: true is not right"),
        (probe() | {"mains": 55}, "mains: 55 is not right; write one of 50, 60"),
        (probe() | {"spi": {"sck": 17}}, "spi.sck: 17 is not right; write one of 2, 6, 18, 22"),
        (probe() | {"spi": {"bus": 1}}, "spi.miso: 16 is not right; write one of 8, 12, 24, 28"),
        (probe() | {"led": 17}, "probes[0].select: pin 17 is already led"),
        (probe(chip="max6675"), 'probes[0].chip: "max6675" is not right; write one of "max31855", "max31856", "thermistor"'),
        (probe(select="gone"), "probes[0].select: missing; a max31856 needs select, type"),
        (probe(select=18), "probes[0].select: pin 18 is already spi.sck"),
        (probe(select=14), "probes[0].select: pin 14 is already the service plug"),
        (probe(select=40), "probes[0].select: 40 is not right"),
        (probe(straighten=True), "probes[0].straighten: no such key"),
        (probe(chip="max31855", type="B"), 'probes[0].type: "B" is not right'),
        (probe(chip="max31855", type="S", straighten=True), 'probes[0].type: "S" is not right'),
        (probe(name=""), 'probes[0].name: "" is not right; write 1 to 32 characters'),
        (probe(name="node"), "probes[0].name"),
        ({"probes": [*probe()["probes"], *probe(select=20)["probes"]]}, 'probes[1].name: "grate" is not right'),
        ({"probes": [*probe()["probes"], *probe(name="flat")["probes"]]}, "pin 17 is already probes[0].select"),
        ({"probes": [{"name": "a", "chip": "thermistor", "adc": 25, "series_ohm": 1e4, "ohm_25": 1e4, "beta": 3950}]},
         "probes[0].adc: 25 is not right; write one of 26, 27, 28"),
        ({"probes": [{"name": "a", "chip": "thermistor", "adc": 26, "series_ohm": 1e4, "ohm_25": 1e4, "beta": 39500}]},
         "probes[0].beta: 39500 is not right; write a number from 2000 to 6000"),
        ({"probes": [probe(name=f"a very long name for a probe {pin}", select=pin)["probes"][0]
                     for pin in (0, 1, 2, 3, 4, 5, 6, 7)]}, "use shorter names or a second node"),
    ],
)  # fmt: skip
def test_wrong_settings_are_refused_with_the_key_and_what_would_be_right(settings, told):
    assert told in refusal(settings)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (None, "not on the board"),
        ('{"probes": [', "not JSON"),
        ('{"probes": [{"name": "grate", "chip": "max31856", "select": 17, "type": "K"}', "not JSON"),  # cut off
        ("[]", "not JSON"),
        ('{"probes": grate}', "not JSON"),
        ('{"probes": []}', "probes: [] is not right"),
    ],
)  # fmt: skip
def test_a_settings_file_that_cannot_be_read_says_so(tmp_path: Path, text, told):
    path = tmp_path / "settings.json"
    if text is not None:
        path.write_text(text)
    program = """
from settings import SettingsError, load
try:
    load(given)
    answer = ""
except SettingsError as error:
    answer = str(error)
"""
    found = evaluate(program, str(path))
    assert told in found
    assert str(path) in found


def test_a_line_of_the_longest_names_that_are_allowed_fits():
    names = [f"a name that is thirty-two bytes {number}" for number in range(3)]
    longest = evaluate("from readings import longest_line; answer = longest_line(given)", names)
    assert longest == len(json.dumps({name: {"celsius": None, "status": "shorted"} for name in names}))


# --- the whole, for long -------------------------------------------------------------------------

HUNG = {
    "17": {"chip": "max31856", "celsius": 121.4, "cold": 25.0},
    "20": {"chip": "max31856", "celsius": 118.25, "cold": 25.0, "fault": "open"},
    "21": {"chip": "max31855", "microvolts": 14989.99, "cold": 35.0},
    "26": {"ohm": 18000.0, "series_ohm": 10000.0},
}


def test_the_node_needs_no_more_memory_the_longer_it_runs(tmp_path: Path):
    (tmp_path / "bench.json").write_text(json.dumps(HUNG))
    (tmp_path / "settings.json").write_text(json.dumps(MIXED))
    program = """
import gc
import main
from settings import load
node = main.Node(load("settings.json"))
written = []
main.write = lambda line: written.append(len(line))
def used(samples):
    for _ in range(samples):
        node.sample()
    written.clear()
    gc.collect()
    return gc.mem_alloc()
answer = [used(20), used(150), gc.mem_free()]
"""
    before, after, free = evaluate(program, folder=tmp_path, heap="128k")
    assert after - before < 1000
    assert free > 20_000


def test_weeks_pass_and_the_counter_turns_over_and_the_node_tells_of_itself_once_a_minute():
    program = """
import main

class Clock:
    TURN = 1 << 30  # of the counter on the board: 12.4 days
    now = TURN - 90000
    def ticks_ms(self):
        return self.now % self.TURN
    def ticks_add(self, one, step):
        return (one + step) % self.TURN
    def ticks_diff(self, one, other):
        return (one - other + self.TURN // 2) % self.TURN - self.TURN // 2

clock = main.time = Clock()
node = main.Node({"name": "n", "probes": [], "spi": {"bus": 0, "sck": 18, "mosi": 19, "miso": 16, "baud": 500000}, "mains": 50})
lines, last = 0, ""
def write(line):
    global lines, last
    if "node" in line:
        lines, last = lines + 1, line
main.write = write
begun = clock.now
for sample in range(60000):
    clock.now += 20000
    node.sample()
answer = [lines, json.loads(last)["node"]["up_seconds"], (clock.now - begun) // 1000]
"""
    lines, up, passed = evaluate(program)
    assert lines == 60000 // 4 + (60000 % 4 > 0)  # more than a minute old at every fourth sample
    assert passed - 80 <= up <= passed
    assert passed > 13 * 86400
