"""A player of sounds that plays nothing: an executable called as ALSA's own, that writes down what it was given."""

import os
import sys
from pathlib import Path
from typing import Final

import msgspec
from msgspec import Struct

_SCRIPT: Final = """#!{python} -IS
import json, sys, time
from pathlib import Path
started = time.time()
folder = Path({folder!r})
how = json.loads((folder / "how.json").read_text())
if how["hangs"]:
    time.sleep(600)
sound = sys.stdin.buffer.read()
if how["status"]:
    print(how["text"], file=sys.stderr)
    sys.exit(how["status"])
name = str(time.time_ns())
(folder / (name + ".wav")).write_bytes(sound)
(folder / (name + ".part")).write_text(json.dumps({{"started": started, "arguments": sys.argv[1:]}}))
(folder / (name + ".part")).rename(folder / (name + ".json"))
time.sleep(how["seconds"])
"""


class Played(Struct, frozen=True, kw_only=True):
    """One sound: when the player began (seconds since 1970), what it was told, and the file it was fed."""

    started: float
    arguments: tuple[str, ...]
    sound: bytes = b""


class FakePlayer:
    """A folder with an `aplay` in it, to be put at the front of `PATH`.

    Parameters
    ----------
    folder : Path
        Made where it is not there; keeps the sounds, too.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        folder.mkdir(parents=True, exist_ok=True)
        self.work()
        program = folder / "aplay"
        program.write_text(_SCRIPT.format(python=sys.executable, folder=str(folder)))
        program.chmod(0o755)

    def path(self, rest: str | None = None) -> str:
        """Return a `PATH` on which this player is found first."""
        return os.pathsep.join([str(self.folder), rest if rest is not None else os.environ.get("PATH", "")])

    def work(self, seconds: float = 0.0) -> None:
        """Play from now on, taking so long over it."""
        self._behave(seconds=seconds)

    def fail(self, text: str, status: int = 1) -> None:
        """Refuse from now on, with a reason."""
        self._behave(status=status, text=text)

    def hang(self) -> None:
        """Never end from now on, as with a device that does not take its samples."""
        self._behave(hangs=True)

    def _behave(self, *, seconds: float = 0.0, status: int = 0, text: str = "", hangs: bool = False) -> None:
        fresh = self.folder / "how.new"
        fresh.write_bytes(msgspec.json.encode({"seconds": seconds, "status": status, "text": text, "hangs": hangs}))
        fresh.rename(self.folder / "how.json")

    @property
    def played(self) -> list[Played]:
        """Everything that was played, in order."""
        found = sorted(path for path in self.folder.glob("*.json") if path.stem != "how")
        return [
            msgspec.structs.replace(
                msgspec.json.decode(path.read_bytes(), type=Played), sound=path.with_suffix(".wav").read_bytes()
            )
            for path in found
        ]
