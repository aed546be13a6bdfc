"""What is told of the pit: where it is going, the next move, the fire, and what is asked of the cook."""

from enum import StrEnum

from msgspec import Struct

from firebox.records.entries import Damper, Door, Split
from firebox.records.record import Name, Record


class Outlook(Record, frozen=True, kw_only=True, tag="outlook"):
    """Where a probe is going: 10, 50 and 90 % points in degC at `minutes` from now, under `assumes`."""

    probe: str
    celsius: float | None
    drift_per_hour: float | None
    minutes: tuple[int, ...]
    p10: tuple[float, ...]
    p50: tuple[float, ...]
    p90: tuple[float, ...]
    assumes: str


class NextSplit(Struct, frozen=True, kw_only=True):
    """The next wood due."""

    in_minutes: float
    kg: float


class Expected(Struct, frozen=True, kw_only=True):
    """What a move is expected to bring: the median at `minutes`."""

    minutes: int
    celsius: float


class Move(Record, frozen=True, kw_only=True, tag="move"):
    """The next move; `split` None: none due in sight; `hold`: touch nothing now; a damper None: leave it.

    `light`: kindling is to be lit; beside a split only where no coals glow that would light it.
    """

    split: NextSplit | None
    intake: float | None
    stack: float | None
    hold: bool
    expected: Expected | None
    reason: str
    light: bool = False


class Phase(StrEnum):
    """What the fire is doing."""

    UNLIT = "unlit"
    STARTING = "starting"
    RISING = "rising"
    STEADY = "steady"
    FALLING = "falling"
    DYING = "dying"
    OUT = "out"
    UNKNOWN = "unknown"


class Stage(StrEnum):
    """How far a split has burned."""

    DRYING = "drying"
    FLAMING = "flaming"
    COALS = "coals"


class Burning(Struct, frozen=True, kw_only=True):
    """A split in the fire: how many minutes ago it went in, what it weighed, its stage, and its part of the heat."""

    minutes: float
    kg: float
    stage: Stage
    watts: float


class Fire(Record, frozen=True, kw_only=True, tag="fire"):
    """The fire as estimated; None where the program does not know."""

    phase: Phase
    heat_watts: float | None = None
    wood_left_kg: float | None = None
    coal_kg: float | None = None
    smoulder_risk: float | None = None
    need_watts: float | None = None
    """Heat that would hold the target."""
    splits: tuple[Burning, ...] = ()


class Question(Record, frozen=True, kw_only=True, tag="question"):
    """Something the readings speak for and nobody logged; open until it is answered, or no answer matters any more.

    `suggests` is the entry that a yes stands for; its `at` is when it would have happened.
    """

    question: Name
    text: str
    open: bool
    suggests: Split | Damper | Door
