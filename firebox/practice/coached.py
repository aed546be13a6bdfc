"""A round with its instructor: what the dashboard plays."""

from datetime import datetime
from typing import Final

from firebox.lessons import Choice, Coaching, Smoke, Tally
from firebox.practice import effects, instructor
from firebox.practice.instructor import Instruction
from firebox.practice.mistakes import Facts
from firebox.practice.play import AT_THE_PIT, Mind, Play
from firebox.practice.score import EVERY
from firebox.practice.sight import see
from firebox.practice.verdict import verdict
from firebox.records import Damper, DamperName, Door, DoorName, Entry, Lit, Rake, Record, Split

WET: Final = 0.25
"""Moisture from which wood counts as not dry enough to burn well."""

SLOPE: Final = 300.0
"""s over which the pit's slope is taken."""

TELLS: Final = {
    "flare": (
        "grease",
        "Grease has caught fire in the chamber. Lid shut, dampers down, no wood. It burns itself out.",
    ),
    "burnt out": (
        "grease out",
        "The grease has burnt out. The steel is hot and the coals got no wood: now bring the pit back, with small wood.",
    ),
    "ajar": ("ajar", "Smoke curls out along the cook door: it does not quite close."),
}


class Coached:
    """One round and its instructor, from `begin` on.

    Parameters
    ----------
    choice : Choice
    mind : callable
        The watch.
    start : datetime
        What the clock says when the round begins.

    Attributes
    ----------
    done_at_the_pit : set of str
        Ids of the entries that happened to the fire: they cannot be taken back.
    """

    def __init__(self, choice: Choice, mind: Mind, start: datetime) -> None:
        self.play = Play(choice, mind, start)
        self.lasts = 60.0 * self.play.scenario.minutes
        self.said = Instruction()
        self._split: tuple[float, float] = (-1e9, 0.0)
        self._dampers: tuple[float, ...] = ()
        self._doors: dict[DoorName, float] = {}
        self._dirty_since: float | None = None
        self._raked_at = self._lit_at = -1e9
        self._felt: list[float] = []
        self._seen: set[str] = set()
        self._looked = 0.0
        self.done_at_the_pit: set[str] = {one.id for one in self.play.lead if isinstance(one, Entry) and one.id}

    @property
    def is_over(self) -> bool:
        """Whether the round has run its time."""
        return self.play.seconds >= self.lasts - 1e-6

    def begin(self) -> list[Record]:
        """Return what went before, and the watch's first answer."""
        return self.play.begin()

    def run(self, until: float, *, every: float = EVERY) -> list[Record]:
        """Let the fire burn up to a second of the round, or to a question that waits for its answer.

        Returns
        -------
        list of Record
            What was read and answered on the way.
        """
        records: list[Record] = []
        until = min(until, self.lasts)
        while self.play.seconds + every <= until + 1e-6 and not instructor.waiting(self.said):
            records += self.play.run(self.play.seconds + every, every=every)
            if self.play.seconds - self._looked >= EVERY - 1e-6:
                self._looked = self.play.seconds
                self._look()
        return records

    def act(self, entry: Entry) -> list[Record]:
        """Let an entry happen to the fire, and the instructor speak of it."""
        entry = self.play.done(entry)
        if entry.at is not None or not isinstance(entry, AT_THE_PIT):
            return self.play.act(entry)
        facts, before = self._facts(), self._stood(entry)
        lesson = None
        if isinstance(entry, Split | Damper | Lit | Rake | Door):
            found = effects.effect(self.play.fire, entry, split_kg=self.play.session.split_kg)
            lesson = effects.lesson(
                self.play.seconds,
                entry,
                found,
                celsius=self.play.celsius,
                before=before,
                marks=self.play.setup.damper_marks,
            )
        records = self.play.act(entry)
        self.done_at_the_pit |= {entry.id} if entry.id else set()
        self._note(entry)
        self.said = instructor.acted(self.said, facts, entry, lesson)
        return records

    @property
    def is_just_lit(self) -> bool:
        """Whether kindling went in a few minutes ago: one more press would only lay it twice."""
        return self.play.seconds - self._lit_at < JUST_LIT

    def answer(self, choice: int | None) -> None:
        """Take the answer to the open question; None passes it over."""
        self.said = instructor.answer(self.said, choice)

    def ask(self, *, wanted: bool) -> None:
        """Ask questions from now on, or none."""
        self.said = instructor.with_questions(self.said, asks=wanted)

    def coaching(
        self,
        twin: Tally | None = None,
        *,
        twin_whole: Tally | None = None,
        over: bool = False,
        twin_problem: str = "",
    ) -> Coaching:
        """Return what the dashboard is to show; of a round that is over with its verdict."""
        play = self.play
        tally = play.ledger.tally(play.seconds)
        return Coaching(
            title=play.scenario.title,
            brief=play.scenario.brief,
            goal=play.scenario.goal.words,
            begun=play.start,
            seconds=play.seconds,
            lasts=self.lasts,
            sight=see(play.fire),
            lessons=self.said.lessons,
            quiz=self.said.quiz,
            tally=tally,
            verdict=verdict(play.scenario, tally, twin, self.said, twin_whole=twin_whole, twin_problem=twin_problem)
            if over
            else None,
        )

    # --- what stands -----------------------------------------------------------------------------

    def _stood(self, entry: Entry) -> float | None:
        if not isinstance(entry, Damper):
            return None
        return self.play.fire.intake if entry.damper is DamperName.INTAKE else self.play.fire.stack

    def _note(self, entry: Entry) -> None:
        now = self.play.seconds
        match entry:
            case Split() | Lit():
                self._split = (now, entry.kg or 0.0)
                self._lit_at = now if isinstance(entry, Lit) else self._lit_at
            case Damper():
                self._dampers = (*self._dampers[-9:], now)
            case Rake():
                self._raked_at = now
            case Door():
                if entry.open:
                    self._doors.setdefault(entry.door, now)
                else:
                    self._doors.pop(entry.door, None)

    def _facts(self) -> Facts:
        play, now = self.play, self.play.seconds
        fire = play.fire

        def open_for(door: DoorName) -> float:
            return now - self._doors[door] if door in self._doors else 0.0

        looks = round(SLOPE / EVERY)
        slope = 0.0
        if len(self._felt) > looks:
            slope = (self._felt[-1] - self._felt[-1 - looks]) / (SLOPE / 60.0)
        return Facts(
            seconds=now,
            celsius=play.celsius,
            slope=slope,
            target=play.ledger.target,
            band=play.ledger.band,
            sight=see(fire),
            usual_kg=play.session.split_kg,
            wood_left=fire.wood_left(),
            split_at=self._split[0],
            split_kg=self._split[1],
            damper_at=self._dampers,
            intake=fire.intake,
            stack=fire.stack,
            cook_open_for=open_for(DoorName.COOK),
            fire_open_for=open_for(DoorName.FIREBOX),
            dirty_for=0.0 if self._dirty_since is None else now - self._dirty_since,
            raked_at=self._raked_at,
            expected=play.expected(instructor.AHEAD),
            wet=play.moisture >= WET,
        )

    def _look(self) -> None:
        self._felt = [*self._felt[-59:], self.play.celsius]
        sight, now = see(self.play.fire), self.play.seconds
        if sight.smoke is not Smoke.DIRTY:
            self._dirty_since = None
        elif self._dirty_since is None:
            self._dirty_since = now
        if sight.grease and "grease" not in self._seen:
            self._seen.add("grease")
            self.said = instructor.happened(self.said, now, *TELLS["flare"])
        if "grease" in self._seen and not sight.grease and "grease out" not in self._seen:
            self._seen.add("grease out")
            self.said = instructor.happened(self.said, now, *TELLS["burnt out"])
        if sight.ajar and "ajar" not in self._seen and now >= LATE_HINT:
            self._seen.add("ajar")
            self.said = instructor.happened(self.said, now, *TELLS["ajar"])
        self.said = instructor.look(self.said, self._facts())


JUST_LIT: Final = 5.0 * 60.0
"""s for which kindling that was lit is left to catch."""

LATE_HINT: Final = 20.0 * 60.0
"""s after which the instructor points at what nobody has seen."""
