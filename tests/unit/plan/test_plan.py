"""Back from the serving hour."""

import itertools
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from icalendar import Calendar
from msgspec.structs import replace

from firebox.errors import RangeError
from firebox.meat import hour
from firebox.meat.ahead import Style
from firebox.meat.cuts import CUTS, piece
from firebox.plan import aim as aims
from firebox.plan import words
from firebox.plan.aim import Aim
from firebox.plan.calendar import calendar
from firebox.plan.fuel import shifts, wood_need
from firebox.plan.timetable import plan, record
from firebox.setup import PitBuild, Setup

SERVE = datetime(2026, 5, 2, 18, tzinfo=ZoneInfo("Etc/GMT-2"))
SETUP = Setup(time=SERVE, build=PitBuild(chamber_litres=400.0, usual_split_kg=1.5))
BRISKET = piece(CUTS["brisket"], 5.5)


def wanted(*pieces, **told):
    return Aim(serve=SERVE, pieces=pieces or (BRISKET,), **told)


@pytest.fixture(scope="module")
def made():
    return plan(wanted(style=Style(wrap="paper", rest="oven", rest_celsius=63.0)), SETUP, people=2)


def times(made, what):
    (row,) = [row for row in made.rows if row.what.startswith(what)]
    return row


def test_the_timetable_runs_from_the_night_before_to_the_table_in_order(made):
    likely = [row.likely for row in made.rows]
    assert likely == sorted(likely)
    assert made.rows[0].what == "salt the meat"
    assert made.rows[-1].what == "serve"
    assert made.rows[-1].likely == SERVE
    assert times(made, "light the fire").likely < times(made, "meat on").likely
    assert times(made, "bark is set").likely < times(made, "wrap").likely < times(made, "go and feel").likely


def test_what_the_meat_decides_has_a_spread_and_what_the_cook_decides_has_none(made):
    for row in made.rows:
        assert row.early <= row.likely <= row.late
    assert times(made, "go and feel").late - times(made, "go and feel").early > timedelta(hours=1)
    assert times(made, "meat on").is_set


def test_it_is_as_sure_as_was_asked_for_where_a_hold_lets_it_wait(made):
    assert made.probability >= 0.9
    assert times(made, "go and feel").late <= times(made, "latest into the rest").likely


def test_surer_means_earlier():
    style = Style(wrap="paper", rest="oven", rest_celsius=63.0)
    bold, careful = (plan(wanted(style=style, sure=sure), SETUP) for sure in (0.6, 0.95))
    assert times(careful, "meat on").likely < times(bold, "meat on").likely
    assert careful.probability > bold.probability


def test_a_rest_that_cannot_wait_is_told_to_be_a_gamble():
    counter = plan(wanted(style=Style(rest="counter")), SETUP)
    assert counter.probability < 0.8
    assert any("would let it wait" in line for line in counter.advice)


def test_a_long_hot_hold_pulls_earlier_than_a_short_rest():
    short = aims.outcome(wanted(style=Style(wrap="paper", rest="counter")), BRISKET)
    held = aims.outcome(wanted(style=Style(wrap="paper", rest="oven", rest_celsius=70.0)), BRISKET)
    assert held.style.give < short.style.give == 1.0
    assert held.pull_celsius.likely < short.pull_celsius.likely
    assert held.tender.likely == pytest.approx(hour.AT_TABLE, abs=0.25)


@pytest.mark.parametrize(
    ("sooner", "later"),
    [
        ({"pit_celsius": 135.0}, {"pit_celsius": 118.0}),
        ({"style": Style(wrap="foil", rest="cooler")}, {"style": Style(rest="cooler")}),
        ({"meat_celsius": 12.0}, {"meat_celsius": 1.0}),
    ],
    ids=["a hotter pit", "foil", "meat less cold"],
)
def test_what_is_faster_is_planned_faster(sooner, later):
    fast, slow = (
        np.nanmedian(aims.simulate(a, BRISKET, a.style).pulled) for a in (wanted(**sooner), wanted(**later))
    )
    assert fast < slow


def test_a_heavier_brisket_goes_on_earlier_than_a_light_one():
    light, heavy = (aims.outcome(wanted(), piece(CUTS["brisket"], kg)).lead_hours for kg in (4.0, 8.0))
    assert heavy > light


def test_several_pieces_meet_at_one_hour():
    both = plan(wanted(BRISKET, piece(CUTS["chicken"])), SETUP)
    on = {row.cut: row.likely for row in both.rows if row.what == "meat on"}
    assert on["brisket"] < on["chicken"] < SERVE
    assert both.probability <= min(one.probability for one in both.outcomes)
    assert sum(row.what == "light the fire" for row in both.rows) == 1


def test_pieces_may_have_hours_of_their_own():
    chicken, sooner = piece(CUTS["chicken"]), SERVE - timedelta(hours=3)
    made = plan(wanted(BRISKET, chicken, hours=(SERVE, sooner)), SETUP)
    assert [row.likely for row in made.rows if row.what.startswith("serve")] == [sooner, SERVE]
    alone = plan(wanted(chicken), SETUP)
    on = {row.cut: row.likely for row in made.rows if row.what == "meat on"}
    assert on["chicken"] == times(alone, "meat on").likely - timedelta(hours=3)


def test_poultry_is_pulled_when_it_is_safe_and_has_no_tissue_to_wait_for():
    chicken = aims.outcome(wanted(style=Style(rest="counter")), piece(CUTS["chicken"]))
    assert chicken.pull_celsius.early >= 73.9
    assert chicken.giving is None
    assert chicken.tender is None
    whats = {row.what for row in plan(wanted(piece(CUTS["chicken"])), SETUP).rows}
    assert "bark is set" in whats
    assert "half the fat is out" not in whats


def test_it_says_what_to_do_if_early_or_late(made):
    text = " ".join(made.advice)
    assert "if early" in text
    assert "if late" in text
    assert "14 C (25 F) more" in text
    assert "rules of the place" in text


def test_what_saves_more_than_a_day_is_not_said_to_save_up_to_it(made):
    said = " ".join(words.beforehand(replace(made.outcomes[0], hotter_hours=30.0), 0.9, "flat"))
    assert "saves more than a day" in said
    assert "up to more" not in said


def test_a_small_roast_in_a_slow_pit_is_told_what_to_go_by():
    small = plan(wanted(piece(CUTS["beef ribs"], 2.0)), SETUP)
    assert any("dry oven of 177 C" in line and "158 F" in line for line in small.advice)
    assert not any("dry oven" in line for line in plan(wanted(), SETUP).advice)


def test_one_person_is_not_told_to_watch_all_night_without_a_word():
    assert any("find a second" in line for line in plan(wanted(), SETUP, people=1).advice)


def test_the_same_aim_gives_the_same_plan(made):
    assert plan(wanted(style=Style(wrap="paper", rest="oven", rest_celsius=63.0)), SETUP, people=2) == made


def test_a_pit_that_is_no_pit_is_refused():
    with pytest.raises(RangeError, match=r"300 C \(572 F\) is beyond"):
        aims.outcome(wanted(pit_celsius=300.0), BRISKET)
    with pytest.raises(RangeError, match="a hotter pit or a wrap"):
        aims.outcome(wanted(pit_celsius=80.0), piece(CUTS["brisket"], 30.0))


# --- wood and watches ----------------------------------------------------------------------------


def test_wood_goes_with_time_heat_and_size():
    usual = wood_need(SETUP, 12.0, 121.0, 15.0)
    assert usual.splits * usual.split_kg >= usual.kg
    assert wood_need(SETUP, 16.0, 121.0, 15.0).kg > usual.kg
    assert wood_need(SETUP, 12.0, 121.0, -10.0).kg > usual.kg
    large = Setup(time=SERVE, build=PitBuild(chamber_litres=1900.0))
    assert wood_need(large, 12.0, 121.0, 15.0).kg > 1.5 * usual.kg


def test_a_pit_of_the_middle_size_eats_what_such_pits_eat():
    """1.5 to 5 kg an hour: common practice, no source."""
    assert 1.5 <= wood_need(SETUP, 12.0, 121.0, 15.0).kg_per_hour <= 5.0


def test_watches_cover_the_fire_in_turn_and_none_is_longer_than_four_hours():
    begin = datetime(2026, 5, 1, 22, tzinfo=UTC)
    end = begin + timedelta(hours=17)
    turns = shifts(begin, end, 3)
    assert turns[0].begin == begin
    assert turns[-1].end == end
    assert all(one.end == two.begin and one.person != two.person for one, two in itertools.pairwise(turns))
    assert max(turn.end - turn.begin for turn in turns) <= timedelta(hours=4)
    assert {turn.person for turn in turns} == {1, 2, 3}
    assert len(shifts(begin, end, 1)) == 1


# --- the calendar --------------------------------------------------------------------------------


def test_a_calendar_reads_the_timetable_back(made):
    book = Calendar.from_ical(calendar(record(made, SERVE), "north"))
    events = {str(event["summary"]): event for event in book.walk("VEVENT")}
    pull = events["brisket: go and feel; pull when it says so"]
    row = times(made, "go and feel")
    assert abs(pull.decoded("dtstart") - row.early) < timedelta(seconds=1)
    assert abs(pull.decoded("dtend") - row.late) < timedelta(seconds=1)
    assert f"likely about {row.likely:%H:%M}" in pull["description"]
    assert sum(str(event["summary"]).startswith("watch the fire") for event in book.walk("VEVENT")) == len(
        made.shifts
    )
    uids = [str(event["uid"]) for event in book.walk("VEVENT")]
    assert len(set(uids)) == len(uids)


def test_the_same_plan_gives_the_same_bytes(made):
    assert calendar(record(made, SERVE), "north") == calendar(record(made, SERVE), "north")


def test_marbled_meat_is_planned_sooner_than_lean_meat_and_its_fractions_still_add_up():
    lean, usual, marbled = (piece(CUTS["brisket"], 5.5, grade=grade) for grade in ("lean", "usual", "marbled"))
    assert usual == BRISKET
    assert lean.composition.fat < usual.composition.fat < marbled.composition.fat
    for one in (lean, marbled):
        made = one.composition
        assert made.water + made.protein + made.fat + made.ash == pytest.approx(1.0, abs=0.01)
    slow, fast = (np.nanmedian(aims.simulate(wanted(one), one, wanted().style).pulled) for one in (lean, marbled))
    assert fast < slow


def test_wind_takes_wood_and_no_time():
    calm, windy = (plan(wanted(wind=wind), SETUP) for wind in ("calm", "windy"))
    assert windy.wood.kg > 1.3 * calm.wood.kg
    assert windy.rows == calm.rows


def test_wind_takes_wood_more_often_and_not_in_bigger_pieces():
    calm, windy = (wood_need(SETUP, 10.0, 121.0, 15.0, wind=wind) for wind in (1.0, 1.6))
    assert windy.split_kg == calm.split_kg
    assert windy.minutes_between < calm.minutes_between


def test_a_fire_that_burns_tells_what_it_needs_itself():
    usual = wood_need(SETUP, 8.0, 121.0, 15.0)
    thirsty = wood_need(SETUP, 8.0, 121.0, 15.0, need_watts=3.0 * usual.kg_per_hour * 3600.0)
    assert thirsty.kg_per_hour > 0.3 * usual.kg_per_hour
    assert wood_need(SETUP, 0.0, 121.0, 15.0, need_watts=5000.0).kg == 0.0
