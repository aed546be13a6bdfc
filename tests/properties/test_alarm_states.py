"""Whatever comes, in whatever order, the life cycle keeps its promises."""

from datetime import timedelta
from itertools import product
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from firebox.estimate.forecast import FireView
from firebox.records import (
    Acknowledge,
    Alarm,
    AlarmState,
    Clock,
    Door,
    DoorName,
    Meat,
    Out,
    Phase,
    Service,
    Shelve,
    Split,
    Status,
    Trouble,
)
from firebox.warn import alarms
from firebox.warn.catalogue import CATALOGUE, kind_of, member
from firebox.warn.states import LIVE, TRANSITIONS, Event, after
from tests.unit.warn.pit_scene import Scene, forecast_of

PROBES = ("grate", "grate2", "flat")
ALARMS = sorted(
    {kind.id for kind in CATALOGUE.values() if not kind.per}
    | {member(kind.id, name) for kind in CATALOGUE.values() if kind.per for name in (*PROBES, "node")}
)
NEIGHBOURS = {
    state: {state, *ways.values()} | {then for way in ways.values() for then in TRANSITIONS[way].values()}
    for state, ways in TRANSITIONS.items()
}
"""One look may take two steps of the table: back from the shelf, and raised at once."""


@given(st.lists(st.sampled_from(Event), max_size=60))
def test_every_path_through_the_table_can_end_at_rest(events: list[Event]) -> None:
    state = AlarmState.NORMAL
    for event in events:
        state = after(state, event)
    for event in (Event.INTO_SERVICE, Event.UNSHELVE, Event.UNSUPPRESS, Event.CONDITION_GONE, Event.ACKNOWLEDGE):
        state = after(state, event)
    assert state is AlarmState.NORMAL


def test_every_path_of_five_events_keeps_to_the_published_life_cycle() -> None:
    """All 100,000 of them: what was put aside stays so until it is taken back, and nothing rings that was not raised."""
    back = {
        AlarmState.SHELVED: Event.UNSHELVE,
        AlarmState.SUPPRESSED: Event.UNSUPPRESS,
        AlarmState.OUT_OF_SERVICE: Event.INTO_SERVICE,
    }
    visited: set[tuple[AlarmState, Event]] = set()
    for path in product(Event, repeat=5):
        state = AlarmState.NORMAL
        for event in path:
            after_it = after(state, event)
            visited.add((state, event))
            if state in back and event is not back[state] and after_it is not state:
                assert after_it in back, (
                    state,
                    event,
                )  # from one way of being put aside to another, never before the cook
            if after_it is AlarmState.ACKNOWLEDGED:
                assert state in LIVE
            if after_it is AlarmState.RETURNED and state is not AlarmState.RETURNED:
                assert state is AlarmState.UNACKNOWLEDGED
            if after_it is AlarmState.UNACKNOWLEDGED and state is not AlarmState.UNACKNOWLEDGED:
                assert event in {Event.CONDITION_ON, Event.RE_ALARM}
            state = after_it
    assert visited == set(product(AlarmState, Event))


@given(st.sampled_from(AlarmState), st.sampled_from(Event))
def test_repeating_an_event_changes_nothing_more(state: AlarmState, event: Event) -> None:
    once = after(state, event)
    assert after(once, event) is once


class Watched(RuleBasedStateMachine):
    """A pit to which anything may happen, and a cook who may order anything."""

    @initialize()
    def begin(self) -> None:
        self.scene = Scene(names=PROBES, every=10.0)
        self.known: dict[str, Alarm] = {}
        self.looked = 0
        self.celsius = 121.0
        self.dead: dict[str, Any] = {}
        self.scene.hold(10, grate=121.0, grate2=124.0, flat=60.0)

    def _pass(self, minutes: float, celsius: float) -> None:
        here = {"grate": (self.celsius, celsius), "grate2": (self.celsius + 3.0, celsius + 3.0), "flat": 60.0}
        self.scene.hold(minutes, **{**here, **self.dead})
        self.celsius = celsius

    @rule(minutes=st.sampled_from([0.2, 1.0, 4.0, 20.0]), celsius=st.floats(40.0, 190.0))
    def the_pit_goes(self, minutes: float, celsius: float) -> None:
        self._pass(minutes, celsius)

    @rule(name=st.sampled_from(PROBES), status=st.sampled_from([None, Status.OPEN, Status.SHORTED, Status.FAILED]))
    def a_probe_fails(self, name: str, status: Status | None) -> None:
        self.dead[name] = status
        self._pass(1.5, self.celsius)

    @rule()
    def all_probes_recover(self) -> None:
        self.dead = {}
        self._pass(1.5, self.celsius)

    @rule(minutes=st.floats(0.5, 300.0))
    def nobody_watches(self, minutes: float) -> None:
        self.scene.skip(minutes)
        self.scene.look()

    @rule(open_=st.booleans(), door=st.sampled_from(DoorName))
    def a_door_is_logged(self, open_: bool, door: DoorName) -> None:
        self.scene.log_entry(Door(time=self.scene.time, door=door, open=open_))

    @rule(entry=st.sampled_from([Split, Out]))
    def something_is_logged(self, entry: type) -> None:
        self.scene.log_entry(entry(time=self.scene.time))

    @rule(now=st.floats(60.0, 180.0), later=st.floats(20.0, 250.0), phase=st.sampled_from(Phase))
    def a_forecast_comes(self, now: float, later: float, phase: Phase) -> None:
        self.scene.forecast = forecast_of(now, {20: later})
        self.scene.fire = FireView(phase=phase)

    @rule(
        what=st.sampled_from(["journal", "source", "outlet", "notice", "clock", "keeper", "disk", "power", "heat"]),
        on=st.booleans(),
    )
    def a_part_is_in_trouble(self, what: Any, on: bool) -> None:
        trouble = Trouble(time=self.scene.time, what=what, name="node", on=True, text="something")
        self.scene.troubles = (trouble,) if on else ()

    @rule(seconds=st.sampled_from([-7200.0, 5.0, 3600.0]))
    def the_clock_is_set(self, seconds: float) -> None:
        self.scene.clock = Clock(time=self.scene.time, to=self.scene.time + timedelta(seconds=seconds))

    @rule(celsius=st.floats(5.0, 98.0), urgent=st.booleans(), stage=st.sampled_from(["climbing", "go and feel"]))
    def the_meat_goes(self, celsius: float, urgent: bool, stage: str) -> None:
        meat = Meat(
            time=self.scene.time,
            probe="flat",
            celsius=celsius,
            stage=stage,
            safety=("too long",) if urgent else (),
            safety_urgent=urgent,
        )
        self.scene.meats = (meat,)

    @rule(alarm=st.sampled_from(ALARMS))
    def acknowledge(self, alarm: str) -> None:
        self.scene.order(Acknowledge(time=self.scene.time, alarm=alarm))

    @rule(alarm=st.sampled_from(ALARMS), minutes=st.sampled_from([0.0, 1.0, 480.0]))
    def shelve(self, alarm: str, minutes: float) -> None:
        self.scene.order(Shelve(time=self.scene.time, alarm=alarm, minutes=minutes))

    @rule(alarm=st.sampled_from(ALARMS), out=st.booleans())
    def service(self, alarm: str, out: bool) -> None:
        self.scene.order(Service(time=self.scene.time, alarm=alarm, out=out))

    @invariant()
    def every_record_is_a_step_of_the_table_with_words(self) -> None:
        for _, alarm in self.scene.out[self.looked :]:
            before = self.known[alarm.alarm].state if alarm.alarm in self.known else AlarmState.NORMAL
            assert alarm.state in NEIGHBOURS[before], (before, alarm)
            assert alarm.text.strip()
            assert alarm.first.strip()
            assert alarm.minutes_until is None or alarm.minutes_until >= 0.0
            assert kind_of(alarm.alarm) is not None
            self.known[alarm.alarm] = alarm
        self.looked = len(self.scene.out)

    @invariant()
    def what_stands_is_what_was_told(self) -> None:
        stands = {alarm.alarm: alarm.state for alarm in alarms.standing(self.scene.state)}
        told = {name: alarm.state for name, alarm in self.known.items() if alarm.state is not AlarmState.NORMAL}
        assert stands == told

    @invariant()
    def no_alarm_is_lost_nobody_is_left_on_the_shelf(self) -> None:
        for memory in self.scene.state.memories.values():
            if memory.state is AlarmState.SHELVED:
                assert memory.shelved_until is not None
                assert memory.shelved_until - self.scene.seconds <= 480.0 * 60.0
            if memory.on and memory.aside is None:
                assert memory.state is not AlarmState.NORMAL
                assert memory.state is not AlarmState.RETURNED

    @invariant()
    def at_most_one_alarm_tells_of_one_hot_pit(self) -> None:
        live = {alarm.alarm for alarm in alarms.standing(self.scene.state) if alarm.state in LIVE}
        if "pit-too-hot" in live:
            assert not live & {"flare", "rising-fast", "running-away"}
        if "readings-stale" in live:
            assert not any(alarm.startswith("probe-") for alarm in live)


TestWatched = Watched.TestCase
TestWatched.settings = settings(max_examples=40, stateful_step_count=25, deadline=None)
