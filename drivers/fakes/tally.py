"""A watch that thinks nothing: it counts and digests what it is given, so that two runs can be compared to the bit.

It has the functions of `firebox.watch`. A reading above `TOO_HOT` is answered with an alarm, a tick with one answer of
each kind; all of it depends on everything that came before.
"""

from hashlib import blake2b
from typing import Final

import msgspec
from msgspec import Struct

from firebox.records import (
    Alarm,
    AlarmState,
    Fire,
    Move,
    Outlook,
    Phase,
    Priority,
    Reading,
    Record,
    Tick,
    encode,
)
from firebox.setup import Setup

VERSION: Final = "tally-1"

TOO_HOT: Final = 200.0
"""degC above which a reading is answered with an alarm."""


class Tally(Struct, frozen=True):
    """How many records there were, and the digest of all of them in order."""

    count: int
    digest: bytes


class Counted(Struct, frozen=True):
    """The tally after a record, and what came out."""

    state: Tally
    out: tuple[Record, ...] = ()


def begin(setup: Setup) -> Tally:
    """Return the tally of a watch that has seen nothing but its setup."""
    return Tally(0, blake2b(encode(setup), digest_size=16).digest())


def step(state: Tally, record: Record) -> Counted:
    """Return the tally after one more record."""
    digest = blake2b(state.digest + encode(record), digest_size=16).digest()
    after = Tally(state.count + 1, digest)
    if isinstance(record, Reading) and record.celsius is not None and record.celsius > TOO_HOT:
        return Counted(after, (_alarm(record, after),))
    return Counted(after, (*_answers(record, after), record) if isinstance(record, Tick) else ())


def freeze(state: Tally) -> bytes:
    """Return the tally as bytes."""
    return msgspec.msgpack.encode(state)


def thaw(frozen: bytes) -> Tally:
    """Return the tally that `freeze` was given."""
    return msgspec.msgpack.decode(frozen, type=Tally)


def _alarm(reading: Reading, state: Tally) -> Alarm:
    return Alarm(
        time=reading.time,
        alarm=f"too-hot-{reading.probe}",
        state=AlarmState.UNACKNOWLEDGED,
        priority=Priority.HIGH,
        probe=reading.probe,
        text=f"{reading.probe} above {TOO_HOT}, record {state.count}",
        first="look at it",
    )


def _answers(tick: Record, state: Tally) -> tuple[Record, ...]:
    celsius = float(state.count)
    return (
        Outlook(
            time=tick.time,
            probe="grate",
            celsius=celsius,
            drift_per_hour=0.0,
            minutes=(5,),
            p10=(celsius - 1,),
            p50=(celsius,),
            p90=(celsius + 1,),
            assumes="nothing more is done",
        ),
        Move(
            time=tick.time, split=None, intake=None, stack=None, hold=True, expected=None, reason=state.digest.hex()
        ),
        Fire(time=tick.time, phase=Phase.UNKNOWN),
    )
