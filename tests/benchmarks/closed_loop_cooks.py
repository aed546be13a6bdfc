"""Cooks for the closed loop: by the clock, by the thermometer, by skill, and by the advice, awake or asleep."""

from collections.abc import Callable
from typing import Final

import numpy as np

from firebox.records import Move
from tests.benchmarks.closed_loop_night import BAND, BED, LATE, PROMPT, TARGET, Cook, Night, Wish

MARK: Final = 1.0 / 8.0
CLEAN: Final = 0.25
"""Below this opening a fire smoulders; a skilled hand goes there only to stop one that runs away."""


class Clockwork:
    """A usual split every 45 min."""

    delay, clumsy, watched = LATE, True, False

    def wish(self, night: Night) -> Wish | None:
        return Wish(kg=night.usual) if night.since_split >= 45.0 * 60.0 else None

    def arrive(self, night: Night, wish: Wish) -> Wish:
        return wish


class Reactive:
    """A usual split whenever the thermometer is 8 K under."""

    delay, clumsy, watched = LATE, True, False

    def wish(self, night: Night) -> Wish | None:
        due = night.felt < TARGET - BAND and night.since_split >= 12.0 * 60.0
        return Wish(kg=night.usual) if due else None

    def arrive(self, night: Night, wish: Wish) -> Wish:
        return wish


class Skilled:
    """Holds the coals, splits as the hump's fall nears the target, trims the intake; sees the wood in the fire.

    `late` hands are those of the other cooks; else he answers within 90 s and knows his wood and his marks.
    """

    watched = False

    def __init__(self, *, late: bool) -> None:
        self.delay = LATE if late else PROMPT
        self.clumsy = late
        self._trim = 0.0
        self._cycle: list[float] = []

    def wish(self, night: Night) -> Wish | None:
        self._cycle.append(night.felt - TARGET)
        kg, intake = self._split(night), self._air(night)
        return None if kg is None and intake is None else Wish(kg=kg, intake=intake)

    def arrive(self, night: Night, wish: Wish) -> Wish:
        if wish.kg is not None:
            if len(self._cycle) > 60:
                self._trim = float(np.clip(self._trim + 0.35 * np.mean(self._cycle), -4.0, 25.0))
            self._cycle = []
        return wish

    def _split(self, night: Night) -> float | None:
        coming = night.felt + 10.0 * min(0.0, night.slope()) + self._trim
        left = night.fire.wood_left()
        low = left < 0.75 * night.usual or coming < TARGET - 7.0
        if left > 2.6 * night.usual or not low or night.since_split <= 840.0 or coming >= TARGET - 1.0:
            return None
        return night.usual * float(np.clip(1.0 + 0.03 * (TARGET - coming) - 0.02 * self._trim, 0.5, 1.3))

    def _air(self, night: Night) -> float | None:
        now, short, slope = night.told_intake, TARGET - night.felt, night.slope()
        since = night.fire.seconds - night.intake_at
        if short < -22.0 and slope > -0.3 and now > 0.16 and since > 240.0:
            return max(MARK, now - 2.0 * MARK)
        if since < 900.0:
            return None
        if now < CLEAN - 0.01 and short > -12.0:
            return CLEAN
        if short < -8.0 and slope > -0.2 and now > CLEAN + 0.01:
            return max(CLEAN, now - MARK)
        if short > 7.0 and slope < 0.3 and now < 0.99 and night.since_split > 300.0:
            return min(1.0, now + MARK)
        return None


class Follower:
    """Does what the watch advises, unless it is let pass."""

    delay, clumsy, watched = LATE, True, True

    def __init__(self, seed: int) -> None:
        self._rng = np.random.Generator(np.random.Philox(key=seed + 70_000))
        self._deaf_until = 0.0

    def wish(self, night: Night) -> Wish | None:
        wanted = asked(night.move, soon=0.5)
        if wanted is None or night.seconds < self._deaf_until:
            return None
        if self._rng.random() < 0.1:
            self._deaf_until = night.seconds + 900.0
            return None
        return wanted

    def arrive(self, night: Night, wish: Wish) -> Wish:
        return asked(night.move, soon=3.0) or Wish()


class Sleeper(Follower):
    """A follower who sleeps from midnight to five, and gets up only when he is called.

    Called, he is on his feet after some minutes, sees to the pit for a quarter of an hour, and lies down again.
    """

    def __init__(self, seed: int) -> None:
        super().__init__(seed)
        self._up = (0.0, BED[0])

    def wish(self, night: Night) -> Wish | None:
        now = night.seconds
        if not night.asleep and BED[0] <= now < BED[1]:
            night.ringing.clear()
            night.go_to_bed()
            self._up = (0.0, now)
        if night.asleep and now >= BED[1]:
            night.get_up()
        if not night.asleep:
            return super().wish(night)
        if now >= self._up[1] and night.ringing:
            night.calls += 1
            night.answer_call()
            rise = float(self._rng.uniform(60.0, 240.0))
            self._up = (now + rise, now + rise + 900.0)
        return super().wish(night) if self._up[0] <= now < self._up[1] else None


def asked(move: Move | None, *, soon: float) -> Wish | None:
    """Return what a move asks for within so many minutes; None: nothing."""
    if move is None:
        return None
    kg = move.split.kg if move.split is not None and move.split.in_minutes <= soon else None
    if kg is None and move.intake is None:
        return None
    return Wish(kg=kg, intake=move.intake)


COOKS: Final[dict[str, Callable[[int], Cook]]] = {
    "clockwork": lambda _: Clockwork(),
    "reactive": lambda _: Reactive(),
    "skilled": lambda _: Skilled(late=True),
    "skilled, prompt": lambda _: Skilled(late=False),
    "follower": Follower,
    "sleeper": Sleeper,
}
