"""What is told of the plan of a cook."""

from msgspec import Struct

from firebox.records.record import Fraction, Instant, Record


class PlanRow(Struct, frozen=True, kw_only=True):
    """One line of a timetable: its 10, 50 and 90 % points, all the same where the cook decides."""

    what: str
    early: Instant
    likely: Instant
    late: Instant
    probe: str | None = None
    cut: str | None = None
    note: str = ""
    done: bool = False

    @property
    def is_set(self) -> bool:
        """Whether the cook decides when it is, or it has been."""
        return self.early == self.late


class Shift(Struct, frozen=True, kw_only=True):
    """A watch of one person at the fire."""

    person: int
    begin: Instant
    end: Instant


class Timetable(Record, frozen=True, kw_only=True, tag="plan"):
    """The plan of the cook as it stands: made before the fire, made anew while the meat shows itself."""

    serve: Instant
    probability: Fraction
    """That every piece is ready, rested and still hot at its hour."""
    minutes_late: float
    """By how much the piece that is latest is likely to be late for the wanted sureness; below 0: time in hand."""
    verdict: str
    """How it stands with the hour, in plain words."""
    live: bool = False
    """Whether what was measured has gone into it."""
    rows: tuple[PlanRow, ...] = ()
    wood_kg: float
    """Wood still to be burnt, with margin."""
    splits: int
    split_kg: float
    minutes_between: float
    fire_hours: float
    """How long the fire is still needed."""
    watches: tuple[Shift, ...] = ()
    advice: tuple[str, ...] = ()
    """What to do if it comes early or late."""
