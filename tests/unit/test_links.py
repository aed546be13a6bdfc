"""Options of the links: what is refused says why, and secrets stay secret."""

import pickle

import msgspec
import pytest

from firebox.links import Broker, SerialOptions, SourceOptions
from firebox.secret import Secret
from firebox.sensors import ThermistorOptions

THERMISTOR = {"kind": "thermistor", "beta": 3950, "ohm": 100_000, "series_ohm": 22_000}


@pytest.mark.parametrize(
    ("plain", "word"),
    [
        ({"kind": "serial", "port": "usb:12"}, "hexadecimal"),
        ({"kind": "serial", "port": "/dev/x", "baud": 1}, "baud"),
        ({"kind": "serial", "port": "/dev/x", "bauds": 9600}, "bauds"),
        ({"kind": "serial", "port": "/dev/x", "lines": {"format": "pattern"}}, "go together"),
        ({"kind": "serial", "port": "/dev/x", "lines": {"format": "pattern", "pattern": "(a"}}, "regular expression"),
        ({"kind": "serial", "port": "/dev/x", "lines": {"format": "pattern", "pattern": "a"}}, "named group"),
        ({"kind": "serial", "port": "/dev/x", "lines": {"format": "columns", "columns": ["a", "a"]}}, "twice"),
        ({"kind": "serial", "port": "/dev/x", "lines": {"columns": ["a"]}}, "go together"),
        ({"kind": "mqtt", "topics": []}, "topics"),
        ({"kind": "mqtt", "topics": [{"topic": "a/#/b", "probe": "x"}]}, "#"),
        ({"kind": "mqtt", "topics": [{"topic": "a/b+", "probe": "x"}]}, "\\+"),
        ({"kind": "mqtt", "topics": [{"topic": "a", "probe": "x", "pointer": "b"}]}, "slash"),
        ({"kind": "mqtt", "topics": [{"topic": "a", "probe": "x", "pointer": "/b~2"}]}, "tilde"),
        ({"kind": "mqtt", "topics": [{"topic": "a", "pointer": "/b"}]}, "which probe"),
        ({"kind": "mqtt", "topics": [{"topic": "a/+", "probe": "x{2}"}]}, "wildcards"),
        ({"kind": "mqtt", "topics": [{"topic": "a"}], "broker": {"password_env": "P"}}, "without a user"),
        (
            {
                "kind": "mqtt",
                "topics": [{"topic": "a"}],
                "broker": {"user": "u", "password_env": "P", "password_file": "f"},
            },
            "keep one",
        ),
        ({"kind": "mqtt", "topics": [{"topic": "a"}], "broker": {"tls": {"key_file": "k"}}}, "go together"),
        ({"kind": "wire"}, "wire"),
    ],
)
def test_an_option_that_cannot_be_is_refused_with_its_reason(plain, word):
    with pytest.raises(msgspec.ValidationError, match=word):
        msgspec.convert(plain, SourceOptions)


def test_a_port_by_path_by_pattern_and_by_usb_ids_are_all_taken():
    for port in ("/dev/ttyACM0", "/dev/serial/by-id/*node*", "usb:2e8a:000a", "usb:2e8a:000A:E661"):
        assert msgspec.convert({"kind": "serial", "port": port}, SourceOptions) == SerialOptions(port=port)


def test_a_broker_listens_where_the_registry_says():
    assert Broker().port_number() == 1883
    assert msgspec.convert({"tls": {}}, Broker).port_number() == 8883
    assert Broker(port=2000).port_number() == 2000


def test_a_secret_shows_stars_and_cannot_be_written():
    secret = Secret("hickory")
    assert "hickory" not in f"{secret}{secret!r}{[secret]}"
    assert secret.reveal() == "hickory"
    assert secret == Secret("hickory") != Secret("oak")
    with pytest.raises(TypeError):
        pickle.dumps(secret)
    with pytest.raises(TypeError):
        msgspec.json.encode({"password": secret})


@pytest.mark.parametrize(
    ("plain", "word"),
    [
        ({"kind": "iio", "every": 0}, "every"),
        ({"kind": "hwmon", "probes": []}, "probes"),
        ({"kind": "onewire", "probes": [{"probe": "ambient", "id": "DS18B20"}]}, "28-0316a2797c3f"),
        ({"kind": "iio", "probes": [{"probe": "grate", "thermocouple": "Q"}]}, "thermocouple"),
        ({"kind": "iio", "probes": [{"probe": "x", "sensor": {"kind": "platinum", "ohm": 120}}]}, "ohm"),
        ({"kind": "iio", "probes": [{"probe": "x"}, {"probe": "y"}]}, "the channel any device, temp"),
        (
            {"kind": "hwmon", "probes": [{"probe": name, "device": "jc42"} for name in "xy"]},
            "the channel jc42, temp1",
        ),
        ({"kind": "onewire", "probes": [{"probe": "x"}, {"probe": "y"}]}, "the sensor without an id"),
        ({"kind": "spi", "probes": [{"kind": "max31855", "probe": name} for name in "xy"]}, "SPI bus 0, select 0"),
        ({"kind": "i2c", "probes": [{"kind": "mcp9600", "probe": name} for name in "xy"]}, "I2C address 0x67"),
        ({"kind": "spi", "probes": [{"kind": "max31865", "probe": "x", "reference_ohm": 430, "wires": 5}]}, "wires"),
        ({"kind": "i2c", "probes": [{"kind": "mcp9600", "probe": "x", "address": 72}]}, "address"),
    ],
)
def test_a_wired_probe_that_cannot_be_is_refused_with_its_reason(plain, word):
    with pytest.raises(msgspec.ValidationError, match=word):
        msgspec.convert(plain, SourceOptions)


@pytest.mark.parametrize(
    ("plain", "word"),
    [
        ({}, "known in one way"),
        ({"beta": 3950, "ohm": 1e5, "a": 1e-3}, "known in one way"),
        ({"beta": 3950}, "resistance at 25 C"),
        ({"a": 1e-3, "b": 2e-4}, "go together"),
        ({"points": [{"celsius": 0, "ohm": 1000}]}, "three points"),
        ({"beta": 3950, "ohm": 1e5, "series_ohm": 0}, "series_ohm"),
    ],
)
def test_a_thermistor_that_cannot_be_is_refused_with_its_reason(plain, word):
    with pytest.raises(msgspec.ValidationError, match=word):
        msgspec.convert({"series_ohm": 22_000, **plain}, ThermistorOptions)


def test_a_thermistor_is_known_in_any_of_three_ways():
    points = [{"celsius": 0, "ohm": 7355}, {"celsius": 25, "ohm": 2252}, {"celsius": 70, "ohm": 394.5}]
    coefficients = {"a": 1.470506e-3, "b": 2.378007e-4, "c": 1.038861e-7}
    for plain in ({"points": points}, coefficients):
        sensor = msgspec.convert({"series_ohm": 22_000, **plain}, ThermistorOptions)
        assert sensor.curve().celsius(2252.0) == pytest.approx(25.0, abs=0.001)
    sensor = msgspec.convert({"series_ohm": 22_000, "beta": 3950, "ohm": 100_000}, ThermistorOptions)
    assert sensor.curve().celsius(100_000.0) == pytest.approx(25.0)


def test_chips_at_places_of_their_own_are_taken():
    plain = {
        "kind": "i2c",
        "probes": [
            {"kind": "mcp9600", "probe": "grate", "junction": "box", "address": 0x60},
            {"kind": "ads1115", "probe": "flat", "input": 0, "sensor": THERMISTOR},
            {"kind": "ads1115", "probe": "point", "input": 1, "sensor": THERMISTOR},
            {"kind": "ads1115", "probe": "rib", "address": 0x49, "input": 1, "sensor": THERMISTOR},
        ],
    }
    assert [one.probe for one in msgspec.convert(plain, SourceOptions).probes] == ["grate", "flat", "point", "rib"]
    plain = {
        "kind": "spi",
        "probes": [{"kind": "max31855", "probe": "a"}, {"kind": "max31856", "probe": "b", "select": 1, "mains": 60}],
    }
    assert len(msgspec.convert(plain, SourceOptions).probes) == 2
