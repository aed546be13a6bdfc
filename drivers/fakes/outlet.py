"""An outlet that remembers what it was told."""

from collections.abc import Sequence
from typing import TypeVar

from firebox.ports import Clock
from firebox.records import Record

Kind = TypeVar("Kind", bound=Record)


class RememberingOutlet:
    """Keeps every record it is told while it is open.

    Parameters
    ----------
    name : str
    clock : Clock, optional
        Not looked at; every outlet takes one.
    """

    def __init__(self, name: str = "remembering", clock: Clock | None = None) -> None:
        self._name = name
        self.clock = clock
        self.told: list[Record] = []
        self.openings = 0
        self._connected = False
        self._last_problem: str | None = None

    @property
    def name(self) -> str:
        return self._name

    @property
    def connected(self) -> bool:
        return self._connected

    @property
    def last_problem(self) -> str | None:
        return self._last_problem

    async def open(self) -> None:
        """Listen."""
        self.openings += 1
        self._connected, self._last_problem = True, None

    def tell(self, records: Sequence[Record]) -> None:
        """Remember records."""
        self.told.extend(records)

    async def close(self) -> None:
        """Listen no more."""
        self._connected = False

    def lose(self, why: str = "lost") -> None:
        """Lose the connection, as a broker does that goes away."""
        self._connected, self._last_problem = False, why

    def of(self, kind: type[Kind]) -> list[Kind]:
        """Return what was told of one kind of record, oldest first."""
        return [record for record in self.told if isinstance(record, kind)]
