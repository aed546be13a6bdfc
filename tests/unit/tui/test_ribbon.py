"""The heat ribbon: what each split gives, against what the pit needs."""

import pytest

from firebox.records import Stage
from tui.glyphs import FULL, PLAIN
from tui.ribbon import Bar, Heat, ribbon, scale

NEED = 12_000.0


def heat(watts=14_000.0, *bars, need=NEED):
    return Heat(seconds=0.0, watts=watts, need=need, bars=tuple(Bar(*bar) for bar in bars))


def drawn(*columns, height=8, width=40, now=None, drawing=FULL):
    return ribbon(columns, len(columns) if now is None else now, width, height, drawing)


def column(ribbon, x=0):
    """The parts of a column, from the bottom up."""
    return [row[x][1] for row in reversed(ribbon.rows)]


def text(ribbon):
    return ["".join(character for character, _ in row).rstrip() for row in ribbon.rows]


def test_splits_stand_on_what_no_split_explains_the_oldest_lowest():
    one = heat(14_000.0, (1, Stage.COALS, 4_000.0), (2, Stage.FLAMING, 6_000.0), need=None)
    parts = column(drawn(one, height=7))
    assert parts == ["other"] * 2 + ["coals-next"] * 2 + ["flaming"] * 3, "2 kW a row"


def test_neighbours_in_the_same_stage_differ_in_colour_but_not_in_character():
    one = heat(12_000.0, (1, Stage.COALS, 6_000.0), (2, Stage.COALS, 6_000.0), need=None)
    shown = drawn(one, height=4)
    assert column(shown) == ["coals-next", "coals-next", "coals", "coals"], "3 kW a row"
    assert {row[0][0] for row in shown.rows} == {FULL.coals}


def test_a_split_that_has_just_gone_in_is_seen_though_it_gives_nothing_yet():
    one = heat(8_000.0, (1, Stage.COALS, 8_000.0), (2, Stage.DRYING, 0.0), need=None)
    assert column(drawn(one, height=4)) == ["coals-next"] * 3 + ["drying"]


@pytest.mark.parametrize("drawing", [FULL, PLAIN])
def test_every_part_has_a_character_of_its_own(drawing):
    own = (drawing.drying, drawing.flaming, drawing.coals, drawing.other, drawing.needed, drawing.short)
    assert len(set(own)) == 6


def test_the_line_lies_at_the_heat_needed_over_the_stack():
    parts = column(drawn(heat(20_000.0, need=12_000.0), height=10))
    assert parts.index("needed") == 6, "2 kW a row: the line is in the row from 12 to 14"
    assert parts[5] == parts[7] == "other"


def test_the_line_does_not_flutter_about_the_edge_of_a_row():
    columns = [heat(19_000.0, need=need) for need in (9_900.0, 10_100.0, 9_950.0, 10_200.0, 12_000.0)]
    shown = drawn(*columns, height=8)
    rows = [column(shown, x).index("needed") for x in range(5)]
    assert rows == [3, 3, 3, 3, 4], "2.5 kW a row"


def test_where_the_stack_falls_below_it_the_line_says_so():
    shown = drawn(heat(9_000.0), heat(9_000.0), heat(11_900.0), height=10)
    assert "short" in column(shown, 0)
    assert "short" in column(shown, 1)
    assert "needed" in column(shown, 2), "within what can be told of it, it is enough"
    line = next(row for row in text(shown) if FULL.needed in row)
    assert line.startswith(FULL.short + FULL.needed + FULL.needed)
    assert "short" in column(drawn(heat(), heat(9_000.0), heat(), height=10), 1)
    assert any(FULL.short in row[:3] for row in text(drawn(heat(), heat(9_000.0), heat(), height=10)))


def test_heat_that_was_not_known_is_a_gap():
    shown = drawn(heat(), None, heat(), height=6)
    assert set(column(shown, 1)) == {"plain"}


def test_without_any_heat_it_says_so():
    shown = drawn(None, None)
    assert text(shown)[0] == " the fire's heat is not known"
    assert len(shown.rows) == len(shown.labels) == 8


def test_a_lighting_fire_does_not_flatten_the_rest_and_is_seen_to_go_beyond():
    assert scale([heat(90_000.0), heat(14_000.0)], 8) == 25_000.0
    shown = drawn(heat(90_000.0), heat(14_000.0))
    assert shown.rows[0][0][0] == FULL.up
    assert shown.rows[0][1][0] != FULL.up


@pytest.mark.parametrize("height", [3, 5, 10])
@pytest.mark.parametrize("need", [3_000.0, 8_000.0, 12_000.0, 21_000.0])
def test_above_the_line_there_is_room_to_see_too_much_heat(need, height):
    shown = drawn(heat(1.3 * need, need=need), height=height)
    assert column(shown).index("needed") < height - 1


def test_the_labels_tell_scale_and_need():
    assert drawn(heat(14_000.0), height=3).labels == ("20kW", "need", "heat")
    assert drawn(heat(3_000.0, need=None), height=3).labels == ("3kW", "", "heat")


def test_right_of_the_present_it_tells_what_the_fire_gives_and_what_the_marks_mean():
    shown = drawn(heat(14_200.0), now=0, height=5)
    words = "\n".join(text(shown))
    assert "gives 14 kW, needs 12" in words
    for word in ("flames", "coals", "drying", "other", "need", "too little"):
        assert word in words


def test_where_there_is_little_room_only_the_numbers_are_told():
    shown = drawn(heat(14_200.0), now=0, width=14, height=3)
    assert text(shown)[:2] == ["│ gives 14 kW,", "│ needs 12"]
    assert text(drawn(heat(14_200.0), now=0, width=8, height=3)) == ["│"] * 3


def test_the_present_is_a_line_through_the_ribbon():
    shown = drawn(heat(), heat(), heat(), now=2)
    assert set(column(shown, 2)) == {"now"}


def test_plain_drawing_is_ascii():
    shown = drawn(heat(90_000.0, (1, Stage.DRYING, 5.0)), heat(9_000.0), drawing=PLAIN)
    assert all(row.isascii() for row in text(shown))
