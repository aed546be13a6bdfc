"""What a practice round reads like: the fire as a picture, lessons in the cook's units, the score, the opening screen."""

from datetime import UTC, datetime

import pytest

from firebox.lessons import (
    Choice,
    Coaching,
    Coals,
    Figure,
    Flame,
    Lesson,
    LessonKind,
    Measure,
    Menu,
    Offer,
    Option,
    Progress,
    Quiz,
    Sight,
    Smoke,
    Tally,
    Verdict,
)
from firebox.ports import KeeperStatus, Kind
from firebox.records import Move, NextSplit, Split
from firebox.units import Degrees, Mass
from tui.acts import BURNT, Stage, earlier, undo
from tui.glance import Glance, is_played
from tui.glyphs import FULL, PLAIN
from tui.keys import KEYS
from tui.practice import coach_words as said
from tui.practice import fire_seen, keys, opening
from tui.practice.opening import Wishes
from tui.preferences import Preferences
from tui.view import ViewState, fold

NOW = datetime(2026, 5, 1, 22, 0, tzinfo=UTC)
METRIC = Preferences(degrees=Degrees.C, mass=Mass.KG)
SIGHTS = [
    Sight(flame=flame, smoke=smoke, coals=coals, grease=odd, ajar=odd)
    for flame, smoke, coals, odd in zip(
        list(Flame) * 4, [*Smoke] * 4, [coals for coals in Coals for _ in range(4)], [False, True] * 8, strict=True
    )
]


def glance(view: ViewState | None = None, *, kind: Kind = Kind.PRACTICE, preferences: Preferences = METRIC) -> Glance:
    status = KeeperStatus(alive=True, pit="Practice: Flare", kind=kind, rate=20.0)
    return Glance(
        view=view or fold(ViewState(), Split(time=NOW, id="s", kg=1.4)),
        seconds=0.0,
        status=status,
        preferences=preferences,
        zone=UTC,
    )


def coaching(**more: object) -> Coaching:
    return Coaching(
        **{
            "title": "Flare",
            "brief": "Keep the lid shut.",
            "goal": "65% inside",
            "begun": NOW,
            "lasts": 3600.0,
            **more,
        }
    )  # type: ignore[arg-type]


# --- the fire ------------------------------------------------------------------------------------


@pytest.mark.parametrize("sight", SIGHTS)
@pytest.mark.parametrize("drawing", [FULL, PLAIN])
def test_the_picture_is_as_wide_whatever_burns(sight, drawing):
    rows = ["".join(text for text, _ in row) for row in fire_seen.picture(sight, drawing)]
    assert len(rows) == 5
    assert {len(row) for row in rows[1:]} == {15}
    assert len(rows[0]) <= 15
    assert not drawing.ascii or all(row.isascii() for row in rows)


def test_every_look_is_another_picture():
    pictures = {
        fire_seen.picture(Sight(flame=f, smoke=s, coals=c), FULL) for f in Flame for s in Smoke for c in Coals
    }
    assert len(pictures) == len(Flame) * len(Smoke) * len(Coals)


def test_what_asks_for_something_is_said_in_words():
    told = [text for text, _ in fire_seen.words(Sight(grease=True, ajar=True, ash=True, smoke=Smoke.DIRTY, wind=9.0))]
    assert told == [
        "GREASE BURNS",
        "no flame",
        "DIRTY SMOKE",
        "no glow",
        "smoke at the lid",
        "grate full of ash",
        "gusts",
    ]
    assert ("it rains", "smoke") in fire_seen.words(Sight(rain=True))


# --- lessons -------------------------------------------------------------------------------------

LESSON = Lesson(
    seconds=0.0,
    kind=LessonKind.EFFECT,
    topic="split",
    text="{0} laid, {1} more at {2}, to {3}.",
    figures=(
        Figure(Measure.KG, 1.4),
        Figure(Measure.KELVIN, -10.0),
        Figure(Measure.CLOCK, 900.0),
        Figure(Measure.CELSIUS, 130.0),
    ),
)


def test_a_lesson_is_told_in_the_cooks_units_and_clock():
    assert said.lesson_words(LESSON, glance(), NOW) == "1.4 kg laid, 10C more at 22:15, to 130C."
    pounds = Preferences(degrees=Degrees.F, mass=Mass.LB, hours=12)
    assert said.lesson_words(LESSON, glance(preferences=pounds), NOW) == "3.1 lb laid, 18F more at 10:15 pm, to 266F."
    assert "minute 15" in said.lesson_words(LESSON, glance(), None)


def test_the_answers_are_parts_of_the_scale_without_a_gap():
    quiz = Quiz(seconds=0.0, minutes=15.0, celsius=121.0, edges=(115.0, 125.0, 135.0))
    assert said.choices(quiz, glance()) == ("under 115C", "115–125C", "125–135C", "over 135C")
    assert "in 15 minutes" in said.question(quiz, glance())
    assert [quiz.right(celsius) for celsius in (100.0, 115.0, 130.0, 135.0)] == [0, 1, 2, 3]


def test_how_the_round_stands_fits_a_narrow_screen():
    tally = Tally(minutes=120.0, in_band=117.0, wood_kg=12.3, smoulder=11.0, trips=22)
    line = said.standing(coaching(seconds=7200.0, lasts=7200.0, tally=tally), glance())
    assert line == "minute 120 of 120 · in band 117 · dirty smoke 11 · wood 12.3 kg · walks 22"
    assert len(line) <= 76


# --- hints ---------------------------------------------------------------------------------------


def move(minutes: float | None = None, *, intake: float | None = None, hold: bool = False) -> Move:
    split = None if minutes is None else NextSplit(in_minutes=minutes, kg=1.4)
    return Move(time=NOW, split=split, intake=intake, stack=None, hold=hold, expected=None, reason="")


@pytest.mark.parametrize(
    ("told", "words"),
    [
        (move(0.0), "Look at the wood, now."),
        (move(6.0), "Wood will be wanted before long."),
        (move(30.0), "Hands off: it comes by itself."),
        (move(intake=0.5), "Look at the air."),
        (move(0.0, intake=0.5), "Look at the air. Look at the wood, now."),
        (move(hold=True), "Hands off: it comes by itself."),
        (move(), "Look at the whole pit."),
        (None, "Nothing to say yet."),
    ],
)
def test_a_hint_says_where_to_look_and_no_figure(told, words):
    view = fold(ViewState(), told or Split(time=NOW))
    assert said.hinted(glance(view), Sight(flame=Flame.STEADY)) == words
    assert not any(character.isdigit() for character in words)


@pytest.mark.parametrize("told", [move(hold=True), move(0.0), None])
def test_where_nothing_burns_nobody_is_told_to_keep_his_hands_off(told):
    view = fold(ViewState(), told or Split(time=NOW))
    assert said.hinted(glance(view), Sight()) == "Look into the firebox: nothing burns in there."


def test_the_levels_go_round():
    assert said.next_level(said.next_level(said.next_level(said.Level.HIDDEN))) is said.Level.HIDDEN


# --- the score -----------------------------------------------------------------------------------

MINE = Tally(
    minutes=60.0, in_band=41.0, over=27.9, under=10.9, wood_kg=1.4, smoulder=2.0, trips=3, alarms=1, steady_at=44.0
)


def page(verdict: Verdict) -> str:
    lines = said.score(coaching(), verdict, glance(), 76)
    return "\n".join("".join(text for text, _ in line) for line in lines)


def test_the_score_stands_beside_the_advices():
    twin = Tally(minutes=60.0, in_band=55.0, over=20.0, under=8.0, wood_kg=2.8, trips=4, steady_at=15.0)
    told = page(
        Verdict(
            reached=True,
            mine=MINE,
            twin=twin,
            twin_reached=False,
            guesses=(1, 2),
            mistakes=("ash",),
            remarks=("Look why it fell.",),
        )
    )
    assert "Flare: REACHED" in told
    assert "41 of 60      55 of 60" in told
    assert "27.9" not in told
    assert "missed it" in told
    assert "1 of 2 foreseen" in told
    assert "To think about: ash." in told
    assert "· Look why it fell." in told
    assert max(map(len, told.splitlines())) <= 76


def test_what_to_try_next_stands_above_the_figures():
    told = page(Verdict(reached=False, mine=MINE, twin=MINE, remarks=("Look why it fell.",)))
    assert told.index("Look why it fell.") < told.index("minutes in the band")


def test_a_pit_that_was_never_at_its_target_has_no_distance_from_it():
    idle = Tally(minutes=80.0)
    assert "worst under the target" in page(Verdict(reached=False, mine=idle, twin=MINE))
    rows = {row[0]: row[1:] for row in said.score_rows(Verdict(reached=False, mine=idle, twin=MINE), glance())}
    assert rows["worst under the target"] == ("not there", "11")


def test_a_twin_that_is_on_its_way_or_lost_is_said():
    assert "wait a few seconds" in page(Verdict(reached=False, mine=MINE))
    assert "it broke off" in page(Verdict(reached=False, mine=MINE, twin_problem="it broke off"))


# --- the opening screen --------------------------------------------------------------------------


def offer(name: str) -> Offer:
    return Offer(
        name=name,
        title=name.title(),
        brief="Brief " * 30,
        goal="a goal",
        minutes=75,
        pit="wren",
        weather="calm",
        wood="dry",
    )


MENU = Menu(
    offers=(offer("one"), offer("two"), offer("three")),
    pits=(Option(name="wren", words="small"), Option(name="anvil", words="heavy")),
    weathers=(Option(name="calm", words="still"), Option(name="rain", words="wet")),
    woods=(Option(name="dry", words="catches"), Option(name="wet", words="smokes")),
)


def test_keys_step_through_what_can_be_chosen():
    wishes = Wishes()
    for word in ("down", "pit", "weather", "wood", "pace", "level", "seed"):
        wishes = opening.step(MENU, wishes, word)
    assert opening.choice(MENU, wishes) == Choice(scenario="two", pit="anvil", weather="rain", wood="wet", seed=2)
    assert (wishes.pace, wishes.level) == (30.0, said.Level.SHOWN)
    assert opening.choice(MENU, opening.step(MENU, wishes, "up")).pit == "wren"
    assert opening.choice(MENU, opening.step(MENU, Wishes(), "up")).scenario == "three"
    assert opening.step(MENU, wishes, "nonsense") == wishes


@pytest.mark.parametrize(("width", "height"), [(78, 24), (158, 50)])
def test_the_opening_screen_fits(width, height):
    progress = {
        "one": Progress(rounds=12, reached=9, best=1.0, last=0.95),
        "two": Progress(rounds=1, best=0.4, last=0.4),
    }
    rows = opening.lines(MENU, Wishes(), progress, width=width, height=height, drawing=PLAIN)
    text = ["".join(part for part, _ in row) for row in rows]
    assert len(text) <= height
    assert max(map(len, text)) <= width
    assert "9 of 12 reached, best 100%, last 95%" in text[1 if height < 26 else 2]
    assert any("0 of 1 reached, best 40%" in row for row in text)
    assert any("not played yet" in row for row in text)
    assert all(row.isascii() for row in text)


# --- keys ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("is_over", [False, True])
@pytest.mark.parametrize("name", ["fire", "log", "help", "guide", "score"])
def test_the_bar_fits_and_shows_the_way_out(name, is_over):
    for width in (56, 76, 156):
        rows = keys.bar(name, width, is_over=is_over)
        assert all(sum(len(key.shown) + 1 + len(key.label) + 2 for key in row) - 2 <= width for row in rows)
        assert width < 76 or any(key.id == "practice.leave" for row in rows for key in row)


def test_what_burns_cannot_be_taken_back_on_a_simulated_fire():
    stage = Stage(glance=glance(), time=NOW, fresh_id=lambda: "fresh")
    assert undo(stage) == BURNT
    assert isinstance(earlier(stage), str)
    assert undo(Stage(glance=glance(), time=NOW, fresh_id=lambda: "fresh", chosen="s")) == BURNT
    real = Stage(glance=glance(kind=Kind.LIVE), time=NOW, fresh_id=lambda: "fresh")
    assert not isinstance(undo(real), str)
    assert not isinstance(earlier(real), str)


@pytest.mark.parametrize(
    ("kind", "played"), [(Kind.LIVE, False), (Kind.REPLAY, False), (Kind.DEMO, True), (Kind.PRACTICE, True)]
)
def test_only_a_simulated_fire_feels_the_keys(kind, played):
    assert is_played(glance(kind=kind)) is played


def test_no_key_of_the_practice_takes_one_of_the_watch_but_those_to_end_and_to_leave():
    watch = {name for key in KEYS for name in key.key.split(",")}
    taken = {key.id for key in keys.PRACTICE_KEYS if watch & set(key.key.split(","))}
    assert taken == {"practice.finish", "practice.leave"}
    assert not watch & set(keys.ANSWERS)
