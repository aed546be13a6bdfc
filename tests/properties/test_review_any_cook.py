"""Whatever stands in a journal, looking back on it raises nothing and tells no nonsense."""

import math
import random
from datetime import UTC, datetime, timedelta

import msgspec
from hypothesis import given, settings
from hypothesis import strategies as st

from firebox.records import (
    Acknowledge,
    Alarm,
    AlarmState,
    Clock,
    Damper,
    DamperName,
    Door,
    DoorName,
    Expected,
    Fire,
    Health,
    Lit,
    Meat,
    MeatOn,
    Move,
    NextSplit,
    Note,
    Out,
    Outlook,
    Phase,
    Priority,
    ProbeHealth,
    Reading,
    Record,
    Resumed,
    Split,
    Status,
    Target,
    Undo,
    Wrap,
)
from firebox.review.comparing import side_by_side
from firebox.review.sheet import sheet
from firebox.review.whole import review
from firebox.review.wording import Look
from firebox.setup import Setup

START = datetime(2026, 5, 2, 16, 0, tzinfo=UTC)


def anything(chance: random.Random, time: datetime) -> Record:
    """Return any record that may stand in a journal, at an instant."""
    celsius = chance.choice((chance.uniform(-200.0, 2900.0), chance.uniform(90.0, 150.0)))
    probe = chance.choice(("grate", "grate2", "flat", "ambient"))
    named = f"e{chance.randrange(8)}"
    earlier = time - timedelta(minutes=chance.uniform(0.0, 300.0))
    makers = (
        lambda: Reading(time=time, probe=probe, celsius=celsius),
        lambda: Reading(time=time, probe=probe, celsius=chance.uniform(100.0, 140.0)),
        lambda: Reading(time=time, probe=probe, status=Status.OPEN),
        lambda: Split(time=time, id=named, kg=chance.choice((None, 0.0, 1.0, 90.0)), at=chance.choice((None, earlier))),
        lambda: Damper(time=time, id=named, damper=chance.choice(list(DamperName)), open=chance.random()),
        lambda: Door(time=time, id=named, door=chance.choice(list(DoorName)), open=chance.random() < 0.5),
        lambda: Target(time=time, celsius=chance.uniform(0.0, 400.0), band=chance.choice((None, 0.001, 100.0))),
        lambda: Lit(time=time, kg=chance.choice((None, 3.0))),
        lambda: Out(time=time),
        lambda: MeatOn(time=time, probe=chance.choice((None, "flat")), on=chance.random() < 0.5),
        lambda: Wrap(time=time, material=chance.choice(("paper", "foil", "none"))),
        lambda: Note(time=time, id=named, text="<b>&"),
        lambda: Undo(time=time, id=f"u{chance.randrange(8)}", of=chance.choice((named, "u1"))),
        lambda: Acknowledge(time=time, alarm="fire-dying"),
        lambda: Resumed(time=time, gap_seconds=chance.uniform(0.0, 1e6)),
        lambda: Alarm(
            time=time, alarm=chance.choice(("fire-dying", "probe-open-grate")), state=chance.choice(list(AlarmState)),
            priority=chance.choice(list(Priority)), text="t", first="f",
        ),
        lambda: Outlook(
            time=time, probe=probe, celsius=celsius, drift_per_hour=None, minutes=(5, 15), p10=(1.0, 2.0), p50=(2.0, 3.0),
            p90=(3.0, 4.0), assumes="nothing more is done",
        ),
        lambda: Move(
            time=time, split=chance.choice((None, NextSplit(in_minutes=chance.uniform(-5.0, 60.0), kg=chance.uniform(0.0, 3.0)))),
            intake=chance.choice((None, chance.random())), stack=None, hold=chance.random() < 0.5,
            expected=chance.choice((None, Expected(minutes=30, celsius=celsius))), reason="r",
        ),
        lambda: Fire(time=time, phase=chance.choice(list(Phase)), smoulder_risk=chance.choice((None, chance.random()))),
        lambda: Meat(
            time=time, probe="flat", celsius=chance.choice((None, celsius)), stage=chance.choice((None, "resting")),
            weight_lost=chance.choice((None, 1.0)),
        ),
        lambda: ProbeHealth(time=time, probe=probe, health=chance.choice(list(Health)), role="grate", text="t"),
    )  # fmt: skip
    return chance.choice(makers)()


def journal(seed: int, length: int) -> list[Record]:
    chance = random.Random(seed)
    time, found = START, [Setup(time=START)]
    for _ in range(length):
        time += timedelta(seconds=chance.choice((0.0, 1.0, 10.0, 60.0, 900.0)))
        if chance.random() < 0.02:
            to = time + timedelta(seconds=chance.uniform(-7200.0, 7200.0))
            found.append(Clock(time=time, to=to))
            time = to
        else:
            found.append(anything(chance, time))
    return found


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2**32), st.integers(0, 250))
def test_any_journal_can_be_looked_back_on(seed, length):
    made, cook = review(journal(seed, length), price_per_kg=0.5)
    assert len(cook.pit) == len(cook.target) == len(cook.band)
    held = made.holding
    for share in (held.inside, held.above, held.below):
        assert 0.0 <= share <= 1.0
    assert held.inside + held.above + held.below <= 1.0 + 1e-9
    assert all(one.minutes >= 3.0 for one in made.excursions)
    assert all(0.0 <= one.coverage <= 1.0 for one in made.honesty.kept)
    plain = msgspec.json.decode(msgspec.json.encode(made))
    assert finite(plain)
    told = sheet(made, Look())
    assert len(told.tries) == 3
    assert side_by_side([made, made], Look()).sections[0].tables[0].rows


def finite(plain: object) -> bool:
    """Tell whether a number that is no number stands nowhere in decoded JSON; msgspec writes such a one as null."""
    match plain:
        case dict():
            return all(finite(value) for value in plain.values())
        case list():
            return all(finite(value) for value in plain)
        case float():
            return math.isfinite(plain)
        case _:
            return True


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 2**32))
def test_the_same_journal_gives_the_same_review(seed):
    first, second = (review(journal(seed, 120))[0] for _ in range(2))
    assert msgspec.json.encode(first) == msgspec.json.encode(second)
