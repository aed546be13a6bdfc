"""What the cook did, in order, with undone and late entries in their right place."""

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from firebox.cooklog import CookLog, enter
from firebox.records import (
    Acknowledge,
    Damper,
    DamperName,
    Door,
    DoorName,
    Entry,
    Lit,
    Note,
    Out,
    Split,
    Target,
    Undo,
)
from firebox.setup import Setup

NOON = datetime(2026, 5, 2, 12, 0, tzinfo=UTC)
SETUP = Setup(time=NOON, target_celsius=120, band=8, intake_open=0.25)


def at(seconds: float) -> datetime:
    return NOON + timedelta(seconds=seconds)


def log_of(*entries: tuple[float, Entry]) -> CookLog:
    log = CookLog()
    for seconds, entry in entries:
        log = enter(log, entry, seconds, NOON)
    return log


def split(seconds: float, name: str | None = None, happened: float | None = None) -> tuple[float, Split]:
    return seconds, Split(time=at(seconds), id=name, at=None if happened is None else at(happened), kg=1.0)


def undo(seconds: float, of: str, name: str | None = None) -> tuple[float, Undo]:
    return seconds, Undo(time=at(seconds), of=of, id=name)


def seconds_of(log: CookLog) -> list[float]:
    return [deed.seconds for deed in log.deeds]


def test_a_late_entry_stands_where_it_happened_and_says_from_where_to_think_again():
    log = log_of(split(0), split(600), split(900, happened=300))
    assert seconds_of(log) == [0, 300, 600]
    assert log.revised == 300


def test_an_entry_of_now_revises_nothing():
    assert log_of(split(0), split(600)).revised is None


def test_an_entry_cannot_lie_in_the_future_or_before_the_watch_began():
    log = log_of((100, Split(time=at(100), at=at(900))), (200, Split(time=at(200), at=at(-5000))))
    assert seconds_of(log) == [0, 100]


def test_an_undone_entry_never_happened_until_the_undo_is_undone():
    gone = log_of(split(0, "a"), split(600, "b"), undo(700, "a", "u"))
    assert seconds_of(gone) == [600]
    assert gone.revised == 0
    back = enter(gone, undo(800, "u")[1], 800, NOON)
    assert seconds_of(back) == [0, 600]
    assert back.undone == ()


def test_undoing_what_is_not_there_changes_nothing():
    log = log_of(split(0, "a"))
    assert enter(log, undo(10, "b")[1], 10, NOON) == log


def test_talk_and_orders_are_no_deeds():
    log = log_of((0, Note(time=NOON, text="wind")), (1, Acknowledge(time=NOON, alarm="fire-dying")))
    assert log == CookLog()


def test_a_damper_stands_where_it_was_last_put_else_where_the_owner_says():
    log = log_of((60, Damper(time=at(60), damper=DamperName.INTAKE, open=0.75)))
    assert log.damper_open(DamperName.INTAKE, 59, SETUP) == 0.25
    assert log.damper_open(DamperName.INTAKE, 60, SETUP) == 0.75
    assert log.damper_open(DamperName.STACK, 60, SETUP) is None


def test_a_door_is_shut_until_it_is_opened():
    opened = (60, Door(time=at(60), door=DoorName.FIREBOX, open=True))
    log = log_of(opened, (90, Door(time=at(90), door=DoorName.FIREBOX, open=False)))
    assert [log.door_open(DoorName.FIREBOX, seconds) for seconds in (0, 60, 89, 90)] == [False, True, True, False]
    assert not log.door_open(DoorName.COOK, 70)


def test_a_new_target_keeps_the_band_where_none_is_given():
    log = log_of((60, Target(time=at(60), celsius=110)), (90, Target(time=at(90), celsius=130, band=5)))
    assert [log.target(seconds, SETUP) for seconds in (0, 60, 90)] == [(120, 8), (110, 8), (130, 5)]


def test_a_fire_let_out_is_not_lit_until_it_is_lit_again():
    lit, out, again = (0, Lit(time=at(0))), (60, Out(time=at(60))), (90, Lit(time=at(90)))
    assert (log_of(lit).lit_at(), log_of(lit).out_at()) == (0, None)
    assert (log_of(lit, out).lit_at(), log_of(lit, out).out_at()) == (None, 60)
    assert (log_of(lit, out, again).lit_at(), log_of(lit, out, again).out_at()) == (90, None)


def test_wood_on_a_fire_that_was_let_out_means_it_is_kept_after_all():
    assert log_of((0, Lit(time=at(0))), (60, Out(time=at(60))), split(90)).out_at() is None


moves = st.lists(
    st.one_of(
        st.tuples(st.just("split"), st.sampled_from("abc"), st.integers(0, 5000)),
        st.tuples(st.just("undo"), st.sampled_from("abcuvw"), st.sampled_from("uvw")),
    ),
    max_size=12,
)


@given(moves)
def test_deeds_are_in_order_and_no_deed_is_both_there_and_undone(doings):
    log = CookLog()
    for count, (what, name, more) in enumerate(doings):
        entry = (
            Split(time=at(count), id=name, at=at(more)) if what == "split" else Undo(time=at(count), of=name, id=more)
        )
        before = log
        log = enter(log, entry, float(count * 500), NOON)
        assert log.changes >= before.changes
        assert (log.changes == before.changes) == (log == before)
    assert seconds_of(log) == sorted(seconds_of(log))
    splits = sum(what == "split" for what, _, _ in doings)
    assert len(log.deeds) + len(log.undone) == splits
    assert log.splits() == tuple((deed.seconds, deed.entry) for deed in log.deeds)
