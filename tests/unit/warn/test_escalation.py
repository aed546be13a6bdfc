"""Who is called when: a night's alarms told minute by minute, without a clock."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firebox.records import Alarm, AlarmState, Occasion, Priority
from firebox.warn.escalation import (
    MESSAGE_EVERY,
    RANK,
    SOUND_EVERY,
    Calls,
    Due,
    Policy,
    due,
    follow,
    leave,
    told,
    words,
)
from firebox.ways import quiet_hours

NIGHT, NOON = 3 * 60, 12 * 60


def alarm(
    name: str = "fire-dying",
    priority: Priority = Priority.HIGH,
    state: AlarmState = AlarmState.UNACKNOWLEDGED,
    minutes: float | None = None,
) -> Alarm:
    return Alarm(
        time=datetime(2026, 5, 2, tzinfo=UTC),
        alarm=name,
        state=state,
        priority=priority,
        text="The fire is dying.",
        first="Lay one small dry split.",
        minutes_until=minutes,
    )


class Person:
    """Somebody who is called in one way; whatever is due is told at once."""

    def __init__(self, policy: Policy, minute: int = NOON) -> None:
        self.policy = policy
        self.calls = Calls()
        self.seconds = 0.0
        self.minute = minute
        self.heard: list[tuple[float, Due]] = []

    def change(self, one: Alarm, age: float = 0.0) -> None:
        self.calls = follow(self.calls, one, self.seconds, age)

    def wait(self, seconds: float, step: float = 0.5) -> list[Due]:
        """Return what was told in so many seconds."""
        before, end = len(self.heard), self.seconds + seconds
        while self.seconds < end:
            while (what := due(self.calls, self.policy, self.seconds, self.minute)) is not None:
                self.calls = told(leave(self.calls, what), what, self.seconds)
                self.heard.append((self.seconds, what))
            self.seconds += step
        return [what for _, what in self.heard[before:]]


def occasions(found: list[Due]) -> list[Occasion]:
    return [what.occasion for what in found]


@pytest.mark.parametrize(("priority", "every"), SOUND_EVERY.items())
def test_an_alarm_sounds_at_once_and_again_until_it_is_acknowledged(priority, every):
    cook = Person(Policy(from_priority=Priority.LOW))
    cook.change(alarm(priority=priority))
    found = cook.wait(3.25 * every)
    assert occasions(found) == [Occasion.RAISED] + [Occasion.REPEATED] * 3
    cook.change(alarm(priority=priority, state=AlarmState.ACKNOWLEDGED))
    assert cook.wait(10 * every) == []


@pytest.mark.parametrize(
    "state", [state for state in AlarmState if state is not AlarmState.UNACKNOWLEDGED], ids=lambda state: state.value
)
def test_whatever_ends_the_calling_ends_it_at_once(state):
    cook = Person(Policy())
    cook.change(alarm())
    assert cook.wait(1)
    cook.change(alarm(state=state))
    assert cook.wait(3600) == []


def test_each_call_is_louder_up_to_all_there_is():
    cook = Person(Policy(from_priority=Priority.LOW))
    cook.change(alarm(priority=Priority.MEDIUM))
    loudness = [what.loudness for what in cook.wait(400)]
    assert loudness[0] == pytest.approx(0.35)
    assert loudness == sorted(loudness)
    assert loudness[1] == pytest.approx(loudness[0] * 10 ** (3 / 20), rel=0.01)  # 3 dB
    assert loudness[-1] == 1.0


def test_a_critical_alarm_is_as_loud_as_can_be_from_the_first():
    cook = Person(Policy())
    cook.change(alarm(priority=Priority.CRITICAL))
    assert cook.wait(0.5)[0].loudness == 1.0


def test_the_next_person_is_called_when_nobody_has_acknowledged_for_so_long():
    second = Person(Policy(after_seconds=600.0, every=MESSAGE_EVERY))
    second.change(alarm())
    assert second.wait(599) == []
    assert occasions(second.wait(10)) == [Occasion.RAISED]


def test_the_next_person_is_never_called_when_somebody_was_quick():
    second = Person(Policy(after_seconds=600.0, says_over=True))
    second.change(alarm())
    second.wait(300)
    second.change(alarm(state=AlarmState.ACKNOWLEDGED))
    assert second.wait(3600) == []


def test_a_restart_of_the_watch_does_not_put_the_next_person_off():
    second = Person(Policy(after_seconds=600.0))
    second.change(alarm(), age=590.0)
    assert second.wait(9) == []
    assert occasions(second.wait(2)) == [Occasion.RAISED]


def test_quiet_hours_hold_back_what_is_not_critical_and_tell_it_afterwards():
    cook = Person(Policy(quiet=quiet_hours("22:00-06:00")), minute=NIGHT)
    cook.change(alarm(priority=Priority.HIGH))
    assert cook.wait(3600, step=5) == []
    cook.minute = 6 * 60
    assert occasions(cook.wait(1)) == [Occasion.RAISED]


@given(st.integers(0, 24 * 60 - 1), st.integers(0, 1439), st.integers(0, 1439))
def test_no_quiet_hours_ever_hush_a_critical_alarm(minute, begin, end):
    if begin == end:
        return
    quiet = quiet_hours(f"{begin // 60:02}:{begin % 60:02}-{end // 60:02}:{end % 60:02}")
    cook = Person(Policy(quiet=quiet, from_priority=Priority.CRITICAL), minute=minute)
    cook.change(alarm(priority=Priority.CRITICAL))
    assert occasions(cook.wait(0.5)) == [Occasion.RAISED]


def test_an_alarm_that_becomes_critical_is_told_at_once_also_at_night():
    cook = Person(Policy(quiet=quiet_hours("22:00-06:00")), minute=NIGHT)
    cook.change(alarm(priority=Priority.HIGH))
    assert cook.wait(60) == []
    cook.change(alarm(priority=Priority.CRITICAL))
    (first, *_) = cook.wait(1)
    assert (first.occasion, first.priority) == (Occasion.RAISED, Priority.CRITICAL)


def test_what_is_below_the_wanted_priority_is_never_told():
    cook = Person(Policy(from_priority=Priority.HIGH))
    cook.change(alarm(priority=Priority.MEDIUM))
    assert cook.wait(3600, step=5) == []


def test_a_flood_is_one_notice_with_the_most_urgent_first():
    cook = Person(Policy(from_priority=Priority.LOW))
    for number, priority in enumerate([Priority.LOW, Priority.CRITICAL, Priority.MEDIUM] * 5):
        cook.change(alarm(f"alarm-{number}", priority))
    (what,) = cook.wait(0.5)
    assert len(what.alarms) == 15
    assert [one.priority for one in what.alarms] == sorted(
        (one.priority for one in what.alarms), key=list(Priority).index, reverse=True
    )


def test_a_person_who_was_called_hears_when_it_is_over_and_only_then():
    friend = Person(Policy(every=MESSAGE_EVERY, says_over=True))
    friend.change(alarm())
    friend.wait(1)
    friend.change(alarm(state=AlarmState.RETURNED))
    assert occasions(friend.wait(60)) == [Occasion.OVER]
    friend.change(alarm(state=AlarmState.NORMAL))
    assert friend.wait(60) == []


def test_what_comes_back_is_told_anew():
    friend = Person(Policy(every=MESSAGE_EVERY, says_over=True))
    for state in (AlarmState.UNACKNOWLEDGED, AlarmState.RETURNED, AlarmState.UNACKNOWLEDGED):
        friend.change(alarm(state=state))
        friend.wait(1)
    assert occasions([what for _, what in friend.heard]) == [Occasion.RAISED, Occasion.OVER, Occasion.RAISED]


def test_what_did_not_arrive_stays_due():
    calls = follow(Calls(), alarm(), 0.0)
    for _ in range(5):
        what = due(calls, Policy(), 1.0, NOON)
        assert what is not None
        assert what.occasion is Occasion.RAISED
        calls = told(leave(calls, what), what, 1.0, arrived=False)


def test_who_was_being_told_while_somebody_acknowledged_hears_of_that_too():
    calls, policy = follow(Calls(), alarm(), 0.0), Policy(says_over=True)
    what = due(calls, policy, 0.0, NOON)
    assert what is not None
    calls = follow(leave(calls, what), alarm(state=AlarmState.ACKNOWLEDGED), 1.0)
    calls = told(calls, what, 2.0)
    after = due(calls, policy, 2.0, NOON)
    assert after is not None
    assert after.occasion is Occasion.OVER


def test_what_has_become_worse_on_the_way_is_told_again():
    calls = follow(Calls(), alarm(), 0.0)
    what = due(calls, Policy(), 0.0, NOON)
    assert what is not None
    calls = told(follow(leave(calls, what), alarm(priority=Priority.CRITICAL), 1.0), what, 2.0)
    after = due(calls, Policy(), 2.0, NOON)
    assert after is not None
    assert (after.occasion, after.priority) == (Occasion.RAISED, Priority.CRITICAL)


states = st.sampled_from(AlarmState)
changes = st.lists(
    st.tuples(st.sampled_from(["a", "b", "c"]), st.sampled_from(Priority), states, st.integers(0, 900)), max_size=25
)


@given(changes, st.sampled_from(Priority), st.sampled_from([0.0, 300.0]))
def test_whatever_happens_what_stands_is_told_and_what_does_not_is_not(story, from_priority, after):
    """No alarm is lost and none is invented: each one standing long enough was told since it last came to stand."""
    person = Person(Policy(from_priority=from_priority, after_seconds=after, says_over=True))
    standing: dict[str, tuple[Alarm, float]] = {}
    for name, priority, state, seconds in story:
        one = alarm(name, priority, state)
        person.change(one)
        if state is not AlarmState.UNACKNOWLEDGED:
            standing.pop(name, None)
        else:
            standing[name] = one, standing[name][1] if name in standing else person.seconds
        for what in person.wait(seconds, step=30):
            names = {told.alarm for told in what.alarms}
            assert (names <= set(standing)) if what.occasion is not Occasion.OVER else not names & set(standing)
        for wanted, (one, since) in standing.items():
            wakes = RANK[one.priority] >= RANK[from_priority]
            if seconds > 0 and wakes and person.seconds - 30 - since >= after:
                calls = [told for at, what in person.heard if at >= since for told in what.alarms]
                assert any(told.alarm == wanted and RANK[told.priority] >= RANK[one.priority] for told in calls), (
                    wanted
                )


# --- words ---------------------------------------------------------------------------------------


def test_a_notice_says_what_how_long_and_what_to_do_first():
    title, text = words(Due(occasion=Occasion.RAISED, alarms=(alarm(minutes=17.6),), loudness=1.0), "north")
    assert title == "north: The fire is dying."
    assert text == "[high] The fire is dying. About 18 min until then. First: Lay one small dry split."


def test_a_practice_fire_can_never_be_mistaken_for_a_real_one():
    for occasion in Occasion:
        title, _ = words(Due(occasion=occasion, alarms=(alarm(),), loudness=1.0), "north", real=False)
        assert "practice, no real fire" in title


def test_that_it_is_over_says_how():
    gone = alarm(state=AlarmState.NORMAL)
    seen = alarm("pit-too-hot", state=AlarmState.ACKNOWLEDGED)
    title, text = words(Due(occasion=Occasion.OVER, alarms=(gone, seen), loudness=0.0), "north")
    assert title == "north: no longer calling: fire dying and 1 more"
    assert "Fire dying is over." in text
    assert "Pit too hot is acknowledged." in text


@pytest.mark.parametrize("text", ["", "22-6", "22:00-22:00", "24:00-06:00", "22:00 06:00", "22:61-06:00"])
def test_quiet_hours_that_are_none_are_refused(text):
    with pytest.raises(ValueError, match='"22:00-06:00" would be right'):
        quiet_hours(text)


@given(st.integers(0, 1439), st.integers(1, 1439))
def test_quiet_hours_hold_for_as_long_as_they_say(begin, length):
    end = timedelta(minutes=(begin + length) % 1440)
    start = timedelta(minutes=begin)
    text = "-".join(str(one)[: str(one).rindex(":")].rjust(5, "0") for one in (start, end))
    assert sum(quiet_hours(text).hold(minute) for minute in range(1440)) == length
