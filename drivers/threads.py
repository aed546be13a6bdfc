"""Calls that block, each in a thread with a name and an end."""

import asyncio
import threading
from collections.abc import Callable
from typing import TypeVar

Answer = TypeVar("Answer")


async def in_thread(
    name: str, call: Callable[[], Answer], *, discard: Callable[[Answer], None] | None = None
) -> Answer:
    """Return what a blocking call returns, or raise what it raises, without blocking the loop.

    The thread ends with the call. When the waiting task is cancelled the call still runs to its end, and the task
    waits for that and hands the answer to `discard`: what the call has opened is never lost sight of.
    """
    loop = asyncio.get_running_loop()
    done: asyncio.Future[Answer] = loop.create_future()

    def run() -> None:
        try:
            answer = call()
        except BaseException as error:  # noqa: BLE001  handed on to who waits, whatever it is
            loop.call_soon_threadsafe(done.set_exception, error)
        else:
            loop.call_soon_threadsafe(done.set_result, answer)

    thread = threading.Thread(target=run, name=name, daemon=True)
    thread.start()
    try:
        return await asyncio.shield(done)
    except asyncio.CancelledError:
        await asyncio.wait([done])
        if done.exception() is None and discard is not None:
            discard(done.result())
        raise
    finally:
        if done.done():
            thread.join()  # it has nothing left to do but end
