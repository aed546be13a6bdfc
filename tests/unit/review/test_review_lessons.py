"""Three things to try next time: the costliest first, from the figures, and always three."""

import re

import pytest
from msgspec.structs import replace

from firebox.records import AlarmState, Priority
from firebox.review.comparing import side_by_side
from firebox.review.lessons import lessons
from firebox.review.sheet import sheet
from firebox.review.whole import review
from firebox.review.wording import Look, minutes
from firebox.setup import Round
from firebox.units import Degrees, Mass

from .hand_made import alarm, at, cook, damper, door, hump, lit, looked, moves, readings, setup, split
from .test_review_blame import dip, rise

LOOK = Look(degrees=Degrees.C)


def tries(records):
    return [one.try_this for one in lessons(looked(records), LOOK)]


def test_a_cook_that_went_well_is_told_so_and_has_three_things_to_try_as_well():
    found = lessons(looked(cook(300, lambda _: 120.0, lit(), *(split(m) for m in range(0, 300, 40)))), LOOK)
    assert len(found) == 3
    assert found[0].try_this.startswith("You held it well.")


def test_the_costliest_comes_first():
    late = [split(m, 1.0) for m in (10, 40)]
    falls = dip(80, 20, 60)
    long_wait = cook(200, falls, *late, *moves(82, 139, in_minutes=0.0), split(139.5))
    made = looked(long_wait)
    first, *others = lessons(made, LOOK)
    assert "little earlier" in first.try_this
    assert minutes(made.excursions[0].minutes) in first.because
    assert all(one.weight <= first.weight for one in others)


@pytest.mark.parametrize(
    ("records", "words"),
    [
        (
            cook(150, lambda m: 120.0 + hump(m - 70, 25.0), split(10), split(40), split(70, 2.0)),
            "Split the big pieces",
        ),
        (cook(150, lambda m: 124.0 + hump(m - 70, 12.0), split(10), split(40), split(70)), "begin to fall before"),
        (
            cook(150, lambda m: 118.0 + hump(m - 70, 16.0), split(10), split(40), split(70)),
            "smaller splits, more often",
        ),
        (cook(120, dip(60, 30, 4, 2.0), *door(60, 3)), "Open the cook door less"),
        (cook(120, rise(60, 12)), "Write down every split"),
        (cook(120, lambda m: 20.0 + 0.1 * m, lit()), "Begin with a bigger bed"),
        (cook(200, lambda m: min(120.0, 20.0 + m), lit()), "Light earlier"),
    ],
)
def test_each_cause_has_its_lesson(records, words):
    assert any(words in one for one in tries(records))


def test_a_response_that_shrinks_asks_for_a_rake():
    times = [30.0 + 45.0 * number for number in range(10)]
    records = cook(
        480,
        lambda m: 116.0 + sum(hump(m - at, 20.0 - number) for number, at in enumerate(times)),
        *(split(m) for m in times),
    )
    assert any(one.startswith("Rake") for one in tries(records))


def test_lessons_are_in_the_cooks_own_units():
    records = cook(150, lambda m: 118.0 + hump(m - 70, 18.0), split(10), split(40), split(70))
    told = " ".join(one.because for one in lessons(looked(records), Look(degrees=Degrees.F, mass=Mass.LB)))
    assert "29\u00a0°F wide" in told
    assert "°C" not in told
    assert "kg" not in told


# --- the sheet -----------------------------------------------------------------------------------


def full() -> list:
    return cook(
        400, lambda m: 118.0 + sum(hump(m - at, 14.0) for at in range(20, 400, 45)), lit(),
        *(split(m, 1.0) for m in range(20, 400, 45)), *door(100, 2), *readings(400, lambda _: 12.0, "ambient"),
    )  # fmt: skip


def test_a_sheet_tells_every_part_of_a_cook():
    made = sheet(looked(full(), price_per_kg=0.4), Look(degrees=Degrees.C, money="crowns"))
    assert [one.key for one in made.sections] == ["pit", "excursions", "rhythm", "fuel", "honesty", "alarms"]
    assert len(made.tries) == 3
    text = " ".join(words for one in made.sections for words in one.words)
    assert "crowns" in text
    assert "Outside it was 12\u00a0°C" in text
    assert made.banner == ""


def test_no_figure_is_told_that_is_not_known():
    for records in ([setup()], cook(30, lambda _: 120.0), cook(30, lambda _: None), full()):
        made = sheet(looked(records), LOOK)
        text = repr(made)
        assert not re.search(r"\bnan\b|\binf\b|None", text)
        assert len(made.tries) == 3


def test_a_fire_that_was_no_real_one_is_marked():
    assert sheet(looked(full(), kind="practice"), LOOK).banner.startswith("PRACTICE")
    assert sheet(looked(full(), kind="demo"), LOOK).banner.startswith("DEMO")


def test_a_practice_round_is_not_measured_by_figures_of_a_month():
    for kind, count in (("live", 2), ("practice", 1)):
        made = sheet(looked([*full(), alarm(390, "fire-dying")], kind=kind), LOOK)
        (told,) = (one for one in made.sections if one.key == "alarms")
        assert len(told.tables) == count


def test_cooks_side_by_side_are_marked_as_no_real_fires_too():
    made = looked(full(), kind="practice")
    assert side_by_side([made, made], LOOK).banner.startswith("PRACTICE")
    assert side_by_side([looked(full())] * 2, LOOK).banner == ""


def practised(**more) -> dict:
    return {"round": Round(title="Hold", goal="80% of the time inside the band", began=at(50), lasts=120.0, **more)}


def test_what_was_before_a_round_is_none_of_the_players():
    before = [damper(20, 0.25), split(30, 1.0), alarm(40, "fire-dying"), alarm(60, "fire-dying")]
    records = cook(
        170, lambda m: 90.0 if m < 50 else 120.0, *before, split(80, 1.0), alarm(100, "flare"), **practised()
    )
    made, laid_out = review(records)
    assert (made.began, made.hours) == (at(50), 2.0)
    assert made.holding.inside == 1.0
    assert made.fuel.splits == 1
    assert [one.alarm for one in made.alarms] == ["flare"]
    assert laid_out.setup.intake_open == 0.25


def test_rounds_are_told_apart_by_name_goal_and_score():
    records = cook(170, lambda _: 120.0, **practised(played=120.0, inside=85.0, reached=False))
    made = looked(records, kind="practice")
    told = sheet(made, LOOK)
    assert told.title.endswith("hand-made: Hold")
    assert "Goal: 80% of the time inside the band; missed, 85 of 120\u00a0min in the band" in told.subtitle
    both = side_by_side([made, made], LOOK)
    assert "Hold (missed, 85 of 120\u00a0min in the band)" in both.subtitle
    assert both.sections[0].tables[0].heads[1] == "cook 1, Hold"


def test_a_fire_left_after_minutes_is_not_praised():
    assert not any("You held it well" in one.what for one in sheet(looked(cook(20, lambda _: 120.0)), LOOK).tries)


def test_an_alarm_that_grew_is_listed_as_what_it_became():
    grew = alarm(60, "fire-dying"), alarm(70, "fire-dying", priority=Priority.CRITICAL)
    (found,) = looked(cook(120, lambda _: 120.0, *grew, alarm(80, "fire-dying", AlarmState.NORMAL))).alarms
    assert found.priority is Priority.CRITICAL


def test_the_clock_is_the_cooks_own():
    made = sheet(looked(full()), Look(degrees=Degrees.C, clock=12))
    assert "4:00 pm" in made.subtitle
    rhythm = next(one for one in made.sections if one.key == "rhythm")
    assert rhythm.tables[0].rows[0][0] == "4:20 pm"


def test_many_cooks_stand_side_by_side_in_tables_that_fit():
    made = looked(full())
    section = side_by_side([made] * 7, LOOK).sections[0]
    assert [len(table.heads) for table in section.tables] == [4, 4, 2]
    assert [len(row) for table in section.tables for row in table.rows[:1]] == [4, 4, 2]
    assert section.tables[0].rows[0][1] == section.tables[2].rows[0][1]


def test_what_the_better_cook_did_better_is_told():
    steady = cook(300, lambda _: 120.0, *(split(m, 1.0) for m in range(20, 300, 45)))
    wild = cook(300, lambda m: 120.0 if m < 200 else 140.0, *(split(m, 1.5) for m in (20, 30, 100, 110, 200, 260)))
    told = side_by_side([replace(looked(wild), number=4), replace(looked(steady), number=7)], LOOK).sections[0].words
    assert [words.replace("\u00a0", " ") for words in told[:2]] == [
        "Cook 7 was in its band for most of the time: 100 %, against 67 %.",
        "Cook 7 burnt the least wood an hour: 1.4 kg, against 1.8 kg.",
    ]
    assert told[2].startswith("Cook 7 had the steadiest rhythm")
    assert side_by_side([looked(steady)] * 2, LOOK).sections[0].words == ()
