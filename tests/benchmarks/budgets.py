"""The program against its budgets on this machine: prints what was measured beside what was wanted.

    .venv/bin/python tests/benchmarks/budgets.py [--quick]

Uses the real parts: the installed command, a pty with a probe node behind it, a real journal, a dashboard process.
Exit status 1 when a figure misses its budget.
"""

import argparse
import contextlib
import io
import os
import re
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).parents[2]))

from drivers.fakes.probe_node import ProbeNode
from firebox import watch
from firebox.journal.reader import JournalLink
from firebox.journal.resume import resume
from firebox.journal.writer import Journal
from firebox.keeper.mind import watch_reducer
from firebox.ports import Kind
from firebox.records import Alarm, AlarmState, Tick, encode
from tests.benchmarks import long_cook

CLOCK_TICKS = os.sysconf("SC_CLK_TCK")


class Figure(NamedTuple):
    what: str
    value: float
    budget: float
    unit: str


def say(text: str) -> None:
    print(text, file=sys.stderr, flush=True)


# --- the reducer ---------------------------------------------------------------------------------


def ticks(hours: float) -> list[Figure]:
    """Time every tick of a cook (estimate, forecast, advice, alarms), with all that fell due since the last."""
    state = watch.begin(long_cook.setup())
    lasted: list[float] = []
    since = 0.0
    for record in long_cook.records(hours):
        began = time.perf_counter()
        state = watch.step(state, record).state
        since += time.perf_counter() - began
        if isinstance(record, Tick):
            lasted.append(since * 1e3)
            since = 0.0
    lasted.sort()
    return [
        Figure("one tick, median", statistics.median(lasted), 30, "ms"),
        Figure("one tick, p99", lasted[int(0.99 * len(lasted))], 60, "ms"),
    ]


def replay(hours: float) -> list[Figure]:
    with tempfile.NamedTemporaryFile(suffix=".jsonl") as file:
        for record in long_cook.records(hours, ticks=None):
            file.write(encode(record) + b"\n")
        file.flush()
        began = time.perf_counter()
        with Path(file.name).open("rb") as source:
            subprocess.run(
                [sys.executable, "-m", "firebox", "stream", "--every", "60"],
                stdin=source,
                stdout=subprocess.DEVNULL,
                check=True,
            )
        lasted = time.perf_counter() - began
    return [Figure(f"replay of {hours:g} h, 8 probes at 1 Hz", lasted, 20 * hours / 12, "s")]


# --- the journal ---------------------------------------------------------------------------------


def journal(hours: float, folder: Path) -> list[Figure]:
    """Write a cook as the keeper does (a snapshot each 10 min, the last one 9 min before the end), then resume it."""
    path = folder / "long.sqlite"
    reducer = watch_reducer()
    book = Journal(path)
    book.begin_cook(long_cook.setup(), Kind.LIVE)
    state = watch.step(watch.begin(long_cook.setup()), long_cook.setup()).state  # as the keeper begins a cook
    end = long_cook.START + timedelta(hours=hours)
    newest = book_end = long_cook.START
    for count, record in enumerate(long_cook.records(hours)):
        book.take(record)
        step = watch.step(state, record)
        state = step.state
        book.tell(step.out)
        if count % 12 == 0:
            book.commit()
        if record.time - newest >= timedelta(minutes=10) and end - record.time > timedelta(minutes=9):
            book.snapshot(reducer.version, watch.freeze(state))
            newest = record.time
        book_end = record.time
    book.commit()
    size = sum(p.stat().st_size for p in folder.glob("long.sqlite*")) / 1e6
    began = time.perf_counter()
    found = resume(path, reducer, book_end)
    lasted = time.perf_counter() - began
    assert found is not None
    assert watch.freeze(found.state) == watch.freeze(state), "the resumed state differs"
    book.close()
    return [
        Figure(f"journal of a {hours:g} h cook, 8 probes", size, 25 * hours / 16, "MB"),
        Figure(f"resume after a kill, {hours:g} h in", lasted, 3, "s"),
    ]


# --- processes -----------------------------------------------------------------------------------


def cpu_seconds(pid: int) -> float:
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / CLOCK_TICKS


def resident_mb(pid: int) -> float:
    found = re.search(r"VmRSS:\s+(\d+) kB", Path(f"/proc/{pid}/status").read_text())
    assert found is not None
    return int(found[1]) / 1e3


def until(what: str, ready: Callable[[], bool], seconds: float) -> None:
    deadline = time.monotonic() + seconds
    while not ready():
        if time.monotonic() > deadline:
            raise TimeoutError(f"{what}: not within {seconds:.0f} s")
        time.sleep(0.01)


def keeper(seconds: float, folder: Path) -> list[Figure]:
    """Run the real keeper on a pty node with eight probes, then make the pit too hot and wait for the alarm."""
    home = folder / "home"
    (home / "config").mkdir(parents=True)
    port = folder / "node"
    probes = "\n".join(f'[[probes]]\nname = "{n}"\nrole = "{r}"' for n, r in long_cook.PROBES.items())
    config = home / "config" / "bench.toml"
    config.write_text(
        f'[units]\ndegrees = "C"\n[target]\ntemperature = 121\n{probes}\n[[sources]]\nkind = "serial"\nport = "{port}"\n'
    )
    celsius = {name: 20.0 + 10.0 * number for number, name in enumerate(long_cook.PROBES)}
    celsius["grate"] = celsius["grate2"] = 121.0
    node = ProbeNode(port, celsius)
    node.plug()
    environment = {**os.environ, "FIREBOX_HOME": str(home)}
    process = subprocess.Popen([sys.executable, "-m", "firebox", "keep", "--config", str(config)], env=environment)
    link = JournalLink(home / "state" / "bench.sqlite", "bench")
    flutter = 0

    def feed(duration: float) -> None:
        nonlocal flutter
        for _ in range(int(duration)):
            flutter += 1
            for name, base in celsius.items():
                node.celsius[name] = round(base + 0.3 * ((flutter * 7) % 5 - 2), 2)
            node.step()
            time.sleep(1.0)

    try:
        until("the keeper starts", lambda: link.status().alive, 20)
        feed(15)
        began, spent = time.monotonic(), cpu_seconds(process.pid)
        feed(seconds)
        share = (cpu_seconds(process.pid) - spent) / (time.monotonic() - began) * 100
        resident = resident_mb(process.pid)
        link.news()
        celsius["grate"] = celsius["grate2"] = 230.0
        hot = None

        def alarmed() -> bool:
            return any(
                isinstance(r, Alarm) and r.alarm == "pit-too-hot" and r.state is AlarmState.UNACKNOWLEDGED
                for r in link.news()
            )

        lasted = float("nan")
        for _ in range(60):
            for name, base in celsius.items():
                node.celsius[name] = base
            node.step()
            hot = hot or time.monotonic()
            with contextlib.suppress(TimeoutError):  # not yet: the next sample goes out
                until("the alarm", alarmed, 1.0)
                lasted = time.monotonic() - hot
                break
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(20)
        node.unplug()
        link.close()
    return [
        Figure("keeper, 8 probes at 1 Hz", share, 3, "% of a core"),
        Figure("keeper, resident", resident, 80, "MB"),
        Figure("over the limit to the alarm in the journal's view (pit jumps 110 C)", lasted, 2, "s"),
    ]


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="shorter cooks; budgets scaled")
    quick = parser.parse_args().quick
    figures: list[Figure] = []
    with tempfile.TemporaryDirectory() as place, contextlib.redirect_stdout(io.StringIO()):
        folder = Path(place)
        for name, measure in (
            ("ticks", lambda: ticks(1 if quick else 6)),
            ("replay", lambda: replay(2 if quick else 12)),
            ("journal", lambda: journal(2 if quick else 16, folder)),
            ("keeper", lambda: keeper(20 if quick else 60, folder)),
        ):
            say(f"measuring: {name} ...")
            figures += measure()
    missed = 0
    for figure in figures:
        verdict = "ok" if figure.value <= figure.budget else "MISSED"
        missed += verdict != "ok"
        print(f"{figure.what:<68}{figure.value:9.2f} {figure.unit:<12} budget {figure.budget:6.1f}  {verdict}")
    print("The dashboard has its own: tests/benchmarks/dashboard.py")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
