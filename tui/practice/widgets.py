"""The panels that a practice round adds to the dashboard."""

from typing import Final

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content

from firebox.lessons import Coaching, LessonKind, Sight
from tui.glance import Glance
from tui.practice.coach_words import (
    HEADS,
    LEVEL_WORDS,
    Level,
    choices,
    hinted,
    lesson_words,
    question,
    score,
    standing,
)
from tui.practice.fire_seen import picture, words
from tui.practice.keys import bar
from tui.widgets.words import Words

STYLES = {
    "steel": "$quiet",
    "smoke": "$secondary",
    "dirty": "bold $error",
    "flame": "bold $flames",
    "coals": "$coals",
    "alert": "bold $error",
}


OLD_SECONDS: Final = 1500.0
"""s of the round after which the newest lesson is old, and the goal is shown again."""


PAUSED: Final = " PAUSED "
READY: Final = " READY: space begins "
LAYING: Final = "The fire is being laid; a moment."


class FireSeen(Words):
    """The fire as it looks: a small picture, and words."""

    def show(self, glance: Glance, coaching: Coaching) -> None:
        parts: list[str | tuple[str, str]] = []
        rows = self.content_size.height or 7
        said = words(coaching.sight)
        drawn = picture(coaching.sight, glance.drawing) if rows >= len(said[:3]) + 4 else ()
        for runs in drawn:
            parts += [(text, STYLES[part]) for text, part in runs]
            parts.append("\n")
        left = rows - len(drawn)
        shown = said if left >= len(said) else self._paired(said, left)
        for number, (text, part) in enumerate(shown):
            parts.append((text, STYLES[part]))
            if number < len(shown) - 1:
                parts.append("\n")
        self.say(Content.assemble(*parts))

    @staticmethod
    def _paired(said: tuple[tuple[str, str], ...], rows: int) -> tuple[tuple[str, str], ...]:
        """Return the most urgent words where there is no room for all."""
        urgent = [one for one in said if one[1] in {"alert", "dirty"}]
        rest = [one for one in said if one not in urgent]
        kept = [*urgent, *rest][: max(1, rows)]
        return tuple(one for one in said if one in kept)


class Hinted(Words):
    """What stands where the advice would, while it is hidden or only hinted."""

    def show(self, glance: Glance, level: Level, sight: Sight) -> None:
        said = hinted(glance, sight) if level is Level.HINTED else "Your turn. What does the fire need, and when?"
        parts: list[str | tuple[str, str]] = [("YOU   ", "$quiet"), (f"{said}\n", "bold $accent")]
        parts.append((f"\n{LEVEL_WORDS[level]}", "$quiet"))
        self.say(Content.assemble(*parts))


class Coach(Words):
    """How the round stands, and the instructor: the open question, else the newest thing said."""

    def show(self, glance: Glance, coaching: Coaching) -> None:
        parts: list[str | tuple[str, str]] = []
        quiz = coaching.quiz
        if coaching.paused:
            parts += [(PAUSED if coaching.seconds > 0.0 else READY, "bold reverse"), " "]
        stands = LAYING if coaching.begun is None else standing(coaching, glance)
        parts.append((stands + "\n", "$quiet"))
        if quiz is not None and quiz.answer is None:
            parts.append((f"{question(quiz, glance)} The fire waits.\n", "bold $accent"))
            for number, choice in enumerate(choices(quiz, glance), 1):
                parts += [(f"{number} ", "bold $accent"), f"{choice}   "]
            parts += [("0 ", "bold $accent"), "pass"]
            self.say(Content.assemble(*parts))
            return
        if not coaching.lessons or coaching.seconds - coaching.lessons[-1].seconds > OLD_SECONDS:
            parts += [
                (f"{coaching.title.upper()}  ", "bold $accent"),
                coaching.brief,
                (f" Goal: {coaching.goal}.", "bold"),
            ]
        else:
            parts += self._newest(glance, coaching)
        if coaching.problem:
            parts.append((f"\n{coaching.problem}", "bold $error"))
        self.say(Content.assemble(*parts))

    @staticmethod
    def _newest(glance: Glance, coaching: Coaching) -> list[str | tuple[str, str]]:
        """Return the newest lesson; two of the same moment, or of a tall screen, one under the other."""
        newest = coaching.lessons[-1]
        together = [one for one in coaching.lessons[-3:] if newest.seconds - one.seconds < 1.0]
        parts: list[str | tuple[str, str]] = []
        for number, lesson in enumerate(reversed(together)):
            style = "bold $warning" if lesson.kind is LessonKind.MISTAKE else "bold $accent"
            parts += ["\n" if number else "", (f"{HEADS[lesson.kind]}  ", style)]
            parts.append(lesson_words(lesson, glance, coaching.begun))
        return parts


class PracticeBar(Words):
    """The keys of a practice round."""

    def show(self, page: str, *, is_over: bool) -> None:
        rows = []
        for row in bar(page, self.content_size.width or 76, is_over=is_over):
            keys = (
                Content.from_markup(f"[@click=app.{key.action}][b $accent]{key.shown}[/] {key.label}[/]")
                for key in row
            )
            rows.append(Content("  ").join(keys))
        self.say(Content("\n").join(rows))


class ScorePage(VerticalScroll):
    """What came of the round, beside what following the advice would have done."""

    def compose(self) -> ComposeResult:
        yield Words(id="score-lines")

    def show(self, glance: Glance, coaching: Coaching) -> None:
        if coaching.verdict is None:
            return
        width = max(40, (self.size.width or 78) - 3)
        parts: list[str | tuple[str, str]] = []
        for runs in score(coaching, coaching.verdict, glance, width):
            parts += [text if not style else (text, style) for text, style in runs]
            parts.append("\n")
        self.query_one("#score-lines", Words).say(Content.assemble(*parts))
