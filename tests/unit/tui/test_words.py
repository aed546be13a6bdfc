"""Values as the cook reads them."""

from datetime import UTC, datetime

import pytest

from firebox.records import Split
from firebox.setup import Wood
from firebox.units import Degrees, Mass
from tui import text
from tui.glyphs import FULL, PLAIN
from tui.preferences import LOOKS, Preferences
from tui.screens.help import chart_parts

F, C = Preferences(degrees=Degrees.F), Preferences(degrees=Degrees.C)
WOOD = Wood(small_kg=0.9, medium_kg=1.4, large_kg=2.0)


@pytest.mark.parametrize(
    ("celsius", "words"),
    [(121.1, "250F"), (None, "--"), (float("nan"), "--"), (float("inf"), "--"), (-17.8, "0F"), (-40, "-40F")],
)
def test_degrees_are_whole_and_unknown_is_never_zero(celsius, words):
    assert text.degrees(celsius, F) == words


def test_no_temperature_reads_as_minus_zero():
    assert text.degrees(-0.3, C) == "0C"


@pytest.mark.parametrize(
    ("drift", "words"),
    [(-4.4, "falling 8 an hour"), (4.4, "rising 8 an hour"), (0.1, "steady"), (-0.1, "steady"), (None, "trend not known"),
     (float("nan"), "trend not known")],
)  # fmt: skip
def test_a_trend_is_told_in_words(drift, words):
    assert text.trend(drift, F) == words


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0, "0 s"), (59.9, "59 s"), (60, "1 min"), (90, "2 min"), (3599, "1 h"), (3660, "1 h 01"), (7200, "2 h"), (-5, "0 s"),
     (3570, "1 h"), (1e12, "277777 h")],
)  # fmt: skip
def test_lengths_of_time_are_short(seconds, words):
    assert text.span(seconds) == words


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (720, "in 12 min"),
        (46, "in 1 min"),
        (45, "now"),
        (0, "now"),
        (-59, "now"),
        (-60, "1 min overdue"),
        (-600, "10 min overdue"),
    ],
)
def test_a_countdown_never_ends_in_silence(seconds, words):
    assert text.countdown(seconds) == words


@pytest.mark.parametrize(
    ("hour", "h24", "h12"),
    [(0, "00:05", "12:05 am"), (11, "11:05", "11:05 am"), (12, "12:05", "12:05 pm"), (23, "23:05", "11:05 pm")],
)
def test_clock_of_12_and_24_hours(hour, h24, h12):
    instant = datetime(2026, 5, 2, hour, 5, tzinfo=UTC)
    assert text.clock(instant, Preferences(hours=24), UTC) == h24
    assert text.clock(instant, Preferences(hours=12), UTC) == h12


@pytest.mark.parametrize(
    ("kg", "word"),
    [(0.9, "small"), (1.3, "medium"), (1.45, "medium"), (2.3, "large"), (0.3, ""), (4.0, ""), (None, "")],
)
def test_a_split_is_called_by_the_nearest_of_the_owners_sizes(kg, word):
    assert text.size_word(kg, WOOD) == word


def test_without_sizes_a_split_is_a_split():
    assert text.wood_words(1.4, Wood(), Preferences()) == "split, 1.4 kg"
    assert text.wood_words(1.4, Wood(), Preferences(mass=Mass.LB)) == "split, 3.1 lb"


def test_a_split_of_unknown_weight_says_so():
    split = Split(time=datetime(2026, 5, 2, tzinfo=UTC))
    assert text.entry_words(split, WOOD, 8, Preferences()) == "split, weight not told"


@pytest.mark.parametrize(("opening", "words"), [(0.5, "4 of 8"), (0.02, "shut"), (0.98, "fully open"), (None, "--")])
def test_a_damper_reads_as_on_the_damper(opening, words):
    assert text.mark(opening, 8) == words


@pytest.mark.parametrize(
    ("typed", "number"), [("1.4", 1.4), ("1,4", 1.4), (" 3 ", 3.0), ("", None), ("x", None), ("inf", None)]
)
def test_numbers_are_taken_with_point_or_comma(typed, number):
    assert text.parse_number(typed) == number


def test_a_cut_text_shows_that_it_was_cut():
    assert text.cut("one two three", 9) == "one two.."
    assert text.cut("a\nb", 9) == "a b"


def test_every_look_comes_back_to_where_it_began():
    for what, rounds in {"degrees": 2, "hours": 2, "mass": 2, "theme": 4}.items():
        preferences = Preferences()
        for _ in range(rounds):
            preferences, words = LOOKS[what](preferences)
            assert words
        assert preferences == Preferences()


def test_the_chart_looks_back_between_one_and_sixteen_hours():
    preferences = Preferences()
    for _ in range(9):
        preferences, _ = LOOKS["longer"](preferences)
    assert preferences.history_hours == 16
    for _ in range(9):
        preferences, _ = LOOKS["shorter"](preferences)
    assert preferences.history_hours == 1


@pytest.mark.parametrize("drawing", [FULL, PLAIN])
def test_every_mark_of_the_ribbon_is_explained_on_the_help_page(drawing):
    explained = [mark for mark, _ in chart_parts(drawing)]
    for mark in (drawing.drying, drawing.flaming, drawing.coals, drawing.other, drawing.needed, drawing.short):
        assert explained.count(mark) == 1


@pytest.mark.parametrize(
    ("words", "metric", "other"),
    [
        ("14 C (25 F) more", "14 C more", "25 F more"),
        ("between 10 and 54 C (50-130 F) at", "between 10 and 54 C at", "between 50-130 F at"),
        ("an oven at 60-65 C (140-149 F)", "an oven at 60-65 C", "an oven at 140-149 F"),
        ("73.9 C (165 F) in all", "73.9 C in all", "165 F in all"),
        ("5 h of 6 (see below)", "5 h of 6 (see below)", "5 h of 6 (see below)"),
    ],
)
def test_words_that_tell_both_scales_are_shown_in_the_cooks_own(words, metric, other):
    assert text.own_degrees(words, Preferences(degrees=Degrees.C)) == metric
    assert text.own_degrees(words, Preferences(degrees=Degrees.F)) == other
