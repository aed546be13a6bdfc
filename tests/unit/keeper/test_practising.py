"""A practice round as a dashboard is handed it: its pace, its pauses, its own journal, its end."""

from collections.abc import Awaitable, Callable, Iterator, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from firebox.commands.cooks import lines
from firebox.errors import HeldError, JournalError
from firebox.journal import history
from firebox.journal.export import list_cooks
from firebox.journal.lookback import thinned
from firebox.journal.schema import open_reading
from firebox.keeper import progress
from firebox.keeper.practising import MOST, PracticeLink
from firebox.keeper.twinning import Twin
from firebox.lessons import Choice, Tally
from firebox.ports import Kind
from firebox.practice.rounds import choose
from firebox.records import Damper, DamperName, Lit, Note, Out, Reading, Record, Split, Tick, Undo
from firebox.review.sheet import sheet
from firebox.review.whole import review
from firebox.review.wording import Look
from firebox.setup import Setup

START = datetime(2026, 5, 1, 14, 0, tzinfo=UTC)
Until = Callable[[Callable[[], object], float], Awaitable[None]]
WALL = datetime(2026, 5, 3, 9, 0, tzinfo=UTC)


class PromptTwin:
    """A twin that is done whenever the test says so."""

    def __init__(self) -> None:
        self.problem = ""
        self.done = True
        self.closed = False

    def tally(self, minutes: float) -> Tally | None:
        return Tally(minutes=minutes, in_band=0.5 * minutes) if self.done else None

    def close(self) -> None:
        self.closed = True


class Thoughtless:
    """A watch that answers nothing but that it was asked."""

    def __call__(self, record: Record) -> Sequence[Record]:
        return (record,) if isinstance(record, Tick) else ()


class Round:
    """A link on a clock that the test moves."""

    def __init__(self, folder: Path, *, pace: float = 60.0, scenario: str = "flare") -> None:
        self.clock = 100.0
        self.twin = PromptTwin()
        self.folder = folder
        self.link = PracticeLink(
            choose(scenario, seed=2),
            START,
            folder,
            pace=pace,
            twin=self.twin,
            think=Thoughtless,
            real=lambda: self.clock,
            wall=lambda: WALL,
        )

    def passes(self, real: float, *, each: float = 0.2) -> list[object]:
        """Let real seconds pass, looking for news as a dashboard does; questions are passed over."""
        found: list[object] = []
        for _ in range(round(real / each)):
            self.clock += each
            found += self.link.news()
        return found

    @property
    def seconds(self) -> float:
        return self.link.coaching.seconds

    def to_the_end(self) -> None:
        for _ in range(200):
            self.clock += 1.0
            self.link.news()
            if self.link.coaching.over:
                return
        pytest.fail("the round did not end")


@pytest.fixture
def round_(tmp_path: Path) -> Iterator[Round]:
    round_ = Round(tmp_path / "practice")
    round_.link.news()
    yield round_
    round_.link.close()
    assert round_.twin.closed


def test_the_first_news_tell_what_went_before(tmp_path: Path) -> None:
    round_ = Round(tmp_path)
    records = round_.link.news()
    assert isinstance(records[0], Setup)
    assert any(isinstance(one, Split) for one in records)
    assert any(isinstance(one, Tick) for one in records)
    assert round_.seconds == 0.0
    round_.link.close()


def test_the_fire_burns_at_its_pace(round_: Round) -> None:
    records = round_.passes(2.0)
    assert round_.seconds == 120.0
    assert any(isinstance(one, Reading) for one in records)
    round_.link.set_pace(1.0)
    round_.passes(20.0)
    assert 135.0 <= round_.seconds <= 145.0
    round_.link.set_pace(1e6)
    round_.passes(1.0)
    assert round_.seconds <= 145.0 + 120.0


def test_a_slow_machine_lets_the_fire_lag_and_not_the_screen(round_: Round) -> None:
    round_.clock += 3600.0
    round_.link.news()
    assert round_.seconds <= MOST


def test_a_pause_holds_the_fire_and_what_passed_meanwhile_is_not_made_up_for(round_: Round) -> None:
    round_.passes(1.0)
    round_.link.pause(on=True)
    round_.passes(10.0)
    stood = round_.seconds
    assert round_.link.coaching.paused
    round_.passes(10.0)
    assert round_.seconds == stood
    round_.link.pause(on=False)
    round_.passes(1.0)
    assert round_.seconds <= stood + 70.0


def test_a_question_holds_the_fire_until_it_is_answered(round_: Round) -> None:
    round_.link.leave(Split(time=START, id="a", kg=1.0))
    round_.passes(10.0)
    stood = round_.seconds
    quiz = round_.link.coaching.quiz
    assert quiz is not None
    assert quiz.answer is None
    round_.link.answer(1)
    round_.passes(1.0)
    assert round_.seconds > stood
    round_.link.ask(wanted=False)
    round_.passes(0.2)


def test_what_is_left_happens_and_comes_back_with_the_news(round_: Round) -> None:
    round_.passes(1.0)
    round_.link.leave(Damper(time=START, id="d", damper=DamperName.INTAKE, open=0.25))
    news = round_.link.news()
    (damper,) = [one for one in news if isinstance(one, Damper)]
    assert (damper.id, damper.time) == ("d", START + timedelta(seconds=60.0))
    assert round_.link.coaching.lessons[-1].topic == "damper"


def test_what_happened_to_the_fire_cannot_be_taken_back_but_a_note_can(round_: Round) -> None:
    round_.link.leave(Split(time=START, id="s", kg=1.0))
    with pytest.raises(JournalError, match="what happened to the fire has happened"):
        round_.link.leave(Undo(time=START, of="s"))
    round_.link.leave(Note(time=START, id="n", text="gusts"))
    round_.link.leave(Undo(time=START, of="n"))


def test_the_round_has_a_journal_of_its_own_that_says_it_is_practice(round_: Round) -> None:
    round_.passes(2.0)
    round_.link.leave(Note(time=START, id="n", text="mine"))
    round_.link.close()
    assert sorted(path.name for path in round_.folder.iterdir() if path.suffix != ".lock") == ["rounds.sqlite"]
    connection = open_reading(round_.folder / "rounds.sqlite")
    (cook,) = history.cooks(connection)
    connection.close()
    assert cook.kind == Kind.PRACTICE
    assert cook.ended is not None


def test_the_end_of_the_cook_ends_the_round(round_: Round) -> None:
    round_.passes(2.0)
    round_.link.leave(Out(time=START))
    round_.passes(0.4)
    verdict = round_.link.coaching.verdict
    assert verdict is not None
    assert verdict.mine.minutes == 2.0
    assert verdict.twin is not None
    with pytest.raises(JournalError, match="the round is over"):
        round_.link.leave(Note(time=START, text="late"))
    assert progress.read(round_.folder / "rounds.jsonl") == ()


def test_a_round_that_was_played_to_its_end_is_written_down_once(round_: Round) -> None:
    round_.twin.done = False
    round_.to_the_end()
    assert progress.read(round_.folder / "rounds.jsonl") == ()
    round_.twin.done = True
    round_.passes(1.0)
    round_.link.close()
    (finished,) = progress.read(round_.folder / "rounds.jsonl")
    assert (finished.time, finished.choice.scenario) == (WALL, "flare")
    assert finished.twin is not None
    assert finished.mine.minutes == 60.0


def test_a_finished_round_is_over_in_the_journal_before_its_score_is_left(round_: Round) -> None:
    round_.to_the_end()
    path = round_.folder / "rounds.sqlite"
    (cook,) = list_cooks(path)
    assert cook.ended == START + timedelta(minutes=60.0)
    (line,) = lines(path, [cook], UTC)
    assert "2026-05-01T14:00:00+00:00  2026-05-01T15:00:00+00:00  Flare: missed, " in line
    assert "of 60 min in the band" in line


def test_the_review_of_a_round_begins_where_the_player_took_over(round_: Round) -> None:
    round_.link.ask(wanted=False)
    round_.passes(1.0)
    round_.link.leave(Split(time=START, id="a", kg=1.0))
    round_.to_the_end()
    path = round_.folder / "rounds.sqlite"
    (cook,) = list_cooks(path)
    told, _ = review(thinned(path, cook), kind="practice")
    assert told.round is not None
    assert (told.began, told.hours, told.fuel.splits) == (START, 1.0, 1)
    assert told.round.played == 60.0
    made = sheet(told, Look())
    assert made.title.endswith(": Flare")
    assert "60% of the time inside the band" in made.subtitle
    assert "missed" in made.subtitle


def test_a_round_that_was_left_has_its_name_and_no_score(round_: Round) -> None:
    round_.passes(2.0)
    round_.link.close()
    path = round_.folder / "rounds.sqlite"
    (line,) = lines(path, list_cooks(path), UTC)
    assert line.endswith("Flare: left unfinished, not scored")


def test_a_round_whose_twin_is_not_done_when_it_is_left_is_written_down_all_the_same(round_: Round) -> None:
    round_.twin.done = False
    round_.to_the_end()
    round_.link.close()
    (finished,) = progress.read(round_.folder / "rounds.jsonl")
    assert finished.twin is None


def test_a_fire_that_stands_still_has_a_clock_that_stands_still(round_: Round) -> None:
    assert round_.link.status().rate == 60.0
    round_.link.pause(on=True)
    round_.passes(1.0)
    assert round_.link.status().rate == 0.0
    round_.link.pause(on=False)
    round_.passes(1.0)
    assert round_.link.status().rate == 60.0
    round_.link.finish()
    round_.passes(0.4)
    assert round_.link.status().rate == 0.0


def test_kindling_is_not_lit_twice_by_a_second_press(tmp_path: Path) -> None:
    round_ = Round(tmp_path, scenario="first fire")
    round_.link.news()
    round_.link.leave(Lit(time=START, id="a"))
    with pytest.raises(JournalError, match="it was lit just now"):
        round_.link.leave(Lit(time=START, id="b"))
    round_.passes(10.0)
    round_.link.leave(Lit(time=START, id="c"))
    round_.link.close()


def test_two_rounds_at_once_are_refused(round_: Round) -> None:
    with pytest.raises(HeldError, match="a round is being practised elsewhere"):
        Round(round_.folder)


def test_the_next_round_is_another_cook_of_the_same_journal(tmp_path: Path) -> None:
    for _ in range(2):
        round_ = Round(tmp_path)
        round_.link.news()
        round_.passes(1.0)
        round_.link.close()
    connection = open_reading(tmp_path / "rounds.sqlite")
    assert len(history.cooks(connection)) == 2
    connection.close()


def test_it_says_what_it_is(round_: Round) -> None:
    status = round_.link.status()
    assert (status.kind, status.pit, status.alive) == (Kind.PRACTICE, "Practice: Flare", True)
    round_.link.close()
    assert not round_.link.status().alive
    assert round_.link.news() == ()


# --- the list of rounds --------------------------------------------------------------------------


def finished(share: float, *, reached: bool = False, scenario: str = "hold") -> progress.Finished:
    return progress.Finished(
        time=WALL, choice=choose(scenario), reached=reached, mine=Tally(minutes=100.0, in_band=100.0 * share)
    )


def test_progress_is_the_best_the_last_and_how_often(tmp_path: Path) -> None:
    path = tmp_path / "there" / "rounds.jsonl"
    for one in (finished(0.4), finished(0.9, reached=True), finished(0.6), finished(0.2, scenario="flare")):
        assert progress.keep(path, one) == ""
    told = progress.progress(progress.read(path))
    assert (told["hold"].rounds, told["hold"].reached, told["hold"].best, told["hold"].last) == (3, 1, 0.9, 0.6)
    assert told["flare"].rounds == 1


def test_a_broken_line_is_passed_over(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    path = tmp_path / "rounds.jsonl"
    progress.keep(path, finished(0.4))
    with path.open("ab") as file:
        file.write(b'{"time": 1\n')
    progress.keep(path, finished(0.5))
    assert len(progress.read(path)) == 2
    assert "line 2" in caplog.text


def test_no_list_is_no_progress_and_one_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    assert progress.read(tmp_path / "none.jsonl") == ()
    assert "could not be written down" in progress.keep(tmp_path, finished(0.5))
    assert progress.read(tmp_path) == ()


# --- the twin's process --------------------------------------------------------------------------


async def test_a_twin_that_breaks_off_says_so(until: Until) -> None:
    twin = Twin(Choice(scenario="no such", pit="wren", weather="calm", wood="dry", seed=1))
    await until(lambda: twin.tally(1.0) is None and twin.problem != "", 60.0)
    assert "broke off" in twin.problem
    twin.close()
    twin.close()


def test_a_twin_that_is_not_wanted_any_more_ends() -> None:
    twin = Twin(choose("hold"))
    process = twin._process
    assert process is not None
    twin.close()
    assert process.poll() is not None
