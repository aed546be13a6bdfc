"""The ways in and out: probe sources and outlets, by the `kind` of their options, loaded on use."""

from importlib import import_module
from typing import Any, Final

SOURCES: Final = {
    "serial": "drivers.serial_lines:SerialSource",
    "mqtt": "drivers.mqtt_topics:MqttSource",
    "modbus": "drivers.modbus:source",
    "iio": "drivers.iio:source",
    "hwmon": "drivers.hwmon:source",
    "onewire": "drivers.onewire:source",
    "spi": "drivers.spi:source",
    "i2c": "drivers.i2c:source",
    "replay": "drivers.replay:ReplaySource",
    "practice": "drivers.practice:PracticeSource",
    "scripted": "drivers.fakes.scripted:ScriptedSource",
}
"""Kind -> where its source class is, or the function that makes one. Each is called with `(name, clock, *, options, ...)`."""

OUTLETS: Final = {
    "mqtt": "drivers.mqtt_outlet:MqttOutlet",
    "remembering": "drivers.fakes.outlet:RememberingOutlet",
}
"""Kind -> where its outlet class is."""

WAYS: Final = {
    "sound": "drivers.sound:SoundWay",
    "gpio": "drivers.gpio_sounder:GpioSounder",
    "push": "drivers.push:PushWay",
}
"""Kind -> where its announcer class is. Each is called with `(options, ...)`."""


def load_source(kind: str) -> Any:  # a class or a function; each has options of its own beside name and clock
    """Return the source class of a kind, or the function that makes a source of it.

    Raises
    ------
    LookupError
        There is no such kind; the message lists those there are.
    """
    return _load(SOURCES, kind, "source")


def load_outlet(kind: str) -> Any:  # as above
    """Return the outlet class of a kind.

    Raises
    ------
    LookupError
        There is no such kind; the message lists those there are.
    """
    return _load(OUTLETS, kind, "outlet")


def load_way(kind: str) -> Any:  # as above
    """Return the announcer class of a kind.

    Raises
    ------
    LookupError
        There is no such kind; the message lists those there are.
    """
    return _load(WAYS, kind, "way")


def _load(table: dict[str, str], kind: str, what: str) -> Any:
    if kind not in table:
        raise LookupError(f'"{kind}" is no kind of {what}; one of {", ".join(sorted(table))} would be right')
    module, _, name = table[kind].partition(":")
    return getattr(import_module(module), name)
