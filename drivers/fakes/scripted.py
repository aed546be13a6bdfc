"""A source that says what it is told to say."""

from collections.abc import AsyncIterator, Sequence

from msgspec import Struct
from msgspec.structs import replace

from drivers.lines import Sample
from drivers.mailbox import Mailbox
from firebox.errors import SourceError
from firebox.ports import Clock, SourceHealth
from firebox.records import Entry, Problem, Reading


class Wait(Struct, frozen=True):
    """Nothing for so many logical seconds."""

    seconds: float


class Vanish(Struct, frozen=True):
    """The device goes away; opened again, the script goes on behind this."""

    text: str = "gone"


class Refuse(Struct, frozen=True):
    """The next opening fails; the one after it does not."""

    text: str = "not there"


Step = Sample | Entry | Problem | Wait | Vanish | Refuse


class ScriptedSource:
    """Plays a script, once, over as many openings as it takes; then what `say` adds, until `finish`.

    Parameters
    ----------
    name : str
    clock : Clock
        Stamps the samples; `Wait` waits by it.
    script : sequence of Step
    """

    def __init__(self, name: str, clock: Clock, *, script: Sequence[Step] = ()) -> None:
        self._name = name
        self._clock = clock
        self._steps = list(script)
        self._box: Mailbox | None = None
        self._finished = False
        self._health = SourceHealth()

    @property
    def name(self) -> str:
        return self._name

    @property
    def health(self) -> SourceHealth:
        return self._health

    async def open(self) -> None:
        """Be there, unless the script says otherwise.

        Raises
        ------
        SourceError
            The script's next step is `Refuse`.
        """
        await self.close()
        first = self._steps[0] if self._steps else None
        if isinstance(first, Refuse):
            del self._steps[0]
            raise SourceError(f"{self._name}: {first.text}")
        self._box = Mailbox(self._name)
        self._health = replace(self._health, connected=True)
        if self._finished:
            self._box.end()

    async def records(self) -> AsyncIterator[Reading | Entry | Problem]:
        """Yield the script, then what is said live.

        Raises
        ------
        SourceError
            The script says `Vanish`, or the source is not open.
        """
        if self._box is None:
            raise SourceError(f"{self._name}: not open")
        box = self._box
        while self._steps and self._box is box and not isinstance(self._steps[0], Refuse):
            match self._steps.pop(0):
                case Wait(seconds=seconds):
                    await self._clock.sleep(seconds)
                case Vanish(text=text):
                    self.vanish(text)
                    break
                case Sample() | Entry() | Problem() as said:
                    yield self._stamp(said)
        async for item in box.items():
            yield item

    async def close(self) -> None:
        """Be gone."""
        if self._box is not None:
            self._box.end()
            self._box = None
        self._health = replace(self._health, connected=False)

    def say(self, *said: Sample | Entry | Problem) -> None:
        """Say something now; lost while the source is not open."""
        for one in said:
            if self._box is not None:
                self._box.put(self._stamp(one))

    def vanish(self, text: str = "gone") -> None:
        """Go away, as when a cable is pulled."""
        if self._box is not None:
            self._box.end(SourceError(f"{self._name}: {text}"))
        self._health = replace(self._health, connected=False, last_problem=text)

    def finish(self) -> None:
        """Have nothing more to say, ever."""
        self._finished = True
        if self._box is not None:
            self._box.end()

    def _stamp(self, said: Sample | Entry | Problem) -> Reading | Entry | Problem:
        bad = isinstance(said, Problem)
        self._health = replace(self._health, lines=self._health.lines + 1, bad_lines=self._health.bad_lines + bad)
        if isinstance(said, Problem):
            self._health = replace(self._health, last_problem=said.text)
            return said
        now = self._clock.now()
        if isinstance(said, Entry):
            return replace(said, time=now)
        return Reading(time=now, probe=said.probe, celsius=said.celsius, status=said.status)
