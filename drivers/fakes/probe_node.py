"""A probe node on a pseudo-terminal: what a small board on a USB cable does, wrong turns included."""

import asyncio
import json
import os
import tty
from enum import StrEnum
from pathlib import Path
from typing import Final

from firebox.records import Status

SAMPLE_SECONDS: Final = 1.0


class NodeState(StrEnum):
    """Where the board is in its life."""

    UNPLUGGED = "unplugged"
    BOOTING = "booting"
    TALKING = "talking"
    SILENT = "silent"


class ProbeNode:
    """A board that boots, describes itself and writes a line a sample.

    It is driven step by step (`step`), or by `run` at its own rate. The driver under test opens `path`, a symbolic
    link that stays the same over plugging and unplugging, as udev's links do.

    Parameters
    ----------
    path : Path
        Where the link is to be.
    celsius : dict
        Probe name -> temperature, in the order of the line. [degC]
    label : str
        What the board calls itself.

    Examples
    --------
    >>> from tempfile import mkdtemp
    >>> node = ProbeNode(Path(mkdtemp()) / "port", {"grate": 121.4})
    >>> node.sample()
    '{"grate": 121.4}'
    >>> node.fault("grate", Status.OPEN)
    >>> node.sample()
    '{"grate": {"celsius": null, "status": "open"}}'
    """

    def __init__(self, path: Path, celsius: dict[str, float], *, label: str = "pty-node") -> None:
        self.path = path
        self.celsius = dict(celsius)
        self.label = label
        self.state = NodeState.UNPLUGGED
        self.lines_sent = 0
        self._faults: dict[str, Status] = {}
        self._ends: tuple[int, int] | None = None

    # --- cable -------------------------------------------------------------------------------

    def plug(self) -> None:
        """Put the cable in: the port appears and the board boots."""
        if self._ends is not None:
            return
        here, there = os.openpty()
        tty.setraw(there)
        os.set_blocking(here, False)
        self._ends = here, there
        self._link(os.ttyname(there))
        self.state = NodeState.BOOTING

    def unplug(self) -> None:
        """Pull the cable: the port is gone, whoever reads it notices."""
        if self._ends is None:
            return
        self.path.unlink(missing_ok=True)
        for end in self._ends:
            os.close(end)
        self._ends = None
        self.state = NodeState.UNPLUGGED

    def _link(self, device: str) -> None:
        fresh = self.path.with_name(f".{self.path.name}.new")
        fresh.unlink(missing_ok=True)
        fresh.symlink_to(device)
        fresh.rename(self.path)

    # --- probes ------------------------------------------------------------------------------

    def fault(self, probe: str, status: Status) -> None:
        """Break a probe's wire (`open`, `shorted`, `failed`), or mend it (`good`)."""
        self._faults[probe] = status

    def fall_silent(self) -> None:
        """Hang: the port stays, nothing is written."""
        if self._ends is not None:
            self.state = NodeState.SILENT

    def wake(self) -> None:
        """Talk again."""
        if self._ends is not None:
            self.state = NodeState.TALKING

    # --- lines -------------------------------------------------------------------------------

    def sample(self) -> str:
        """Return the line that tells the temperatures now, without its end."""
        return json.dumps({probe: self._value(probe) for probe in self.celsius})

    def _value(self, probe: str) -> object:
        status = self._faults.get(probe, Status.GOOD)
        return self.celsius[probe] if status is Status.GOOD else {"celsius": None, "status": status.value}

    def description(self) -> str:
        """Return the line with which the board describes itself after booting, without its end."""
        return json.dumps({"node": {"name": self.label, "probes": list(self.celsius)}})

    def step(self) -> None:
        """Do what the board does once a sample: boot and describe itself, or write a line, or nothing."""
        if self.state is NodeState.BOOTING:
            self.write(b"\x00\xff rst: power on\r\n")
            self.write_line(self.description())
            self.state = NodeState.TALKING
        elif self.state is NodeState.TALKING:
            self.write_line(self.sample())

    def write_line(self, text: str) -> None:
        """Write one whole line."""
        self.write(text.encode() + b"\n")
        self.lines_sent += 1

    def write(self, data: bytes) -> None:
        """Write bytes as they are: garbage, half a line, a line too long. What does not fit the wire is lost."""
        if self._ends is None:
            return
        while data:
            try:
                data = data[os.write(self._ends[0], data) :]
            except BlockingIOError:  # nobody reads; a serial line has no memory either
                return

    async def run(self, seconds: float = SAMPLE_SECONDS) -> None:
        """Step at a rate, until cancelled."""
        while True:
            self.step()
            await asyncio.sleep(seconds)
