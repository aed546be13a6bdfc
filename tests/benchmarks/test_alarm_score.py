"""The alarm benchmark counts what it says it counts."""

from datetime import timedelta

import pytest

from firebox.records import Alarm, AlarmState, Priority, Reading, Record
from firebox.watch import WatchState
from tests.benchmarks import alarm_eyes
from tests.benchmarks.alarm_cooks import CROSSES, EVERY, START, Case, Played, crossings, play
from tests.benchmarks.alarm_score import Raised, fixed, is_normal, lead, raised, slope, vain

TARGET = 121.0


def played(
    off: list[float], *, fault: str = "", began: float | None = None, shut: list[float] | None = None
) -> Played:
    """A cook whose truth lies so far off its target each minute, with a perfect probe."""
    truth = [TARGET + value for value in off for _ in range(6)]
    closed = shut or [1e6] * len(truth)
    readings = tuple(
        Reading(time=START + timedelta(seconds=EVERY * count), probe="grate", celsius=celsius)
        for count, celsius in enumerate(truth, 1)
    )
    return Played(
        case=Case(family="practice", seed=1, fault=fault),
        about="",
        target=TARGET,
        records=readings,
        began=began,
        crossed=tuple(crossings(truth, closed, TARGET)),
        truth=tuple(truth),
        shut=tuple(closed),
        laid=(),
    )


FALLING = [0.0] * 60 + [-float(n) for n in range(1, 40)]


def test_a_crossing_is_counted_from_its_first_second_and_not_while_a_door_is_open() -> None:
    cook = played(FALLING)
    assert cook.crossed == ((85 * 60.0 + EVERY, False),)
    assert played(FALLING, shut=[0.0] * 6 * len(FALLING)).crossed == ()
    assert played([0.0] * 10 + [-30.0, 0.0, 0.0]).crossed == ((10 * 60.0 + EVERY, False),)


def test_the_lead_runs_from_the_alarm_to_the_crossing() -> None:
    cook = played(FALLING, fault="dying asleep", began=3600.0)
    crossed = cook.crossed[0][0]
    early = lead(cook, [Raised(4200.0, "fire-dying", 9e9)])
    assert early.lead == pytest.approx((crossed - 4200.0) / 60.0)
    assert early.delay == pytest.approx(10.0)
    assert lead(cook, [Raised(3000.0, "fire-dying", 9e9)]).delay == 0.0
    assert lead(cook, [Raised(3000.0, "fire-dying", 3300.0)]).lead is None
    assert lead(cook, [Raised(4200.0, "pit-too-hot", 9e9)]).lead is None
    assert lead(cook, [Raised(crossed + 400.0, "pit-too-cold", 9e9)]).lead is None


def test_an_alarm_that_does_not_come_true_within_an_hour_was_for_nothing() -> None:
    cook = played(FALLING)
    alarms = [
        Raised(60.0, "fire-dying", 90.0),
        Raised(4000.0, "fire-dying", 9e9),
        Raised(4000.0, "running-away", 9e9),
    ]
    assert vain(cook, alarms) == [alarms[0], alarms[2]]
    assert vain(cook, [Raised(60.0, "probe-open-grate", 90.0)]) == []


def test_an_alarm_stands_from_its_first_record_to_its_last() -> None:
    def told(seconds: float, state: AlarmState) -> tuple[float, Alarm]:
        alarm = Alarm(time=START, alarm="flare", state=state, priority=Priority.HIGH, text="It is.", first="Look.")
        return seconds, alarm

    up, seen, gone = AlarmState.UNACKNOWLEDGED, AlarmState.ACKNOWLEDGED, AlarmState.NORMAL
    records = [told(10.0, up), told(20.0, seen), told(50.0, gone), told(90.0, up)]
    assert raised(records, 100.0) == [Raised(10.0, "flare", 50.0), Raised(90.0, "flare", 100.0)]


def test_the_yardsticks_are_a_limit_and_a_slope() -> None:
    cook = played(FALLING)
    (limit,) = fixed(cook)
    assert limit.alarm == "pit-too-cold"
    assert limit.seconds == pytest.approx(81 * 60.0, abs=90.0)
    first = slope(cook)[0]
    assert first.seconds < limit.seconds - 600.0


def test_a_cook_that_keeps_its_limits_is_normal_whatever_its_lids_do() -> None:
    assert is_normal(played([0.0] * 200))
    assert not is_normal(played([0.0] * 100 + [-30.0] * 100))
    lids = [1e6] * 600 + [0.0] * 600
    assert is_normal(played([0.0] * 100 + [-30.0] * 100, shut=lids))


# --- the watch's own eyes --------------------------------------------------------------------------


@pytest.fixture(scope="module")
def steady() -> tuple[WatchState, tuple[Record, ...]]:
    return alarm_eyes.watched(played([0.0] * 70))


@pytest.mark.parametrize("eye", alarm_eyes.EYES, ids=lambda eye: eye.name)
def test_what_befalls_the_watch_is_told_in_time(
    eye: alarm_eyes.Eye, steady: tuple[WatchState, tuple[Record, ...]]
) -> None:
    seen = alarm_eyes.told(eye, *steady)
    assert seen.delay is not None
    assert seen.delay <= eye.goal + EVERY
    assert seen.besides == ()


def test_a_fault_is_sized_to_cross_about_as_soon_as_such_faults_do() -> None:
    cook = play(Case(family="layered", seed=700, fault="flare"))
    assert cook is not None
    assert cook.began is not None
    minutes = (cook.crossed[0][0] - cook.began) / 60.0
    assert CROSSES["flare"] / 5.0 <= minutes <= CROSSES["flare"] * 5.0
