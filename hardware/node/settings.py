"""The node's settings: one small file on the board, read once at the start and checked before anything is driven.

Every refusal names the key and says what would be right, because it is all that a cook sees of a mistake.
"""

import json

from amplifiers import TYPES
from curves import SENSITIVITY
from readings import LINE_LIMIT, longest_line

SERVICE_PIN = 14
"""Tied to ground while the board is plugged in, the node stays quiet and lets itself be worked on."""

CHIPS = {
    "max31855": ("name", "chip", "select", "type", "straighten"),
    "max31856": ("name", "chip", "select", "type"),
    "thermistor": ("name", "chip", "adc", "series_ohm", "ohm_25", "beta"),
}
"""Which keys go with which chip."""

DEFAULTS = {
    "name": "pit-node",
    "seconds": 1,
    "mains": 50,
    "spi": {"bus": 0, "sck": 18, "mosi": 19, "miso": 16, "baud": 500000},
    "led": None,
}

KEYS = ("name", "seconds", "mains", "spi", "led", "probes")

FIXED_TYPES = ("K", "J", "N", "S", "T", "E", "R")
"""Thermocouple types for which a MAX31855 is made."""


class SettingsError(Exception):
    """The settings cannot be used; the message names the key and what would be right."""


def load(path: str) -> dict:
    """Return the settings in a file, with what was left out filled in.

    Raises
    ------
    SettingsError
        The file is not there, or not to be used.
    """
    try:
        with open(path) as file:
            text = file.read()
    except OSError as error:
        raise SettingsError("%s: not on the board; copy it there beside main.py" % path) from error
    try:
        plain = json.loads(text)
    except ValueError:
        plain = None
    if not isinstance(plain, dict):
        raise SettingsError("%s: not JSON; python3 -m json.tool %s on the Pi names the line" % (path, path))
    try:
        return check(plain)
    except SettingsError as error:
        raise SettingsError("%s: %s" % (path, error)) from error


def check(plain: dict) -> dict:
    """Return settings with their defaults; raise SettingsError for the first thing that is wrong."""
    _known(plain, KEYS, "")
    settings = dict(DEFAULTS)
    settings.update(plain)
    if not isinstance(settings["spi"], dict):
        _refuse("spi", settings["spi"], 'an object, as in {"sck": 18, "mosi": 19, "miso": 16}')
    _known(settings["spi"], tuple(DEFAULTS["spi"]), "spi.")
    spi = dict(DEFAULTS["spi"])
    spi.update(settings["spi"])
    settings["spi"] = spi
    _text(settings["name"], "name")
    _number(settings["seconds"], "seconds", 0.25, 5)
    _one_of(settings["mains"], "mains", (50, 60))
    _led(settings["led"])
    _spi(spi)
    _probes(settings)
    return settings


# --- parts ---------------------------------------------------------------------------------------


def _spi(spi: dict) -> None:
    _one_of(spi["bus"], "spi.bus", (0, 1))
    _number(spi["baud"], "spi.baud", 10000, 4000000)
    for key, remainder in (("miso", 0), ("sck", 2), ("mosi", 3)):
        pins = tuple(pin for pin in range(remainder, 30, 4) if pin // 8 % 2 == spi["bus"])
        _one_of(spi[key], "spi." + key, pins)


def _probes(settings: dict) -> None:
    probes = settings.get("probes")
    if not isinstance(probes, list) or not probes:
        _refuse("probes", probes, "a list with one object a probe")
    spi = settings["spi"]
    taken = {spi["sck"]: "spi.sck", spi["mosi"]: "spi.mosi", spi["miso"]: "spi.miso", SERVICE_PIN: "the service plug"}
    if type(settings["led"]) is int:
        _take(taken, settings["led"], "led")
    names = []
    for number, probe in enumerate(probes):
        where = "probes[%d]" % number
        _probe(probe, where)
        _take(taken, *((probe["adc"], where + ".adc") if "adc" in probe else (probe["select"], where + ".select")))
        if probe["name"] in names:
            _refuse(where + ".name", probe["name"], "a name that no other probe has")
        names.append(probe["name"])
    if longest_line(names) > LINE_LIMIT:
        raise SettingsError("probes: a line could take %d bytes of %d; use shorter names or a second node" % (
            longest_line(names), LINE_LIMIT))  # fmt: skip


def _probe(probe: dict, where: str) -> None:
    if not isinstance(probe, dict):
        _refuse(where, probe, 'an object, as in {"name": "grate", "chip": "max31856", "select": 17, "type": "K"}')
    chip = probe.get("chip")
    _one_of(chip, where + ".chip", tuple(sorted(CHIPS)))
    _known(probe, CHIPS[chip], where + ".")
    for key in CHIPS[chip]:
        if key not in probe and key != "straighten":
            raise SettingsError("%s.%s: missing; a %s needs %s" % (where, key, chip, ", ".join(CHIPS[chip][2:])))
    _text(probe["name"], where + ".name")
    if probe["name"] == "node":
        _refuse(where + ".name", "node", "another name; that one is the node's own")
    if chip == "thermistor":
        _one_of(probe["adc"], where + ".adc", (26, 27, 28))
        for key, least, most in (("series_ohm", 100, 1e6), ("ohm_25", 100, 1e6), ("beta", 2000, 6000)):
            _number(probe[key], where + "." + key, least, most)
        return
    _one_of(probe["select"], where + ".select", tuple(range(29)))
    kinds = tuple(sorted(TYPES)) if chip == "max31856" else FIXED_TYPES
    _one_of(probe["type"], where + ".type", kinds)
    if probe.get("straighten"):
        _one_of(probe["straighten"], where + ".straighten", (True,))
        _one_of(probe["type"], where + ".type", tuple(sorted(SENSITIVITY)))


def _take(taken: dict, pin: int, where: str) -> None:
    if pin in taken:
        raise SettingsError("%s: pin %d is already %s" % (where, pin, taken[pin]))
    taken[pin] = where


# --- values --------------------------------------------------------------------------------------


def _known(table: dict, keys: tuple, where: str) -> None:
    for key in table:
        if key not in keys:
            raise SettingsError("%s%s: no such key; there are %s" % (where, key, ", ".join(keys)))


def _text(value: str, where: str) -> None:
    if not isinstance(value, str) or not 0 < len(value) <= 32 or any(ord(letter) < 32 for letter in value):
        _refuse(where, value, "1 to 32 characters")


def _number(value: float, where: str, least: float, most: float) -> None:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not least <= value <= most:
        _refuse(where, value, "a number from %g to %g" % (least, most))


def _one_of(value: object, where: str, right: tuple) -> None:
    if not any(value == one and type(value) is type(one) for one in right):
        _refuse(where, value, "one of " + ", ".join(json.dumps(one) for one in right))


def _led(value: object) -> None:
    if value is not None and value != "LED":
        _one_of(value, "led", tuple(range(29)))


def _refuse(where: str, value: object, right: str) -> None:
    raise SettingsError("%s: %s is not right; write %s" % (where, json.dumps(value), right))
