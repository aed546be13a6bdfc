"""People called in one way: what is due, handed to an announcer, tried again until it arrives, and written down.

An `Outlet` like any other: the loop tells it records, and looks whether it is well. One whose last attempt failed is not
connected, and so becomes an alarm that the other ways tell; it stands until something arrives.
"""

import asyncio
import contextlib
import logging
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import Final

from msgspec.structs import replace

from firebox.errors import NoticeError
from firebox.ports import Announcer, Clock
from firebox.records import Alarm, Notice, Occasion, Priority, Record
from firebox.warn import escalation
from firebox.warn.catalogue import member
from firebox.warn.escalation import Calls, Due, Policy
from firebox.ways import Way, quiet_hours

log = logging.getLogger(__name__)

LOOK_EVERY: Final = 0.5
"""Real seconds between two looks at what is due while something stands."""

FIRST_PAUSE: Final = 2.0
LONGEST_PAUSE: Final = 30.0
"""Real seconds between two attempts: doubled from the first to the longest; a new alarm is tried at once."""

OLDEST: Final = 86_400.0
"""An alarm counts as no older than a day, whatever the clock was set to."""

WRITTEN_EVERY: Final = 60.0
"""Real seconds between two repeats, of those that arrived, that are written down."""


def policy_of(way: Way, every: Mapping[Priority, float], *, says_over: bool) -> Policy:
    """Return how a way is used, in seconds.

    Parameters
    ----------
    way : Way
        As configured.
    every : mapping
        Priority -> seconds between two calls, where the owner says nothing.
    says_over : bool
        Whether it also tells that an alarm is over.
    """
    if way.repeat_minutes is not None:
        every = dict.fromkeys(Priority, 60.0 * way.repeat_minutes)
    return Policy(
        from_priority=way.from_priority,
        after_seconds=60.0 * way.after_minutes,
        quiet=None if way.quiet is None else quiet_hours(way.quiet),
        every=every,
        says_over=says_over,
    )


def trial(way: str, pit: str, time: datetime, priority: Priority, loudness: float = 1.0) -> Notice:
    """Return a notice that says plainly that it is a test."""
    return Notice(
        time=time,
        way=way,
        occasion=Occasion.TEST,
        priority=priority,
        title=f"{pit}: TEST, nothing is wrong",
        text=f"This is a test of the way {way}. If you can read or hear it in your bed, it works. Nothing needs doing.",
        loudness=loudness,
    )


class Notices:
    """An outlet that calls people through one announcer.

    Parameters
    ----------
    announcer : Announcer
    policy : Policy
    clock : Clock
        Stamps notices, and tells the time of day and how old an alarm is.
    pit : str
        Name of the pit, for the words.
    real : callable
        Tells whether the fire is a real one.
    note : callable
        Called on the loop with each notice that left, or did not, to be written down.
    """

    def __init__(
        self,
        announcer: Announcer,
        policy: Policy,
        clock: Clock,
        *,
        pit: str,
        real: Callable[[], bool] = lambda: True,
        note: Callable[[Notice], None],
    ) -> None:
        self._announcer = announcer
        self._policy = policy
        self._clock = clock
        self._pit = pit
        self._real = real
        self._note = note
        self._own = member("notice-failed", announcer.name)
        self._calls = Calls()
        self._news = asyncio.Event()
        self._task: asyncio.Task[None] | None = None
        self._problem: str | None = None
        self._attempts = 0
        self._written = float("-inf")

    @property
    def name(self) -> str:
        return self._announcer.name

    @property
    def connected(self) -> bool:
        return self._task is not None and self._problem is None

    @property
    def last_problem(self) -> str | None:
        return self._problem

    async def open(self) -> None:
        """Begin to call; never fails, what cannot be reached is found out by calling."""
        await self.close()
        self._task = asyncio.create_task(self._run(), name=f"notices {self.name}")

    async def close(self) -> None:
        """Call no more; what is under way is broken off."""
        task, self._task = self._task, None
        if task is not None:
            task.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await task
            await self._announcer.close()

    def tell(self, records: Sequence[Record]) -> None:
        """Take in what alarms do. That this very way is broken is not told in this way."""
        for record in records:
            if isinstance(record, Alarm) and record.alarm != self._own:
                age = min(OLDEST, max(0.0, (self._clock.now() - record.time).total_seconds()))
                self._calls = escalation.follow(self._calls, record, self._seconds(), age)
                self._news.set()

    # --- calling ---------------------------------------------------------------------------------

    def _seconds(self) -> float:
        """Return logical seconds that no setting of a clock moves."""
        return asyncio.get_running_loop().time() * self._clock.rate

    def _due(self) -> Due | None:
        local = self._clock.now().astimezone()
        return escalation.due(self._calls, self._policy, self._seconds(), 60 * local.hour + local.minute)

    async def _run(self) -> None:
        pause = FIRST_PAUSE
        while True:
            self._news.clear()
            due = self._due()
            if due is None:
                await self._wait(LOOK_EVERY if self._calls.standing or self._calls.over else None)
            elif await self._call(due):
                pause = FIRST_PAUSE
            else:
                await self._wait(pause)
                pause = min(2.0 * pause, LONGEST_PAUSE)

    async def _wait(self, seconds: float | None) -> None:
        """Return at news of alarms, or after so many real seconds."""
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(seconds):
                await self._news.wait()

    async def _call(self, due: Due) -> bool:
        """Hand over what is due, and return whether it arrived."""
        self._attempts += 1
        title, text = escalation.words(due, self._pit, real=self._real())
        notice = Notice(
            time=self._clock.now(),
            way=self.name,
            occasion=due.occasion,
            priority=due.priority,
            alarms=tuple(alarm.alarm for alarm in due.alarms),
            title=title,
            text=text,
            loudness=round(due.loudness, 3),
            attempts=self._attempts,
        )
        self._calls = escalation.leave(self._calls, due)
        problem = await self._announce(notice)
        self._calls = escalation.told(self._calls, due, self._seconds(), arrived=problem is None)
        self._write(replace(notice, time=self._clock.now(), problem=problem))
        self._problem = problem
        if problem is None:
            self._attempts = 0
        return problem is None

    async def _announce(self, notice: Notice) -> str | None:
        """Return what went wrong; None: nothing."""
        try:
            await self._announcer.announce(notice)
        except NoticeError as error:
            log.warning("notice not delivered: %s, attempt %d: %s", self.name, notice.attempts, error)
            return str(error)
        except Exception as error:  # the top of a supervised task: logged, recorded, tried again, told as an alarm
            log.exception("notice not delivered: %s, attempt %d", self.name, notice.attempts)
            return type(error).__name__
        return None

    def _write(self, notice: Notice) -> None:
        """Have a notice written down; of a sounder that goes on and on, one a minute."""
        now = asyncio.get_running_loop().time()
        if notice.occasion is Occasion.REPEATED and notice.problem is None and now - self._written < WRITTEN_EVERY:
            return
        self._written = now
        self._note(notice)
