"""Whether any alarm is lost when the keeper is killed, a thousand times, at any moment.

Run: python -m tests.benchmarks.alarm_kills [--kills 1000] [--seed 1]

Each life is a forked process that writes a real journal through the real watchbook and tells a sink what `flush` hands
out; its thinking is a tally, so that a life begins within milliseconds. It is killed (SIGKILL) after a random time, as
often while it resumes as while it writes. In one life of four the sink is away, as a broker is that is down, and hears
nothing. After every kill:

1. every alarm that the sink has ever heard is in the journal;
2. of each alarm the newest that is in the journal has been told to the sink, or is told as soon as a keeper lives with
   the sink there;
3. nothing is in the journal twice, and all of it is in order.
"""

import argparse
import os
import random
import select
import signal
import tempfile
import time
from contextlib import closing
from pathlib import Path
from typing import Final, NoReturn

from msgspec import Struct

from drivers.fakes import tally
from firebox.journal import history
from firebox.journal.resume import Reducer, newest_instant
from firebox.journal.schema import open_reading
from firebox.journal.writer import Journal
from firebox.keeper.clock import SteadyClock
from firebox.keeper.watchbook import Watchbook
from firebox.records import Alarm, Reading
from firebox.setup import Setup

NAMES: Final = 12
"""Different alarms that come and come again."""

LONGEST: Final = 0.2
"""Real seconds of the longest life; about a third of the lives end before the keeper has begun."""

LOOK_EVERY: Final = 50
"""Lives between two looks at the whole journal; at what came last it is looked after each."""

AWAY: Final = 0.25
"""Share of the lives in which the sink is away."""

PATIENCE: Final = 30.0
"""Real seconds that the last keeper may take to begin."""

_REDUCER: Final = Reducer(
    begin=tally.begin, step=tally.step, freeze=tally.freeze, thaw=tally.thaw, version=tally.VERSION
)


class Outcome(Struct, frozen=True, kw_only=True):
    """What many kills came to: how often each thing happened, and what was lost, in words."""

    kills: int
    while_beginning: int
    raised: int
    told: int
    told_late: int
    lost: tuple[str, ...]


def run(path: Path, kills: int, seed: int) -> Outcome:
    """Kill a keeper so many times and return what came of it."""
    chance = random.Random(seed)
    heard: dict[str, str] = {}  # alarm -> the newest that the sink heard
    ever: set[str] = set()
    written: dict[str, str] = {}  # alarm -> the newest in the journal
    there: set[str] = set()
    lost: list[str] = []
    begun = told_late = first = 0
    _live(path, 0, None, away=True)  # a journal that is only half made holds nothing to lose
    for life in range(1, kills + 1):
        last = life == kills
        away = not last and chance.random() < AWAY
        before = dict(written)
        lines = _live(path, life, None if last else chance.uniform(0.0, LONGEST), away=away)
        began = "begun" in lines
        begun += began
        lost += [f"life {life}: {line}" for line in lines if line.startswith("failed ")]
        for line in lines:
            if line.startswith("alarm "):
                _, name, text = line.split(" ", 2)
                told_late += before.get(name) == text and heard.get(name) != text
                heard[name] = text
                ever.add(text)
        if began and not away:
            lost += [f"life {life}: {text} was never told" for text in before.values() if text not in ever]
        whole = last or life % LOOK_EVERY == 0
        first, texts = _told(path, 0 if whole else first)
        lost += [f"life {life}: {text} is twice in the journal" for _, text in texts if not whole and text in there]
        there = {text for _, text in texts} | (set() if whole else there)
        written |= dict(texts)
        lost += [f"life {life}: {text} was told and is not in the journal" for text in sorted(ever - there)]
    return Outcome(
        kills=kills,
        while_beginning=kills - begun,
        raised=len(there),
        told=len(ever),
        told_late=told_late,
        lost=tuple(dict.fromkeys(lost)),
    )


def _live(path: Path, life: int, seconds: float | None, *, away: bool) -> list[str]:
    """Let a keeper live for so long, then kill it; None: until it has begun. Return what it said."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(read)
        _keep(path, write, life, away=away)
    os.close(write)
    said = b""
    end = time.monotonic() + (PATIENCE if seconds is None else seconds)
    try:
        while (left := end - time.monotonic()) > 0.0 and (seconds is not None or b"begun\n" not in said):
            if select.select([read], [], [], left)[0]:
                more = os.read(read, 65_536)
                if not more:
                    break
                said += more
    finally:
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
    while more := os.read(read, 65_536):
        said += more
    os.close(read)
    return said.decode().split("\n")[:-1]  # a line that was cut off was not said


def _keep(path: Path, pipe: int, life: int, *, away: bool) -> NoReturn:
    """Keep a pit until killed: readings as fast as they go, an alarm now and then, each flush told."""
    try:
        clock = SteadyClock(not_before=newest_instant(path))
        book = Watchbook(Journal(path), _REDUCER, clock, Setup(time=clock.now(), pit="killed"))
        book.start()
        _tell(book, pipe, away=away)
        os.write(pipe, b"begun\n")
        number = 0
        while True:
            number += 1
            time.sleep(0.002)
            hot = number % 7 == 0
            probe = f"hot-{(life + number // 7) % NAMES}" if hot else "grate"
            book.hear(Reading(time=clock.now(), probe=probe, celsius=300.0 if hot else 121.0))
            if number % 3 == 0:
                _tell(book, pipe, away=away)
    except BaseException as error:  # noqa: BLE001 - a child of a fork must not run the parent's code after it
        os.write(pipe, f"failed {type(error).__name__}: {error}\n".encode())
    finally:
        os._exit(1)


def _tell(book: Watchbook[tally.Tally], pipe: int, *, away: bool) -> None:
    for record in book.flush():
        if isinstance(record, Alarm) and not away:
            os.write(pipe, f"alarm {record.alarm} {record.text} at {record.time.isoformat()}\n".encode())


def _told(path: Path, first: int) -> tuple[int, list[tuple[str, str]]]:
    """Return where the journal ends, and every alarm in it from `first` on, in order: its name and its words."""
    with closing(open_reading(path)) as connection:
        found = list(history.told(connection, first))
    times = [record.time for _, record in found]
    assert times == sorted(times), "the journal is out of order"
    alarms = [
        (record.alarm, f"{record.text} at {record.time.isoformat()}")
        for _, record in found
        if isinstance(record, Alarm)
    ]
    return (found[-1][0] + 1 if found else first), alarms


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--kills", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    begin = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        outcome = run(Path(folder) / "pit.db", chosen.kills, chosen.seed)
    print(
        f"{outcome.kills} kills, {outcome.while_beginning} of them before the keeper had begun: {outcome.raised} alarms "
        f"raised, {outcome.told} told, {outcome.told_late} of them only by a later keeper; lost: {len(outcome.lost)}"
    )
    print("\n".join(outcome.lost[:20]) or "nothing lost")
    print(f"{time.perf_counter() - begin:.0f} s")


if __name__ == "__main__":
    main()
