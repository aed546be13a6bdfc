"""The twin of a practice round, played in a process of its own: `python -m firebox.keeper.twinning`.

It reads a choice as JSON from standard input and writes the twin's tally after each minute of the round to standard
output. The dashboard's process goes on meanwhile; `Twin` is its end of it.
"""

import os
import subprocess
import sys
import tempfile
from typing import IO, Final

import msgspec

from firebox.keeper.mind import mind
from firebox.lessons import Choice, Tally
from firebox.practice import twin
from firebox.practice.rounds import SCENARIOS

NICE: Final = 10
"""The twin has time; the dashboard has none."""

_TALLIES: Final = msgspec.json.Decoder(tuple[Tally, ...])


class Twin:
    """A twin on its way; from one thread."""

    def __init__(self, choice: Choice) -> None:
        """Set it going.

        The answer goes into a file that is never seen, so that it cannot be held up by a reader who does not read.
        """
        self._answer: IO[bytes] = tempfile.TemporaryFile()  # noqa: SIM115  open as long as the twin is
        self._tallies: tuple[Tally, ...] | None = None
        self.problem = ""
        try:
            self._process: subprocess.Popen[bytes] | None = subprocess.Popen(  # noqa: S603  the program itself
                [sys.executable, "-m", __name__],
                stdin=subprocess.PIPE,
                stdout=self._answer,
                stderr=subprocess.DEVNULL,
                start_new_session=True,
            )
            assert self._process.stdin is not None
            self._process.stdin.write(msgspec.json.encode(choice))
            self._process.stdin.close()
        except OSError as error:
            self._process, self.problem = None, f"it could not be set going: {error}"

    def tally(self, minutes: float) -> Tally | None:
        """Return how the twin kept the fire up to a minute of the round; None as long as that is not known."""
        if self._tallies is None:
            self._collect()
        if not self._tallies:
            return None
        return self._tallies[min(len(self._tallies), max(1, round(minutes))) - 1]

    def _collect(self) -> None:
        if self._process is None or self._process.poll() is None:
            return
        status, self._process = self._process.returncode, None
        self._answer.seek(0)
        try:
            self._tallies = _TALLIES.decode(self._answer.read())
        except msgspec.DecodeError:
            self.problem = f"it broke off (status {status})"

    def close(self) -> None:
        """Let go of it, done or not; may be called twice."""
        if self._process is not None:
            self._process.terminate()
            self._process.wait()
            self._process = None
        self._answer.close()


def main() -> None:
    """Play the twin of the choice on standard input."""
    os.nice(NICE)
    choice = msgspec.json.decode(sys.stdin.buffer.read(), type=Choice)
    ledger = twin.follow(choice, mind)
    minutes = SCENARIOS[choice.scenario].minutes
    sys.stdout.buffer.write(msgspec.json.encode([ledger.tally(60.0 * minute) for minute in range(1, minutes + 1)]))


if __name__ == "__main__":
    main()
