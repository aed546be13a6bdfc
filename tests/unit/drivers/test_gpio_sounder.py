"""A sounder on one of gpiozero's own pretended pins."""

import asyncio
import itertools
from datetime import UTC, datetime

import pytest

from drivers.gpio_sounder import GpioSounder
from drivers.tones import PATTERNS
from firebox.errors import NoticeError
from firebox.records import Notice, Occasion, Priority
from firebox.ways import GpioOptions

gpiozero = pytest.importorskip("gpiozero", reason='needs gpiozero: pip install "firebox[test]"')
mock = pytest.importorskip("gpiozero.pins.mock")


@pytest.fixture
def pins(monkeypatch):
    factory = mock.MockFactory()
    monkeypatch.setattr(gpiozero.Device, "pin_factory", factory)
    yield factory
    factory.reset()


def notice(priority: Priority, occasion: Occasion = Occasion.RAISED) -> Notice:
    time = datetime(2026, 5, 2, tzinfo=UTC)
    return Notice(time=time, way="sounder", occasion=occasion, priority=priority, title="t", text="x")


async def test_the_pin_goes_on_and_off_in_the_rhythm_of_the_urgency(pins):
    sounder = GpioSounder(GpioOptions(pin=17))
    await sounder.announce(notice(Priority.LOW))
    changes = [later for earlier, later in itertools.pairwise(pins.pin(17).states) if earlier.state != later.state]
    pattern = PATTERNS[Priority.LOW].pulses
    assert [change.state for change in changes] == [True, False] * len(pattern)
    lengths = [change.timestamp for change in changes if not change.state]  # since the change before
    assert lengths == pytest.approx([pulse.on for pulse in pattern], abs=0.1)  # a loaded machine wakes late
    await sounder.close()


async def test_a_sounder_that_is_on_when_its_pin_is_low_is_silent_when_it_should_be(pins):
    sounder = GpioSounder(GpioOptions(pin=17, active_high=False))
    await sounder.announce(notice(Priority.LOW))
    assert pins.pin(17).state  # high: silent
    await sounder.close()


async def test_that_an_alarm_is_over_is_silence_and_takes_no_pin(pins):
    await GpioSounder(GpioOptions(pin=17)).announce(notice(Priority.CRITICAL, Occasion.OVER))
    assert pins.pin(17).function == "input"


async def test_it_is_silent_when_it_is_broken_off(pins, until):
    sounder = GpioSounder(GpioOptions(pin=17))
    task = asyncio.create_task(sounder.announce(notice(Priority.CRITICAL)))
    await until(lambda: pins.pin(17).state)
    task.cancel()
    with pytest.raises(asyncio.CancelledError):
        await task
    assert not pins.pin(17).state
    await sounder.close()
    await sounder.close()
    assert pins.pin(17).function == "input"


async def test_a_pin_that_is_taken_is_told_and_tried_again(pins):
    other = gpiozero.DigitalOutputDevice(17)
    sounder = GpioSounder(GpioOptions(pin=17))
    with pytest.raises(NoticeError, match="GPIO 17 cannot be used: GPIOPinInUse"):
        await sounder.announce(notice(Priority.LOW))
    other.close()
    await sounder.announce(notice(Priority.LOW))
    await sounder.close()
