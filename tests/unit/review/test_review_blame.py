"""Why the pit left its band: each cause on a cook in which it is the only thing that happened."""

import pytest

from firebox.records import DoorName, Health, MeatOn, Phase, Target
from firebox.review import wording
from firebox.review.blame import CATCHES, Cause
from firebox.review.lessons import lessons
from firebox.review.wording import Look

from .hand_made import alarm, at, cook, damper, door, fire, health, hump, looked, move, moves, readings, split


def dip(start: float, depth: float, lasts: float = 12.0, ramp: float = 8.0):
    """Return a pit on its target that falls by `depth` in `ramp` minutes, stays there, and comes back as fast."""
    end = start + lasts + 2.0 * ramp
    return lambda m: 120.0 - depth * max(0.0, min(1.0, (m - start) / ramp, (end - m) / ramp))


def rise(start: float, height: float, lasts: float = 12.0, ramp: float = 2.0):
    return dip(start, -height, lasts, ramp)


MEAT = readings(120, lambda _: 60.0, "flat")
LOOK = Look()
STEADY_BEAT = [split(m, 1.0) for m in (10, 40, 70)]


def causes(records):
    (found,) = looked(records).excursions
    return [reason.cause for reason in found.causes], found


def test_a_pit_that_stays_in_its_band_never_left_it():
    assert looked(cook(120, lambda m: 120.0 + 7.0 * (-1) ** int(m), *STEADY_BEAT)).excursions == ()


def test_two_minutes_outside_are_not_worth_a_line():
    assert looked(cook(60, rise(30, 12, 1.5))).excursions == ()


def test_an_excursion_has_its_side_its_length_and_its_worst():
    found = looked(cook(120, lambda m: 120.0 + hump(m - 30, 20.0, 15.0), split(25, 1.0))).excursions
    assert len(found) == 1
    assert found[0].high
    assert found[0].seconds == pytest.approx(36.0 * 60.0, abs=30.0)
    assert found[0].minutes == pytest.approx(18.0, abs=0.5)
    assert found[0].off == pytest.approx(20.0, abs=0.5)
    assert found[0].celsius == pytest.approx(140.0, abs=0.5)


def test_a_target_that_moved_is_the_cause_of_what_begins_at_that_minute():
    records = cook(120, lambda m: 120.0, Target(time=move(60).time, celsius=140.0))
    assert causes(records)[0] == [Cause.TARGET]


def test_an_open_cook_door_that_took_the_pit_down():
    records = cook(120, dip(60, 30, 4, 2.0), *STEADY_BEAT, *door(60, 3))
    told, found = causes(records)
    assert told[0] is Cause.DOOR
    assert found.causes[0].amount == pytest.approx(3.0)
    assert found.causes[0].what == "cook"


def test_a_fall_as_only_a_door_makes_it_though_none_was_logged():
    told, found = causes(
        cook(120, dip(60, 30, 12, 4.0), *STEADY_BEAT, *[fire(m, Phase.DYING) for m in range(60, 80)])
    )
    assert told[0] is Cause.DOOR
    assert found.causes[0].amount is None


def test_a_rise_as_wood_hardly_makes_it_though_no_alarm_told_of_it():
    assert causes(cook(120, rise(60, 40, 12, 4.0), *STEADY_BEAT, *MEAT))[0][0] is Cause.FLARE
    assert Cause.FLARE not in causes(cook(120, rise(60, 25, 12, 10.0), *STEADY_BEAT, *MEAT))[0]


def test_no_grease_burns_where_no_meat_is_on():
    leap = rise(60, 40, 12, 4.0)
    assert Cause.FLARE not in causes(cook(120, leap, *STEADY_BEAT, alarm(61, "flare")))[0]
    assert Cause.FLARE in causes(cook(120, leap, *STEADY_BEAT, MeatOn(time=at(20))))[0]
    assert Cause.FLARE not in causes(cook(120, leap, *STEADY_BEAT, MeatOn(time=at(100))))[0]


def test_a_door_that_took_a_pit_far_down_that_was_low_already_comes_first():
    falls = lambda m: 120.0 - min(12.0, max(0.0, m - 60)) - (35.0 if 80 <= m < 95 else 0.0) if m < 100 else 120.0  # noqa: E731
    due = moves(60, 99, in_minutes=0.0)
    told, found = causes(cook(120, falls, *STEADY_BEAT[:2], *door(80, 8), *due))
    assert told[0] is Cause.DOOR
    assert found.causes[0].seconds == pytest.approx(80 * 60.0)


def test_no_cause_lies_after_its_effect():
    """A split laid while the pit stands above its band already did not take it there."""
    for laid in (66.0, 78.0):
        records = cook(150, lambda m: 124.0 + hump(m - 60, 14.0, 25.0), *[split(m, 1.0) for m in (10, 40, laid)])
        _, found = causes(records)
        assert all(one.seconds is None or one.seconds <= found.seconds - CATCHES for one in found.causes)


def test_what_was_laid_on_the_advices_word_is_told_as_that_and_blamed_on_nobody():
    warm = lambda m: 124.0 + hump(m - 70, 12.0)  # noqa: E731
    beat = [split(m, 1.0) for m in (10, 40, 70)]
    made = looked(cook(150, warm, *beat, *moves(60, 72, in_minutes=1.0)))
    (found,) = made.excursions
    assert found.causes[0].cause is Cause.EARLY
    assert found.causes[0].advised
    assert wording.reasons(found.causes[:1], made, LOOK).endswith("as NEXT had said")
    assert not any("Let the pit begin to fall" in one.try_this for one in lessons(made, LOOK))
    assert any("was not your mistake" in one.because for one in lessons(made, LOOK))
    unasked = looked(cook(150, warm, *beat))
    assert any("Let the pit begin to fall" in one.try_this for one in lessons(unasked, LOOK))
    heavy = looked(cook(150, warm, *beat[:2], split(70, 2.0), *moves(60, 72, in_minutes=1.0)))
    assert not any(one.advised for one in heavy.excursions[0].causes)


def test_a_damper_set_as_advised_is_blamed_on_nobody():
    shut = cook(120, dip(60, 12), *STEADY_BEAT, damper(50, 0.125), *moves(40, 52, intake=0.125))
    made = looked(shut)
    assert made.excursions[0].causes[0].advised
    assert not any("Move a damper by one mark" in one.try_this for one in lessons(made, LOOK))


def test_a_door_that_hardly_cooled_the_pit_is_not_blamed():
    records = cook(120, lambda m: 120.0 if m < 63 else 120.0 - 1.0 * min(m - 63, 12), *STEADY_BEAT, *door(60, 0.4))
    assert Cause.DOOR not in causes(records)[0]


def test_a_split_that_was_due_and_came_late():
    falls = lambda m: 120.0 if m < 60 else 120.0 - 0.8 * (m - 60) if m < 80 else 120.0  # noqa: E731
    records = cook(110, falls, *[split(m, 1.0) for m in (10, 40, 76)], *moves(62, 90, in_minutes=0.0))
    told, found = causes(records)
    assert told[0] is Cause.LATE
    assert found.causes[0].amount == pytest.approx(14.0, abs=1.1)


def test_a_split_later_than_the_beat_of_this_cook():
    beat = [split(m, 1.0) for m in (10, 40, 70, 100, 175)]
    told, found = causes(cook(220, dip(150, 12, 20), *beat))
    assert told[0] is Cause.LATE
    assert found.causes[0].amount == pytest.approx(45.0, abs=1.0)


def test_a_fire_that_was_let_die():
    dying = [fire(m, Phase.DYING) for m in range(55, 90)]
    records = cook(120, dip(60, 15, 50), *[split(m, 1.0) for m in (10, 40)], *dying)
    assert causes(records)[0][0] is Cause.DYING


def test_a_split_that_smouldered():
    falls = lambda m: 120.0 if m < 45 else 120.0 - 0.8 * (m - 45)  # noqa: E731
    records = cook(80, falls, *[split(m, 1.0) for m in (10, 40, 62)], *[fire(m, risk=0.8) for m in range(40, 60)])
    assert Cause.SMOULDER in causes(records)[0]


def test_a_damper_that_was_shut_and_left():
    told, found = causes(cook(120, dip(60, 12), *STEADY_BEAT, damper(50, 0.125)))
    assert told[0] is Cause.DAMPER
    assert found.causes[0].amount == pytest.approx(-0.375)


def test_a_damper_that_was_opened_and_left():
    told, found = causes(cook(120, rise(60, 12), damper(50, 1.0)))
    assert told[0] is Cause.DAMPER
    assert (found.causes[0].what, found.causes[0].amount) == ("intake", pytest.approx(0.5))


def test_a_damper_that_was_put_back_is_not_blamed():
    assert causes(cook(120, rise(60, 12), damper(45, 1.0), damper(50, 0.5)))[0] == [Cause.UNKNOWN]


def test_too_much_wood_at_once():
    records = cook(150, lambda m: 120.0 + hump(m - 70, 25.0), *[split(m, 1.0) for m in (10, 40)], split(70, 2.0))
    told, found = causes(records)
    assert told[0] is Cause.OVERSIZE
    assert found.causes[0].amount == pytest.approx(2.0)


def test_wood_laid_while_the_pit_was_warm():
    records = cook(150, lambda m: 124.0 + hump(m - 70, 12.0), *[split(m, 1.0) for m in (10, 40, 70)])
    told, found = causes(records)
    assert told[0] is Cause.EARLY
    assert found.causes[0].amount == pytest.approx(4.0, abs=0.2)


def test_the_hump_of_a_usual_split():
    records = cook(150, lambda m: 118.0 + hump(m - 70, 16.0), *[split(m, 1.0) for m in (10, 40, 70)])
    assert causes(records)[0][0] is Cause.HUMP


def test_a_firebox_door_left_open():
    records = cook(120, rise(60, 15), *door(50, 8, DoorName.FIREBOX))
    told, found = causes(records)
    assert told[0] is Cause.DOOR
    assert found.causes[0].what == "firebox"


@pytest.mark.parametrize(
    ("name", "celsius", "cause"),
    [
        ("flare", rise(60, 12), Cause.FLARE),
        ("rising-fast", rise(60, 12), Cause.UNLOGGED),
        ("running-away", rise(60, 12), Cause.UNLOGGED),
        ("door-ajar", dip(60, 20), Cause.DOOR),
        ("split-stalled", dip(60, 20), Cause.SMOULDER),
        ("ash-choking", dip(60, 20), Cause.ASH),
    ],
)
def test_what_the_watch_concluded_at_the_time_counts(name, celsius, cause):
    assert causes(cook(120, celsius, alarm(59, name), *MEAT))[0][0] is cause
    assert causes(cook(120, celsius, alarm(20, name), *MEAT))[0] == [Cause.UNKNOWN]


def test_a_probe_that_leapt():
    leaps = lambda m: 80.0 if 60 <= m < 70 else 120.0  # noqa: E731
    assert causes(cook(120, leaps))[0][0] is Cause.PROBE


def test_a_probe_that_was_in_trouble_when_another_took_its_place():
    records = cook(
        120,
        lambda m: 120.0,
        health(60, Health.OPEN),
        health(75, Health.GOOD),
        *readings(120, lambda _: 110.0, "grate2"),
    )
    told, found = causes(records)
    assert told == [Cause.PROBE]
    assert found.causes[0].what == "grate" or found.causes[0].weight == 0.9


def test_what_nothing_in_the_log_explains_stays_unknown():
    slow = lambda m: 120.0 + (min(m - 60, 24) * 0.5 if 60 <= m < 90 else 0.0)  # noqa: E731
    assert causes(cook(120, slow))[0] == [Cause.UNKNOWN]


def test_two_causes_that_are_nearly_as_likely_are_both_told():
    records = cook(
        150, lambda m: 123.0 + hump(m - 70, 20.0, 20.0), *[split(m, 1.0) for m in (10, 40)], split(70, 1.5)
    )
    assert causes(records)[0] == [Cause.OVERSIZE, Cause.EARLY]
