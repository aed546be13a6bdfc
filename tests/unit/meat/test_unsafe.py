"""What must never be said of meat: that raw meat can be sliced, or that a probe in the air shows how it cooled."""

import pytest
from msgspec.structs import replace

from firebox.meat import safety, slipped
from firebox.meat.cuts import CUTS, piece
from firebox.meat.places import place
from firebox.records import MeatOn
from tests.unit.meat.kitchen import Kitchen


def pulled(kitchen, rest="cooler", air=20.0):
    kitchen.enter(MeatOn(time=kitchen.time, on=False, rest=rest, celsius=air))
    kitchen.where, kitchen.air = place(rest), air
    return kitchen


@pytest.fixture(scope="module")
def left():
    """Cooked meat in a cooler, its probe lying in cold air: as told after an hour, and after ten."""
    kitchen = pulled(Kitchen(start=50.0).cook(6.0))
    kitchen.loose = 5.0
    soon = kitchen.cook(1.0).ask()
    return soon, kitchen.cook(9.0).ask(), kitchen


def test_a_probe_that_falls_faster_than_meat_can_cool_is_out_of_it(left):
    soon, late, _ = left
    for meat in (soon, late):
        said = " ".join(meat.safety)
        assert meat.stage == "the probe is out of the meat"
        assert "cooled in time" not in said
        assert "the probe has been out of the meat" in said
        assert meat.hold is None
        assert meat.hot_until is None


def test_what_the_probe_reads_in_the_air_teaches_nothing_of_the_meat(left):
    soon, _, kitchen = left
    assert soon.middle_celsius > 55.0
    assert kitchen.one.out == (True, False)


def test_a_probe_that_is_put_back_is_heard_again():
    kitchen = Kitchen(start=50.0).cook(4.0)
    kitchen.loose = 20.0
    kitchen.cook(0.3)
    assert kitchen.one.out[0]
    kitchen.loose = None
    kitchen.cook(0.3)
    assert not kitchen.one.out[0]
    assert kitchen.ask().stage != "the probe is out of the meat"


@pytest.mark.parametrize(("rest", "air"), [("counter", 5.0), ("cooler", 20.0), ("oven", 63.0)])
def test_meat_that_cools_where_it_rests_keeps_its_probe(rest, air):
    kitchen = pulled(Kitchen(cut="pork ribs", start=60.0).cook(4.0), rest, air)
    for _ in range(10):
        kitchen.cook(0.5)
        assert kitchen.one.out == (False, False)


def test_no_piece_cools_faster_than_the_bound_but_one_in_the_air():
    ribs = piece(CUTS["pork ribs"])
    assert slipped.lowest(ribs, 90.0, 60.0) < 80.0 < slipped.lowest(ribs, 95.0, 60.0)
    assert slipped.lowest(piece(CUTS["brisket"]), 61.0, 900.0) > 30.0


def test_raw_meat_that_was_pulled_is_never_called_ready_to_slice():
    kitchen = pulled(Kitchen(cut="pork shoulder").cook(1.0), "oven", 65.0).cook(0.3)
    meat = kitchen.ask()
    assert meat.stage.startswith("NOT COOKED")
    assert meat.safety_urgent
    assert "NOT COOKED" in meat.safety[0]
    assert meat.unsafe == "raw"
    assert meat.ready is None
    assert all(rest.slice_at is None for rest in meat.rests)
    assert meat.hold is None


def test_meat_that_is_far_from_tender_is_told_to_go_back():
    meat = pulled(Kitchen(start=50.0).cook(5.0)).cook(0.3).ask()
    assert "far from tender" in meat.stage
    assert meat.ready is None
    assert not meat.safety_urgent


@pytest.mark.parametrize(
    ("hours", "came_up", "resting", "told"),
    [
        (4.9, False, False, None),
        (5.1, False, False, "near"),
        (5.1, True, False, None),
        (6.1, True, False, "long"),
        (0.2, False, True, "raw"),
        (6.1, False, True, "long"),
    ],
)
def test_what_is_unsafe_is_told_by_its_clock(hours, came_up, resting, told):
    clocks = safety.Clocks(growth=3600.0 * hours, came_up=came_up, lowest=40.0)
    assert safety.unsafe(clocks, resting=resting) == told


def test_the_coldest_part_is_no_warmer_than_a_probe_in_the_meat():
    for hours in (0.5, 2.0, 5.0):
        meat = Kitchen(seed=5, member=1, start=24.0).cook(hours).ask()
        assert meat.middle_celsius <= meat.celsius + 0.05
        assert meat.outside_celsius >= meat.middle_celsius


def test_meat_that_is_hours_off_is_not_to_be_felt_now_however_wide_the_doubt():
    kitchen = Kitchen(gas=105.0).cook(8.0)
    kitchen.meats = {"flat": replace(kitchen.one, width=4.0)}
    meat = kitchen.ask()
    assert meat.feel_at > meat.time
    assert meat.feel_at - meat.time >= 0.29 * (meat.ready - meat.time)
    assert list(meat.p10) == sorted(meat.p10)
