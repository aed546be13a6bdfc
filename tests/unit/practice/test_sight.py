"""What is seen of a practice fire, from the best smoke to the worst."""

import pytest

from firebox.lessons import Coals, Flame, Smoke
from firebox.practice.build import Build, sized
from firebox.practice.fire import Fire
from firebox.practice.sight import see, usual_heat
from firebox.practice.weather import SKIES, Weather
from firebox.records import DamperName

PIT = sized("pit", 950.0, 6.35, insulated=True)


def burning(build: Build = PIT, minutes: float = 40.0) -> Fire:
    fire = Fire(build, Weather(SKIES["calm"], 1), intake=0.6)
    fire.light(0.9 + 0.9 * build.usual_split_kg)
    fire.run(600.0)
    fire.lay_split(build.usual_split_kg, 0.15)
    fire.run(60.0 * minutes - 600.0)
    return fire


def test_a_cold_pit_shows_nothing() -> None:
    sight = see(Fire(PIT, Weather(SKIES["calm"], 1)))
    assert (sight.flame, sight.smoke, sight.coals) == (Flame.NONE, Smoke.CLEAR, Coals.DEAD)


def test_a_fire_that_draws_well_shows_flames_and_no_dirt() -> None:
    sight = see(burning(minutes=25.0))
    assert sight.flame in {Flame.STEADY, Flame.HIGH}
    assert sight.smoke in {Smoke.CLEAR, Smoke.THIN}
    assert sight.coals in {Coals.GLOWING, Coals.BRIGHT}


def test_wood_shut_in_smokes_dirty() -> None:
    fire = burning(minutes=20.0)
    fire.lay_split(2.0 * PIT.usual_split_kg, 0.5)
    fire.set_damper(DamperName.INTAKE, 0.0)
    fire.set_damper(DamperName.STACK, 0.1)
    seen = []
    for _ in range(60):
        fire.run(10.0)
        seen.append(see(fire).smoke)
    assert Smoke.DIRTY in seen


def test_coals_fade_from_bright_to_dead() -> None:
    order = [Coals.DEAD, Coals.DULL, Coals.GLOWING, Coals.BRIGHT]
    fire = burning(minutes=30.0)
    fire.set_damper(DamperName.INTAKE, 0.05)
    seen = []
    for _ in range(48):
        fire.run(600.0)
        seen.append(order.index(see(fire).coals))
    assert seen[-1] == 0
    assert max(seen) >= 2
    fading = seen[seen.index(max(seen)) :]
    assert fading == sorted(fading, reverse=True)


def test_ash_a_door_and_grease_are_seen() -> None:
    fire = burning()
    fire.choke(4.0)
    fire.leave_ajar(0.2)
    fire.flare(0.05)
    sight = see(fire)
    assert (sight.ash, sight.ajar, sight.grease) == (True, True, True)


@pytest.mark.parametrize("litres", [235.0, 420.0, 950.0, 1800.0])
def test_the_heat_that_holds_a_pit_grows_less_than_its_volume(litres: float) -> None:
    small, large = (
        usual_heat(Fire(sized("pit", size, 6.0), Weather(SKIES["calm"], 1))) for size in (litres, 2 * litres)
    )
    assert 1.0 < large / small < 2.0
