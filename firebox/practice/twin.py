"""The twin of a round: the same fire, weather and mishaps, kept by somebody who does what the watch advises.

The twin walks to the pit for as long as a person does, and puts right there what anybody sees: a door that stands ajar,
a grate full of ash. All else, and above all whether to light the fire again, is left to the advice and to what an alarm
says to do first: the twin gets what a person gets who presses what he is told.
"""

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Final

from firebox.lessons import Choice, Coals
from firebox.practice.play import Mind, Play
from firebox.practice.rounds import SCENARIOS
from firebox.practice.score import Ledger
from firebox.practice.sight import see
from firebox.records import Damper, DamperName, Door, DoorName, Lit, Move, Rake, Record, Split

START: Final = datetime(2026, 1, 10, 12, 0, tzinfo=UTC)
"""Nothing depends on the date."""

LOOK: Final = 10.0
"""s between two looks."""

TICK: Final = 30.0
"""s between two questions to the watch."""

WALK: Final = 60.0
"""s from the decision to the pit."""

SOON: Final = 0.5
"""Minutes before wood is due at which the twin sets out."""

CARRIED: Final = 3.0
"""Minutes before wood is due at which it is laid all the same, once the pit is reached."""


def follow(choice: Choice, mind: Callable[[], Mind]) -> Ledger:
    """Play a whole round as the twin and return its ledger.

    Takes some seconds of computing for each hour of the fire.
    """
    return _Twin(choice, mind()).keep(60.0 * SCENARIOS[choice.scenario].minutes)


class _Twin:
    def __init__(self, choice: Choice, mind: Mind) -> None:
        self.play = Play(choice, mind, START, tick=TICK)
        self.move: Move | None = None
        self.sets_out: float | None = None

    def keep(self, lasts: float) -> Ledger:
        self._heed(self.play.begin())
        while self.play.seconds < lasts:
            self._heed(self.play.run(self.play.seconds + LOOK, every=LOOK))
            self._look()
        return self.play.ledger

    def _heed(self, records: list[Record]) -> None:
        for record in records:
            if isinstance(record, Move):
                self.move = record

    def _look(self) -> None:
        now = self.play.seconds
        if self.sets_out is None:
            if self._sees() or _asks(self.move, SOON):
                self.sets_out = now
        elif now - self.sets_out >= WALK:
            self.sets_out = None
            self._at_the_pit()

    def _sees(self) -> bool:
        sight = see(self.play.fire)
        return sight.ajar or sight.ash

    def _at_the_pit(self) -> None:
        play, sight = self.play, see(self.play.fire)
        time = play.time
        if sight.ajar:
            self._heed(play.act(Door(time=time, door=DoorName.COOK, open=False)))
        if sight.ash:
            self._heed(play.act(Rake(time=time)))
        self._follow(self.move, time)

    def _follow(self, move: Move | None, time: datetime) -> None:
        if move is None or not _asks(move, CARRIED):
            return
        play = self.play
        if _lights(move, see(play.fire).coals):
            self._heed(play.act(Lit(time=time)))
            return
        for name, opening in ((DamperName.INTAKE, move.intake), (DamperName.STACK, move.stack)):
            if opening is not None:
                self._heed(play.act(Damper(time=time, damper=name, open=opening)))
        if move.split is not None and move.split.in_minutes <= CARRIED:
            self._heed(play.act(Split(time=time, kg=round(move.split.kg, 2), moisture=play.moisture)))


def _lights(move: Move, coals: Coals) -> bool:
    """Tell whether a move asks for kindling; beside a split only where no coals glow."""
    return move.light and (move.split is None or coals is Coals.DEAD)


def _asks(move: Move | None, soon: float) -> bool:
    """Tell whether a move asks for something to be done within so many minutes."""
    if move is None:
        return False
    wood = move.split is not None and move.split.in_minutes <= soon
    air = not move.hold and (move.intake is not None or move.stack is not None)
    return wood or air or move.light
