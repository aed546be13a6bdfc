"""What the chips' words mean, against the examples in their datasheets.

`tests/data/chip_codes.csv`, column `status`:
MAX31855 - Maxim, MAX31855 datasheet, page 10, tables 4 and 5: verified.
MAX31856 - Maxim, MAX31856 datasheet, format tables: rows from memory; width, step and sign verified against the kernel.
MCP9600 - Microchip, DS20005426C, page 17: one row verified, two computed from the format.
MAX31865 - Maxim, MAX31865 datasheet, page 17 and table 9: verified.
ADS1115 - Texas Instruments, ADS1115 datasheet, table 8-1: verified.
"""

import pytest

from drivers.i2c_ads1115 import RANGES
from drivers.i2c_mcp9600 import word_celsius
from drivers.resistances import hear_platinum
from drivers.spi_max31855 import decode
from drivers.spi_max31856 import couple_celsius, junction_celsius
from firebox.records import Status
from firebox.sensors import PlatinumOptions
from firebox.thermo.platinum import ohm
from tests.reference.tables import rows

CODES = rows("chip_codes.csv")


def words(chip, field):
    found = [
        (int(row["raw_word_hex"], 16), float(row["temperature_c"]))
        for row in CODES
        if row["chip"] == chip and field in row["field"]
    ]
    assert found
    return found


@pytest.mark.parametrize(("word", "celsius"), words("MAX31855", "thermocouple"))
def test_max31855_thermocouple(word, celsius):
    assert decode(word).shown_celsius == celsius  # exact: the format's own steps
    assert decode(word).is_sound


@pytest.mark.parametrize(("word", "celsius"), words("MAX31855", "internal"))
def test_max31855_cold_junction(word, celsius):
    assert decode(word).junction_celsius == celsius


@pytest.mark.parametrize(
    ("word", "status", "is_sound"),
    [
        (0x00010001, Status.OPEN, True),
        (0x00010002, Status.SHORTED, True),
        (0x00010004, Status.SHORTED, True),
        (0x00010003, Status.OPEN, True),
        (0x00000001, Status.OPEN, False),  # a fault that the summary does not know of
        (0x00010000, Status.GOOD, False),  # the summary of no fault
        (0x01920000, Status.GOOD, False),  # D17 is always 0
        (0x01900008, Status.GOOD, False),  # D3 too
        (0xFFFFFFFF, Status.OPEN, False),
    ],
)
def test_max31855_faults(word, status, is_sound):
    assert (decode(word).status, decode(word).is_sound) == (status, is_sound)


def test_max31855_a_word_from_the_field_with_a_short_that_it_does_not_report():
    # a probe tied to ground: 21.00 and 23.5625 degC, no fault; so a short can look like the temperature of the room
    word = decode(0x01501790)
    assert (word.shown_celsius, word.junction_celsius, word.status) == (21.0, 23.5625, Status.GOOD)


@pytest.mark.parametrize(("word", "celsius"), words("MAX31856", "thermocouple"))
def test_max31856_thermocouple(word, celsius):
    assert couple_celsius(word.to_bytes(3)) == celsius


@pytest.mark.parametrize(("word", "celsius"), words("MAX31856", "cold junction"))
def test_max31856_cold_junction(word, celsius):
    assert junction_celsius(word.to_bytes(2)) == celsius


@pytest.mark.parametrize(("word", "celsius"), words("MCP9600", "T_H"))
def test_mcp9600(word, celsius):
    assert word_celsius(word.to_bytes(2)) == celsius


def test_max31865_table_9():
    sensor = PlatinumOptions(ohm=100, reference_ohm=400.0)
    table = rows("max31865_table9.csv")
    assert len(table) == 46
    for row in table:
        heard = hear_platinum("grate", int(row["adc_code"]), sensor)
        celsius = heard.samples[0].celsius
        if float(row["temperature_c"]) == -200.0:
            # its code, cut to a whole number, is 0.002 ohm below the standard's lowest
            assert heard.samples[0].status is Status.FAILED
            continue
        # the code is a whole number: one of it is 0.0122 ohm, up to 0.04 K
        assert celsius == pytest.approx(float(row["temperature_c"]), abs=0.04)
        assert abs(ohm(float(row["temperature_c"])) / 400.0 * 32768 - int(row["adc_code"])) < 1.0


def test_ads1115_ranges():
    # full scale and step: 187.5, 125, 62.5, 31.25, 15.625 and 7.8125 microvolts
    steps = {code: full_scale / 32768 for full_scale, code in RANGES}
    assert {code: pytest.approx(step * 1e6) for code, step in steps.items()} == {
        0: 187.5, 1: 125.0, 2: 62.5, 3: 31.25, 4: 15.625, 5: 7.8125,
    }  # fmt: skip
