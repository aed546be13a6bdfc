"""A probe node: reads thermocouple amplifiers and thermistors once a second and writes a line of JSON for each sample.

Runs by itself when the board is plugged in. After the first line, which describes the node, it writes a line a sample:

    {"grate": 121.40, "firebox": {"celsius": null, "status": "open"}, "ambient": 11.80}

The chip's watchdog restarts the board when a sample does not come through within eight seconds, whatever hangs.
With the service plug in (pin 14 to ground) the node does nothing, so that files can be copied to it.
"""

import sys
import time

import machine
import micropython
from amplifiers import Bus, Max31855, Max31856
from readings import node_line, sample_line
from settings import SERVICE_PIN, SettingsError, load
from thermistor import Thermistor

FIRMWARE = "1.0"

WATCHDOG_MS = 8000
"""The RP2040's watchdog counts to 8388 ms at most."""

DESCRIBE_MS = 60000
"""So often the node tells of itself again, for whoever began to listen late."""

COMPLAIN_MS = 2000


def write(line: str) -> None:
    """Write one line on the USB port; without a listener it is lost, as on any serial line."""
    sys.stdout.write(line + "\n")


# --- parts ---------------------------------------------------------------------------------------


def make_probes(settings: dict) -> list:
    """Return what reads each probe, in the order of the settings."""
    spi = settings["spi"]
    pins = {key: machine.Pin(spi[key]) for key in ("sck", "mosi", "miso")}
    selects = [machine.Pin(one["select"], machine.Pin.OUT, value=1) for one in settings["probes"] if "select" in one]
    bus = (
        Bus(machine.SPI(spi["bus"], baudrate=spi["baud"], polarity=0, phase=0, **pins), spi["baud"])
        if selects
        else None
    )
    free = iter(selects)
    return [_make_probe(one, bus, None if "adc" in one else next(free), settings) for one in settings["probes"]]


def _make_probe(one: dict, bus: object, select: object, settings: dict) -> object:
    if one["chip"] == "thermistor":
        numbers = {key: one[key] for key in ("series_ohm", "ohm_25", "beta")}
        return Thermistor(machine.ADC(one["adc"]), **numbers)
    if one["chip"] == "max31855":
        return Max31855(bus, select, one["type"], straight=bool(one.get("straighten")))
    return Max31856(bus, select, one["type"], mains=settings["mains"])


def started_by() -> str:
    """Return why the board started, in a word."""
    return "watchdog" if machine.reset_cause() == machine.WDT_RESET else "power"


# --- life ----------------------------------------------------------------------------------------


class Node:
    """The probes and what the node tells of them and of itself."""

    def __init__(self, settings: dict) -> None:
        self._name = settings["name"]
        self._names = [one["name"] for one in settings["probes"]]
        self._probes = make_probes(settings)
        self._started_by = started_by()
        self._begun = time.ticks_ms()
        self._seconds = 0
        self._troubles = []
        self._described = None

    def sample(self) -> None:
        """Read every probe once and write the line; describe the node when that is due or a trouble came or went."""
        readings = [probe.read() for probe in self._probes]
        troubles = [name + ": " + why for name, (_, _, why) in zip(self._names, readings) if why]
        now = time.ticks_ms()
        if (
            self._described is None
            or troubles != self._troubles
            or time.ticks_diff(now, self._described) > DESCRIBE_MS
        ):
            self._describe(now, troubles)
        write(sample_line(self._names, readings))

    def _describe(self, now: int, troubles: list) -> None:
        elapsed = time.ticks_diff(now, self._begun) // 1000  # the counter turns over, so whole seconds are carried
        self._begun = time.ticks_add(self._begun, elapsed * 1000)
        self._seconds += elapsed
        self._troubles, self._described = troubles, now
        facts = [
            ("name", self._name), ("firmware", FIRMWARE), ("started_by", self._started_by), ("up_seconds", self._seconds),
            ("probes", self._names),
        ]  # fmt: skip
        write(node_line(facts, troubles))


def run(settings: dict) -> None:
    """Sample for ever; the watchdog is fed only when a line was written."""
    led = None if settings["led"] is None else machine.Pin(settings["led"], machine.Pin.OUT)
    watchdog = machine.WDT(timeout=WATCHDOG_MS)
    node = Node(settings)
    period = int(settings["seconds"] * 1000)
    due = time.ticks_add(time.ticks_ms(), period)  # an amplifier needs a moment for its first conversion
    while True:
        time.sleep_ms(max(time.ticks_diff(due, time.ticks_ms()), 0))
        due = time.ticks_add(due, period)
        if time.ticks_diff(due, time.ticks_ms()) < 0:  # late: go on from now instead of hurrying after
            due = time.ticks_add(time.ticks_ms(), period)
        node.sample()
        watchdog.feed()
        if led:
            led.value(not led.value())


def complain(error: Exception) -> None:
    """Say what is wrong with the settings, again and again; ctrl-C ends it."""
    while True:
        write(node_line([("name", "?"), ("firmware", FIRMWARE), ("problem", str(error)[:300])], []))
        time.sleep_ms(COMPLAIN_MS)


def main() -> None:
    """Decide what this start is for."""
    if machine.Pin(SERVICE_PIN, machine.Pin.IN, machine.Pin.PULL_UP).value() == 0:
        write("service plug is in: the node does not sample; pull it out and plug the board in again")
        return
    try:
        settings = load("settings.json")
    except SettingsError as error:
        complain(error)
    else:
        micropython.kbd_intr(-1)  # from here on no byte on the line can stop the node
        run(settings)


if __name__ == "__main__":
    main()
