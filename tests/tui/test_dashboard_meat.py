"""The meat and the plan on the dashboard: their pages, their keys, several pieces."""

from datetime import timedelta

import pytest

from firebox.records import Feel, Health, Hush, MeatOn, Picture, ProbeHealth, Serving, Spritz, Turn, Undo, Weigh, Wrap
from firebox.units import Degrees
from tests.tui import cooking
from tests.tui.canned import CannedLink, instant
from tests.tui.conftest import BEGIN
from tui.preferences import Preferences

SIZES = [(80, 24), (160, 50)]
ON = MeatOn(time=instant(3600.0), id="meat-1")


def two(cook):
    """The cook with two pieces."""
    return [*cook, cooking.brisket(), cooking.shoulder()]


# --- the pages -----------------------------------------------------------------------------------


async def test_the_meat_page_says_what_it_does_when_to_feel_what_may_be_done_and_what_is_safe(shown, cook):
    async with shown([*cook, cooking.brisket()]) as seen:
        await seen.press("i")
        await seen.see("on the plateau", "#pieces")
        words = seen.words("#pieces")
        assert "coldest part about 161F" in words
        assert "go and feel from 06:48" in words
        assert "likely ready 09:00" in words
        assert "CARE" in words
        assert "in paper 1 h 30 sooner" in words
        assert "hushed: turn" in words
        assert "FOOD SAFETY  by the probe alone; not to be hushed" in words


async def test_time_to_feel_stands_out_with_every_place_to_rest(shown, cook):
    async with shown([*cook, cooking.ready()]) as seen:
        await seen.press("i")
        await seen.see("GO AND FEEL, 48% that it is ready (then F)", "#pieces")
        words = seen.words("#pieces")
        assert "PULLED NOW" in words
        assert "slice 03:18" in words
        assert "stays hot" in words
        assert "from 183F to 199F" in words


async def test_what_rests_tells_when_it_can_be_sliced_how_warm_it_is_and_its_yield(shown, cook):
    async with shown([*cook, cooking.resting()]) as seen:
        await seen.press("i")
        await seen.see("kept hot", "#pieces")
        words = seen.words("#pieces")
        assert "can be sliced from about 06:24" in words
        assert "stays hot until 06:06" in words
        assert "yield 67%" in words
        assert "in the cooler, in paper" in words


async def test_urgent_safety_comes_first_on_its_page_and_on_the_fires(shown, cook):
    told = cooking.brisket(safety=("6.4 h between 10 and 54 C at the probe", "more"), safety_urgent=True)
    async with shown([*cook, told]) as seen:
        assert "FOOD SAFETY: press i" in seen.words("#meat")
        await seen.press("i")
        await seen.see("FOOD SAFETY: 6.4 h between", "#pieces")
        assert seen.words("#pieces").index("FOOD SAFETY: 6.4") < seen.words("#pieces").index("FLAT")


async def test_a_probe_that_is_not_trusted_shows_no_temperature_of_meat(shown, cook):
    out = ProbeHealth(time=instant(BEGIN), probe="flat", health=Health.OPEN, role="meat", text="open")
    async with shown([*cook, cooking.brisket(), out]) as seen:
        await seen.press("i")
        await seen.see("probe open circuit", "#pieces")
        assert "163F" not in seen.words("#pieces")


async def test_without_meat_the_page_says_what_would_be_one(shown):
    async with shown([]) as seen:
        await seen.press("i")
        await seen.see("NO MEAT PROBE", "#pieces")


async def test_the_plan_page_is_the_timetable_with_wood_watches_and_what_to_do(shown, cook):
    async with shown([*cook, cooking.serving(), cooking.timetable()]) as seen:
        assert "serve 15:00: on time, 91% sure" in seen.words("#meat")
        await seen.press("P")
        await seen.see("SERVE 15:00", "#plan")
        words = seen.words("#plan")
        assert "meat on" in words
        assert words.index("bark is set") < words.index("now") < words.index("wrap")
        assert "from what is measured" in words
        assert "31.5 kg to have ready: 23 splits of 1.4 kg" in words
        assert "cook 2 04:42-08:12" in words
        assert "if late" in words


async def test_without_a_plan_the_page_says_how_to_get_one(shown, cook):
    async with shown(cook) as seen:
        await seen.press("P")
        await seen.see("press T, type 18:00", "#plan")


async def test_a_plan_that_was_taken_back_is_shown_no_more(shown, cook):
    gone = Undo(time=instant(BEGIN), id="undo-1", of="serving-1")
    async with shown([*cook, cooking.serving(), cooking.timetable(), gone]) as seen:
        await seen.press("P")
        await seen.see("NO PLAN YET", "#plan")
        assert "serve" not in seen.words("#meat")


# --- the keys, one piece -------------------------------------------------------------------------


@pytest.mark.parametrize(("key", "answer"), [("s", "springy"), ("g", "giving"), ("x", "gone")])
async def test_two_keys_tell_what_the_hand_felt(shown, cook, key, answer):
    async with shown(cook) as seen:
        await seen.press("F", key)
        (entry,) = await seen.left()
        assert isinstance(entry, Feel)
        assert (entry.answer, entry.probe) == (answer, "flat")
        await seen.see(f"felt flat: {answer} at 01:12", "#answer")


async def test_a_feel_is_dated_back_and_taken_back(shown, cook):
    async with shown(cook) as seen:
        await seen.press("F", "b", "b", "g")
        (entry,) = await seen.left()
        assert entry.at == entry.time - timedelta(minutes=10)
        await seen.see("logged", "#answer")
        await seen.press("u")
        undo = (await seen.left(2))[1]
        assert isinstance(undo, Undo)
        assert undo.of == entry.id


async def test_a_wrap_is_dated_back_with_its_material(shown, cook):
    async with shown(cook) as seen:
        await seen.press("w", "b", "b", "b", "f")
        (entry,) = await seen.left()
        assert isinstance(entry, Wrap)
        assert entry.material == "foil"
        assert entry.at == entry.time - timedelta(minutes=15)


@pytest.mark.parametrize(("key", "rest"), [("c", "counter"), ("k", "cooler")])
async def test_what_is_pulled_goes_where_the_cook_says(shown, cook, key, rest):
    async with shown([*cook, ON]) as seen:
        await seen.press("m", key)
        (entry,) = await seen.left()
        assert isinstance(entry, MeatOn)
        assert (entry.on, entry.rest, entry.celsius) == (False, rest, None)
        await seen.see(f"meat off, to the {rest} at 01:12", "#answer")


async def test_a_holding_oven_is_told_its_degrees(shown, cook):
    async with shown([*cook, ON]) as seen:
        await seen.press("m", "h", "3", "0", "enter")
        await seen.see("a holding oven stands between", "#answer")
        await seen.press("1", "5", "0", "enter")
        (entry,) = await seen.left()
        assert entry.rest == "oven"
        assert entry.celsius == pytest.approx(65.56, abs=0.01)
        await seen.press("m", "h", "enter")
        assert (await seen.left(2))[1].celsius is None


@pytest.mark.parametrize(("key", "how"), [("t", "turned"), ("v", "moved")])
async def test_turning_and_moving_are_told(shown, cook, key, how):
    async with shown([*cook, ON]) as seen:
        await seen.press("m", key)
        (entry,) = await seen.left()
        assert isinstance(entry, Turn)
        assert entry.how == how


async def test_weights_in_and_out_are_told_in_the_cooks_unit(shown, cook):
    async with shown(cook, preferences=Preferences(degrees=Degrees.C)) as seen:
        await seen.press("m", "w", "5", "full_stop", "4", "enter")
        (entry,) = await seen.left()
        assert isinstance(entry, Weigh)
        assert (entry.kg, entry.when, entry.probe) == (5.4, "in", "flat")
        await seen.press("m", "w", "3", "full_stop", "6", "o")
        assert (await seen.left(2))[1].when == "out"
        await seen.press("m", "w", "o")
        await seen.see("nothing is no weight of meat", "#answer")


async def test_a_picture_is_kept_by_its_file_name(shown, cook):
    async with shown(cook) as seen:
        await seen.press("m", "p", *"bark", "underscore", "1", "full_stop", *"jpg", "enter")
        (entry,) = await seen.left()
        assert isinstance(entry, Picture)
        assert entry.file == "bark_1.jpg"


async def test_a_prompt_is_hushed_and_heard_again(shown, cook):
    async with shown([*cook, cooking.brisket()]) as seen:
        await seen.press("H")
        await seen.see("1 wrap  2 juices  3 turn again", "#answer")
        await seen.press("2")
        (entry,) = await seen.left()
        assert isinstance(entry, Hush)
        assert (entry.care, entry.on) == ("juices", True)
        await seen.press("H", "3")
        assert (await seen.left(2))[1].on is False


async def test_the_hour_people_sit_down_is_told_with_wrap_rest_and_cooks(shown, cook):
    async with shown(cook) as seen:
        await seen.press("T", "1", "8", "colon", "3", "0", "w", "r", "p", "enter")
        (entry,) = await seen.left()
        assert isinstance(entry, Serving)
        assert entry.serve == instant(BEGIN).replace(hour=18, minute=30)
        assert (entry.wrap, entry.rest, entry.people) == ("paper", "oven", 2)
        await seen.see("planned for", "#answer")


async def test_an_hour_that_is_past_is_tomorrows_and_one_that_is_none_is_refused(shown, cook):
    async with shown(cook) as seen:
        await seen.press("T", "2", "5", "enter")
        await seen.see("an hour reads 18:00", "#answer")
        await seen.press("1", "enter")
        (entry,) = await seen.left()
        assert entry.serve == instant(BEGIN).replace(hour=1, minute=0) + timedelta(days=1)


async def test_the_holding_ovens_degrees_go_behind_the_hour(shown, cook):
    async with shown(cook) as seen:
        await seen.press("T", *"18", "space", *"150", "enter")
        await seen.see("choose it with r", "#answer")
        await seen.press("r", *"18", "space", *"150", "enter")
        (entry,) = await seen.left()
        assert entry.rest == "oven"
        assert entry.celsius == pytest.approx(65.56, abs=0.01)


# --- several pieces ------------------------------------------------------------------------------


async def test_of_several_pieces_the_cook_says_which(shown, cook):
    async with shown(two(cook)) as seen:
        await seen.press("F")
        await seen.see("1 flat  2 point", "#answer")
        await seen.press("2", "s", "w", "1", "f", "z", "enter", "z", "2")
        felt, wrapped, all_wet, one_wet = await seen.left(4)
        assert (felt.probe, felt.answer) == ("point", "springy")
        assert (wrapped.probe, wrapped.material) == ("flat", "foil")
        assert isinstance(all_wet, Spritz)
        assert (all_wet.probe, one_wet.probe) == (None, "point")


async def test_the_piece_that_the_page_shows_is_the_one_enter_means(shown, cook):
    async with shown(two(cook)) as seen:
        await seen.press("i")
        await seen.see("pork shoulder", "#pieces")
        await seen.press("down")
        await seen.see("POINT pork shoulder", "#pieces")
        await seen.press("F", "enter", "g", "g")
        (entry,) = await seen.left()
        assert entry.probe == "point"


async def test_one_of_two_is_pulled_and_the_other_stays(shown, cook):
    async with shown([*two(cook), ON]) as seen:
        await seen.press("m", "1", "k", "m", "2", "enter")
        flat, point = await seen.left(2)
        assert (flat.probe, flat.on, flat.rest) == ("flat", False, "cooler")
        assert (point.probe, point.on) == ("point", False)


async def test_one_of_two_may_have_an_hour_of_its_own(shown, cook):
    async with shown(two(cook)) as seen:
        await seen.press("T", "enter", *"18", "enter", "T", "2", *"16", "enter")
        both, own = await seen.left(2)
        assert (both.probe, both.serve.hour) == (None, 18)
        assert (own.probe, own.serve.hour) == ("point", 16)


async def test_no_weight_is_told_of_all_at_once(shown, cook):
    async with shown(two(cook)) as seen:
        await seen.press("m", "enter", "w")
        await seen.see("weigh one piece at a time", "#answer")
        assert seen.link.left == []


# --- looks ---------------------------------------------------------------------------------------

LOOKS = {
    "plateau": ("i", [cooking.brisket()]),
    "ready": ("i", [cooking.ready()]),
    "resting": ("i", [cooking.resting()]),
    "two-pieces": ("i", [cooking.brisket(), cooking.shoulder()]),
    "unsafe": (
        "i",
        [
            cooking.brisket(
                safety=("6.4 h between 10 and 54 C at the probe; more than 6 h is too long. [FSIS]", *cooking.SAFETY),
                safety_urgent=True,
            )
        ],
    ),
    "plan": ("P", [cooking.serving(), cooking.timetable()]),
    "plan-late": ("P", [cooking.serving(), cooking.timetable(**cooking.LATE)]),
    "no-plan": ("P", []),
    "serve-at": ("T", []),
    "fire-with-plan": ("escape", [cooking.ready(), cooking.serving(), cooking.timetable(**cooking.LATE)]),
}


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("look", LOOKS)
def test_how_meat_and_plan_look(make, cook, until, snap_compare, look, size):
    key, records = LOOKS[look]
    app = make(CannedLink([*cook, *records]))

    async def settled(pilot):
        await until(lambda: app.glance().view.epoch is not None and app.glance().status is not None)
        await pilot.press(key)
        await pilot.pause()
        app.show()
        await pilot.pause()

    assert snap_compare(app, terminal_size=size, run_before=settled)


async def test_what_was_entered_last_is_taken_back_whatever_hour_it_was_dated_to(shown, cook):
    async with shown(cook) as seen:
        await seen.press("s", "2")
        await seen.left(1)
        await seen.press("w", "b", "b", "b", "f", "f")
        *_, wrap = await seen.left(2)
        assert isinstance(wrap, Wrap)
        await seen.press("u")
        *_, undo = await seen.left(3)
        assert undo.of == wrap.id


async def test_an_hour_that_was_planned_for_is_not_moved_back(shown, cook):
    async with shown(cook) as seen:
        await seen.press("T", "1", "8", "enter")
        await seen.left(1)
        await seen.press("b")
        await seen.see("has no hour to move", "#answer")
