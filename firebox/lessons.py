"""What a practice round tells whoever plays it: what is to be seen, lessons, questions, the score.

The practice fire makes these values, the dashboard shows them. Texts hold no figures: those stand beside them, so that the
dashboard can say them in the cook's own units and clock.
"""

from datetime import datetime
from enum import StrEnum
from typing import Final

from msgspec import Struct

# --- what can be chosen --------------------------------------------------------------------------


class Choice(Struct, frozen=True, kw_only=True):
    """A round as chosen; the same choice and seed give the same fire, weather and happenings."""

    scenario: str
    pit: str
    weather: str
    wood: str
    seed: int


class Option(Struct, frozen=True, kw_only=True):
    """One of the pits, weathers or woods: its name, and what it is in a few words."""

    name: str
    words: str


class Offer(Struct, frozen=True, kw_only=True):
    """One scenario on the opening screen, with the pit, weather and wood it was made for."""

    name: str
    title: str
    brief: str
    goal: str
    minutes: int
    pit: str
    weather: str
    wood: str


class Menu(Struct, frozen=True, kw_only=True):
    """All that can be chosen."""

    offers: tuple[Offer, ...]
    pits: tuple[Option, ...]
    weathers: tuple[Option, ...]
    woods: tuple[Option, ...]


# --- what is to be seen --------------------------------------------------------------------------


class Flame(StrEnum):
    """The flames, seen through the firebox door."""

    NONE = "none"
    LOW = "low"
    STEADY = "steady"
    HIGH = "high"


class Smoke(StrEnum):
    """The smoke at the stack, from the best to the worst."""

    CLEAR = "clear"
    THIN = "thin"
    THICK = "thick"
    DIRTY = "dirty"


class Coals(StrEnum):
    """The bed of coals."""

    DEAD = "dead"
    DULL = "dull"
    GLOWING = "glowing"
    BRIGHT = "bright"


class Sight(Struct, frozen=True, kw_only=True):
    """The fire as somebody sees it who stands before it."""

    flame: Flame = Flame.NONE
    smoke: Smoke = Smoke.CLEAR
    coals: Coals = Coals.DEAD
    ash: bool = False
    """Ash lies so high that it chokes the grate."""
    ajar: bool = False
    """Smoke curls out at a cook door that does not quite close."""
    grease: bool = False
    """Grease burns in the chamber."""
    wind: float = 0.0
    """[m/s]"""
    rain: bool = False


# --- lessons -------------------------------------------------------------------------------------


class LessonKind(StrEnum):
    """What a lesson is about."""

    EFFECT = "effect"
    ANSWER = "answer"
    MISTAKE = "mistake"
    PRAISE = "praise"
    HAPPENED = "happened"


class Measure(StrEnum):
    """What a figure beside a text is."""

    CELSIUS = "celsius"
    """A temperature."""
    KELVIN = "kelvin"
    """A difference, told without its sign."""
    CLOCK = "clock"
    """Seconds of the round, told as the time of day."""
    KG = "kg"


class Figure(Struct, frozen=True):
    """One figure that goes into a text."""

    measure: Measure
    value: float


class Lesson(Struct, frozen=True, kw_only=True):
    """Something the instructor says: `text` with `{0}`, `{1}` ... where its figures belong."""

    seconds: float
    kind: LessonKind
    topic: str
    text: str
    figures: tuple[Figure, ...] = ()


class Quiz(Struct, frozen=True, kw_only=True):
    """Where will the pit be in some minutes? One more answer than there are edges, from cold to hot."""

    seconds: float
    minutes: float
    celsius: float
    """Where it is now."""
    edges: tuple[float, ...]
    expected: float | None = None
    """What the watch expected when it was asked; None: it did not say. [degC]"""
    answer: int | None = None

    @property
    def due(self) -> float:
        """When it will be seen. [s]"""
        return self.seconds + 60.0 * self.minutes

    def right(self, celsius: float) -> int:
        """Return which answer a temperature belongs to.

        Examples
        --------
        >>> Quiz(seconds=0.0, minutes=15.0, celsius=120.0, edges=(115.0, 125.0)).right(121.0)
        1
        """
        return sum(celsius >= edge for edge in self.edges)


# --- score ---------------------------------------------------------------------------------------


class Tally(Struct, frozen=True, kw_only=True):
    """How a fire was kept, so far."""

    minutes: float = 0.0
    in_band: float = 0.0
    """Minutes inside the band."""
    over: float = 0.0
    under: float = 0.0
    """The worst excursions over and under the target, once it had been reached. [K]"""
    wood_kg: float = 0.0
    smoulder: float = 0.0
    """Minutes of dirty smoke."""
    trips: int = 0
    """Walks to the pit; what was done within a minute and a half is one."""
    alarms: int = 0
    steady_at: float | None = None
    """Minutes until it had held the band for a quarter of an hour; None: never."""

    @property
    def share(self) -> float:
        """Share of the time inside the band."""
        return self.in_band / self.minutes if self.minutes > 0.0 else 0.0


class Verdict(Struct, frozen=True, kw_only=True):
    """What came of a round."""

    reached: bool
    mine: Tally
    twin: Tally | None = None
    """Of whoever followed the advice on the same fire; None: not known yet."""
    twin_reached: bool | None = None
    twin_problem: str = ""
    remarks: tuple[str, ...] = ()
    """What went well, and what to try next."""
    guesses: tuple[int, int] = (0, 0)
    """Questions answered rightly, and answered at all."""
    mistakes: tuple[str, ...] = ()


class Progress(Struct, frozen=True, kw_only=True):
    """What rounds of one scenario came to so far."""

    rounds: int = 0
    reached: int = 0
    best: float | None = None
    """Largest share of the time in the band."""
    last: float | None = None


LONGEST_PACE: Final = 120.0
PACES: Final = (1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 60.0, 120.0)
"""Seconds of the fire in a real second, as a key steps through them."""


class Coaching(Struct, frozen=True, kw_only=True):
    """All that the dashboard shows of a round besides what it shows of any pit."""

    title: str
    brief: str
    goal: str
    begun: datetime | None = None
    """What the clock said at second 0."""
    seconds: float = 0.0
    """Of the round, not of the records."""
    lasts: float = 0.0
    sight: Sight = Sight()
    lessons: tuple[Lesson, ...] = ()
    quiz: Quiz | None = None
    """A question that waits for its answer, or for the time to tell."""
    tally: Tally = Tally()
    pace: float = 1.0
    paused: bool = False
    verdict: Verdict | None = None
    problem: str = ""

    @property
    def over(self) -> bool:
        """Whether the round has come to its end."""
        return self.verdict is not None
