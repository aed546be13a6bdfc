"""A round with its instructor, and the twin beside it, before a watch that says what the test wants."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from functools import partial
from itertools import pairwise

import pytest
from msgspec.structs import replace

from firebox.estimate.forecast import NOTHING_MORE
from firebox.lessons import LessonKind, Tally
from firebox.practice import twin
from firebox.practice.coached import Coached
from firebox.practice.instructor import Instruction
from firebox.practice.play import LEFT_ALONE, Mind, Play
from firebox.practice.rounds import SCENARIOS, choose
from firebox.practice.verdict import REMARKS, verdict
from firebox.records import (
    Acknowledge,
    Alarm,
    AlarmState,
    Damper,
    DamperName,
    Door,
    Lit,
    Move,
    NextSplit,
    Note,
    Outlook,
    Priority,
    Rake,
    Reading,
    Record,
    Split,
    Tick,
)

START = datetime(2026, 5, 1, 14, 0, tzinfo=UTC)


def silent(_record: Record) -> Sequence[Record]:
    return ()


def coached(name: str = "hold", mind: Mind = silent, seed: int = 2) -> Coached:
    round_ = Coached(choose(name, seed=seed), mind, START)
    round_.begin()
    return round_


def test_the_same_deeds_give_the_same_round_however_it_is_cut() -> None:
    def played(pieces: Sequence[float]) -> list[Record]:
        play = Play(choose("hold", seed=2), silent, START)
        records = play.begin()
        for until in pieces:
            records += play.run(until)
        return records

    assert played([900.0]) == played([10.0, 15.0, 333.0, 900.0])


def test_readings_and_ticks_come_in_the_order_of_time() -> None:
    round_ = coached()
    records = round_.run(600.0)
    times = [record.time for record in records]
    assert times == sorted(times)
    assert times[-1] == START + timedelta(seconds=600.0)
    assert sum(isinstance(record, Tick) for record in records) == 60
    assert {one.probe for one in records if isinstance(one, Reading)} == {"grate", "grate2", "ambient"}


def test_a_deed_happens_now_with_the_wood_of_this_pile() -> None:
    round_ = coached("wet wood")
    round_.run(300.0)
    records = round_.act(Split(time=START, kg=1.0, moisture=0.1, id="a"))
    split = records[0]
    assert isinstance(split, Split)
    assert (split.time, split.at, split.moisture) == (START + timedelta(seconds=300.0), None, 0.45)
    assert round_.play.fire.hearth.pieces[-1].water0 > 0.3 * round_.play.fire.hearth.pieces[-1].dry0
    assert round_.done_at_the_pit >= {"a"}


def test_what_is_told_belatedly_is_told_to_the_watch_and_not_done_again() -> None:
    heard: list[Record] = []

    def listening(record: Record) -> Sequence[Record]:
        heard.append(record)
        return ()

    round_ = coached(mind=listening)
    round_.run(300.0)
    pieces = len(round_.play.fire.hearth.pieces)
    told = Split(time=START, at=START + timedelta(seconds=60.0), kg=1.0, id="late")
    round_.act(told)
    assert len(round_.play.fire.hearth.pieces) == pieces
    assert isinstance(heard[-1], Split)
    assert heard[-1].at == told.at
    assert round_.coaching().tally.wood_kg == 0.0
    assert round_.coaching().lessons == ()


def test_the_fire_waits_while_a_question_is_open() -> None:
    round_ = coached()
    round_.act(Split(time=START, kg=1.4))
    round_.run(3000.0)
    assert round_.coaching().quiz is not None
    stood = round_.play.seconds
    round_.run(3000.0)
    assert round_.play.seconds == stood
    round_.answer(1)
    round_.run(3000.0)
    assert round_.play.seconds == 3000.0
    assert [one.kind for one in round_.coaching().lessons].count(LessonKind.ANSWER) == 1


def test_what_the_watch_expects_is_its_outlook_if_left_alone() -> None:
    def foreseeing(record: Record) -> Sequence[Record]:
        if not isinstance(record, Tick):
            return ()
        return tuple(
            Outlook(
                time=record.time,
                probe="grate",
                celsius=120.0,
                drift_per_hour=0.0,
                minutes=(5, 15),
                p10=(1.0, 1.0),
                p50=(121.0, middle),
                p90=(2.0, 2.0),
                assumes=assumes,
            )
            for middle, assumes in ((126.0, "nothing more is done"), (140.0, "the recommended move is made"))
        )

    play = coached(mind=foreseeing).play
    assert play.expected(15.0) == 126.0
    assert play.expected(60.0) is None
    assert coached().play.expected(15.0) is None


def test_a_round_ends_in_time_and_has_a_verdict_only_then() -> None:
    round_ = coached("flare")
    round_.ask(wanted=False)
    round_.run(1e9)
    assert round_.is_over
    assert round_.play.seconds == 3600.0
    assert round_.coaching().verdict is None
    told = round_.coaching(over=True).verdict
    assert told is not None
    assert told.mine.minutes == 60.0
    assert {one.topic for one in round_.coaching().lessons} >= {"grease", "grease out"}


def test_a_door_ajar_is_shut_by_opening_and_shutting_it() -> None:
    round_ = coached("door ajar")
    round_.run(400.0)
    assert round_.coaching().sight.ajar
    round_.act(Door(time=START, open=True))
    round_.act(Door(time=START, open=False))
    assert not round_.coaching().sight.ajar


def test_raking_clears_the_ash() -> None:
    round_ = coached("choked ash")
    round_.run(60.0)
    assert round_.coaching().sight.ash
    round_.act(Rake(time=START))
    assert not round_.coaching().sight.ash


def test_a_door_left_open_is_named() -> None:
    round_ = coached()
    round_.act(Door(time=START, open=True))
    round_.run(200.0)
    assert "door open" in [one.topic for one in round_.coaching().lessons]


def test_a_note_is_no_walk() -> None:
    round_ = coached()
    round_.act(Note(time=START, text="gusts"))
    assert round_.coaching().tally.trips == 0
    round_.run(10.0)
    round_.act(Damper(time=START, damper=DamperName.INTAKE, open=0.5))
    round_.run(20.0)
    assert round_.coaching().tally.trips == 1


def test_alarms_of_the_watch_are_counted_once_each() -> None:
    def alarmed(record: Record) -> Sequence[Record]:
        if not isinstance(record, Tick) or record.time != START + timedelta(seconds=60.0):
            return ()
        raised = Alarm(
            time=record.time, alarm="a", state=AlarmState.UNACKNOWLEDGED, priority=Priority.HIGH, text="", first=""
        )
        low = Alarm(
            time=record.time, alarm="b", state=AlarmState.UNACKNOWLEDGED, priority=Priority.LOW, text="", first=""
        )
        seen = Alarm(
            time=record.time, alarm="a", state=AlarmState.ACKNOWLEDGED, priority=Priority.HIGH, text="", first=""
        )
        return (raised, low, seen)

    round_ = coached(mind=alarmed)
    round_.run(120.0)
    assert round_.coaching().tally.alarms == 1


# --- the twin ------------------------------------------------------------------------------------


class Advised:
    """A watch that asks for a split every forty minutes, and tells what it heard."""

    def __init__(self) -> None:
        self.heard: list[Record] = []
        self._split_at = twin.START - timedelta(minutes=25)

    def __call__(self, record: Record) -> Sequence[Record]:
        self.heard.append(record)
        if isinstance(record, Split):
            self._split_at = record.time
        if not isinstance(record, Tick):
            return ()
        minutes = max(0.0, 40.0 - (record.time - self._split_at).total_seconds() / 60.0)
        split = NextSplit(in_minutes=minutes, kg=1.1)
        move = Move(time=record.time, split=split, intake=None, stack=None, hold=False, expected=None, reason="")
        return (self.said(move),)

    def said(self, move: Move) -> Move:
        return move


class Kindling(Advised):
    """The same, and it asks for kindling from ten minutes on, beside the split or in its place, until it is lit."""

    def __init__(self, *, beside: bool) -> None:
        super().__init__()
        self._beside = beside

    def said(self, move: Move) -> Move:
        early = move.time < twin.START + timedelta(minutes=10)
        if early or any(isinstance(one, Lit) and one.time > twin.START for one in self.heard):
            return move
        return replace(move, light=True, split=move.split if self._beside else None)


def test_the_twin_does_what_is_advised_after_a_walk() -> None:
    mind = Advised()
    kept = twin.follow(choose("hold", seed=2), lambda: mind)
    splits = [one for one in mind.heard if isinstance(one, Split) and one.time > twin.START]
    assert len(splits) == 3
    assert {one.kg for one in splits} == {1.1}
    assert kept.tally(1e9).wood_kg == pytest.approx(3.3)
    gaps = [(b.time - a.time).total_seconds() for a, b in pairwise(splits)]
    assert all(2400.0 < gap < 2600.0 for gap in gaps)


def test_the_twin_is_the_same_each_time() -> None:
    choice = choose("flare", seed=4)
    one, other = (twin.follow(choice, Advised).tally(1e9) for _ in range(2))
    assert one == other


def _lit(mind: Advised) -> list[float]:
    return [
        (one.time - twin.START).total_seconds() / 60.0
        for one in mind.heard
        if isinstance(one, Lit) and one.time > twin.START
    ]


def test_the_twin_lights_only_what_it_is_told_to_light() -> None:
    mind = Advised()
    twin.follow(choose("cold to steady"), partial(_same, mind))
    assert _lit(mind) == []
    for beside in (False, True):  # no coals glow in a cold pit
        mind = Kindling(beside=beside)
        twin.follow(choose("cold to steady"), partial(_same, mind))
        assert len(_lit(mind)) == 1
        assert 11.0 <= _lit(mind)[0] < 12.5


def test_the_twin_lays_the_split_that_stands_beside_kindling_where_coals_glow() -> None:
    mind = Kindling(beside=True)
    twin.follow(choose("hold", seed=2), partial(_same, mind))
    assert _lit(mind) == []


def test_the_twin_puts_right_what_anybody_sees() -> None:
    for name, kind in (("choked ash", Rake), ("door ajar", Door)):
        mind = Advised()
        twin.follow(choose(name), partial(_same, mind))
        assert any(isinstance(one, kind) and one.time > twin.START for one in mind.heard), name


def _same(mind: Advised) -> Advised:
    return mind


def test_an_alarm_from_before_the_round_is_seen_already_and_none_of_the_players() -> None:
    told: list[Record] = []

    def mind(record: Record) -> Sequence[Record]:
        told.append(record)
        states = {
            Reading: (AlarmState.UNACKNOWLEDGED, AlarmState.RETURNED) if len(told) < 20 else (),
            Tick: (AlarmState.UNACKNOWLEDGED,) if record.time == START else (),
        }.get(type(record), ())
        name = "old" if isinstance(record, Reading) else "standing"
        return [
            Alarm(time=record.time, alarm=name, state=state, priority=Priority.CRITICAL, text="", first="")
            for state in states
        ]

    round_ = coached(mind=mind)
    assert [one.alarm for one in told if isinstance(one, Acknowledge)] == ["old"]
    round_.run(60.0)
    assert round_.coaching().tally.alarms == 0


# --- the verdict ---------------------------------------------------------------------------------

GOOD = Tally(minutes=120.0, in_band=100.0, over=10.0, under=8.0, wood_kg=4.0, smoulder=1.0, trips=4)


@pytest.mark.parametrize(
    ("mine", "words"),
    [
        (
            Tally(minutes=120.0, in_band=110.0, over=10.0, under=8.0, wood_kg=4.0, smoulder=1.0, trips=4),
            "trust your eye",
        ),
        (
            Tally(minutes=120.0, in_band=90.0, over=10.0, under=8.0, wood_kg=4.0, smoulder=9.0, trips=4),
            "watch the smoke",
        ),
        (Tally(minutes=120.0, in_band=90.0, over=30.0, under=8.0, wood_kg=4.5, smoulder=1.0, trips=4), "lay less"),
        (
            Tally(minutes=120.0, in_band=90.0, over=30.0, under=8.0, wood_kg=3.5, smoulder=1.0, trips=4),
            "turn the intake down",
        ),
        (
            Tally(minutes=120.0, in_band=90.0, over=10.0, under=30.0, wood_kg=3.5, smoulder=1.0, trips=4),
            "feed earlier",
        ),
        (
            Tally(minutes=120.0, in_band=90.0, over=10.0, under=30.0, wood_kg=4.5, smoulder=1.0, trips=4),
            "look why it fell",
        ),
        (
            Tally(minutes=120.0, in_band=96.0, over=10.0, under=8.0, wood_kg=4.0, smoulder=1.0, trips=12),
            "walk there less",
        ),
        (GOOD, "Close to what"),
    ],
)
def test_the_remarks_say_what_made_the_difference(mine: Tally, words: str) -> None:
    told = verdict(SCENARIOS["hold"], mine, GOOD, Instruction())
    assert any(words in remark for remark in told.remarks)
    assert len(told.remarks) <= 3


def test_without_the_twin_nothing_is_compared() -> None:
    told = verdict(
        SCENARIOS["hold"], GOOD, None, Instruction(counts={"ash": 1, "chasing": 2}), twin_problem="it broke off"
    )
    assert told.remarks == ()
    assert told.twin_reached is None
    assert told.mistakes == ("chasing (2)", "ash")


def test_every_remark_can_be_said() -> None:
    assert len({remark.text for remark in REMARKS}) == len(REMARKS)


def test_the_outlook_that_is_meant_is_called_as_the_estimate_calls_it() -> None:
    assert LEFT_ALONE == NOTHING_MORE


def test_an_idle_round_is_told_that_nothing_was_done_and_no_more() -> None:
    idle = Tally(minutes=80.0, under=0.0)
    for name, word in (("cold to steady", "lit"), ("hold", "No wood went on")):
        told = verdict(SCENARIOS[name], replace(idle, under=80.0 if name == "hold" else 0.0), GOOD, Instruction())
        assert len(told.remarks) == 1
        assert word in told.remarks[0]
    cold = verdict(SCENARIOS["first fire"], replace(idle, wood_kg=4.0), GOOD, Instruction())
    assert len(cold.remarks) == 1
    assert "never came into its band" in cold.remarks[0]


def test_it_fell_for_want_of_wood_or_of_something_else_but_not_of_both() -> None:
    mine = replace(GOOD, under=60.0, in_band=20.0)
    for kg, word, other in ((0.5, "feed earlier", "look why it fell"), (9.0, "look why it fell", "feed earlier")):
        told = " ".join(verdict(SCENARIOS["hold"], replace(mine, wood_kg=kg), GOOD, Instruction()).remarks)
        assert word in told
        assert other not in told


def test_the_advice_is_judged_by_its_whole_round_though_the_player_ended_his_sooner() -> None:
    mine = Tally(minutes=64.0, in_band=20.0, wood_kg=3.0, steady_at=62.0)
    early, whole = replace(mine, steady_at=None), replace(mine, minutes=120.0, steady_at=85.0)
    told = verdict(SCENARIOS["first fire"], mine, early, Instruction(), twin_whole=whole)
    assert (told.reached, told.twin_reached) == (True, True)
