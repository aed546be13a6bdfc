"""A practice round on the dashboard: how it looks, and what its keys do. The fire is a canned one."""

from contextlib import asynccontextmanager
from datetime import UTC

import pytest
from msgspec.structs import replace

from firebox.lessons import (
    Coaching,
    Coals,
    Figure,
    Flame,
    Lesson,
    LessonKind,
    Measure,
    Progress,
    Quiz,
    Sight,
    Smoke,
    Tally,
    Verdict,
)
from firebox.ports import Kind
from firebox.practice import rounds
from firebox.records import Damper, DamperName, Priority, Split
from tests.tui.canned import CannedLink, alarm, instant
from tests.tui.conftest import BEGIN
from tui.practice.app import PracticeDashboard
from tui.practice.coach_words import Level
from tui.practice.opening import Opening, Wishes
from tui.preferences import Preferences

SIZES = [(80, 24), (160, 50)]
SIGHT = Sight(flame=Flame.STEADY, smoke=Smoke.THIN, coals=Coals.BRIGHT, wind=1.0)
TALLY = Tally(minutes=40.0, in_band=31.0, over=9.0, under=4.0, wood_kg=2.3, smoulder=1.0, trips=3)
ROUND = Coaching(
    title="Hold two hours",
    brief="A good fire is handed to you. Keep it inside the band.",
    goal="85% of the time inside the band",
    begun=instant(BEGIN - 2400.0),
    seconds=2400.0,
    lasts=7200.0,
    sight=SIGHT,
    tally=TALLY,
    pace=20.0,
)
LESSON = Lesson(
    seconds=2100.0,
    kind=LessonKind.EFFECT,
    topic="split",
    text="{0} laid. It shows from {1}. Left alone the hump comes at {2}, to about {3}.",
    figures=(
        Figure(Measure.KG, 1.4),
        Figure(Measure.CLOCK, 2280.0),
        Figure(Measure.CLOCK, 3240.0),
        Figure(Measure.CELSIUS, 131.0),
    ),
)
MISTAKE = Lesson(
    seconds=2100.0,
    kind=LessonKind.MISTAKE,
    topic="a log",
    text="That is a heavy one: heat comes from the surface of the wood, and a large piece has little of it for long minutes.",
)
QUIZ = Quiz(seconds=2300.0, minutes=15.0, celsius=121.0, edges=(115.0, 125.0, 135.0))
OVER = replace(
    ROUND,
    seconds=7200.0,
    verdict=Verdict(
        reached=True,
        mine=replace(TALLY, minutes=120.0, in_band=104.0, steady_at=31.0),
        twin=Tally(minutes=120.0, in_band=110.0, over=12.0, under=6.0, wood_kg=2.8, trips=4, steady_at=15.0),
        twin_reached=True,
        remarks=("Next time feed earlier: while the last piece still flames low, not when the thermometer falls.",),
        guesses=(2, 3),
        mistakes=("fed on top (2)", "chasing"),
    ),
)


class CannedRound(CannedLink):
    """A canned link with a round on top; what is asked of it is remembered."""

    def __init__(self, records, coaching=ROUND):
        super().__init__(records, kind=Kind.PRACTICE, rate=coaching.pace)
        self.coaching = coaching
        self.asked = []

    def set_pace(self, pace):
        self.asked.append(("pace", pace))
        self.coaching = replace(self.coaching, pace=pace)

    def pause(self, *, on):
        self.asked.append(("pause", on))
        self.coaching = replace(self.coaching, paused=on)

    def answer(self, choice):
        self.asked.append(("answer", choice))
        quiz = None if choice is None else replace(self.coaching.quiz, answer=choice)
        self.coaching = replace(self.coaching, quiz=quiz)

    def ask(self, *, wanted):
        self.asked.append(("ask", wanted))

    def finish(self):
        self.asked.append(("finish",))
        self.coaching = OVER


def dashboard(link, still, *, level=Level.HINTED, **look):
    return PracticeDashboard(
        link,
        Preferences(**look),
        level=level,
        now=still,
        wall=lambda: instant(BEGIN),
        zone=UTC,
        encoding="utf-8",
        bell=False,
    )


@pytest.fixture
def looks(snap_compare, still, until, cook):
    def compare(coaching, size, *keys, level=Level.HINTED, **look):
        link = CannedRound(cook, coaching)
        app = dashboard(link, still, level=level, **look)

        async def settled(pilot):
            await until(lambda: app.glance().view.epoch is not None and app.glance().status is not None)
            await pilot.press(*keys)
            for _ in range(2):
                await pilot.pause()
                app.show()
            await pilot.pause()

        return snap_compare(app, terminal_size=size, run_before=settled)

    return compare


@asynccontextmanager
async def played(still, until, cook, coaching=ROUND, *, level=Level.HINTED, size=(80, 24)):
    link = CannedRound(cook, coaching)
    app = dashboard(link, still, level=level)
    async with app.run_test(size=size) as pilot:
        await until(lambda: app.glance().view.epoch is not None and app.glance().status is not None)
        await pilot.pause()
        yield app, pilot, link


# --- how it looks --------------------------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("level", Level)
def test_a_round_as_it_begins(looks, size, level):
    assert looks(ROUND, size, level=level)


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_what_a_deed_does_and_a_kind_word(looks, size):
    assert looks(replace(ROUND, lessons=(LESSON, MISTAKE)), size)


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_a_question(looks, size):
    assert looks(replace(ROUND, lessons=(LESSON,), quiz=QUIZ), size, level=Level.HIDDEN)


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_the_score(looks, size):
    assert looks(OVER, size)


def test_all_that_can_be_seen_in_plain_characters_and_paused(looks):
    odd = Sight(flame=Flame.HIGH, smoke=Smoke.DIRTY, coals=Coals.DULL, grease=True, ajar=True, ash=True, rain=True)
    assert looks(replace(ROUND, sight=odd, paused=True), (80, 24), ascii=True)


@pytest.mark.parametrize("theme", ["day", "night", "contrast"])
def test_a_round_in_a_theme(looks, theme):
    assert looks(replace(ROUND, lessons=(LESSON, MISTAKE)), (80, 24), theme=theme)


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("keys", [(), ("G",)], ids=["choice", "guide"])
def test_the_opening_screen(snap_compare, size, keys):
    progress = {"first fire": Progress(rounds=3, reached=2, best=0.71, last=0.64)}
    app = Opening(rounds.menu(), progress, Wishes(at=1), Preferences(), encoding="utf-8")

    async def settled(pilot):
        await pilot.press(*keys)
        await pilot.pause()

    assert snap_compare(app, terminal_size=size, run_before=settled)


# --- what the keys do ----------------------------------------------------------------------------


async def test_it_is_marked_as_practice_in_words_on_every_side(still, until, cook):
    async with played(still, until, cook) as (app, _, _):
        assert "PRACTICE FIRE - NOT A REAL PIT x20" in app.query_one("#header").said
        assert app.query_one("#edge-left").said.replace("\n", "").startswith("PRACTICE")


async def test_an_alarm_is_a_banner_and_never_takes_the_screen(still, until, cook):
    async with played(still, until, [*cook, alarm(seconds=BEGIN, priority=Priority.CRITICAL)]) as (app, _, _):
        await until(lambda: "CRITICAL ALARM" in app.query_one("#alarm-banner").said)
        assert not app.screen.has_class("-summoned")
        assert app.query_one("#seen").display


async def test_space_holds_the_fire_and_lets_it_burn_on(still, until, cook):
    async with played(still, until, cook) as (app, pilot, link):
        await pilot.press("space")
        assert link.asked == [("pause", True)]
        still.seconds += 600.0
        app.show()
        assert "PAUSED" in app.query_one("#coach").said
        assert app.glance().silent_for == 0.0
        await pilot.press("space")
        assert link.asked[-1] == ("pause", False)


async def test_the_pace_steps_up_and_down_to_its_ends(still, until, cook):
    async with played(still, until, cook) as (app, pilot, link):
        await pilot.press("full_stop", "comma", "comma")
        assert link.asked == [("pace", 30.0), ("pace", 20.0), ("pace", 10.0)]
        await pilot.press(*["full_stop"] * 9)
        assert link.coaching.pace == 120.0
        assert "no faster" in app.query_one("#answer").said
        await pilot.press(*["comma"] * 9)
        assert link.coaching.pace == 1.0
        assert "its own pace" in app.query_one("#answer").said


async def test_hidden_advice_is_nowhere_on_the_screen(still, until, cook):
    async with played(still, until, cook, level=Level.SHOWN, size=(160, 50)) as (app, pilot, _):
        await until(lambda: "ONE MEDIUM SPLIT" in app.query_one("#next").said)
        assert app.glance().view.promise is not None
        await pilot.press("j")
        assert not app.query_one("#next").display
        assert app.query_one("#hinted").display
        shown = app.glance().view
        assert shown.move is None
        assert shown.promise is None
        assert shown.outlook.p50 == ()
        assert shown.outlook.celsius is not None
        await pilot.press("j")
        assert "Wood will be wanted" in app.query_one("#hinted").said or "Hands off" in app.query_one("#hinted").said


async def test_a_question_is_answered_by_its_number_and_nothing_else(still, until, cook):
    async with played(still, until, cook, replace(ROUND, quiz=QUIZ)) as (app, pilot, link):
        assert "3 257" in app.query_one("#coach").said
        await pilot.press("3")
        assert link.asked == [("answer", 2)]
        await pilot.press("2")
        assert link.asked == [("answer", 2)]
        assert "No question is open" in app.query_one("#answer").said


async def test_a_question_may_be_passed_over(still, until, cook):
    async with played(still, until, cook, replace(ROUND, quiz=QUIZ)) as (_, pilot, link):
        await pilot.press("0")
        assert link.asked == [("answer", None)]


async def test_the_keys_of_a_real_watch_are_the_deeds(still, until, cook):
    async with played(still, until, cook) as (_, pilot, link):
        await pilot.press("s", "2", "d", "i", "6", "o", "O", "r", "l")
        await until(lambda: len(link.left) == 6)
        assert isinstance(link.left[0], Split)
        assert link.left[1] == Damper(time=link.left[1].time, id=link.left[1].id, damper=DamperName.INTAKE, open=0.75)


async def test_a_question_about_wood_is_left_for_one_about_air(still, until, cook):
    async with played(still, until, cook) as (_, pilot, link):
        await pilot.press("s", "d", "i", "2")
        await until(lambda: len(link.left) == 1)
        assert isinstance(link.left[0], Damper)


async def test_what_burns_is_not_taken_back(still, until, cook):
    async with played(still, until, cook) as (app, pilot, link):
        await pilot.press("s", "2")
        await until(lambda: len(link.left) == 1)
        await pilot.press("u")
        assert "what burns cannot be taken back" in app.query_one("#answer").said
        await pilot.press("b")
        assert len(link.left) == 1


async def test_the_fire_waits_while_somebody_reads(still, until, cook):
    async with played(still, until, cook) as (_, pilot, link):
        await pilot.press("G")
        assert link.asked == [("pause", True)]
        await pilot.press("question_mark")
        assert link.asked == [("pause", True)]
        await pilot.press("escape")
        assert link.asked == [("pause", True), ("pause", False)]


async def test_the_score_comes_by_itself_and_leads_on(still, until, cook):
    async with played(still, until, cook) as (app, pilot, link):
        await pilot.press("enter")
        assert app.left is None
        await pilot.press("x")
        assert link.asked == [("finish",)]
        await pilot.pause()
        app.show()
        await until(lambda: app.query("#score-lines") and "REACHED" in app.query_one("#score-lines").said)
        await pilot.press("escape")
        assert app.query_one("#fire").display
        await pilot.press("x", "x")
        assert app.query_one("#score").display
        await pilot.press("enter")
        assert app.left == "other"


async def test_a_round_that_is_not_over_is_left_only_when_asked_twice(still, until, cook):
    async with played(still, until, cook) as (app, pilot, _):
        await pilot.press("q")
        assert app.is_running
        assert "q again leaves it without a score" in app.query_one("#answer").said
        still.seconds += 60.0
        await pilot.press("q")
        assert app.is_running
        await pilot.press("q")
        await pilot.pause()
        assert not app.is_running


async def test_leaving_the_guide_is_not_leaving_the_round(still, until, cook):
    async with played(still, until, cook) as (app, pilot, _):
        await pilot.press("G", "q")
        assert app.is_running
        assert app.query_one("#fire").display
    opening = Opening(rounds.menu(), {}, Wishes(), Preferences(), encoding="utf-8")
    async with opening.run_test(size=(80, 24)) as pilot:
        await pilot.press("G")
        assert "q back" in opening.query_one("#guide-keys").said
        await pilot.press("q")
        assert opening.is_running
        assert opening.query_one("#opening").display


async def test_a_note_made_while_the_fire_stands_has_the_fires_own_time(still, until, cook):
    async with played(still, until, cook, replace(ROUND, paused=True)) as (app, pilot, link):
        stood = app._time()
        still.seconds += 600.0
        await pilot.press("l")
        await until(lambda: len(link.left) == 1)
        assert link.left[0].time == stood


async def test_it_is_marked_as_practice_before_anything_burns(still):
    class Laying(CannedRound):
        def news(self):
            return ()

    app = dashboard(Laying([], replace(ROUND, begun=None, seconds=0.0)), still)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        app.show()
        assert "PRACTICE FIRE" in app.query_one("#header").said
        assert app.screen.has_class("-unreal")


async def test_no_banner_covers_the_score(still, until, cook):
    loud = [*cook, alarm(seconds=BEGIN, priority=Priority.CRITICAL)]
    async with played(still, until, loud, OVER) as (app, pilot, _):
        app.show()
        await pilot.pause()
        assert not app.query_one("#alarm-banner").display


async def test_a_round_is_left_without_a_word_about_keepers(still, until, cook):
    async with played(still, until, cook) as (app, pilot, _):
        await pilot.press("q", "q")
        assert app.return_value is None
        assert app.left is None


async def test_questions_are_switched_off_and_on(still, until, cook):
    async with played(still, until, cook) as (_, pilot, link):
        await pilot.press("J", "J")
        assert link.asked == [("ask", False), ("ask", True)]


async def test_the_opening_screen_returns_what_was_chosen():
    app = Opening(rounds.menu(), {}, Wishes(), Preferences(), encoding="utf-8")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("down", "down", "p", "w", "r", "enter")
    opened = app.return_value
    assert (opened.choice.scenario, opened.choice.pit, opened.choice.weather) == ("windy night", "anvil", "rain")
    assert opened.wishes.pace == 30.0


async def test_the_opening_screen_can_be_left():
    app = Opening(rounds.menu(), {}, Wishes(), Preferences(), encoding="utf-8")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("G", "escape", "q")
    assert app.return_value is None
