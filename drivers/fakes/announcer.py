"""A way to call people that remembers what it was to say, and breaks when it is told to."""

import asyncio

from firebox.errors import NoticeError
from firebox.records import Notice


class RememberingAnnouncer:
    """Keeps every notice that it was handed, those that it refused apart.

    Parameters
    ----------
    name : str

    Attributes
    ----------
    said, refused : list of Notice
    broken : str or None
        Why it refuses what it is handed; None: it does not.
    pause : asyncio.Event
        It says nothing to the end while this is not set.
    """

    def __init__(self, name: str = "remembering") -> None:
        self._name = name
        self.said: list[Notice] = []
        self.refused: list[Notice] = []
        self.broken: str | None = None
        self.pause = asyncio.Event()
        self.pause.set()
        self.closed = 0

    @property
    def name(self) -> str:
        return self._name

    async def announce(self, notice: Notice) -> None:
        """Remember a notice.

        Raises
        ------
        NoticeError
            It is broken.
        """
        await self.pause.wait()
        if self.broken is not None:
            self.refused.append(notice)
            raise NoticeError(self.broken)
        self.said.append(notice)

    async def close(self) -> None:
        """Count the endings."""
        self.closed += 1
