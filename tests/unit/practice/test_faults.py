"""Faults of the practice pit do what they say, and nothing is written down of them."""

from datetime import UTC, datetime

import numpy as np
import pytest

from firebox.practice.build import sized
from firebox.practice.cooks import GOOD_LOG, Hand, Plan, Style
from firebox.practice.faults import FIRE, PROBE, WATCH, Mishap
from firebox.practice.fire import Fire
from firebox.practice.weather import SKIES, Weather
from firebox.records import Reading, Split, Status

EPOCH = datetime(2026, 1, 1, tzinfo=UTC)
BUILD = sized("test pit", 700.0, 6.35)


def _tended(hours: float) -> tuple[Fire, Hand]:
    fire = Fire(BUILD, Weather(SKIES["calm"], 3, 18.0))
    hand = Hand(Style.SKILFUL, GOOD_LOG, Plan(split_kg=BUILD.usual_split_kg, doors=False), 3, EPOCH)
    hand.light(fire)
    _on(fire, hand, hours * 3600.0)
    while fire.seconds - hand.split_at < 900.0 or abs(fire.grate(0.5) - 273.15 - 121.0) > 6.0:
        _on(fire, hand, 60.0)
    hand.entries(fire.seconds + 3600.0)
    return fire, hand


def _on(fire: Fire, hand: Hand | None, seconds: float) -> None:
    end = fire.seconds + seconds
    while fire.seconds < end:
        fire.run(10.0)
        if hand is not None:
            hand.look(fire, fire.grate(0.5) - 273.15)


@pytest.fixture(scope="module")
def burning() -> tuple[Fire, Hand]:
    return _tended(3.0)


@pytest.mark.parametrize("name", sorted(FIRE))
def test_a_fire_fault_moves_the_pit_the_way_it_says(name: str, burning: tuple[Fire, Hand]) -> None:
    fault = FIRE[name]
    healthy, struck = burning[0].copy(), burning[0].copy()
    hand = Hand(Style.SKILFUL, GOOD_LOG, Plan(split_kg=BUILD.usual_split_kg, doors=False), 4, EPOCH)
    hand.held_until = 1e9
    fault.befall(Mishap(fire=struck, hand=hand, split_kg=BUILD.usual_split_kg))
    if name == "dying asleep":
        # asleep is asleep: nothing but the fire burning down is to be seen
        _on(struck, hand, 7200.0)
        assert struck.grate(0.5) < burning[0].grate(0.5) - 15.0
        return
    if name in {"wet wood", "forgotten intake"}:
        healthy.lay_split(BUILD.usual_split_kg)
    apart = []
    for _ in range(16):
        _on(healthy, None, 300.0)
        _on(struck, hand, 300.0)
        apart.append(struck.grate(0.5) - healthy.grate(0.5))
    assert max(apart) > 15.0 if fault.rises else min(apart) < -10.0


def test_a_hand_writes_a_split_too_large_or_wet_down_as_a_usual_one(burning: tuple[Fire, Hand]) -> None:
    for name in ("forgotten intake", "wet wood"):
        fire = burning[0].copy()
        hand = Hand(Style.SKILFUL, GOOD_LOG, Plan(split_kg=1.5, moisture=0.2, doors=False), 4, EPOCH)
        FIRE[name].befall(Mishap(fire=fire, hand=hand, split_kg=1.5))
        _on(fire, hand, 120.0)
        written = [entry for entry in hand.entries(fire.seconds + 600.0) if isinstance(entry, Split)]
        assert [(entry.kg, entry.moisture) for entry in written] == [(1.5, 0.2)]
        assert hand.held_until > fire.seconds + 3600.0


def test_an_ended_fault_is_ended(burning: tuple[Fire, Hand]) -> None:
    fire = burning[0].copy()
    for name in ("door ajar", "ash"):
        mishap = Mishap(fire=fire, hand=None, split_kg=1.5)
        ash = fire.hearth.ash
        FIRE[name].befall(mishap)
        mend = FIRE[name].mend
        assert mend is not None
        mend(mishap)
        assert fire.ajar == 0.0
        assert fire.hearth.ash == pytest.approx(ash)


def test_probe_faults_say_what_such_a_probe_would_say() -> None:
    rng = np.random.default_rng(1)

    def truth(name: str, since: float) -> float:
        return {"grate": 120.0, "flat": 70.0}[name] + 0.01 * since

    said = {name: fault.wrong("grate", "flat", truth, rng) for name, fault in PROBE.items()}
    assert said["open"]["grate"](5.0) is Status.OPEN
    assert said["silent"]["grate"](5.0) is None
    assert said["stuck"]["grate"](900.0) == 120.0
    drifted = said["drifting"]["grate"](600.0)
    assert isinstance(drifted, float)
    assert abs(drifted - 126.0) == pytest.approx(10.0)
    assert said["swapped"]["grate"](30.0) is Status.OPEN
    assert said["swapped"]["grate"](90.0) == pytest.approx(70.9)
    assert said["swapped"]["flat"](90.0) == pytest.approx(120.9)
    assert said["reversed"]["grate"](0.0) == pytest.approx(-70.0)
    noisy = [float(said["noisy"]["grate"](0.0)) for _ in range(200)]  # type: ignore[arg-type]
    assert 10.0 < float(np.std(noisy)) < 20.0


def test_watch_faults_lose_or_restamp_readings() -> None:
    reading = Reading(time=EPOCH, probe="grate", celsius=120.0)
    assert WATCH["node unplugged"].arrives(reading, 1e5) is None
    assert WATCH["broker down"].arrives(reading, 200.0) is None
    assert WATCH["broker down"].arrives(reading, 400.0) is reading
    late = WATCH["clock jump"].arrives(reading, 1.0)
    assert late is not None
    assert (late.time - EPOCH).total_seconds() == 3600.0
