"""The alarm of unsafe meat: told anew when it gets worse, and what to do first by what is at fault."""

from firebox.records import Acknowledge, AlarmState, Meat, Priority
from tests.unit.warn.pit_scene import START, Scene


def unsafe(kind: str, hours: float) -> tuple[Meat, ...]:
    said = (f"{hours:.1f} h of at most 6 between 10 and 54 C",)
    return (Meat(time=START, probe="flat", celsius=45.0, safety=said, safety_urgent=True, unsafe=kind),)


def told(scene: Scene) -> list:
    return [alarm for _, alarm in scene.out if alarm.alarm == "meat-unsafe-flat"]


def test_the_end_of_the_growth_clock_is_told_anew_and_more_urgently(scene: Scene) -> None:
    scene.meats = unsafe("near", 5.0)
    scene.hold(3, grate=121.0)
    scene.log_entry(Acknowledge(time=scene.time, alarm="meat-unsafe-flat"))
    scene.hold(10, grate=121.0)
    scene.meats = unsafe("long", 6.1)
    scene.hold(3, grate=121.0)
    first, last = told(scene)[0], told(scene)[-1]
    assert (first.priority, last.priority) == (Priority.MEDIUM, Priority.HIGH)
    assert last.state is AlarmState.UNACKNOWLEDGED
    assert "more than 6 h" in last.text
    assert "too long" in last.text
    assert "Bring the pit up" not in last.first


def test_what_is_told_stays_true_while_the_clock_runs_on(scene: Scene) -> None:
    scene.meats = unsafe("near", 5.0)
    scene.hold(3, grate=121.0)
    scene.meats = unsafe("near", 5.8)
    scene.hold(3, grate=121.0)
    assert all("more than 5 h" in alarm.text and "5.0" not in alarm.text for alarm in told(scene))


def test_the_first_action_goes_by_whether_the_pit_is_at_its_target(scene: Scene) -> None:
    scene.meats = unsafe("near", 5.1)
    scene.hold(3, grate=121.0)
    assert "the meat is slow" in told(scene)[-1].first
    scene.hold(20, grate=95.0)
    assert told(scene)[-1].first.startswith("Bring the pit up")


def test_raw_meat_off_the_heat_is_told_so(scene: Scene) -> None:
    scene.meats = unsafe("raw", 0.3)
    scene.hold(3, grate=121.0)
    assert "NOT COOKED" in told(scene)[0].text
    assert told(scene)[0].first.startswith("Put it back on the heat")


def test_a_fire_that_goes_down_with_all_the_meat_off_asks_whether_it_may(scene: Scene) -> None:
    scene.hold(90, grate=121.0)
    scene.meats = (Meat(time=START, probe="flat", celsius=80.0, where="cooler"),)
    scene.hold(120, grate=(121.0, 60.0))
    cold = [alarm for _, alarm in scene.out if alarm.alarm in ("pit-too-cold", "fire-dying", "split-stalled")]
    assert cold
    assert all(alarm.priority is Priority.LOW for alarm in cold)
    assert all("if the fire may go out, press x" in alarm.first for alarm in cold)


def test_raw_meat_that_is_off_still_needs_the_fire(scene: Scene) -> None:
    scene.hold(90, grate=121.0)
    scene.meats = (Meat(time=START, probe="flat", celsius=20.0, where="oven", unsafe="raw"),)
    scene.hold(120, grate=(121.0, 60.0))
    cold = [alarm for _, alarm in scene.out if alarm.alarm in ("pit-too-cold", "fire-dying", "split-stalled")]
    assert cold
    assert not any("press x" in alarm.first for alarm in cold)
