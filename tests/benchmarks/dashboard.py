"""What the dashboard costs: `python tests/benchmarks/dashboard.py` prints each figure beside its budget.

Drives the shipped app in a pseudo-terminal of 80x24 and of 160x50, over an invented cook of 16 hours that goes on at
one set of answers a second. Processor time and memory are those of the whole process, link included.
"""

import argparse
import fcntl
import os
import pty
import resource
import select
import struct
import sys
import termios
import time
from datetime import UTC
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from firebox.ports import Kind
from tests.tui.look import RunningLink, link_time
from tui.app import Dashboard
from tui.preferences import Preferences

SETTLE_SECONDS = 5.0
BUDGETS = {"idle, share of one core": (0.06, ""), "resident": (110.0, "MB"), "key to screen": (100.0, "ms")}


def child(begin: float) -> None:
    link = RunningLink(begin, kind=Kind.LIVE, rate=1.0, alarm_after=1e9, every=1.0)
    Dashboard(link, Preferences(), zone=UTC, wall=lambda: link_time(link)).run()


def drain(terminal: int, seconds: float, *, until: bytes = b"") -> tuple[bytes, float]:
    """Read what the screen shows for so long, or until some bytes appear; return it and the time taken."""
    begin, seen = time.perf_counter(), b""
    while (left := begin + seconds - time.perf_counter()) > 0:
        if select.select([terminal], [], [], left)[0]:
            try:
                seen += os.read(terminal, 65536)
            except OSError:  # how Linux says that the far end of a pseudo-terminal has closed
                break
            if until and until in seen:
                break
    return seen, time.perf_counter() - begin


def measure(width: int, height: int, seconds: float, begin: float) -> dict[str, float]:
    pid, terminal = pty.fork()
    if pid == 0:
        fcntl.ioctl(1, termios.TIOCSWINSZ, struct.pack("HHHH", height, width, 0, 0))
        os.environ.update(TERM="xterm-256color", COLORTERM="truecolor")
        child(begin)
        os._exit(0)
    drain(terminal, 60.0, until=b"NEXT")
    drain(terminal, SETTLE_SECONDS)
    before, start = cpu_seconds(pid), time.perf_counter()
    drawn, _ = drain(terminal, seconds)
    idle = (cpu_seconds(pid) - before) / (time.perf_counter() - start)
    resident = resident_megabytes(pid)
    keys = []
    for _ in range(10):
        os.write(terminal, b"s")
        keys.append(drain(terminal, 2.0, until=b"weigh")[1] * 1000.0)
        os.write(terminal, b"\x1b")
        drain(terminal, 0.6)
    os.write(terminal, b"q")
    drain(terminal, 1.0)
    os.waitpid(pid, 0)
    os.close(terminal)
    return {
        "idle, share of one core": idle,
        "resident": resident,
        "key to screen": max(keys),
        "written, bytes a second": len(drawn) / seconds,
    }


def cpu_seconds(pid: int) -> float:
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def resident_megabytes(pid: int) -> float:
    return int(Path(f"/proc/{pid}/statm").read_text().split()[1]) * resource.getpagesize() / 1e6


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=30.0, help="how long to stay idle")
    parser.add_argument("--hours", type=float, default=16.0, help="length of the cook so far")
    told = parser.parse_args()
    kept = True
    for width, height in ((80, 24), (160, 50)):
        for name, value in measure(width, height, told.seconds, told.hours * 3600.0).items():
            budget, unit = BUDGETS.get(name, (None, ""))
            verdict = "" if budget is None else f"  budget {budget:g} {unit}  {'ok' if value <= budget else 'OVER'}"
            kept = kept and (budget is None or value <= budget)
            print(f"dashboard {width}x{height}  {name:26} {value:10.3f} {unit:3}{verdict}")
    return 0 if kept else 1


if __name__ == "__main__":
    sys.exit(main())
