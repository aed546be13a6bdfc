"""A practice round as a dashboard is handed it: a `WatchLink` whose fire burns as long as somebody looks.

No keeper is involved. The fire burns on in `news`, by as much time as has passed at the chosen pace, so it rests when
nobody asks, and while a question waits for its answer. The round has a journal of its own.
"""

import queue
import time
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Final, Protocol

from msgspec.structs import replace

from firebox.errors import HeldError, JournalError
from firebox.journal.lock import Lock
from firebox.journal.writer import Journal
from firebox.keeper import progress
from firebox.keeper.mind import mind
from firebox.keeper.progress import Finished
from firebox.lessons import LONGEST_PACE, Choice, Coaching, Tally
from firebox.ports import KeeperStatus, Kind, SourceHealth
from firebox.practice.coached import Coached
from firebox.practice.play import Mind
from firebox.practice.rounds import SCENARIOS
from firebox.records import Entry, Lit, Out, Reading, Record, Tick, Undo
from firebox.setup import Round, Setup

MOST: Final = 60.0
"""s of the fire in one call of `news`: a slow machine lets the fire lag, not the screen."""

FINE_PACE: Final = 5.0
FINE, COARSE = 2.0, 10.0
"""s between two readings up to that pace, and above it."""

HALF: Final = 0.5
"""Share of its length from which a round is written down."""

_IN: Final = (Reading, Entry, Setup, Tick)

Order = Callable[[], None]


class Twinned(Protocol):
    """Somebody who plays the same round by following the advice."""

    @property
    def problem(self) -> str: ...

    def tally(self, minutes: float) -> Tally | None: ...

    def close(self) -> None: ...


class PracticeLink:
    """A `firebox.ports.PracticeLink` on a round of its own.

    `news`, `status`, `leave` and `close` belong to one thread; everything else may be called from another.

    Parameters
    ----------
    choice : Choice
    start : datetime
        What the clock says when the round begins.
    folder : Path
        Where the journal and the list of rounds are.
    pace : float
        Seconds of the fire in a real second.
    held : bool
        Whether the fire waits until it is let burn.
    twin : Twinned
        On its way already; closed with the link.
    think : callable
        Makes a watch for the round.
    real : callable
        Real seconds on a clock that never jumps.
    wall : callable
        When a round was finished, for the list.

    Raises
    ------
    HeldError
        Another round is being played in that folder.
    """

    def __init__(
        self,
        choice: Choice,
        start: datetime,
        folder: Path,
        *,
        pace: float,
        held: bool = False,
        twin: Twinned,
        think: Callable[[], Mind] = mind,
        real: Callable[[], float] = time.monotonic,
        wall: Callable[[], datetime] = lambda: datetime.now(UTC),
    ) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self._path, self._list = folder / "rounds.sqlite", folder / "rounds.jsonl"
        try:
            self._lock = Lock.take(self._path)
        except HeldError as error:
            raise HeldError(f"a round is being practised elsewhere; leave it there first ({error})") from error
        self._choice, self._start, self._twin, self._think = choice, start, twin, think
        self._real, self._wall = real, wall
        self._orders: queue.SimpleQueue[Order] = queue.SimpleQueue()
        self._round: Coached | None = None
        self._journal: Journal | None = None
        self._pace, self._paused = min(LONGEST_PACE, max(1.0, pace)), held
        self._until, self._at = 0.0, real()
        self._over = self._kept = self._closed = False
        self._problem = ""
        self._answers: list[Record] = []
        scenario = SCENARIOS[choice.scenario]
        self._coaching = Coaching(
            title=scenario.title,
            brief=scenario.brief,
            goal=scenario.goal.words,
            lasts=60.0 * scenario.minutes,
            pace=self._pace,
            paused=held,
        )

    # --- what is asked from another thread -------------------------------------------------------

    @property
    def coaching(self) -> Coaching:
        """What the dashboard shows besides what it shows of any pit."""
        return self._coaching

    def set_pace(self, pace: float) -> None:
        """Let the fire burn so many seconds in a real second."""
        self._orders.put(lambda: self._change(pace=min(LONGEST_PACE, max(1.0, pace))))

    def pause(self, *, on: bool) -> None:
        """Hold the fire still, or let it burn on."""
        self._orders.put(lambda: self._change(paused=on))

    def answer(self, choice: int | None) -> None:
        """Answer the open question; None passes it over."""
        self._orders.put(lambda: self._coached.answer(choice))

    def ask(self, *, wanted: bool) -> None:
        """Ask questions from now on, or none."""
        self._orders.put(lambda: self._coached.ask(wanted=wanted))

    def finish(self) -> None:
        """End the round here and tell the score."""
        self._orders.put(self._end)

    # --- the link --------------------------------------------------------------------------------

    def news(self) -> Sequence[Record]:
        """Let the fire burn on and return what was read, done and answered since the last call."""
        if self._closed:
            return ()
        if self._round is None:
            return self._begin()
        while not self._orders.empty():
            self._orders.get_nowait()()
        records, self._answers = self._answers, []
        if not self._over:
            records += self._burn()
        self._show()
        return records

    def status(self) -> KeeperStatus:
        """Return how the round stands; it is there as long as this link is."""
        return KeeperStatus(
            alive=not self._closed,
            pit=f"Practice: {self._coaching.title}",
            kind=Kind.PRACTICE,
            rate=0.0 if self._stands else self._coaching.pace,
            sources={"practice fire": SourceHealth(connected=True)},
        )

    @property
    def _stands(self) -> bool:
        """Whether the fire is held still, and its clock with it."""
        quiz = self._coaching.quiz
        asked = quiz is not None and quiz.answer is None
        return self._round is None or self._over or self._paused or asked

    def leave(self, entry: Entry) -> None:
        """Let an entry happen to the fire; to end the cook ends the round.

        Raises
        ------
        JournalError
            It cannot be done; the message says why.
        """
        if self._round is None or self._over:
            raise JournalError("the round is over" if self._over else "the fire is not ready yet")
        if isinstance(entry, Undo) and not self._may_undo(entry):
            raise JournalError("what happened to the fire has happened; only notes and the like can be taken back")
        if isinstance(entry, Lit) and entry.at is None and self._round.is_just_lit:
            raise JournalError("it was lit just now; give the kindling some minutes")
        if isinstance(entry, Out):
            self._end()
            return
        self._write(records := self._round.act(entry))
        self._answers += records
        self._show()

    def close(self) -> None:
        """End the round and let go of everything; may be called twice."""
        if self._closed:
            return
        self._closed = True
        if self._over:
            self._keep()
        self._twin.close()
        if self._journal is not None and self._round is not None:
            if not self._over:
                self._journal.end_cook(self._round.play.time)
            self._journal.close()
        self._lock.close()

    # --- the round -------------------------------------------------------------------------------

    @property
    def _coached(self) -> Coached:
        assert self._round is not None, "orders are taken once the round has begun"
        return self._round

    def _begin(self) -> Sequence[Record]:
        self._round = Coached(self._choice, self._think(), self._start)
        records = self._round.begin()
        self._journal = Journal(self._path)
        scenario = SCENARIOS[self._choice.scenario]
        self._setup = replace(
            self._round.play.setup,
            round=Round(title=scenario.title, goal=scenario.goal.words, began=self._start, lasts=scenario.minutes),
        )
        self._journal.begin_cook(self._setup, Kind.PRACTICE)
        self._write(records[1:])
        self._at = self._real()
        self._show()
        return records

    def _change(self, *, pace: float | None = None, paused: bool | None = None) -> None:
        self._pace = self._pace if pace is None else pace
        self._paused = self._paused if paused is None else paused

    def _burn(self) -> list[Record]:
        coached, now = self._coached, self._real()
        passed, self._at = max(0.0, now - self._at), now
        quiz = coached.said.quiz
        if self._paused or (quiz is not None and quiz.answer is None):
            self._until = coached.play.seconds
            return []
        self._until = min(self._until + passed * self._pace, coached.play.seconds + MOST)
        records = coached.run(self._until, every=FINE if self._pace <= FINE_PACE else COARSE)
        self._write(records)
        if coached.is_over:
            self._end()
        return records

    def _write(self, records: Sequence[Record]) -> None:
        """Put records into the journal; a disk that refuses is told on the screen, and the fire burns on."""
        if self._journal is None:
            return
        answers: list[Record] = []
        for record in records:
            if isinstance(record, _IN):
                self._journal.tell(answers)
                answers = []
                self._journal.take(record)
            else:
                answers.append(record)
        self._journal.tell(answers)
        self._journal.flush()
        self._problem = self._journal.problem or ""

    def _end(self) -> None:
        """End the round, and let its cook in the journal end with what it came to."""
        if self._over:
            return
        self._over = True
        play = self._coached.play
        mine = play.ledger.tally(play.seconds)
        reached = play.scenario.goal.reached(mine, play.scenario.minutes)
        assert self._journal is not None
        assert self._setup.round is not None
        came = replace(self._setup.round, played=mine.minutes, inside=mine.in_band, reached=reached)
        self._write([replace(self._setup, time=play.time, round=came)])
        self._journal.end_cook(play.time)
        self._journal.flush()

    def _keep(self) -> None:
        """Write the round down once, with the twin's tally where it is known by now."""
        verdict = self._coaching.verdict
        if self._kept or verdict is None or verdict.mine.minutes < HALF * self._coaching.lasts / 60.0:
            return
        self._kept = True
        finished = Finished(
            time=self._wall(), choice=self._choice, reached=verdict.reached, mine=verdict.mine, twin=verdict.twin
        )
        self._problem = progress.keep(self._list, finished) or self._problem

    def _show(self) -> None:
        coached = self._coached
        twin = self._twin.tally(coached.play.seconds / 60.0) if self._over else None
        whole = self._twin.tally(coached.lasts / 60.0) if self._over else None
        shown = coached.coaching(twin, twin_whole=whole, over=self._over, twin_problem=self._twin.problem)
        self._coaching = replace(shown, pace=self._pace, paused=self._paused, problem=self._problem)
        if self._over and (twin is not None or self._twin.problem):
            self._keep()

    def _may_undo(self, undo: Undo) -> bool:
        return undo.of not in self._coached.done_at_the_pit
