import pytest

from tests.unit.warn.pit_scene import Scene


@pytest.fixture
def scene() -> Scene:
    """A pit with one grate probe, read each second, that has been up to temperature for a while."""
    scene = Scene()
    scene.hold(20, grate=121.0)
    assert not scene.out
    return scene
