"""The picture of the fire: chart, marks, ribbon, one time axis."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tui.glyphs import FULL, PLAIN, big, can_draw
from tui.plot import LABEL, Scene, draw

NOW = 7200.0


def clock(seconds):
    minutes = int(seconds // 60) % 1440
    return minutes, f"{minutes // 60:02}:{minutes % 60:02}"


def scene(**more):
    return Scene(now=NOW, history_seconds=7200.0, clock=clock, **more)


def rows(picture):
    return ["".join(character for character, _ in row) for row in picture]


def parts(picture, part):
    return [(y, x) for y, row in enumerate(picture) for x, (_, name) in enumerate(row) if name == part]


TRAIL = tuple((float(second), 250.0 + 10.0 * math.sin(second / 900.0)) for second in range(0, 7200, 20))
FAN = ((NOW, 250.0, 250.0, 250.0), (NOW + 1800.0, 240.0, 246.0, 252.0), (NOW + 3600.0, 220.0, 235.0, 250.0))


def full(drawing=FULL, width=80, height=16, **more):
    told = {
        "trail": TRAIL, "fan": FAN, "target": lambda _: (250.0, 15.0), "marks": ((1800.0, "s1.4"), (1810.0, "i")),
        "heat": tuple((float(second), 5000.0 + second / 10.0) for second in range(0, 7200, 60)),
    }  # fmt: skip
    return draw(scene(**(told | more)), width, height, drawing)


@pytest.mark.parametrize("size", [(80, 16), (60, 9), (160, 40), (15, 4)])
def test_every_row_is_as_wide_as_asked(size):
    picture = full(width=size[0], height=size[1])
    assert len(picture) == size[1]
    assert {len(row) for row in picture} == {size[0]}


def test_without_room_there_is_no_picture():
    assert full(width=14, height=16) == ()
    assert full(width=80, height=3) == ()


def test_the_past_lies_left_of_now_and_the_forecast_right_of_it():
    picture = full()
    now = parts(picture, "now")[0][1]
    assert max(x for _, x in parts(picture, "history")) <= now
    assert min(x for _, x in parts(picture, "fan")) >= now


def test_a_falling_forecast_goes_down_and_widens():
    fan = parts(full(height=30), "fan")
    columns = sorted({x for _, x in fan})

    def spread(x):
        return [y for y, other in fan if other == x]

    early, late = spread(columns[3]), spread(columns[-1])
    assert max(late) > max(early)
    assert len(late) > len(early)


def test_the_course_under_the_move_stands_beside_that_of_leaving_it_alone():
    promise = ((NOW, 250.0), (NOW + 3600.0, 250.0))
    marks = parts(full(promise=promise, height=30), "promise")
    now = parts(full(height=30), "now")[0][1]
    assert len({y for y, _ in marks}) == 1
    assert min(x for _, x in marks) > now


def test_the_target_and_the_band_are_on_the_scale():
    labels = {row[:LABEL].strip() for row in rows(full())}
    assert {"250", "265", "235"} <= labels


def test_what_was_logged_stands_at_its_time_a_split_with_its_weight():
    axis = next(row for row in rows(full()) if row.startswith(" log"))
    at = axis.index("s1.4")
    assert at == LABEL + int(1800.0 / (10800.0 / 75))
    assert axis[at + 5] == "i"


def test_the_next_split_is_marked_where_it_is_due():
    picture = full(due=NOW + 1800.0)
    axis = next(row for row in rows(picture) if row.startswith(" log"))
    assert axis.index("▼split") > parts(picture, "now")[0][1]


def test_gaps_are_shown_as_gaps():
    trail = tuple(point for point in TRAIL if not 2000.0 < point[0] < 4000.0)
    picture = full(trail=trail, gaps=((2000.0, 4000.0),))
    between = {x for _, x in parts(picture, "history")} & set(range(LABEL + 16, LABEL + 27))
    assert between == set()
    assert parts(picture, "gap")


def test_the_ribbon_stands_on_the_charts_time_axis():
    picture = full(heat=((3600.0, 6000.0), (3660.0, 6000.0)))
    columns = {x for _, x in parts(picture, "heat")}
    assert min(columns) == LABEL + int(3600.0 / (10800.0 / 75))
    assert max(columns) <= min(columns) + 6


def test_more_heat_stands_higher():
    picture = full(heat=tuple((float(s), 2000.0 if s < 3600 else 8000.0) for s in range(0, 7200, 60)), height=30)
    heat = parts(picture, "heat")
    low, high = ([y for y, x in heat if x == LABEL + column] for column in (10, 40))
    assert (len(low), len(high)) == (2, 5), "of 5 rows: 1.25 touch two, 5 fill all"


def test_heat_that_is_not_known_is_not_drawn():
    picture = full(heat=())
    assert parts(picture, "heat") == []
    assert any("not known" in row for row in rows(picture))


def test_ascii_pictures_are_ascii():
    assert all(row.isascii() for row in rows(full(PLAIN, due=NOW + 60.0, gaps=((10.0, 900.0),))))


value = st.floats(allow_nan=True, allow_infinity=True, width=32) | st.floats(0, 500)
points = st.lists(st.tuples(st.floats(-1e5, 1e5), value), max_size=20).map(tuple)


@given(
    trail=points,
    heat=points,
    fan=st.lists(st.tuples(st.floats(-1e5, 1e5), *[st.floats(-500, 2000)] * 3), max_size=6).map(tuple),
    marks=st.lists(st.tuples(st.floats(-1e5, 1e5), st.text("sidt1.", min_size=1, max_size=5)), max_size=20).map(
        tuple
    ),
    gaps=st.lists(st.tuples(st.floats(-1e5, 1e5), st.floats(-1e5, 1e5)), max_size=4).map(tuple),
    due=st.none() | st.floats(-1e5, 1e5),
    width=st.integers(0, 200),
    height=st.integers(0, 60),
    drawing=st.sampled_from([FULL, PLAIN]),
)
def test_anything_can_be_drawn(trail, heat, fan, marks, gaps, due, width, height, drawing):
    picture = draw(scene(trail=trail, heat=heat, fan=fan, marks=marks, gaps=gaps, due=due), width, height, drawing)
    assert picture == () or {len(row) for row in picture} == {width}


@pytest.mark.parametrize(("drawing", "double"), [(FULL, False), (FULL, True), (PLAIN, False), (PLAIN, True)])
def test_large_figures_differ_from_one_another(drawing, double):
    shapes = {big(digit, drawing, double=double) for digit in "0123456789-"}
    assert len(shapes) == 11
    assert {len(shape) for shape in shapes} == {5 if double else 3}


def test_a_terminal_that_knows_only_some_letters_gets_ascii():
    assert can_draw("utf-8")
    assert not can_draw("latin-1")
    assert not can_draw("no such encoding")
