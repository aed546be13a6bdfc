"""A link to a pit that others keep, whose alarms call people on this device as well: the loudspeaker beside the bed.

The dashboard that looks through the link knows nothing of it. Calling goes on in one thread of its own, with a loop.
"""

import asyncio
import logging
import threading
from collections.abc import Sequence

from firebox.keeper.outlets import Told
from firebox.ports import KeeperStatus, Outlet, WatchLink
from firebox.records import Alarm, Entry, Record

log = logging.getLogger(__name__)


class CallingLink:
    """A `firebox.ports.WatchLink` in front of another.

    Until it is known what sort of fire is kept, its alarms wait: a practice fire wakes nobody who would take it for a
    real one. That nobody keeps it does not wait.

    Parameters
    ----------
    link : WatchLink
    outlets : sequence of Outlet
        Told the alarms; opened and closed here.
    own : str
        The alarm that the link itself raises when nobody keeps the pit.
    """

    def __init__(self, link: WatchLink, outlets: Sequence[Outlet], own: str) -> None:
        self._link = link
        self._own = own
        self._waiting: list[Alarm] = []
        self._known = False
        self._loop = asyncio.new_event_loop()
        self._told = [Told(outlet, self._loop.time) for outlet in outlets]
        self._over = asyncio.Event()
        self._thread: threading.Thread | None = threading.Thread(target=self._run, name="notices-afar", daemon=True)
        self._thread.start()

    def _run(self) -> None:
        with asyncio.Runner(loop_factory=lambda: self._loop) as runner:
            runner.run(self._call())

    async def _call(self) -> None:
        tasks = [asyncio.create_task(one.run(), name=f"outlet {one.name}") for one in self._told]
        await self._over.wait()
        for task in tasks:
            task.cancel()
        for task, failure in zip(tasks, await asyncio.gather(*tasks, return_exceptions=True), strict=True):
            if isinstance(failure, Exception):
                log.error("%s failed", task.get_name(), exc_info=failure)

    def news(self) -> Sequence[Record]:
        """Return what the link behind has; its alarms are called out."""
        found = self._link.news()
        self._waiting += [record for record in found if isinstance(record, Alarm)]
        self._known = self._known or self._link.status().alive
        ready = [alarm for alarm in self._waiting if self._known or alarm.alarm == self._own]
        if ready:
            self._waiting = [alarm for alarm in self._waiting if alarm not in ready]
            self._loop.call_soon_threadsafe(self._tell, ready)
        return found

    def _tell(self, alarms: Sequence[Alarm]) -> None:
        for one in self._told:
            one.tell(alarms)

    def status(self) -> KeeperStatus:
        return self._link.status()

    def leave(self, entry: Entry) -> None:
        """Leave an entry with the link behind; raises as it does."""
        self._link.leave(entry)

    def close(self) -> None:
        """Call nobody any more, and close the link behind; may be called twice."""
        thread, self._thread = self._thread, None
        if thread is not None:
            self._loop.call_soon_threadsafe(self._over.set)
            thread.join()
        self._link.close()
