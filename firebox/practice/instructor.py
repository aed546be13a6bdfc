"""The instructor of a practice round: says what a deed did and when it shows, asks before the hump, names mistakes kindly.

The state is a value; `acted` and `look` return the next one. What is said stands in `lessons`, the newest last.
"""

from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from firebox.lessons import Coals, Figure, Flame, Lesson, LessonKind, Measure, Quiz, Smoke
from firebox.practice import mistakes
from firebox.practice.mistakes import FORGIVEN, Facts
from firebox.records import Entry, Split

ASK_AFTER: Final = 40.0
"""s after a split at which the question comes: the door is shut again and nothing shows yet."""

ASK_EVERY: Final = 20.0 * 60.0
"""s between two questions at least."""

AHEAD: Final = 15.0
"""Minutes that the question looks ahead."""

EDGES: Final = (-6.0, 4.0, 14.0)
"""K from where the pit is: about what parts a fall, a standstill, a hump and a high one."""

TEASER: Final = "{0} laid. What will come of it?"
"""Said of a split before the question about it."""

PRAISE_AFTER: Final = 30.0 * 60.0
"""s inside the band with clean smoke that deserve a word."""

LESSONS: Final = 40
"""Kept; a round has fewer as a rule."""


class Instruction(Struct, frozen=True, kw_only=True):
    """What the instructor knows and has said.

    Attributes
    ----------
    asks : bool
        Whether questions are wanted.
    quiz : Quiz or None
        Asked, and not yet told.
    asked_at : float
        When the last question was asked. [s]
    ask_at : float or None
        When one is due.
    named : dict of str to float
        Topic of a mistake -> when it was last named.
    counts : dict of str to int
        Topic -> how often it was made.
    right, answered : int
    well_since : float or None
        Since when the pit has been in its band with clean smoke.
    held : Lesson or None
        What a split does, kept back until the question about it is answered.
    """

    asks: bool = True
    lessons: tuple[Lesson, ...] = ()
    quiz: Quiz | None = None
    asked_at: float = -1e9
    ask_at: float | None = None
    named: dict[str, float] = {}
    counts: dict[str, int] = {}
    right: int = 0
    answered: int = 0
    well_since: float | None = None
    held: Lesson | None = None


def acted(state: Instruction, facts: Facts, entry: Entry, effect: Lesson | None) -> Instruction:
    """Return the state after a deed; `facts` stood before it, `effect` says what it does to the fire."""
    state = _dropped(state, facts)
    burns = facts.sight.flame is not Flame.NONE or facts.sight.coals is not Coals.DEAD
    asks = (
        isinstance(entry, Split)
        and state.asks
        and burns
        and state.quiz is None
        and facts.seconds - state.asked_at >= ASK_EVERY
    )
    if effect is not None:
        state = _say(state, _laid(effect)) if asks else _say(state, effect)
    for mistake in mistakes.after(facts, entry)[:1]:
        state = _name(state, facts, mistake)
    if asks:
        state = replace(state, ask_at=facts.seconds + ASK_AFTER, held=effect)
    return state


def _dropped(state: Instruction, facts: Facts) -> Instruction:
    """Return the state without the question whose answer a deed has changed: it asked what comes of leaving it alone."""
    quiz = state.quiz
    if quiz is None or quiz.answer is None:
        return state
    text = "The question of {0} is dropped: it asked what comes of leaving it alone."
    figures = (Figure(Measure.CLOCK, quiz.seconds),)
    lesson = Lesson(seconds=facts.seconds, kind=LessonKind.ANSWER, topic="question", text=text, figures=figures)
    return _say(replace(state, quiz=None), lesson)


def look(state: Instruction, facts: Facts) -> Instruction:
    """Return the state after a look at the fire, every ten seconds."""
    for mistake in mistakes.standing(facts)[:1]:
        state = _name(state, facts, mistake)
    state = _praise(state, facts)
    if state.quiz is not None and facts.seconds >= state.quiz.due:
        return _tell(state, state.quiz, facts)
    if state.ask_at is not None and facts.seconds >= state.ask_at:
        if max(facts.cook_open_for, facts.fire_open_for) > 0.0:  # nothing is left alone with a door open
            return _release(replace(state, ask_at=None))
        return _ask(state, facts)
    return state


def happened(state: Instruction, seconds: float, topic: str, text: str) -> Instruction:
    """Return the state after the instructor said what befell."""
    return _say(state, Lesson(seconds=seconds, kind=LessonKind.HAPPENED, topic=topic, text=text))


def answer(state: Instruction, choice: int | None) -> Instruction:
    """Return the state after a question was answered, or passed over (None)."""
    if state.quiz is None or state.quiz.answer is not None:
        return state
    if choice is None:
        return _release(replace(state, quiz=None))
    if not 0 <= choice <= len(state.quiz.edges):
        return state
    return _release(replace(state, quiz=replace(state.quiz, answer=choice)))


def waiting(state: Instruction) -> bool:
    """Tell whether a question waits for its answer."""
    return state.quiz is not None and state.quiz.answer is None


def with_questions(state: Instruction, *, asks: bool) -> Instruction:
    """Return the state with questions wanted, or not."""
    if asks:
        return replace(state, asks=True)
    return _release(replace(state, asks=False, ask_at=None, quiz=None if waiting(state) else state.quiz))


def _laid(effect: Lesson) -> Lesson:
    """Return what is said of a split before the question about it."""
    return replace(effect, text=TEASER, figures=effect.figures[:1])


def _release(state: Instruction) -> Instruction:
    """Return the state after saying what was kept back."""
    if state.held is None:
        return state
    rest = tuple(one for one in state.lessons if one.text != TEASER or one.seconds != state.held.seconds)
    return _say(replace(state, held=None, lessons=rest), state.held)


def _say(state: Instruction, lesson: Lesson) -> Instruction:
    return replace(state, lessons=(*state.lessons[-LESSONS + 1 :], lesson))


def _name(state: Instruction, facts: Facts, mistake: mistakes.Mistake) -> Instruction:
    topic, now = mistake.topic, facts.seconds
    if now - state.named.get(topic, -1e9) < FORGIVEN:
        return state
    state = replace(
        state,
        named={**state.named, topic: now},
        counts={**state.counts, topic: state.counts.get(topic, 0) + 1},
        well_since=None,
    )
    return _say(state, Lesson(seconds=now, kind=LessonKind.MISTAKE, topic=topic, text=mistake.text))


def _praise(state: Instruction, facts: Facts) -> Instruction:
    well = abs(facts.off) <= facts.band and facts.sight.smoke in {Smoke.CLEAR, Smoke.THIN}
    if not well:
        smoky = facts.sight.smoke is Smoke.THICK and abs(facts.off) <= facts.band  # a fresh split may
        return state if smoky else replace(state, well_since=None)
    if state.well_since is None:
        return replace(state, well_since=facts.seconds)
    if facts.seconds - state.well_since < PRAISE_AFTER:
        return state
    text = "Half an hour inside the band with clean smoke. That is the rhythm: remember what it felt like."
    said = _say(state, Lesson(seconds=facts.seconds, kind=LessonKind.PRAISE, topic="well kept", text=text))
    return replace(said, well_since=facts.seconds)


def _ask(state: Instruction, facts: Facts) -> Instruction:
    here = facts.celsius
    quiz = Quiz(
        seconds=facts.seconds,
        minutes=AHEAD,
        celsius=round(here, 1),
        edges=tuple(round(here + e, 1) for e in EDGES),
        expected=facts.expected,
    )
    return replace(state, ask_at=None, asked_at=facts.seconds, quiz=quiz)


_WHY: Final = {
    0: "Nothing lay there that could carry it: coals alone lose against the steel's losses.",
    1: "What burns and what the steel loses were about even.",
    2: "That is the usual hump: the piece has dried, and its gas burns in open flame.",
    3: "A high hump: much surface, much air or two pieces together let the wood's gas come all at once.",
}


def _tell(state: Instruction, quiz: Quiz, facts: Facts) -> Instruction:
    """Tell how the question came out."""
    state = replace(state, quiz=None)
    if quiz.answer is None:
        return state
    right = quiz.right(facts.celsius)
    figures: tuple[Figure, ...] = (Figure(Measure.CELSIUS, facts.celsius), Figure(Measure.CLOCK, quiz.seconds))
    if quiz.answer == right:
        head = "At {1} you were asked: it is {0} now, and you saw it coming. "
    elif quiz.answer < right:
        head = "At {1} you were asked: it is {0} now, more than you thought. "
    else:
        head = "At {1} you were asked: it is {0} now, less than you thought. "
    if quiz.expected is not None:
        head += "The watch expected {2}. "
        figures = (*figures, Figure(Measure.CELSIUS, quiz.expected))
    lesson = Lesson(
        seconds=facts.seconds, kind=LessonKind.ANSWER, topic="question", text=head + _WHY[right], figures=figures
    )
    state = replace(state, answered=state.answered + 1, right=state.right + (quiz.answer == right))
    return _say(state, lesson)
