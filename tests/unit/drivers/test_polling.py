"""Asking in a thread: a device that hangs is an error and not a frozen program."""

import threading

import pytest

from drivers import polling
from drivers.lines import Heard, Sample
from drivers.polling import PolledSource
from firebox.errors import SourceError


class Oven:
    """A rig of one probe that can be made to hang in its answer."""

    def __init__(self):
        self.answering = threading.Event()
        self.answering.set()
        self.asked = 0
        self.closed = 0
        self.defect = None

    def sample(self):
        self.asked += 1
        if self.defect:
            raise self.defect
        self.answering.wait()
        yield Heard((Sample("grate", float(self.asked)),))

    def close(self):
        self.closed += 1


@pytest.fixture
def oven():
    oven = Oven()
    yield oven
    oven.answering.set()


@pytest.fixture
def source(oven, clock, monkeypatch):
    monkeypatch.setattr(polling, "END_SECONDS", 0.1)
    return PolledSource("oven", clock, connect=lambda: oven, every=0.05, answer_seconds=0.2)


async def test_a_device_that_hangs_is_an_error_and_is_not_asked_again_until_it_answers(
    source, oven, listening, until, caplog
):
    await source.open()
    async with listening(source) as ears:
        await until(ears.values)
        oven.answering.clear()
        await until(lambda: ears.ended)
    assert isinstance(ears.error, SourceError)
    assert str(ears.error) == "oven: no answer within 0.2 s"
    assert not source.health.connected
    await source.close()
    assert "source oven hangs in a question" in caplog.text
    asked = oven.asked
    with pytest.raises(SourceError, match="still waiting for the answer to an earlier question"):
        await source.open()
    assert oven.asked == asked
    oven.answering.set()
    await until(lambda: oven.closed)
    await source.open()
    async with listening(source) as ears:
        await until(ears.values)
    await source.close()
    assert oven.closed == 2


async def test_a_slow_round_is_no_error_while_answers_come(clock, listening, until):
    class Slow:
        def sample(self):
            for number in range(4):
                threading.Event().wait(0.1)
                yield Heard((Sample("grate", float(number)),))

        def close(self):
            pass

    source = PolledSource("slow", clock, connect=Slow, every=0.05, answer_seconds=0.3)
    await source.open()
    async with listening(source) as ears:
        await until(lambda: len(ears.values()) >= 8)
        assert not ears.ended
    await source.close()


async def test_a_defect_in_a_driver_comes_out_and_does_not_end_in_silence(source, oven, listening, until):
    await source.open()
    oven.defect = ZeroDivisionError("a defect")
    with pytest.raises(ZeroDivisionError):
        async for _ in source.records():
            pass
    assert source.health.last_problem == "a defect"
    await source.close()
    assert oven.closed == 1


async def test_a_device_that_is_not_there_is_told_in_the_health(clock):
    def refuse():
        raise SourceError("nothing there")

    source = PolledSource("oven", clock, connect=refuse, every=1.0)
    with pytest.raises(SourceError, match="nothing there"):
        await source.open()
    assert source.health.last_problem == "nothing there"
