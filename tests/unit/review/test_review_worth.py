"""Whether forecasts, advice and alarms were worth it; wood; the meat."""

import pytest

from firebox.records import (
    Acknowledge,
    AlarmState,
    Feel,
    Meat,
    MeatOn,
    Notice,
    Occasion,
    Out,
    Picture,
    Priority,
    Serving,
    Wrap,
)
from firebox.review.counsel import Followed, What
from firebox.review.sheet import sheet
from firebox.review.warnings import Worth
from firebox.review.wording import Look
from firebox.setup import MeatPiece

from .hand_made import alarm, at, cook, damper, door, lit, looked, move, moves, outlook, readings, setup, split

# --- forecasts -----------------------------------------------------------------------------------


def test_forecasts_are_held_against_what_came():
    falls = lambda m: 130.0 - 0.2 * m  # noqa: E731
    foretold = [outlook(m, falls(m), m5=falls(m + 5) + 1.0, m30=falls(m + 30) - 3.0) for m in range(60)]
    kept = {one.minutes: one for one in looked(cook(100, falls, *foretold)).honesty.kept}
    assert kept[5].error == pytest.approx(1.0, abs=0.05)
    assert kept[5].bias == pytest.approx(-1.0, abs=0.05)
    assert kept[5].coverage == 1.0
    assert kept[5].error_of_same == pytest.approx(1.0, abs=0.05)
    assert kept[5].width == pytest.approx(4.0)
    assert kept[30].error == pytest.approx(3.0, abs=0.05)
    assert kept[30].coverage == 0.0
    assert kept[30].error_of_same == pytest.approx(6.0, abs=0.05)
    assert (kept[5].count, kept[5].apart) == (60, 12)
    assert (kept[30].count, kept[30].apart) == (60, 2)


def test_only_what_nobody_touched_is_judged():
    foretold = [outlook(m, 120.0, m15=120.0) for m in (0, 20, 40, 60)]
    touched = [split(10), damper(35.5, 0.25), *door(50, 0.5)]
    kept = looked(cook(100, lambda _: 120.0, *foretold, *touched)).honesty.kept
    assert [one.count for one in kept] == [2]


def test_no_forecast_is_judged_while_a_door_stands_open():
    foretold = [outlook(20.5, 120.0, m15=120.0), outlook(30, 120.0, m15=120.0)]
    assert looked(cook(100, lambda _: 120.0, *foretold, *door(20, 5))).honesty.kept[0].count == 1


def test_a_cook_without_a_quiet_quarter_of_an_hour_tells_of_shorter_horizons():
    falls = lambda m: 120.0  # noqa: E731
    foretold = [outlook(m, 120.0, m5=120.0, m15=120.0) for m in range(100)]
    honesty = looked(cook(110, falls, *foretold, *(split(m) for m in range(0, 110, 10)))).honesty
    assert honesty.telling is not None
    assert honesty.telling.minutes == 5
    assert looked(cook(110, falls)).honesty.telling is None


# --- advice --------------------------------------------------------------------------------------


def given(records):
    return [(one.what, one.followed) for one in looked(records).advice.given]


def test_a_split_laid_when_it_is_due_is_followed_and_its_wait_is_told():
    records = cook(120, lambda _: 120.0, *moves(30, 36, in_minutes=0.0), split(36.5), *moves(37, 110))
    (one,) = looked(records).advice.given
    assert (one.what, one.followed) == (What.SPLIT, Followed.YES)
    assert one.waited_minutes == pytest.approx(6.5)
    assert one.inside == 1.0


def test_a_split_of_another_size_is_followed_in_part():
    records = cook(120, lambda _: 120.0, *moves(30, 33, in_minutes=0.0, kg=1.0), split(33.5, 2.0), *moves(34, 110))
    assert given(records) == [(What.SPLIT, Followed.PARTLY)]


def test_a_split_a_little_before_it_is_due_follows_as_well():
    ahead = [move(30 + count, in_minutes=8.0 - count, hold=True) for count in range(5)]
    records = cook(120, lambda _: 120.0, *ahead, split(34.5), *moves(35, 110))
    assert given(records) == [(What.SPLIT, Followed.YES)]


def test_a_split_that_nobody_laid_is_not_followed_and_one_that_nobody_wanted_is_unasked():
    records = cook(
        120,
        lambda _: 120.0,
        *moves(20, 30, in_minutes=0.0),
        *moves(31, 60, hold=True),
        split(60.5),
        *moves(61, 110, hold=True),
    )
    assert given(records) == [(What.SPLIT, Followed.NO), (What.SPLIT, Followed.UNASKED)]


def test_advice_that_came_and_went_within_a_look_is_none():
    assert given(cook(60, lambda _: 120.0, *moves(20, 20, in_minutes=0.0), *moves(21, 50))) == []


@pytest.mark.parametrize(
    ("done", "followed"),
    [(0.25, Followed.YES), (0.375, Followed.PARTLY), (0.75, Followed.NO), (None, Followed.NO)],
)
def test_a_damper_is_set_as_advised_in_part_or_not(done, followed):
    moved = [] if done is None else [damper(23.5, done)]
    records = cook(80, lambda _: 120.0, *moves(20, 23, intake=0.25), *moved, *moves(24, 70))
    assert given(records) == [(What.INTAKE, followed)]


def test_what_came_of_a_move_is_held_against_what_was_foretold_under_it():
    records = cook(
        120,
        lambda m: 120.0 if m < 50 else 124.0,
        *moves(30, 31, in_minutes=0.0, expected=121.0),
        split(31.5),
        *moves(32, 110),
    )
    advice = looked(records).advice
    assert (advice.expected_count, advice.expected_error) == (1, pytest.approx(3.0))


def test_what_came_of_advice_is_summed_up_by_what_was_done():
    records = cook(
        140, lambda m: 120.0 if m < 70 else 135.0, *moves(20, 22, in_minutes=0.0), split(22.5), *moves(23, 79),
        *moves(80, 90, in_minutes=0.0), *moves(91, 130),
    )  # fmt: skip
    scores = {score.followed: score for score in looked(records).advice.scores}
    assert (scores[Followed.YES].count, scores[Followed.YES].inside) == (1, 1.0)
    assert (scores[Followed.NO].count, scores[Followed.NO].inside) == (1, 0.0)
    assert scores[Followed.NO].worst == pytest.approx(15.0)


# --- wood ----------------------------------------------------------------------------------------


def test_wood_is_summed_with_what_lit_the_fire_and_costs_what_it_costs():
    records = cook(
        300, lambda _: 120.0, lit(0, 2.0), split(60, 1.0), split(120, None), split(180, 2.0), Out(time=at(240))
    )
    fuel = looked(records, price_per_kg=0.5).fuel
    assert fuel.kg == pytest.approx(2.0 + 1.0 + 1.5 + 2.0)
    assert (fuel.splits, fuel.unweighed) == (3, 1)
    assert fuel.hours == pytest.approx(4.0)
    assert fuel.kg_per_hour == pytest.approx(6.5 / 4.0)
    assert (fuel.cost, fuel.cost_per_hour) == (pytest.approx(3.25), pytest.approx(3.25 / 4.0))


def test_without_a_price_wood_costs_nothing_that_is_known():
    fuel = looked(cook(100, lambda _: 120.0, lit())).fuel
    assert fuel.cost is None
    assert looked([setup()]).fuel.kg_per_hour is None


# --- alarms --------------------------------------------------------------------------------------


def gone(minutes: float, name: str):
    return alarm(minutes, name, AlarmState.NORMAL)


def test_an_alarm_is_worth_what_was_done_about_it():
    records = cook(
        300, lambda _: 120.0, alarm(10, "fire-dying"), split(15), gone(30, "fire-dying"),
        alarm(60, "fire-dying"), gone(62, "fire-dying"), alarm(120, "pit-too-cold"), gone(150, "pit-too-cold"),
    )  # fmt: skip
    told = looked(records)
    assert [one.worth for one in told.alarms] == [Worth.ACTED, Worth.VAIN, Worth.STOOD]
    assert [one.minutes for one in told.alarms] == [20.0, 2.0, 30.0]
    assert told.rates.raised == 3


def test_a_part_that_was_put_right_needs_no_wood():
    records = cook(
        100, lambda _: 120.0, alarm(10, "probe-open-grate2"), Acknowledge(time=at(12), alarm="probe-open-grate2"),
        alarm(12, "probe-open-grate2", AlarmState.ACKNOWLEDGED), gone(30, "probe-open-grate2"),
        alarm(50, "link-lost-broker", priority=Priority.LOW), gone(51, "link-lost-broker"),
    )  # fmt: skip
    first, second = looked(records).alarms
    assert (first.worth, first.seen_minutes, first.minutes) == (Worth.ACTED, 2.0, 20.0)
    assert (second.worth, second.seen_minutes) == (Worth.VAIN, None)


def test_who_was_called_and_whether_it_arrived():
    def call(minutes, way, occasion=Occasion.RAISED, problem=None):
        return Notice(
            time=at(minutes),
            way=way,
            occasion=occasion,
            priority=Priority.HIGH,
            title="t",
            text="t",
            attempts=1,
            problem=problem,
        )

    records = cook(
        100, lambda _: 120.0, alarm(50, "fire-dying"), call(50, "sound"), call(55, "sound", Occasion.REPEATED),
        call(56, "neighbour", problem="no network"), call(57, "neighbour"), call(5, "sound", Occasion.TEST),
    )  # fmt: skip
    made = looked(records)
    assert [(one.way, one.arrived, one.failed) for one in made.called] == [("neighbour", 1, 1), ("sound", 2, 0)]
    words = next(one for one in sheet(made, Look()).sections if one.key == "alarms").words
    assert words[1:] == ("Called by neighbour: 1 time; 1 attempt failed.", "Called by sound: 2 times.")


def test_an_alarm_that_is_still_on_has_no_end():
    assert looked(cook(60, lambda _: 120.0, alarm(50, "pit-too-hot"))).alarms[0].minutes is None


# --- the meat ------------------------------------------------------------------------------------


def meat(minutes: float, stage: str, celsius: float, **more: object) -> Meat:
    return Meat(time=at(minutes), probe="flat", cut="brisket", stage=stage, celsius=celsius, **more)  # type: ignore[arg-type]


def test_the_meat_is_told_by_its_stages_and_what_was_done_to_it():
    course = [
        meat(m, "coming up" if m < 100 else "on the plateau", 10.0 + 0.3 * m, weight_lost=0.001 * m)
        for m in range(240)
    ]
    records = cook(
        260, lambda _: 120.0, MeatOn(time=at(30), probe="flat"), Wrap(time=at(150), material="foil"), *course,
        Feel(time=at(200), probe="flat", answer="giving"), Serving(time=at(5), serve=at(400)), Picture(time=at(205), file="bark.jpg"), MeatOn(time=at(220), on=False),
        *readings(260, lambda m: 10.0 + 0.3 * m, "flat"), meats=(MeatPiece(probe="flat", cut="brisket", kg=5.0),),
    )  # fmt: skip
    made = looked(records)
    (piece,) = made.meats
    assert piece.serve == at(400)
    assert made.notes == ((205.0 * 60.0, "Picture: bark.jpg"),)
    assert (piece.on, piece.off, piece.wrapped, piece.material) == (1800.0, 13200.0, 9000.0, "foil")
    assert [(one.stage, one.seconds) for one in piece.stages] == [("coming up", 1800.0), ("on the plateau", 6000.0)]
    assert piece.felt == ((12000.0, "giving"),)
    assert piece.kept == pytest.approx(1.0 - 0.22, abs=0.002)
    assert not piece.weighed


def test_meat_that_was_weighed_is_told_as_weighed():
    course = [meat(m, "resting", 80.0, kg_in=6.0, kg_out=4.5, weight_lost=0.1) for m in range(30)]
    (piece,) = looked(cook(60, lambda _: 120.0, *course, *readings(60, lambda _: 80.0, "flat"))).meats
    assert (piece.kg, piece.cooked_kg, piece.weighed, piece.kept) == (6.0, 4.5, True, 0.75)
