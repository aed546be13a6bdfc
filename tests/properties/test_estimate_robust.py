"""The estimate answers any log and any reading with numbers in order, or with none."""

from datetime import UTC, datetime, timedelta

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from firebox.cooklog import CookLog, enter
from firebox.estimate import pitfilter
from firebox.records import Damper, DamperName, Door, DoorName, Lit, Out, Pit, Rake, Split
from firebox.setup import PitBuild, Setup

EPOCH = datetime(2026, 1, 10, tzinfo=UTC)

entries = st.one_of(
    st.builds(
        Split, time=st.just(EPOCH), kg=st.none() | st.floats(0.0, 100.0), moisture=st.none() | st.floats(0.0, 2.0)
    ),
    st.builds(Damper, time=st.just(EPOCH), damper=st.sampled_from(DamperName), open=st.floats(0.0, 1.0)),
    st.builds(Door, time=st.just(EPOCH), door=st.sampled_from(DoorName), open=st.booleans()),
    st.builds(Lit, time=st.just(EPOCH), kg=st.none() | st.floats(0.0, 100.0)),
    st.builds(Out, time=st.just(EPOCH)),
    st.builds(Rake, time=st.just(EPOCH)),
    st.builds(
        Pit,
        time=st.just(EPOCH),
        chamber_litres=st.none() | st.floats(0.001, 100_000.0),
        wall_mm=st.none() | st.floats(0.001, 500.0),
        firebox_insulated=st.none() | st.booleans(),
        usual_split_kg=st.none() | st.floats(0.001, 100.0),
    ),
)
temperatures = st.one_of(st.floats(90.0, 150.0), st.floats(-273.15, 3000.0), st.none())
steps = st.lists(
    st.tuples(st.sampled_from([10.0, 10.0, 30.0, 300.0, 9000.0]), temperatures, st.none() | entries, st.booleans()),
    min_size=1,
    max_size=40,
)


@settings(max_examples=40, deadline=None)
@given(steps)
def test_any_records_are_answered_with_ordered_finite_quantiles(steps):
    setup, log = Setup(time=EPOCH, build=PitBuild()), CookLog()
    estimate, seconds = pitfilter.begin(setup), 0.0
    for gap, celsius, entry, late in steps:
        if entry is not None:
            happened = EPOCH + timedelta(seconds=max(0.0, seconds - 400.0))
            log = enter(log, replace(entry, at=happened) if late else entry, seconds, EPOCH)
        seconds += gap
        cell = {} if celsius is None else {"grate": celsius, "ambient": celsius}
        estimate = pitfilter.advance(estimate, seconds, cell, log, setup, "grate")
    forecast = pitfilter.foresee(estimate, seconds, log, setup)
    view = pitfilter.fire_view(estimate, seconds, log, setup)
    assert view.phase is not None
    if forecast is not None:
        rows = np.array(forecast.quantiles)
        assert np.all(np.isfinite(rows))
        assert np.all(np.diff(rows, axis=1) >= 0.0)
        assert np.isfinite(forecast.celsius)
        assert np.isfinite(forecast.drift_per_hour)
