"""Every key does what the help says of it, and is answered at once."""

from datetime import timedelta

import pytest
from textual import events

from firebox.records import (
    Acknowledge,
    AlarmState,
    Damper,
    DamperName,
    Door,
    DoorName,
    Lit,
    MeatOn,
    Note,
    Out,
    Priority,
    Rake,
    Shelve,
    Split,
    Spritz,
    Target,
    Undo,
    Wrap,
)
from firebox.units import Degrees, Mass
from tests.tui.canned import alarm, instant
from tests.tui.conftest import BEGIN
from tui.keys import KEYS


async def test_two_keys_log_a_split_of_a_known_size(shown):
    async with shown() as seen:
        await seen.press("s", "3")
        (entry,) = await seen.left()
        assert isinstance(entry, Split)
        assert (entry.kg, entry.species, entry.moisture) == (2.0, "oak", 0.18)
        assert entry.time == instant(BEGIN)
        assert len(entry.id) == 32
        await seen.see("large split, 2.0 kg at 01:12 – logged", "#answer")


async def test_enter_repeats_the_weight_logged_last(shown):
    async with shown() as seen:
        await seen.press("s", "1")
        await seen.left(1)
        await seen.press("s", "enter")
        entries = await seen.left(2)
        assert entries[1].kg == 0.9


async def test_a_weight_can_be_typed_in_the_cooks_own_unit(shown):
    async with shown() as seen:
        await seen.press("g", "s", "w", "3", "full_stop", "1", "enter")
        (entry,) = await seen.left()
        assert seen.app.preferences.mass is Mass.LB
        assert entry.kg == pytest.approx(1.406, abs=0.001)


async def test_a_damper_takes_its_letter_and_its_mark(shown):
    async with shown() as seen:
        await seen.press("d", "i", "6", "d", "t", "8")
        intake, stack = await seen.left(2)
        assert (intake.damper, intake.open) == (DamperName.INTAKE, 0.75)
        assert (stack.damper, stack.open) == (DamperName.STACK, 1.0)
        assert isinstance(intake, Damper)


async def test_a_mark_that_the_damper_has_not_is_refused_with_what_would_be_right(shown):
    async with shown() as seen:
        await seen.press("d", "i", "9")
        await seen.see("the damper has marks 0 to 8", "#answer")
        assert seen.link.left == []


async def test_the_door_key_opens_and_closes(shown):
    async with shown(echoes=False) as seen:
        await seen.press("o", "o", "O")
        doors = await seen.left(3)
        assert [(door.door, door.open) for door in doors] == [
            (DoorName.COOK, True), (DoorName.COOK, False), (DoorName.FIREBOX, True),
        ]  # fmt: skip
        assert all(isinstance(door, Door) for door in doors)


@pytest.mark.parametrize(("key", "kind"), [("r", Rake), ("l", Lit), ("x", Out), ("z", Spritz)])
async def test_one_key_is_one_entry(shown, key, kind):
    async with shown() as seen:
        await seen.press(key)
        (entry,) = await seen.left()
        assert type(entry) is kind


async def test_the_meat_key_takes_off_what_is_on(shown):
    async with shown() as seen:
        await seen.press("m", "enter", "m", "enter")
        off, on = await seen.left(2)
        assert (off.on, on.on) == (False, True)
        assert isinstance(on, MeatOn)


@pytest.mark.parametrize(("key", "material"), [("p", "paper"), ("f", "foil"), ("n", "none"), ("enter", "paper")])
async def test_wrapping_asks_for_the_material(shown, key, material):
    async with shown() as seen:
        await seen.press("w", key)
        (entry,) = await seen.left()
        assert entry.material == material
        assert isinstance(entry, Wrap)


async def test_a_note_takes_letters_that_are_keys_elsewhere(shown):
    async with shown() as seen:
        await seen.press("n", *"sq u", "enter")
        (entry,) = await seen.left()
        assert isinstance(entry, Note)
        assert entry.text == "sq u"


async def test_a_target_is_typed_in_the_cooks_degrees_with_its_band(shown):
    async with shown() as seen:
        await seen.press("t", *"275", "space", *"20", "enter")
        (entry,) = await seen.left()
        assert isinstance(entry, Target)
        assert (entry.celsius, entry.band) == (135.0, 11.11)


async def test_a_target_in_celsius_after_the_degrees_key(shown):
    async with shown() as seen:
        await seen.press("f", "t", *"130", "enter")
        (entry,) = await seen.left()
        assert (entry.celsius, entry.band) == (130.0, None)


async def test_undo_names_what_it_took_back(shown):
    async with shown() as seen:
        await seen.press("s", "2")
        await seen.see("logged", "#answer")
        await seen.press("u")
        split, undo = await seen.left(2)
        assert isinstance(undo, Undo)
        assert undo.of == split.id
        await seen.see("TAKEN BACK: medium split, 1.4 kg at 01:12 – logged", "#answer")


async def test_undo_reaches_an_entry_that_the_keeper_has_not_echoed(shown):
    async with shown(echoes=False) as seen:
        await seen.press("s", "2", "r", "u", "u")
        split, rake, first, second = await seen.left(4)
        assert (first.of, second.of) == (rake.id, split.id)


async def test_fingers_faster_than_the_screen_answer_the_question_and_do_nothing_else(shown):
    async with shown() as seen:
        for key in "di3s2":
            seen.app.post_message(events.Key(key, key))
        damper, split = await seen.left(2)
        assert (damper.damper, damper.open) == (DamperName.INTAKE, 0.375)
        assert split.kg == 1.4


async def test_an_entry_moves_back_five_minutes_a_press(shown):
    async with shown() as seen:
        await seen.press("s", "2")
        await seen.see("logged", "#answer")
        await seen.press("b")
        await seen.left(3)
        await seen.see("medium split, 1.4 kg at 01:07 – logged", "#answer")
        await seen.press("b")
        first, undo, again, undo_again, last = await seen.left(5)
        assert (undo.of, undo_again.of) == (first.id, again.id)
        assert again.at == first.time - timedelta(minutes=5)
        assert last.at == first.time - timedelta(minutes=10)
        assert len({first.id, again.id, last.id}) == 3


async def test_a_question_can_be_back_dated_before_it_is_answered(shown):
    async with shown() as seen:
        await seen.press("s", "b", "b", "2")
        (entry,) = await seen.left()
        assert entry.at == entry.time - timedelta(minutes=10)


async def test_escape_leaves_a_question_without_an_entry(shown):
    async with shown() as seen:
        await seen.press("s", "escape", "r")
        (entry,) = await seen.left()
        assert isinstance(entry, Rake)


async def test_an_entry_is_answered_before_the_keeper_echoes_it(shown):
    async with shown(echoes=False) as seen:
        await seen.press("r")
        await seen.see("coals raked at 01:12 – taken", "#answer")


async def test_an_entry_that_could_not_be_left_says_so_and_why(shown):
    async with shown(refuses="the disk is full") as seen:
        await seen.press("r")
        await seen.see("NOT TAKEN: coals raked at 01:12: the disk is full", "#answer")


async def test_acknowledging_takes_the_most_urgent_first(shown, cook):
    low = alarm("probe-silent-flat", seconds=BEGIN, priority=Priority.LOW, text="The probe flat is silent.")
    async with shown([*cook, low, alarm(seconds=BEGIN)], echoes=False) as seen:
        await seen.press("a", "a", "a")
        first, second = await seen.left(2)
        assert (first.alarm, second.alarm) == ("fire-dying", "probe-silent-flat")
        assert isinstance(first, Acknowledge)
        await seen.see("No alarm is waiting", "#answer")


async def test_an_alarm_is_acknowledged_while_a_question_is_open_which_stays_open(shown, cook):
    async with shown([*cook, alarm(seconds=BEGIN)]) as seen:
        await seen.press("s", "a", "3")
        acknowledged, split = await seen.left(2)
        assert acknowledged.alarm == "fire-dying"
        assert split.kg == 2.0


async def test_a_letter_of_a_note_acknowledges_nothing(shown, cook):
    async with shown([*cook, alarm(seconds=BEGIN)]) as seen:
        await seen.press("n", "a", "enter")
        (note,) = await seen.left(1)
        assert note.text == "a"


async def test_the_alarms_page_acknowledges_and_shelves_the_chosen_one(shown, cook):
    low = alarm("probe-silent-flat", seconds=BEGIN, priority=Priority.LOW, text="The probe flat is silent.")
    async with shown([*cook, low, alarm(seconds=BEGIN)], echoes=False) as seen:
        await seen.press("A")
        await seen.see("2 alarms", "#alarms")
        await seen.press("down", "a", "h", "2")
        acknowledged, shelved = await seen.left(2)
        assert acknowledged.alarm == "probe-silent-flat"
        assert isinstance(shelved, Shelve)
        assert (shelved.alarm, shelved.minutes) == ("probe-silent-flat", 60)


async def test_a_shelved_alarm_is_taken_back_by_the_same_key(shown, cook):
    async with shown([*cook, alarm(seconds=BEGIN, state=AlarmState.SHELVED)]) as seen:
        await seen.press("A")
        await seen.see("1 alarm", "#alarms")
        await seen.press("h")
        (entry,) = await seen.left()
        assert (entry.alarm, entry.minutes) == ("fire-dying", 0)


async def test_the_log_takes_back_and_brings_back_any_entry(shown):
    async with shown() as seen:
        await seen.press("e", "down", "down")
        await seen.press("u")
        (undo,) = await seen.left(1)
        assert undo.of == "damper-1" or undo.of.startswith("split-")
        await seen.see("TAKEN BACK", "#answer")
        await seen.until(lambda: undo.of in seen.app.glance().view.undone)
        await seen.press("u")
        entries = await seen.left(2)
        assert entries[1].of == undo.id
        await seen.see("BROUGHT BACK", "#answer")
        await seen.until(lambda: undo.of not in seen.app.glance().view.undone)


@pytest.mark.parametrize(
    ("key", "page", "words"),
    [
        ("p", "probes", "SOURCES"),
        ("A", "alarms", "NO ALARMS"),
        ("e", "log", "ENTRIES"),
        ("question_mark", "help", "TAKE CARE"),
    ],
)
async def test_a_key_opens_a_page_and_escape_comes_back(shown, key, page, words):
    async with shown() as seen:
        await seen.press(key)
        await seen.see(words, f"#{page}")
        await seen.press("escape")
        await seen.see("NEXT", "#fire")
        await seen.press(key, key)
        await seen.see("NEXT", "#fire")


async def test_the_help_names_every_key_and_every_caution(shown):
    async with shown() as seen:
        await seen.press("question_mark")
        await seen.see("TAKE CARE", "#help")
        words = seen.words("#help")
        assert all(key.help in words for key in KEYS)
        for caution in (
            "Carbon monoxide",
            "NEVER WATER",
            "unattended",
            "Hot ash",
            "Clearances",
            "Burns",
            "Food safety",
            "Local codes",
        ):
            assert caution in words


async def test_degrees_clock_and_weights_change_at_a_key(shown):
    async with shown() as seen:
        assert "aim 250F" in seen.words("#pit")
        await seen.press("f", "c", "g")
        await seen.see("aim 121C ±8", "#pit")
        await seen.see("am", "#header")
        await seen.see("lb", "#next")
        assert (seen.app.preferences.degrees, seen.app.preferences.hours) == (Degrees.C, 12)


async def test_the_theme_key_goes_round(shown):
    async with shown() as seen:
        themes = []
        for _ in range(4):
            await seen.press("y")
            themes.append(seen.app.theme)
        assert themes == ["day", "night", "contrast", "dusk"]


async def test_the_chart_shows_one_probe_after_another(shown):
    async with shown() as seen:
        await seen.press("v")
        await seen.see("the chart shows ambient", "#answer")
        await seen.press("v", "v", "v", "v")
        await seen.see("the chart shows the pit", "#answer")


async def test_the_chart_looks_further_back_and_closer(shown):
    async with shown() as seen:
        await seen.press("minus")
        await seen.see("4 h back", "#answer")
        await seen.press("plus", "plus")
        await seen.see("1 h back", "#answer")


async def test_leaving_ends_the_dashboard_and_says_that_the_watch_goes_on(shown):
    async with shown() as seen:
        await seen.press("q")
        assert not seen.app.is_running
        assert "firebox stop" in seen.app._exit_renderables[0]


async def test_keys_can_be_clicked(shown):
    async with shown() as seen:
        await seen.pilot.click("#keys", offset=(2, 0))
        await seen.see("weigh it", "#answer")


def test_no_key_is_given_twice():
    keys = [key for row in KEYS for key in row.key.split(",")]
    assert len(keys) == len(set(keys))
