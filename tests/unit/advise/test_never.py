"""What is never advised, whatever the pit does."""

from collections.abc import Iterator

import pytest

from firebox.estimate.forecast import FireView
from firebox.records import Damper, DamperName, Move, Phase, Split
from firebox.setup import Setup, Wood
from tests.unit.advise.pit_talk import START, Talk


def _nights(wood: Wood | None = None) -> Iterator[tuple[Talk, Move]]:
    """Yield the moves of pits that run away, starve, choke, die and hold, at every opening."""
    for alarms in ((), ("pit-too-hot",), ("flare",), ("fire-dying",), ("split-stalled",), ("ash-choking",)):
        for risk in (None, 0.3, 0.9):
            for opening in (0.0, 0.125, 0.5, 1.0):
                for celsius, drift in ((158.0, 90.0), (135.0, 120.0), (131.0, 2.0), (118.0, -30.0), (98.0, -60.0)):
                    talk = Talk(plans=False, setup=Setup(time=START, wood=wood or Wood(), stack_open=0.5))
                    talk.do(Damper(time=talk.time, damper=DamperName.INTAKE, open=opening))
                    talk.seconds += 1500.0
                    talk.alarms, talk.celsius = frozenset(alarms), celsius
                    talk.fire = FireView(phase=Phase.FALLING, smoulder_risk=risk)
                    yield talk, talk.wait(1, every=30.0, drift=drift)


def test_no_wood_on_a_runaway() -> None:
    for talk, move in _nights():
        assert talk.celsius is not None
        running = talk.celsius >= 146.0 or talk.alarms & {"pit-too-hot", "flare"}
        assert not running or move.split is None


def test_the_stack_is_never_closed_and_the_intake_never_quite_shut() -> None:
    for _, move in _nights():
        assert move.stack is None or move.stack > 0.5
        assert move.intake is None or move.intake >= 1.0 / 8.0


def test_a_starved_fire_is_given_air_and_flames_before_its_door_is_opened() -> None:
    for talk, move in _nights():
        intake = talk.log.damper_open(DamperName.INTAKE, talk.seconds, talk.setup) or 0.0
        starved = intake <= 1.0 / 8.0 or (talk.fire.smoulder_risk or 0.0) >= 0.6
        if starved and move.split is not None and not talk.alarms:
            assert move.split.in_minutes >= 5.0
            assert "crack the firebox door" in move.reason


def test_no_advice_speaks_of_water() -> None:
    assert not any("water" in move.reason.lower() for _, move in _nights())


@pytest.mark.parametrize(
    ("species", "said"),
    [
        ("pine", "soot and tar"), ("Norway spruce", "soot and tar"), ("painted oak", "only clean, dry hardwood"),
        ("pallet", "only clean, dry hardwood"), ("driftwood", "only clean, dry hardwood"),
    ],
)  # fmt: skip
def test_wood_that_is_not_clean_hardwood_is_warned_of_with_every_split(species: str, said: str) -> None:
    advised = [move for _, move in _nights(Wood(species=species)) if move.split is not None and not _urgent(move)]
    assert advised
    assert all(said in move.reason for move in advised)


def _urgent(move: Move) -> bool:
    """Small wood on a dying fire is named dry by the sentence itself."""
    return "dying" in move.reason


@pytest.mark.parametrize("species", ["oak", "hickory", "post oak", "pecan", "apple", "beech"])
def test_clean_hardwood_is_not_talked_about(species: str) -> None:
    advised = [move for _, move in _nights(Wood(species=species)) if move.split is not None]
    assert not any("hardwood" in move.reason or "driest" in move.reason for move in advised)


def test_wood_logged_as_wet_or_resinous_is_warned_of_with_the_next() -> None:
    talk = Talk(plans=False)
    talk.do(Split(time=talk.time, kg=1.3, species="larch", moisture=0.18))
    talk.seconds += 2400.0
    talk.celsius = 116.0
    assert "Resinous" in talk.wait(2, drift=-30.0).reason
    talk = Talk(plans=False)
    talk.do(Split(time=talk.time, kg=1.3, moisture=0.4))
    talk.seconds += 2400.0
    talk.celsius = 116.0
    assert "driest" in talk.wait(2, drift=-30.0).reason


def test_the_next_split_is_to_be_warmed_while_it_is_not_yet_due() -> None:
    talk = Talk(plans=False)
    talk.celsius = 131.0
    move = talk.wait(4, drift=-24.0)
    assert move.hold
    talk.celsius = 128.0
    assert "warm the split" in talk.wait(2, drift=-14.0).reason
