"""The picture of the fire: chart, marks, ribbon, one time axis."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firebox.records import Stage
from tui.glyphs import FULL, PLAIN, big, can_draw
from tui.plot import LABEL, Scene, draw
from tui.ribbon import Bar, Heat

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
        "heat": tuple(Heat(seconds=float(second), watts=5000.0 + second / 10.0) for second in range(0, 7200, 60)),
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
    assert axis.index("▼ split") > parts(picture, "now")[0][1]


def test_at_the_edge_the_mark_of_the_split_stands_without_its_word():
    picture = full(due=NOW + 3400.0)
    axis = next(row for row in rows(picture) if row.startswith(" log"))
    assert "▼" in axis
    assert "s" not in axis[axis.index("▼") :]


def test_gaps_are_shown_as_gaps():
    trail = tuple(point for point in TRAIL if not 2000.0 < point[0] < 4000.0)
    picture = full(trail=trail, gaps=((2000.0, 4000.0),))
    between = {x for _, x in parts(picture, "history")} & set(range(LABEL + 16, LABEL + 27))
    assert between == set()
    assert parts(picture, "gap")


def test_the_ribbon_stands_on_the_charts_time_axis():
    picture = full(heat=(Heat(seconds=3600.0, watts=6000.0), Heat(seconds=3660.0, watts=6000.0)))
    columns = {x for y, x in parts(picture, "other") if x < parts(picture, "now")[0][1]}
    assert min(columns) == LABEL + int(3600.0 / (10800.0 / 75))
    assert max(columns) <= min(columns) + 6


def test_the_split_that_is_due_is_marked_with_the_sign_that_marks_too_little_heat():
    short = tuple(Heat(seconds=float(second), watts=9000.0, need=12_000.0) for second in range(0, 7200, 60))
    picture = full(heat=short, due=NOW + 600.0)
    assert {picture[y][x][0] for y, x in parts(picture, "due")} >= {FULL.short}
    assert FULL.short in {picture[y][x][0] for y, x in parts(picture, "short")}


def test_a_picture_of_few_rows_has_no_ribbon():
    assert parts(full(height=10), "other") == []
    assert parts(full(height=11), "other")


def test_heat_that_is_not_known_is_not_drawn():
    picture = full(heat=())
    assert parts(picture, "other") == []
    assert any("not known" in row for row in rows(picture))


def test_a_forecast_far_below_the_band_leaves_the_chart_rather_than_flattening_it():
    deep = ((NOW, 250.0, 250.0, 250.0), (NOW + 3600.0, 80.0, 100.0, 130.0))
    labels = [row[:LABEL].strip() for row in rows(full(fan=deep, height=30))]
    assert min(int(label) for label in labels if label.isdigit()) == 200
    assert max(x for _, x in parts(full(fan=deep, height=30), "middle")) < 79


def test_the_way_up_from_cold_leaves_the_chart_once_the_pit_holds():
    start = tuple((float(second), min(250.0, 50.0 + second / 8.0)) for second in range(0, 7200, 20))
    labels = [row[:LABEL].strip() for row in rows(full(trail=start, fan=(), height=30))]
    assert min(int(label) for label in labels if label.isdigit()) == 185
    cold = tuple(point for point in start if point[0] < 900.0)
    labels = [row[:LABEL].strip() for row in rows(full(trail=cold, fan=(), height=30))]
    assert min(int(label) for label in labels if label.isdigit()) <= 50


def test_ascii_pictures_are_ascii():
    assert all(row.isascii() for row in rows(full(PLAIN, due=NOW + 60.0, gaps=((10.0, 900.0),))))


@pytest.mark.parametrize("wild", [3.4e38, -3.4e38, math.inf, math.nan])
def test_a_number_that_is_no_temperature_does_not_spoil_the_scale(wild):
    picture = full(trail=((100.0, wild), *TRAIL[10:]))
    assert {row[:LABEL].strip() for row in rows(picture)} >= {"250", "265", "235"}


value = st.floats(allow_nan=True, allow_infinity=True, width=32) | st.floats(0, 500)
watts = st.floats(0, 1e30)
bars = st.lists(st.builds(Bar, st.integers(0, 9), st.sampled_from(Stage), watts), max_size=4).map(tuple)
heats = st.lists(
    st.builds(Heat, seconds=st.floats(-1e5, 1e5), watts=watts, need=st.none() | watts, bars=bars), max_size=20
).map(tuple)
points = st.lists(st.tuples(st.floats(-1e5, 1e5), value), max_size=20).map(tuple)


@given(
    trail=points,
    heat=heats,
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
