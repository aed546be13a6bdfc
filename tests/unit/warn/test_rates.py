"""The alarms of a cook in numbers, beside the published figures."""

from datetime import UTC, datetime, timedelta

import pytest

from firebox.records import Alarm, AlarmState, Priority
from firebox.warn.rates import figures, rates

BEGIN = datetime(2026, 5, 2, 18, 0, tzinfo=UTC)
END = BEGIN + timedelta(hours=12)
UP, SEEN, BACK, REST = (
    AlarmState.UNACKNOWLEDGED,
    AlarmState.ACKNOWLEDGED,
    AlarmState.RETURNED,
    AlarmState.NORMAL,
)


def told(minutes: float, state: AlarmState, name: str = "pit-too-cold", priority: Priority = Priority.HIGH) -> Alarm:
    time = BEGIN + timedelta(minutes=minutes)
    return Alarm(time=time, alarm=name, state=state, priority=priority, text="It is.", first="Look.")


def test_a_quiet_night_is_nothing_and_all_is_good() -> None:
    quiet = rates([], BEGIN, END)
    assert (quiet.raised, quiet.busiest, quiet.standing, quiet.per_night) == (0, 0, 0.0, 0.0)
    assert all(figure.good for figure in figures(quiet))


def test_an_alarm_is_counted_once_however_often_its_words_or_its_priority_change() -> None:
    course = [told(10, UP), told(11, UP, priority=Priority.CRITICAL), told(15, SEEN), told(20, UP), told(30, REST)]
    seen = rates(course, BEGIN, END)
    assert seen.raised == 1
    (one,) = seen.alarms
    assert one.minutes == one.longest == 20.0
    assert one.answered == 5.0
    assert seen.standing == pytest.approx(20.0 / 720.0)
    assert seen.most_standing == 1


def test_what_still_stands_at_the_end_stood_until_the_end() -> None:
    seen = rates([told(700, UP)], BEGIN, END)
    assert seen.alarms[0].minutes == 20.0
    assert seen.alarms[0].answered is None


def test_three_within_a_minute_chatter_and_three_within_two_do_not() -> None:
    def coming_and_going(every: float) -> list[Alarm]:
        return [told(10 + every * n, (UP, BACK)[n % 2]) for n in range(6)]

    assert rates(coming_and_going(0.2), BEGIN, END).chattering == ("pit-too-cold",)
    assert rates(coming_and_going(0.4), BEGIN, END).chattering == ()


def test_a_flood_lasts_until_fewer_than_five_come_in_ten_minutes() -> None:
    flood = [told(60 + 0.5 * n, UP, name=f"probe-open-p{n}") for n in range(12)]
    seen = rates([*flood, told(300, UP)], BEGIN, END)
    assert seen.busiest == 12
    assert seen.busiest_at == BEGIN + timedelta(minutes=60)
    assert seen.flood_minutes == pytest.approx(11.0)
    bad = {figure.name for figure in figures(seen) if not figure.good}
    assert bad >= {"most in 10 min", "share of the time in floods"}


def test_an_alarm_that_stands_for_a_day_is_stale() -> None:
    seen = rates([told(0, UP), told(1500, REST)], BEGIN, BEGIN + timedelta(hours=30))
    assert seen.stale == ("pit-too-cold",)


def test_putting_aside_is_counted_and_ends_the_standing() -> None:
    seen = rates([told(0, UP), told(5, AlarmState.SHELVED), told(65, REST), told(65, UP)], BEGIN, END)
    assert seen.put_aside == 1
    assert seen.raised == 2
    assert seen.alarms[0].minutes == pytest.approx(5.0 + 655.0)


def test_priorities_are_counted_as_they_were_raised() -> None:
    seen = rates([told(0, UP), told(5, UP, "link-lost-mqtt", Priority.LOW)], BEGIN, END)
    assert seen.priorities == {"high": 1, "low": 1}
