"""A probe in a bath raises no alarm; a watch left blind by it tells so in the end."""

from firebox.records import Health
from tests.unit.warn.pit_scene import Scene


def test_a_probe_in_ice_water_raises_no_alarm_of_its_own() -> None:
    scene = Scene(names=("grate", "grate2"))
    scene.hold(20, grate=121.0, grate2=118.0)
    scene.hold(0.5, grate=(121.0, 0.3), grate2=118.0)
    scene.hold(6, grate=0.3, grate2=118.0)
    assert scene.tracks["grate"].health is Health.CHECKED
    assert scene.told() == []


def test_a_watch_whose_only_eye_stays_in_the_bath_says_that_it_is_blind() -> None:
    scene = Scene()
    scene.hold(20, grate=121.0)
    scene.hold(0.5, grate=(121.0, 0.3))
    scene.hold(15, grate=0.3)
    assert scene.tracks["grate"].health is Health.CHECKED
    assert "blind" not in scene.told()
    scene.hold(12, grate=0.3)
    assert "blind" in scene.told()
