"""Whatever a probe says, however often, its track stays honest."""

import math
from datetime import UTC, datetime

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from firebox.cooklog import CookLog
from firebox.estimate.probes import ProbeTrack, describe, hear, lead, settle
from firebox.records import Health, Status
from firebox.setup import Role, Setup

SETUP = Setup(time=datetime(2026, 5, 2, tzinfo=UTC))
NAMES = {"grate": Role.GRATE, "grate2": Role.GRATE, "flat": Role.MEAT, "stack": Role.STACK}

any_celsius = st.floats(-273.15, 3000.0) | st.sampled_from([0.0, 121.0, 121.1, 1e-300, math.nan, math.inf, -math.inf])
heard = st.tuples(st.sampled_from(sorted(NAMES)), st.sampled_from(Status), any_celsius | st.none())
pauses = st.sampled_from([0.0, 0.001, 1.0, 1.0, 1.0, 9.0, 10.0, 61.0, 700.0, 90_000.0])
stories = st.lists(st.tuples(pauses, heard), max_size=80)


def fresh() -> dict[str, ProbeTrack]:
    return {name: ProbeTrack(name=name, role=role) for name, role in NAMES.items()}


def play(story: list[tuple[float, tuple[str, Status, float | None]]]) -> list[dict[str, ProbeTrack]]:
    tracks, seconds, states = fresh(), 0.0, []
    for pause, (name, status, celsius) in story:
        grid = 10.0 * (seconds // 10.0) + 10.0
        seconds += pause
        while grid < seconds:
            tracks, cell = settle(tracks, grid, CookLog(), SETUP)
            assert all(math.isfinite(value) for value in cell.values())
            assert all(tracks[probe].health is Health.GOOD for probe in cell)
            states.append(tracks)
            grid += 10.0 if seconds - grid < 3600.0 else seconds - grid
        tracks = {**tracks, name: hear(tracks[name], seconds, celsius, status)}
        states.append(tracks)
    return states


@given(stories)
@settings(deadline=None, max_examples=150)
def test_no_story_makes_a_track_lie(story: list[tuple[float, tuple[str, Status, float | None]]]) -> None:
    for tracks in play(story):
        for track in tracks.values():
            if track.health is not Health.GOOD:
                assert track.celsius is None
                assert track.drift_per_hour is None
            if track.celsius is not None:
                assert math.isfinite(track.celsius)
            assert track.drift_per_hour is None or math.isfinite(track.drift_per_hour)
            assert track.noise is None or track.noise > 0.0
            assert len(track.heard) <= 256
            if track.belief is not None:
                p00, p01, p02, p11, p12, p22 = track.belief.cov
                cov = np.array([[p00, p01, p02], [p01, p11, p12], [p02, p12, p22]])
                scale = np.sqrt(np.outer(np.diag(cov), np.diag(cov))) + 1e-300
                assert np.all(np.linalg.eigvalsh(cov / scale) > -1e-6)
            assert describe(track, 1e5).startswith(track.name)
        first = lead(tracks, SETUP)
        assert first is None or tracks[first].health is Health.GOOD


@given(stories)
@settings(deadline=None, max_examples=50)
def test_the_same_story_told_twice_ends_the_same(story: list[tuple[float, tuple[str, Status, float | None]]]) -> None:
    assert repr(play(story)) == repr(play(story))


@given(st.floats(80.0, 400.0), st.floats(-200.0, 200.0), st.sampled_from([1.0, 2.0, 7.0, 10.0, 30.0]))
@settings(deadline=None, max_examples=60)
def test_any_ramp_in_range_is_trusted_and_followed(celsius: float, slope: float, every: float) -> None:
    """Half an hour of a straight line; the lag makes a probe read it late by lag times slope."""
    track = {"grate": ProbeTrack(name="grate", role=Role.GRATE, lag_seconds=30.0)}
    seconds, grid = 0.0, 10.0
    while seconds < 1800.0:
        seconds += every
        while grid < seconds:
            track, _ = settle(track, grid, CookLog(), SETUP)
            grid += 10.0
        reading = celsius + slope / 3600.0 * (seconds - 30.0)
        track = {"grate": hear(track["grate"], seconds, reading, Status.GOOD)}
    track, _ = settle(track, grid, CookLog(), SETUP)
    value = track["grate"].celsius
    assert value is not None
    assert abs(value - (celsius + slope / 3600.0 * seconds)) < 0.5
