"""Between a thread and the loop: in order, bounded, with an end."""

import asyncio
import threading

import pytest

from drivers.mailbox import Mailbox
from drivers.threads import in_thread
from firebox.errors import SourceError
from firebox.records import Problem


def item(number):
    return Problem(source="x", line=number, text="")


async def take(box):
    return [one.line async for one in box.items()]


async def test_what_was_left_is_taken_in_order_before_the_end():
    box = Mailbox("x")
    for number in range(3):
        box.put(item(number))
    box.end(SourceError("gone"))
    box.put(item(99))
    box.end()
    items = box.items()
    assert [(await anext(items)).line for _ in range(3)] == [0, 1, 2]
    with pytest.raises(SourceError, match="gone"):
        await anext(items)


async def test_what_waits_is_woken():
    box = Mailbox("x")
    taking = asyncio.create_task(take(box))
    await asyncio.sleep(0)
    box.put(item(1))
    await asyncio.sleep(0)
    box.end()
    assert await taking == [1]


async def test_a_full_box_drops_the_oldest_and_says_how_many():
    box = Mailbox("x", limit=3)
    for number in range(10):
        box.put(item(number))
    box.end()
    first, *rest = [one async for one in box.items()]
    assert "7 dropped" in first.text
    assert [one.line for one in rest] == [7, 8, 9]


async def test_a_call_in_a_thread_gives_back_its_answer_or_its_error():
    assert await in_thread("mqtt-x", lambda: threading.current_thread().name) == "mqtt-x"
    with pytest.raises(OSError, match="no"):
        await in_thread("mqtt-x", lambda: (_ for _ in ()).throw(OSError("no")))


async def test_a_call_given_up_is_waited_for_and_its_answer_discarded():
    go = threading.Event()
    discarded = []
    calling = asyncio.create_task(in_thread("mqtt-x", lambda: go.wait(5) and "port", discard=discarded.append))
    await asyncio.sleep(0)
    calling.cancel()
    await asyncio.sleep(0)
    assert not calling.done()
    go.set()
    with pytest.raises(asyncio.CancelledError):
        await calling
    assert discarded == ["port"]
