"""Sources that have to be asked: one named thread asks in turn, the loop stamps what it answers.

Asking may block (a 1-Wire conversion takes most of a second) or hang. A device that does not answer by its deadline is
a `SourceError`; its thread is left to end by itself, and until it has, the source does not open again.
"""

import asyncio
import logging
import threading
import time
from collections.abc import AsyncIterator, Callable, Iterator
from typing import Final, Protocol

from msgspec.structs import replace

from drivers.lines import Heard
from drivers.mailbox import Mailbox
from drivers.threads import in_thread
from firebox.errors import SourceError
from firebox.ports import Clock, SourceHealth
from firebox.records import Entry, Problem, Reading

ANSWER_SECONDS: Final = 5.0
"""Real seconds in which an answer has to come. The slowest that is usual is a 1-Wire conversion, 0.75 s, of which the
kernel tries five before it gives up."""

END_SECONDS: Final = 2.0
"""Real seconds that closing waits for a thread; the keeper allows a source three."""

log = logging.getLogger(__name__)


class Rig(Protocol):
    """Probes that answer when asked. Only ever used by one thread, and it may block."""

    def sample(self) -> Iterator[Heard]:
        """Ask every probe once, in order.

        Raises
        ------
        SourceError
            The device has gone away.
        """
        ...

    def close(self) -> None:
        """Let go of it; never raises."""
        ...


class _Asker:
    """The thread that asks a rig round after round, until stopped or the rig is gone."""

    def __init__(
        self,
        name: str,
        rig: Rig,
        every: float,
        heard: Callable[[Heard | None], None],
        gone: Callable[[Exception], None],
    ) -> None:
        self._rig = rig
        self._every = every
        self._heard = heard
        self._gone = gone
        self._loop = asyncio.get_running_loop()
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name=name, daemon=True)
        self._thread.start()

    def _run(self) -> None:
        try:
            while not self._stopping.is_set():
                begun = time.monotonic()
                for heard in self._rig.sample():
                    if self._stopping.is_set():
                        return
                    self._loop.call_soon_threadsafe(self._heard, heard)
                self._loop.call_soon_threadsafe(self._heard, None)
                self._stopping.wait(max(0.0, begun + self._every - time.monotonic()))
        except Exception as error:  # noqa: BLE001  handed on to who reads the source, whatever it is
            if not self._stopping.is_set():
                self._loop.call_soon_threadsafe(self._gone, error)
        finally:
            self._rig.close()

    def stop(self) -> None:
        """End the thread, or give up on it after `END_SECONDS`; blocks until then."""
        self._stopping.set()
        self._thread.join(END_SECONDS)

    def is_alive(self) -> bool:
        """Tell whether the thread still runs."""
        return self._thread.is_alive()


class PolledSource:
    """Readings of probes that are asked, as a probe source.

    Parameters
    ----------
    name : str
    clock : Clock
        Stamps the readings.
    connect : callable
        Returns the rig, or raises `SourceError`; may block.
    every : float
        Real seconds from one round of asking to the next.
    answer_seconds : float
        Real seconds in which an answer has to come.
    """

    def __init__(
        self,
        name: str,
        clock: Clock,
        *,
        connect: Callable[[], Rig],
        every: float,
        answer_seconds: float = ANSWER_SECONDS,
    ) -> None:
        self._name = name
        self._clock = clock
        self._connect = connect
        self._every = every
        self._answer_seconds = answer_seconds
        self._health = SourceHealth()
        self._box: Mailbox | None = None
        self._asker: _Asker | None = None
        self._deadline: asyncio.TimerHandle | None = None
        self._round: list[str] = []
        self._told: list[str] = []

    @property
    def name(self) -> str:
        return self._name

    @property
    def health(self) -> SourceHealth:
        return self._health

    async def open(self) -> None:
        """Get hold of the device and start to ask.

        Raises
        ------
        SourceError
            It is not there, or refuses, or has not yet answered what it was asked before.
        """
        await self.close()
        if self._asker is not None:
            raise SourceError(f"{self._name}: still waiting for the answer to an earlier question")
        try:
            rig = await in_thread(f"poll-open-{self._name}", self._connect, discard=lambda rig: rig.close())
        except SourceError as error:
            self._health = replace(self._health, last_problem=str(error))
            raise
        box = Mailbox(self._name)
        self._box, self._round, self._told = box, [], []
        self._asker = _Asker(
            f"poll-{self._name}",
            rig,
            self._every,
            lambda heard: self._hear(box, heard),
            lambda why: self._lose(box, why),
        )
        self._health = replace(self._health, connected=True)
        self._wait_for(box)

    async def records(self) -> AsyncIterator[Reading | Entry | Problem]:
        """Yield readings and problems as they are heard.

        Raises
        ------
        SourceError
            The device has gone away or does not answer, or was never opened.
        """
        if self._box is None:
            raise SourceError(f"{self._name}: not open")
        async for item in self._box.items():
            yield item

    async def close(self) -> None:
        """Let go of the device; its thread has ended when this returns, unless it hangs in a question."""
        if self._box is not None:
            self._box.end()
            self._box = None
        if self._deadline is not None:
            self._deadline.cancel()
        self._health = replace(self._health, connected=False)
        if self._asker is not None:
            await in_thread(f"poll-close-{self._name}", self._asker.stop)
            if self._asker.is_alive():
                log.warning("source %s hangs in a question that its device does not answer", self._name)
            else:
                self._asker = None

    def _wait_for(self, box: Mailbox) -> None:
        if self._deadline is not None:
            self._deadline.cancel()
        wait = self._every + self._answer_seconds
        why = SourceError(f"{self._name}: no answer within {self._answer_seconds:g} s")
        self._deadline = asyncio.get_running_loop().call_later(wait, self._lose, box, why)

    def _hear(self, box: Mailbox, heard: Heard | None) -> None:
        if box is not self._box:
            return
        self._wait_for(box)
        if heard is None:  # the round is over: what was wrong in it need not be told again
            self._told, self._round = self._round, []
            return
        now = self._clock.now()
        for sample in heard.samples:
            box.put(Reading(time=now, probe=sample.probe, celsius=sample.celsius, status=sample.status))
        for text in heard.problems:
            if text not in self._told:
                box.put(Problem(source=self._name, line=self._health.lines + 1, text=text))
        self._round += heard.problems
        self._health = replace(
            self._health,
            lines=self._health.lines + 1,
            bad_lines=self._health.bad_lines + bool(heard.problems),
            last_problem=heard.problems[-1] if heard.problems else self._health.last_problem,
        )

    def _lose(self, box: Mailbox, why: Exception) -> None:
        if box is not self._box:
            return
        self._health = replace(self._health, connected=False, last_problem=str(why))
        box.end(why)
