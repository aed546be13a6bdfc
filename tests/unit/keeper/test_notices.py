"""People called through one way: at once, again until it arrives, written down, and a failure that others hear of."""

import asyncio
import contextlib
from datetime import UTC, datetime, timedelta

import pytest

from drivers.fakes.announcer import RememberingAnnouncer
from drivers.fakes.clock import SteppedClock
from firebox.keeper import notices
from firebox.keeper.notices import Notices, policy_of, trial
from firebox.records import Alarm, AlarmState, Notice, Occasion, Priority, Tick
from firebox.warn.escalation import MESSAGE_EVERY, SOUND_EVERY, Policy
from firebox.ways import PushOptions, SoundOptions

PLAIN = Policy()
SWIFT = Policy(every=dict.fromkeys(Priority, 0.05), says_over=True)


def alarm(
    clock: SteppedClock,
    name: str = "fire-dying",
    state: AlarmState = AlarmState.UNACKNOWLEDGED,
    priority: Priority = Priority.HIGH,
) -> Alarm:
    return Alarm(time=clock.now(), alarm=name, state=state, priority=priority, text="It dies.", first="Lay wood.")


class Called:
    """An outlet of notices with everything it left behind."""

    def __init__(self, clock: SteppedClock, policy: Policy, *, real: bool = True) -> None:
        self.way = RememberingAnnouncer("friend")
        self.written: list[Notice] = []
        self.outlet = Notices(self.way, policy, clock, pit="north", real=lambda: real, note=self.written.append)


@pytest.fixture
async def called(clock, monkeypatch):
    monkeypatch.setattr(notices, "LOOK_EVERY", 0.01)
    monkeypatch.setattr(notices, "FIRST_PAUSE", 0.01)
    monkeypatch.setattr(notices, "LONGEST_PAUSE", 0.02)
    async with contextlib.AsyncExitStack() as stack:

        async def begin(policy: Policy = PLAIN, *, real: bool = True) -> Called:
            found = Called(clock, policy, real=real)
            await found.outlet.open()
            stack.push_async_callback(found.outlet.close)
            return found

        yield begin


async def test_an_alarm_is_handed_over_at_once_and_written_down(called, clock, until):
    one = await called()
    one.outlet.tell([Tick(time=clock.now()), alarm(clock)])
    await until(lambda: one.written)
    (notice,) = one.way.said
    assert notice.title == "north: It dies."
    assert notice.text == "[high] It dies. First: Lay wood."
    assert one.written == [notice]
    assert (notice.way, notice.occasion, notice.alarms, notice.attempts) == (
        "friend",
        Occasion.RAISED,
        ("fire-dying",),
        1,
    )
    assert one.outlet.connected


async def test_it_is_repeated_until_acknowledged_and_then_told_to_be_over(called, clock, until):
    one = await called(SWIFT)
    one.outlet.tell([alarm(clock)])
    await until(lambda: len(one.way.said) >= 4)
    one.outlet.tell([alarm(clock, state=AlarmState.ACKNOWLEDGED)])
    await until(lambda: one.way.said[-1].occasion is Occasion.OVER)
    count = len(one.way.said)
    await asyncio.sleep(0.2)
    assert len(one.way.said) == count
    assert {notice.occasion for notice in one.way.said[1:-1]} == {Occasion.REPEATED}


async def test_repeats_that_arrive_do_not_fill_the_journal(called, clock, until):
    one = await called(SWIFT)
    one.outlet.tell([alarm(clock)])
    await until(lambda: len(one.way.said) >= 6)
    assert [notice.occasion for notice in one.written] == [Occasion.RAISED]


async def test_what_does_not_arrive_is_tried_again_and_every_attempt_is_written_down(called, clock, until):
    one = await called()
    one.way.broken = "no route to anybody"
    one.outlet.tell([alarm(clock)])
    await until(lambda: len(one.written) >= 3)
    assert not one.outlet.connected
    assert one.outlet.last_problem == "no route to anybody"
    one.way.broken = None
    await until(lambda: one.way.said)
    await until(lambda: one.outlet.connected)
    assert one.outlet.last_problem is None
    assert [notice.problem for notice in one.written] == ["no route to anybody"] * (len(one.written) - 1) + [None]
    assert [notice.attempts for notice in one.written] == list(range(1, len(one.written) + 1))


async def test_what_is_acknowledged_while_it_could_not_be_told_is_not_told_any_more(called, clock, until):
    one = await called()
    one.way.broken = "no"
    one.outlet.tell([alarm(clock)])
    await until(lambda: one.written)
    one.outlet.tell([alarm(clock, state=AlarmState.ACKNOWLEDGED)])
    await asyncio.sleep(0.05)
    one.way.broken = None
    await asyncio.sleep(0.05)
    assert one.way.said == []
    assert not one.outlet.connected  # nothing has shown yet that it works again


async def test_a_new_alarm_does_not_wait_for_the_next_attempt(called, clock, until, monkeypatch):
    monkeypatch.setattr(notices, "FIRST_PAUSE", 3600.0)
    one = await called()
    one.way.broken = "no"
    one.outlet.tell([alarm(clock)])
    await until(lambda: one.written)
    one.way.broken = None
    one.outlet.tell([alarm(clock, "pit-too-hot", priority=Priority.CRITICAL)])
    await until(lambda: one.way.said)
    assert one.way.said[0].alarms == ("pit-too-hot", "fire-dying")


async def test_a_defect_of_the_way_ends_nothing_and_its_words_are_not_told(called, clock, until, monkeypatch):
    one = await called()

    async def defective(_notice):
        raise ZeroDivisionError("with a secret in it")

    monkeypatch.setattr(one.way, "announce", defective)
    one.outlet.tell([alarm(clock)])
    await until(lambda: len(one.written) >= 2)
    assert one.outlet.last_problem == "ZeroDivisionError"


async def test_that_this_way_is_broken_is_told_by_the_others(called, clock, until):
    one = await called(Policy(from_priority=Priority.LOW))
    one.outlet.tell([alarm(clock, "notice-failed-friend", priority=Priority.MEDIUM)])
    one.outlet.tell([alarm(clock, "notice-failed-sound", priority=Priority.MEDIUM)])
    await until(lambda: one.way.said)
    assert one.way.said[0].alarms == ("notice-failed-sound",)


async def test_after_a_restart_the_next_person_is_called_as_if_there_had_been_none(called, clock, until):
    one = await called(Policy(after_seconds=600.0))
    old = alarm(clock)
    clock.move(601.0)
    one.outlet.tell([old])
    await until(lambda: one.way.said)


async def test_a_clock_that_was_years_off_calls_nobody_before_the_time(called, clock):
    one = await called(Policy(after_seconds=600.0))
    later = alarm(clock)
    clock.move(-365 * 86_400.0)
    one.outlet.tell([later])
    await asyncio.sleep(0.05)
    assert one.way.said == []


async def test_a_practice_fire_says_so(called, clock, until):
    one = await called(real=False)
    one.outlet.tell([alarm(clock)])
    await until(lambda: one.way.said)
    assert "practice" in one.way.said[0].title


async def test_closing_breaks_off_what_is_under_way(called, clock, until):
    one = await called()
    one.way.pause.clear()
    one.outlet.tell([alarm(clock)])
    await asyncio.sleep(0.02)
    await one.outlet.close()
    await one.outlet.close()
    assert one.way.closed == 1
    assert not one.outlet.connected
    assert one.written == []


@pytest.mark.parametrize(("repeat", "high"), [(None, 300.0), (7.0, 420.0)])
def test_a_way_is_used_as_the_owner_says(repeat, high):
    way = PushOptions(
        url_env="X", from_priority=Priority.HIGH, after_minutes=10, quiet="22:00-06:00", repeat_minutes=repeat
    )
    policy = policy_of(way, MESSAGE_EVERY, says_over=True)
    assert (policy.from_priority, policy.after_seconds, policy.says_over) == (Priority.HIGH, 600.0, True)
    assert policy.every[Priority.HIGH] == high
    assert policy.quiet is not None
    assert policy.quiet.hold(0)
    assert policy_of(SoundOptions(), SOUND_EVERY, says_over=False).quiet is None


def test_a_test_says_that_it_is_one():
    notice = trial("friend", "north", datetime(2026, 5, 2, tzinfo=UTC) + timedelta(hours=1), Priority.HIGH)
    assert "TEST" in notice.title
    assert "Nothing needs doing" in notice.text
    assert notice.occasion is Occasion.TEST
