"""Whatever the pit does and the cook logs, advice stays safe and well formed."""

import math
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from firebox.advise.demand import LIMITS, PidState, follow
from firebox.estimate.forecast import FireView
from firebox.records import Damper, DamperName, Door, DoorName, Lit, Out, Phase, Rake, Split, Target
from firebox.setup import Setup, Wood
from tests.unit.advise.pit_talk import START, Talk

fractions = st.floats(0.0, 1.0)
entries = st.one_of(
    st.builds(lambda kg: (Split, {"kg": kg}), st.none() | st.floats(0.0, 100.0)),
    st.builds(lambda d, o: (Damper, {"damper": d, "open": o}), st.sampled_from(DamperName), fractions),
    st.builds(lambda d, o: (Door, {"door": d, "open": o}), st.sampled_from(DoorName), st.booleans()),
    st.builds(
        lambda c, b: (Target, {"celsius": c, "band": b}), st.floats(0.0, 400.0), st.none() | st.floats(0.5, 100.0)
    ),
    st.sampled_from([(Lit, {}), (Out, {}), (Rake, {}), (Lit, {"kg": 3.0})]),
)
fires = st.builds(
    FireView,
    phase=st.sampled_from(Phase),
    smoulder_risk=st.none() | fractions,
    coal_kg=st.none() | st.floats(0.0, 50.0),
    heat_watts=st.none() | st.floats(0.0, 50_000.0),
)
moments = st.tuples(
    st.sampled_from([0.5, 10.0, 60.0, 4000.0]),
    st.none() | st.floats(-40.0, 500.0),
    st.floats(-400.0, 800.0),
    fires,
    st.none() | entries,
)
setups = st.builds(
    lambda moisture, marks, intake, stack: Setup(
        time=START, wood=Wood(moisture=moisture), damper_marks=marks, intake_open=intake, stack_open=stack
    ),
    st.floats(0.0, 2.0),
    st.integers(2, 64),
    st.none() | fractions,
    st.none() | fractions,
)


@given(setups, st.lists(moments, max_size=40), st.booleans())
@settings(deadline=None, max_examples=120)
def test_no_course_of_events_brings_unsafe_or_broken_advice(setup: Setup, story: list[Any], plans: bool) -> None:
    talk = Talk(plans=plans, setup=setup)
    for pause, celsius, drift, fire, entry in story:
        talk.seconds += pause
        talk.celsius, talk.drift, talk.fire = celsius, drift, fire
        if entry is not None:
            kind, fields = entry
            talk.do(kind(time=talk.time, **fields))
        move = talk.ask()
        stack = talk.log.damper_open(DamperName.STACK, talk.seconds, setup)
        high = talk.log.target(talk.seconds, setup)[0] + 25.0
        assert move.reason.strip()
        assert move.split is None or (move.split.kg > 0.0 and move.split.in_minutes >= 0.0)
        assert move.split is None or math.isfinite(move.split.in_minutes)
        assert move.intake is None or 1.0 / setup.damper_marks - 1e-4 <= move.intake <= 1.0  # rounded to 1e-4
        assert move.stack is None or (stack is not None and move.stack > stack)
        assert not (move.hold and (move.intake is not None or move.stack is not None))
        assert not (move.hold and move.split is not None and move.split.in_minutes < 1.0)
        if celsius is None or celsius >= high or fire.phase in (Phase.UNLIT, Phase.OUT):
            assert move.split is None
        if celsius is None:
            assert (move.intake, move.stack) == (None, None)
        if (fire.smoulder_risk or 0.0) >= 0.6 and move.split is not None:
            assert move.split.in_minutes >= 5.0
    assert talk.most_asked <= 2


@given(
    st.lists(
        st.tuples(st.floats(0.0, 500.0), st.none() | st.floats(-300.0, 3000.0), st.floats(0.0, 400.0), st.booleans())
    )
)
@settings(deadline=None)
def test_the_controller_stays_finite_and_within_its_limits(
    story: list[tuple[float, float | None, float, bool]],
) -> None:
    state, seconds = PidState(), 0.0
    for pause, celsius, target, disturbed in story:
        seconds += pause
        state = follow(state, seconds, celsius, target, 8.0, disturbed=disturbed)
        assert LIMITS[0] <= state.share <= LIMITS[1]
        assert LIMITS[0] <= state.integral <= LIMITS[1]
